"""Which values a search computes, and what it says of them: on functions whose answer is exact, and once for real."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace as Namespace

import pytest

from bridge2d.cli import main
from bridge2d.detail import Requirement
from bridge2d.detail_file import load
from bridge2d.errors import InputError
from bridge2d.variants import finding, trials
from bridge2d.variants.asked import limit_si
from bridge2d.variants.axes import axis, span
from bridge2d.variants.finding import Found, find, grid
from bridge2d.variants.found_words import as_json, in_words
from bridge2d.variants.trials import Trial
from bridge2d.variants.varied import MET, MISSED, REFUSED

LIMIT = Requirement("psi", 0.0, "maximum", "x", "test", "external")
Searched = Callable[..., Found]


@pytest.fixture
def searched(corner: Path, monkeypatch: pytest.MonkeyPatch) -> Searched:
    """A search on a function that is exact: the limit is met where it is 0 or less."""

    def of(function: Callable[[float], float], words: str = "20:200", **more) -> Found:
        def at(_loaded, _changes, value: float, tolerance: float) -> Trial:
            psi = function(value)
            row = {"status": "computed", "psi_external": psi, "psi_external_lower": psi, "psi_external_upper": psi}
            return Trial(value, MET if psi <= 0 else MISSED, row, tolerance, (-psi,), certain=True)

        monkeypatch.setattr(finding, "tried", at)
        loaded = load(corner)
        return find(loaded, span(f"insulation_thickness={words}", loaded), (LIMIT,), **more)

    return of


# -- which values ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("best", [24.0, 53.3, 87.9, 115.1, 121.6, 199.0])
def test_a_narrow_window_is_found_wherever_it_lies(searched: Searched, best: float) -> None:
    """A parabola below 0 over 1.2 mm: about a step of 1 mm wide, a twentieth of the first intervals."""
    found = searched(lambda x: 1e-5 * ((x - best) ** 2 - 0.36))
    assert found.any_met
    assert all(abs(one.met.value - best) <= 0.6 < abs(one.other.value - best) for one in found.crossings)
    assert len(found.trials) < 70


def test_the_words_say_where_the_limit_is_missed_beyond_what_is_undecided() -> None:
    def trial(value: float, standing: str) -> Namespace:
        return Namespace(value=value, standing=standing, certain=False, row={})

    known = [trial(185, "met"), trial(186, "undecided"), trial(190, "undecided"), trial(191, "not met")]
    span = Namespace(info=Namespace(name="joist_width"), unit="mm")
    crossing = Namespace(met=known[0], other=known[1])
    [words] = in_words(Namespace(span=span, fixed={}, crossings=[crossing], trials=known))
    assert (
        "at 186 mm: undecided, since the limit lies within the bracket or the tolerance of fRsi; at 191 mm: not"
        in words
    )
    [words] = in_words(Namespace(span=span, fixed={}, crossings=[crossing], trials=known[:3]))
    assert words.endswith("the tolerance of fRsi")


def test_a_window_narrower_than_a_step_is_found_below_it(searched: Searched) -> None:
    """A kink that reaches below 0 over 0.3 mm between two steps of 1 mm."""
    found = searched(lambda x: 1e-4 * (abs(x - 115.45) - 0.15) * (3.0 if x > 115.45 else 1.0))
    left, right = found.crossings
    assert left.other.value < 115.3 <= left.met.value <= right.met.value <= 115.6 < right.other.value
    assert right.other.value - left.other.value <= 1.0
    assert "insulation_thickness = 115." in in_words(found)[0]


def test_a_narrow_gap_among_values_that_meet_is_found(searched: Searched) -> None:
    found = searched(lambda x: -1e-5 * ((x - 87.9) ** 2 - 4.0))
    assert [(one.other.value, one.met.value) for one in found.crossings] == [(86.0, 85.0), (89.0, 90.0)]


def test_of_two_valleys_the_lower_one_is_found(searched: Searched) -> None:
    found = searched(lambda x: min((x - 50.0) ** 2 + 3.0, 2 * (x - 163.0) ** 2 - 4.0))
    assert {one.met.value for one in found.crossings} <= {162.0, 163.0, 164.0}
    assert found.any_met


def test_the_end_of_the_range_is_tried_though_no_step_reaches_it(searched: Searched) -> None:
    """20 to 235 in steps of 2 mm: met at 235 alone."""
    found = searched(lambda x: 234.5 - x, "20:235", step=2.0)
    (crossing,) = found.crossings
    assert (crossing.met.value, crossing.other.value) == (235.0, 234.0)
    assert grid(found.span, 2.0).value(108) == 235.0
    assert searched(lambda x: 24.5 - x, "20:25", step=3.0).crossings[0].met.value == 25.0


def test_every_step_is_computed_where_that_is_asked_for(searched: Searched) -> None:
    """A peak so narrow that nothing tells of it: found step by step, and not claimed otherwise."""
    hidden = lambda x: 0.1 if abs(x - 78.0) > 0.2 else -0.1  # noqa: E731
    without, each = searched(hidden, step=2.0), searched(hidden, every=True, step=2.0)
    assert not without.any_met
    (said,) = in_words(without)
    assert "the limits are met at none of 9 values" in said
    assert "between the values that were computed this is not proven" in said
    assert {one.met.value for one in each.crossings} == {78.0}
    assert {20.0 + 2 * k for k in range(91)} <= {one.value for one in each.trials}
    assert as_json(each)["every_step"]
    with pytest.raises(InputError, match="steps to be computed"):
        searched(hidden, every=True, step=0.001)


def test_a_range_beyond_the_limits_of_the_parameter_is_searched_within_them(searched: Searched, corner: Path) -> None:
    found = searched(lambda _: 1.0, "0:10000")
    assert (found.searched.first, found.searched.last, found.step) == (0.0, 500.0, 5.0)
    assert REFUSED not in {one.standing for one in found.trials}
    assert "from 0 to 500 mm (the limits of the parameter)" in in_words(found)[0]
    loaded = load(corner)
    with pytest.raises(InputError, match=r"has no values from 600 to 900; it is at least 0 and at most 500 mm"):
        find(loaded, span("insulation_thickness=600:900", loaded), (LIMIT,))


# -- what is said ------------------------------------------------------------------------------------------------------


def test_the_closest_value_is_told(searched: Searched) -> None:
    found = searched(lambda x: 1e-5 * (x - 115.25) ** 2 + 0.001)
    (said,) = in_words(found)
    assert found.closest is not None
    assert abs(found.closest.value - 115.25) < 1.0
    assert f"closest is {found.closest.value:g} mm with Ψ external 0.0010 ± 0.000" in said
    (said,) = in_words(searched(lambda x: -1e-5 * (x - 115.25) ** 2 - 0.001))
    assert said.startswith("all limits are met at each of ")
    assert "closest to the limit is 115" in said


def test_two_limits_that_leave_little_room(corner: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """fRsi asks for 60 mm or so and Ψ for no more than 63: nine values over the range miss what lies between.

    What is said of fRsi is not certain, since it has a tolerance and no bounds; of Ψ it is.
    """
    call = ["find", str(corner), "--vary", "insulation_thickness=10:200", "--psi-max", "-0.335", "--f-rsi-min", "0.812"]
    call += ["--step", "2"]
    assert main([*call, "--json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)
    low, high = found["crossings"]
    assert 58 < low["met"] <= high["met"] < 65
    certain = {one["value"]: one["certain"] for one in found["trials"]}
    assert not certain[low["met"]]
    assert not certain[low["other"]]  # too thin for fRsi
    assert certain[high["other"]]  # too thick for Ψ
    assert len(found["trials"]) < 30


def test_no_certainty_is_claimed_of_a_temperature_factor(corner: Path, capsys: pytest.CaptureFixture[str]) -> None:
    call = ["find", str(corner), "--vary", "insulation_thickness=40:60", "--step", "20"]
    assert main([*call, "--f-rsi-min", "0.8"]) == 0
    said = capsys.readouterr().out
    assert "for certain" not in said
    assert "with the whole tolerance of fRsi, which is an estimate" in said
    assert main([*call, "--psi-max", "-0.4"]) == 0
    assert "= 40 mm: all limits met, for certain; at 60 mm: not met, for certain" in capsys.readouterr().out


def test_a_bracket_of_a_millionth_decides(corner: Path) -> None:
    """A limit so close to Ψ that a bracket of 1e-5 holds it."""
    loaded = load(corner)
    narrow = trials.computed(loaded, {}, 1e-6).psi[0].value
    limit = Requirement("psi", narrow.upper + 0.2 * narrow.half_width, "maximum", "x", "test", "external")
    found = find(loaded, span("insulation_thickness=60:60.5", loaded), (limit,), step=0.5)
    assert found.trials[0].standing == MET
    assert found.trials[0].tolerance <= 1e-5


# -- words of the call -------------------------------------------------------------------------------------------------


def test_limits_may_have_a_unit() -> None:
    assert limit_si("psi_max", "0.02 W/(m·K)", "inch-pound") == 0.02
    assert limit_si("psi_max", "-0.02", "SI") == -0.02
    assert limit_si("psi_max", "0.1", "inch-pound") == pytest.approx(0.1730735)
    assert limit_si("chi_max", "20 mW/K", "SI") == 0.02
    assert limit_si("u_max", "0.2 Btu/(h ft2 °F)", "SI") == pytest.approx(1.1356527)
    for name, text in (("psi_max", "nan"), ("psi_max", "0.02 W/K"), ("f_rsi_min", "70"), ("f_rsi_min", "0.7 K")):
        with pytest.raises(InputError, match="is no limit"):
            limit_si(name, text, "SI")


def test_a_second_parameter_is_a_range_too(corner: Path) -> None:
    loaded = load(corner)
    assert axis("masonry_thickness=250:450", loaded, 5).values == (250.0, 300.0, 350.0, 400.0, 450.0)
    assert axis("masonry_thickness=250:450:2", loaded, 5).values == (250.0, 450.0)


@pytest.mark.parametrize("words", ["40,60,40", "50:50:2", "4 cm,40"])
def test_values_that_are_named_twice_are_refused(corner: Path, words: str) -> None:
    with pytest.raises(InputError, match="twice"):
        axis(f"insulation_thickness={words}", load(corner))
