"""Sensitivities through the doors: command line, JSON, report, recheck; and the block of tolerances."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from bridge2d.calculate import calculate
from bridge2d.cli import main
from bridge2d.detail import Section
from bridge2d.detail_file import LoadedDetail, load, read
from bridge2d.errors import InputError
from bridge2d.recheck.sensitivity import SensitivitiesRecord, sensitivity_numbers
from bridge2d.report import prepared, report_bytes, write_report
from bridge2d.results import DetailResult, SectionResult
from bridge2d.sensitivities.rows import sensitivities, with_sensitivities
from bridge2d.sensitivity_records import Effect, InputEffect, Sensitivities, Spread
from bridge2d.variations import Variation
from tests.surfaces.held import Held

DETAILS = Path(__file__).parents[2] / "details"
CORNER = """junction = "wall_corner"
title = "Corner"
[parameters]
"""


def corner(more: str = "", **parameters: float) -> LoadedDetail:
    given = {"insulation_thickness": 80.0} | parameters
    return read(CORNER + "".join(f"{key} = {value}\n" for key, value in given.items()) + more, Path("corner.toml"))


@cache
def joist() -> tuple[DetailResult, Sensitivities]:
    return studied("tollhouse_joist.toml")


def studied(name: str) -> tuple[DetailResult, Sensitivities]:
    loaded = load(DETAILS / name)
    result = calculate(loaded.detail, 1e-3)
    found = sensitivities(result, loaded)
    assert found is not None
    return result, found


@pytest.mark.parametrize("name", ["tollhouse_joist.toml", "tollhouse_fixing.toml", "tollhouse_framed_wall.toml"])
def test_shares_are_the_whole_result(name: str) -> None:
    found = (joist() if name == "tollhouse_joist.toml" else studied(name))[1]
    shares = [one.share for one in found.inputs if one.share]
    middle = 0.5 * (found.lower + found.upper)
    assert sum(share.value for share in shares) == pytest.approx(middle, abs=1e-5 * max(abs(middle), 1e-2))


def test_effects_are_those_of_fresh_solutions() -> None:
    """Psi and fRsi of a corner computed anew with a parameter changed by a millimetre to either side."""
    loaded = corner()
    found = sensitivities(calculate(loaded.detail, 1e-4), loaded)
    assert found is not None
    for name, label in (("insulation_thickness", "inside insulation"), ("masonry_thickness", "masonry")):
        one = next(row for row in found.inputs if row.kind == "parameter" and row.name == label)
        at = 1000 * getattr(loaded.parameters, name)
        ends = [calculate(corner(**{name: at + h}).detail, 1e-5) for h in (-1, 1)]
        psi = [next(p.value for p in end.psi if p.dimensions == found.dimensions) for end in ends]
        factor = [min(f.value for f in end.f_rsi) for end in ends]
        doubt = 0.5 * (psi[0].half_width + psi[1].half_width)
        assert abs(one.effect.value - 0.5 * (psi[1].value - psi[0].value)) <= one.effect.tolerance + doubt + 1e-6
        assert one.f_rsi is not None
        assert one.f_rsi.value == pytest.approx(0.5 * (factor[1] - factor[0]), abs=one.f_rsi.tolerance + 3e-5)


def test_moved_mesh_sections_beside_and_difference_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    """All three ways to a parameter's effect, the second and the third one forced."""
    from bridge2d.sensitivities.beside import Beside
    from bridge2d.sensitivities.study import Outcome, Side, Study

    loaded = corner()
    result = calculate(loaded.detail, 1e-3)
    moved = sensitivities(result, loaded)
    own = Study.both

    def stuck(study: Study, varied: Variation, sides: list[Side | None] | None = None) -> list[Outcome | None]:
        lengths = varied.measure == "length" and study.result is result
        return [None, None] if lengths else own(study, varied, sides)

    monkeypatch.setattr(Study, "both", stuck)
    beside = sensitivities(result, loaded)
    monkeypatch.setattr(Beside, "both", lambda *_: [None, None])
    apart = sensitivities(result, loaded)
    assert moved is not None
    for found, by in ((beside, "beside"), (apart, "difference")):
        assert found is not None
        others = {one.parameter: one for one in found.inputs if one.measure == "length" and one.parameter}
        compared = [one for one in moved.inputs if one.parameter in others]
        assert len(compared) >= 3
        for one in compared:
            other = others[one.parameter]
            assert (one.by, other.by) == ("moved mesh", by)
            assert abs(one.effect.value - other.effect.value) <= one.effect.tolerance + other.effect.tolerance


def test_further_away_a_moved_mesh_says_what_a_fresh_one_does(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both sides of lengths led back, by the meshes beside moved and by fresh ones, as closely."""
    from bridge2d.sensitivities import beside
    from bridge2d.sensitivities.study import Study

    loaded = corner()
    result = calculate(loaded.detail, 1e-3)
    plain = sensitivities(result, loaded)
    own = Study.both
    monkeypatch.setattr(
        Study, "both", lambda study, *given: [None, None] if study.result is result else own(study, *given)
    )
    monkeypatch.setattr(beside, "_alike", lambda *_: False)
    moved = sensitivities(result, loaded)
    monkeypatch.setattr(beside.Beside, "_moved", lambda *_: None)
    fresh = sensitivities(result, loaded)
    assert plain is not None
    assert moved is not None
    assert fresh is not None
    rows, by_moved, by_fresh = (
        {one.parameter: one for one in found.inputs if one.parameter and one.measure == "length"}
        for found in (plain, moved, fresh)
    )
    assert len(by_moved) >= 3
    for name, one in by_moved.items():
        assert one.by == by_fresh[name].by == "beside"
        for other in (one, by_fresh[name]):
            apart = abs(rows[name].effect.value - other.effect.value)
            assert apart <= rows[name].effect.tolerance + other.effect.tolerance
        assert one.effect.tolerance <= 1.1 * by_fresh[name].effect.tolerance


def test_parameters_of_a_copy_that_is_lost_are_not(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of what it took nobody else knows."""
    from bridge2d.sensitivities import rows

    class Lost:
        def __init__(self, compute: Callable[[], dict[int, object]]) -> None:
            self.took = compute()

        def value(self) -> dict[int, object]:
            return {}

        def close(self) -> None:
            assert self.took

    loaded = corner()
    result = calculate(loaded.detail, 1e-3)
    whole = sensitivities(result, loaded)
    monkeypatch.setattr(rows, "processors", lambda: 2)
    monkeypatch.setattr(rows, "Ahead", Lost)
    assert sensitivities(result, loaded) == whole


def test_two_layers_of_equal_thickness_open_a_step() -> None:
    """Psi of the joist with one of two equal layers moved alone, by a difference of tightly bracketed solutions."""
    result, found = joist()
    held = Held(load(DETAILS / "tollhouse_joist.toml"), result, 1e-5)
    for parameter in ("insulation_thickness", "bay_insulation_thickness"):
        row = next(one for one in found.inputs if one.parameter == parameter)
        true, doubt = held.middle(row, 1e-3)
        assert row.by == "beside"
        assert abs(row.effect.value - true) <= row.effect.tolerance + doubt
        assert row.effect.tolerance <= 0.03 * abs(row.effect.value)


@pytest.mark.parametrize(("name", "most"), [("tollhouse_joist.toml", 3), ("tollhouse_window.toml", 9)])
def test_who_opens_one_step_shares_its_solutions(name: str, most: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """As many solutions as there are steps, and the effects are those of solutions for each parameter alone."""
    from bridge2d.section_results import solve_section
    from bridge2d.sensitivities import beside, rows

    solved: list[str] = []

    def counted(section: Section, *given: object, **more: Any) -> SectionResult:
        solved.append(section.name)
        return solve_section(section, *given, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(rows, "processors", lambda: 1)
    monkeypatch.setattr(beside, "solve_section", counted)
    shared = studied(name)[1]
    few = len(solved)
    for module in (beside, rows):
        monkeypatch.setattr(module, "order_beside", lambda *_: None)
    alone = studied(name)[1]
    assert few == most
    assert len(solved) - few > 1.5 * few
    pairs = [pair for pair in zip(shared.inputs, alone.inputs, strict=True) if pair[0].by == "beside"]
    assert len(pairs) >= 2
    for one, other in pairs:
        assert (one.parameter, one.by) == (other.parameter, other.by)
        ends = [(one.effect, other.effect), *zip(one.factors, other.factors, strict=True)]
        for a, b in [*ends, (one.smaller, other.smaller)]:
            if a is not None and b is not None:
                assert abs(a.value - b.value) <= a.tolerance + b.tolerance
                assert a.tolerance <= 1.5 * b.tolerance


def test_a_bend_is_stated_on_both_sides() -> None:
    """Air in a layer moves from 20 mm on: h_a is the greater of 1.25 and 0.025/d (ISO 6946, annex D)."""
    loaded = corner(cavity_thickness=20.0)
    found = sensitivities(calculate(loaded.detail, 1e-3), loaded)
    assert found is not None
    row = next(one for one in found.inputs if one.parameter == "cavity_thickness")
    assert row.smaller is not None
    up, down = row.effect, row.smaller
    assert abs(up.value + down.value) > 5 * (up.tolerance + down.tolerance)
    assert row.off.value == pytest.approx(max(abs(up.value), abs(down.value)) * row.steps)
    held = Held(loaded, calculate(loaded.detail, 1e-3), 1e-5)
    for stated, (true, doubt) in held.sides(row, 1e-3):
        assert abs(stated.value - true) <= stated.tolerance + doubt


def test_what_is_computed_of_a_material_follows_it() -> None:
    """Softwood also makes a part of the hatch's layer of joists and fill; so does the fill, which no region has."""
    loaded = load(DETAILS / "tollhouse_hatch_a.toml")
    result = calculate(loaded.detail, 1e-3)
    found = sensitivities(result, loaded)
    assert found is not None
    held = Held(loaded, result, 2e-5)
    for name in ("softwood", "cellulose, blown"):
        row = next(one for one in found.inputs if one.name == name)
        true, doubt = held.middle(row, 0.05 * row.value)
        assert abs(row.effect.value - true) <= row.effect.tolerance + doubt + 1e-3 * abs(true)
    layer = next(one for one in found.inputs if one.name.startswith("softwood joists with"))
    assert layer.computed
    assert layer.spread is None


def test_every_film_has_a_row_of_its_own() -> None:
    found = joist()[1]
    films = [one for one in found.inputs if one.kind == "surface"]
    assert [(one.name, one.value) for one in films] == [("in the bay", 0.13), ("inside", 0.13), ("outside", 0.04)]
    outside = films[-1].f_rsi
    assert outside is not None
    assert outside.value > outside.tolerance
    given = "surface_resistance = 0.1\nparameters = { inside_resistance = 0.02 }\n"
    loaded = corner(f"[tolerances]\n{given}")
    rows = sensitivities(calculate(loaded.detail, 1e-2), loaded)
    assert rows is not None
    spreads = {one.parameter: one.spread for one in rows.inputs if one.measure == "resistance"}
    amounts = {name: spread.amount for name, spread in spreads.items() if spread}
    assert amounts == pytest.approx(
        {"inside_resistance": 0.02, "outside_resistance": 0.004, "factor_resistance": 0.025}
    )


def test_films_of_a_free_section_are_told_apart_by_their_place() -> None:
    loaded = load(DETAILS / "validation" / "iso_10211_case_2.toml")
    found = sensitivities(calculate(loaded.detail, 1e-2), loaded)
    assert found is not None
    names = [one.name for one in found.inputs if one.kind == "surface"]
    assert len(set(names)) == len(names) >= 2


# -- tolerances of inputs ----------------------------------------------------------------------------------------------


def test_sums_of_tolerances() -> None:
    one = InputEffect(
        "parameter",
        "a",
        "",
        "length",
        0.1,
        1e-3,
        False,
        Effect(3e-3, 0.0),
        Effect(-1e-3, 0.0),
        None,
        "",
        spread=Spread(2e-3, ""),
    )
    other = replace(one, effect=Effect(-4e-3, 0.0), f_rsi=None)
    unsure = Sensitivities("psi", "external", False, 0.0, 0.1, None, (one, other, replace(one, spread=None)))
    assert unsure.root_sum_square == pytest.approx((0.01, 0.002))
    assert unsure.worst_case == pytest.approx((0.014, 0.002))
    timber = tuple(replace(row, together="softwood") for row in (one, other))
    one_density = Sensitivities("psi", "external", False, 0.0, 0.1, None, timber)
    assert one_density.root_sum_square == pytest.approx((0.002, 0.002))
    assert one_density.worst_case == pytest.approx((0.002, 0.002))
    bent = replace(one, smaller=Effect(-5e-3, 0.0))
    assert bent.off == Effect(pytest.approx(0.01), 0.0)


def test_tolerances_of_the_file_count_and_are_named() -> None:
    of_materials = 'materials = { "mineral foam board" = 0.005 }'
    loaded = corner(f"[tolerances]\nlength = 3\nparameters = {{ masonry_thickness = 20 }}\n{of_materials}\n")
    found = sensitivities(calculate(loaded.detail, 1e-2), loaded)
    assert found is not None
    spreads = {one.name: one.spread for one in found.inputs if one.spread}
    assert spreads["masonry"] == Spread(0.02, "given in the detail file")
    assert spreads["inside insulation"] == Spread(0.003, "given in the detail file")
    assert spreads["mineral foam board"] == Spread(0.005, "given in the detail file")
    assert "range of the trade" in spreads["solid brick, old, 1600"].basis
    assert loaded.input_hash != corner().input_hash


@pytest.mark.parametrize(
    ("block", "words"),
    [
        ("length = -1", "no such ±"),
        ("conductivity = 1.5", "no such ±"),
        ("parameters = { mansory_thickness = 5 }", "did you mean 'masonry_thickness'?"),
        ('parameters = { masonry_thickness = "5 kg" }', "masonry_thickness"),
        ('materials = { "oak" = 0.1 }', "the detail has no material 'oak'"),
        ('materials = { "mineral foam board" = -0.1 }', "mineral foam board"),
        ("parameters = { outside_temperature = -1 }", "outside_temperature: is negative; a ± has no sign"),
        ("parameters = { outside_temperature = 1 }", "neither Ψ nor fRsi changes with this parameter"),
        ("parameters = { inside_humidity = 0.1 }", "neither Ψ nor fRsi changes with this parameter"),
        ("parameters = { render_thickness = 2 }", "nothing depends on this parameter"),
        ("site = 5", "site"),
    ],
)
def test_wrong_tolerances_are_one_message_with_the_line(block: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        corner(f"[tolerances]\n{block}\n")
    assert words in str(caught.value)
    assert caught.value.line is not None


# -- the doors ---------------------------------------------------------------------------------------------------------


def test_only_who_asks_gets_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "corner.toml"
    file.write_text(CORNER, encoding="utf-8")
    assert main(["solve", str(file), "--json"]) == 0
    assert "sensitivities" not in json.loads(capsys.readouterr().out)
    assert main(["solve", str(file), "--json", "--sensitivities"]) == 0
    found = json.loads(capsys.readouterr().out)["sensitivities"]
    assert {one["kind"] for one in found["inputs"]} == {"material", "surface", "parameter"}
    file.write_text(CORNER + "[tolerances]\n", encoding="utf-8")
    assert main(["solve", str(file), "--units", "inch-pound"]) == 0
    said = capsys.readouterr().out
    assert "What a change does to Ψ" in said
    assert "worst case: by up to" in said
    assert "0.039 in" in said


def test_the_report_says_them_and_the_recheck_computes_them_again(tmp_path: Path) -> None:
    from bridge2d.recheck import recheck

    file = tmp_path / "corner.toml"
    file.write_text(CORNER + "[tolerances]\n", encoding="utf-8")
    loaded = load(file)
    result = with_sensitivities(calculate(loaded.detail, 1e-3, input_hash=loaded.input_hash), loaded)
    write_report(result, loaded, tmp_path / "corner.pdf")
    done = recheck(tmp_path / "corner.pdf")
    assert done.agrees, [row for row in done.rows if not row.inside] + list(done.findings)
    assert any(row.name.startswith("effect of parameter") for row in done.rows)
    assert any(row.name == "worst case of the inputs" for row in done.rows)
    wrong = result.sensitivities
    assert wrong is not None
    one, two, three, *rest = wrong.inputs
    assert two.spread is not None
    altered = (
        replace(one, effect=Effect(one.effect.value * 1.5 + 1e-3, one.effect.tolerance), value=2 * one.value),
        replace(two, spread=replace(two.spread, basis="measured")),
        replace(three, smaller=Effect(0.2, 1e-5), smaller_f_rsi=Effect(0.05, 1e-4)),
        *rest,
    )
    write_report(
        replace(result, sensitivities=replace(wrong, inputs=altered)),
        loaded,
        tmp_path / "wrong.pdf",
    )
    outside = {row.name for row in recheck(tmp_path / "wrong.pdf").rows if not row.inside}
    first, second, third = (f"{each.kind} {each.name}" for each in (one, two, three))
    expected = {f"effect of {first}", f"value of {first}", f"± of {second}, measured"}
    expected |= {f"effect of a smaller {third}", f"effect on fRsi of a smaller {third}"}
    assert expected <= outside


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_pictures_drawn_before_they_are_known_are_the_same(paper: str, tmp_path: Path) -> None:
    loaded = corner()
    before = calculate(loaded.detail, 1e-3, input_hash=loaded.input_hash)
    drawn = prepared(before, loaded, loaded.units, paper)
    assert drawn
    result = with_sensitivities(before, loaded)
    write_report(result, loaded, tmp_path / "corner.pdf", loaded.units, paper, drawn)
    assert (tmp_path / "corner.pdf").read_bytes() == report_bytes(result, loaded, loaded.units, paper)


def test_how_far_every_factor_is_off_is_compared() -> None:
    """Of three factors the two that are not looked at have rows of their own, each doubted by its own effects."""
    effect = {"value": 0.01, "tolerance": 0.001}
    none = {"value": 0.0, "tolerance": 0.0}
    given = {"kind": "parameter", "name": "a", "step": 1.0, "effect": none, "f_rsi": none, "share": None}
    off = {"value": 0.0, "f_rsi": 0.0}
    places = [{"environment": "inside", "section": one} for one in ("first", "second", "third")]
    factors = [{**one, "off": {"root_sum_square": 0.02, "worst_case": 0.03}} for one in places[:2]]
    found = SensitivitiesRecord.model_validate(
        {
            "quantity": "psi",
            "of_revolution": False,
            "f_rsi": places[0],
            "inputs": [{**given, "spread": {"amount": 2.0}, "factors": [none, effect, None]}],
            "off": {"root_sum_square": off, "worst_case": off},
            "factors": [*factors, {**places[2], "off": None}],
        }
    )
    numbers = {one.name: one for one in sensitivity_numbers(found)}
    assert not any("section first" in name or "section third" in name for name in numbers)
    row = numbers["root sum square of the inputs, fRsi inside, section second"]
    assert (row.value, row.half) == (0.02, pytest.approx(0.002))
    assert numbers["worst case of the inputs, fRsi inside, section second"].value == 0.03


@pytest.mark.parametrize("junction", ["sleeve", "roof_edge"])
def test_effects_of_another_mesh_lie_within_both_tolerances(junction: str, tmp_path: Path) -> None:
    """The coldest point of these lies within a surface, where no two meshes have the same node."""
    from bridge2d.recheck import recheck

    loaded = read(f'junction = "{junction}"\ntitle = "As it is"\n[tolerances]\n', tmp_path / "as_it_is.toml")
    result = with_sensitivities(calculate(loaded.detail, 1e-3, input_hash=loaded.input_hash), loaded)
    write_report(result, loaded, tmp_path / "as_it_is.pdf")
    outside = [row for row in recheck(tmp_path / "as_it_is.pdf").rows if not row.inside]
    assert not outside


def test_a_free_section_has_materials_and_surfaces_only() -> None:
    loaded = load(DETAILS / "validation" / "corner.toml")
    result = with_sensitivities(calculate(loaded.detail, 1e-3), loaded)
    assert result.sensitivities is not None
    assert result.sensitivities.of_kind("material")
    assert not result.sensitivities.of_kind("parameter")
