"""Sensitivities through the doors: command line, JSON, report, recheck; and the block of tolerances."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from bridge2d.calculate import calculate
from bridge2d.cli import main
from bridge2d.detail_file import LoadedDetail, load, read
from bridge2d.errors import InputError
from bridge2d.report import write_report
from bridge2d.results import DetailResult
from bridge2d.sensitivities.rows import sensitivities, with_sensitivities
from bridge2d.sensitivity_records import Effect, InputEffect, Sensitivities, Spread

DETAILS = Path(__file__).parents[2] / "details"
CORNER = """junction = "wall_corner"
title = "Corner"
[parameters]
"""


def corner(more: str = "", **parameters: float) -> LoadedDetail:
    given = {"insulation_thickness": 80.0} | parameters
    return read(CORNER + "".join(f"{key} = {value}\n" for key, value in given.items()) + more, Path("corner.toml"))


def studied(name: str) -> tuple[DetailResult, Sensitivities]:
    loaded = load(DETAILS / name)
    result = calculate(loaded.detail, 1e-3)
    found = sensitivities(result, loaded)
    assert found is not None
    return result, found


@pytest.mark.parametrize("name", ["tollhouse_joist.toml", "tollhouse_fixing.toml", "tollhouse_framed_wall.toml"])
def test_shares_are_the_whole_result(name: str) -> None:
    _, found = studied(name)
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


def test_moved_mesh_and_difference_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both ways to a parameter's effect, the second one forced."""
    from bridge2d.sensitivities import rows
    from bridge2d.sensitivities.motion import NoMotionError

    loaded = corner()
    result = calculate(loaded.detail, 1e-3)
    moved = sensitivities(result, loaded)

    def stuck(*_: object, **__: object) -> None:
        raise NoMotionError

    monkeypatch.setattr(rows, "between", stuck)
    apart = sensitivities(result, loaded)
    assert moved is not None
    assert apart is not None
    others = {one.name: one for one in apart.inputs if one.kind == "parameter"}
    compared = [one for one in moved.inputs if one.kind == "parameter" and one.name in others]
    assert len(compared) >= 3
    for one in compared:
        other = others[one.name]
        assert (one.by, other.by) == ("moved mesh", "difference")
        assert abs(one.effect.value - other.effect.value) <= one.effect.tolerance + other.effect.tolerance


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
    first = wrong.inputs[0]
    altered = replace(first, effect=Effect(first.effect.value * 1.5 + 1e-3, first.effect.tolerance))
    write_report(
        replace(result, sensitivities=replace(wrong, inputs=(altered, *wrong.inputs[1:]))),
        loaded,
        tmp_path / "wrong.pdf",
    )
    assert not recheck(tmp_path / "wrong.pdf").agrees


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
