"""Sums of a building: products, brackets, shares, verdicts, ranking. All expected values are exact arithmetic."""

import math
from pathlib import Path

import pytest

from bridge2d.building.records import Building, DetailNumbers, Element, Junction, Side, Variant, Verdict, numbers_of
from bridge2d.building.sums import plain_verdicts, strictest, summed
from bridge2d.detail import Requirement
from bridge2d.results import Bounded

LIMIT = Requirement("psi", 0.1, "maximum", "edges", "invented", "external")
MOULD = Requirement("f_rsi", 0.7, "minimum", "mould", "invented")


def detail(psi=(0.2, 0.22), repeated=None, chi=None, sides=(), verdicts=()):
    return DetailNumbers(
        "Edge",
        "free_section",
        "hash",
        {"external": Bounded(*psi)},
        {"external": Bounded(*repeated)} if repeated else {},
        Bounded(*chi) if chi else None,
        tuple(Side(name, Bounded(*ends), length) for name, ends, length in sides),
        (0.75, 0.01),
        tuple(verdicts),
    )


def building(*junctions, elements=(), requirements=()):
    count = 1 + max((j.variant for j in junctions if j.variant is not None), default=-1)
    variants = tuple(Variant(Path("edge.toml"), "", {}, "", ()) for _ in range(count))
    return Building(
        "House", "", "", "", "", "external", tuple(requirements), "", junctions, elements, variants, Path("b.toml"), ""
    )


def test_brackets_add_and_plain_values_have_none():
    edge = Junction("1", "", "north", variant=0, length=10.0)
    corner = Junction("2", "Corner", "south", psi=-0.05, source="s", length=4.0)
    iron = Junction("3", "Iron", "south", chi=0.03, source="s", number=5)
    found = summed(building(edge, corner, iron), [detail()])
    assert found.loss.lower == pytest.approx(2.0 - 0.2 + 0.15)
    assert found.loss.upper == pytest.approx(2.2 - 0.2 + 0.15)
    assert found.given == pytest.approx(-0.05)
    assert [entry.junction.name for entry in found.entries] == ["Edge", "Corner", "Iron"]
    # shares are of the losses above zero: 2.1 and 0.15
    assert [entry.share for entry in found.entries] == pytest.approx([2.1 / 2.25, -0.2 / 2.25, 0.15 / 2.25])
    assert [group.name for group in found.groups] == ["north", "south"]
    assert sum(group.junctions.value for group in found.groups) == pytest.approx(found.loss.value)
    assert (found.elements, found.increase, found.total) == (None, None, None)


def test_elements_give_the_mean_increase_and_the_total():
    edge = Junction("1", "", "north", variant=0, length=10.0)
    found = summed(
        building(edge, elements=(Element("wall", "north", 40.0, 0.3), Element("roof", "", 60.0, 0.2))), [detail()]
    )
    assert found.area == 100.0
    assert found.increase == Bounded(found.loss.lower / 100, found.loss.upper / 100)
    assert found.elements == pytest.approx(24.0)
    assert found.total.value == pytest.approx(26.1)
    assert found.groups[0].increase.value == pytest.approx(2.1 / 40)


def test_pieces_count_by_spacing_or_one_by_one():
    # χ = 0.012 at a spacing of 0.6: χ/s = 0.02
    joists = detail(psi=(0.05, 0.052), repeated=(0.02, 0.021), chi=(0.012, 0.0126))
    by_length = summed(building(Junction("1", "", "", variant=0, length=6.0)), [joists])
    counted = summed(building(Junction("1", "", "", variant=0, length=6.0, number=10)), [joists])
    pieces = summed(building(Junction("1", "", "", variant=0, number=10)), [joists])
    assert by_length.loss.lower == pytest.approx(0.3)
    assert counted.loss.lower == pytest.approx(6 * 0.03 + 10 * 0.012)  # as many as the spacing gives: the same sum
    assert counted.loss.upper == pytest.approx(6 * 0.031 + 10 * 0.0126)
    assert pieces.loss.upper == pytest.approx(0.126)
    assert [line.part for line in counted.lines] == ["edge without the pieces", "pieces"]


def test_a_window_gives_three_lengths_from_one_file():
    window = detail(sides=[("jamb", (0.1, 0.1), 3.4), ("head", (0.2, 0.2), 1.1), ("sill", (0.3, 0.3), 1.1)])
    counted = summed(building(Junction("1", "", "", variant=0, number=2)), [window])
    assert [line.amount for line in counted.lines] == pytest.approx([6.8, 2.2, 2.2])
    assert counted.loss.value == pytest.approx(2 * (0.34 + 0.22 + 0.33))
    measured = summed(building(Junction("1", "", "", variant=0, lengths={"sill": 5.0, "jamb": 2.0})), [window])
    assert measured.loss.value == pytest.approx(1.5 + 0.2)
    assert [line.part for line in measured.lines] == ["sill", "jamb"]


@pytest.mark.parametrize(
    ("junction", "verdicts"),
    [
        (Junction("1", "a", "", psi=0.05, f_rsi=0.8), [("psi", True, True), ("f_rsi", True, True)]),
        (Junction("1", "a", "", psi=0.15), [("psi", False, True), ("f_rsi", False, False)]),
        (Junction("1", "a", "", chi=0.15, f_rsi=0.6), [("f_rsi", False, True)]),
    ],
)
def test_what_a_source_does_not_tell_cannot_be_told(junction, verdicts):
    found = plain_verdicts(junction, [LIMIT, MOULD])
    assert [(v.requirement.quantity, v.met, v.certain) for v in found] == verdicts
    assert summed(building(junction, requirements=(LIMIT, MOULD)), []).kept == all(met for _, met, _ in verdicts)


def test_ranking_puts_those_above_their_limit_first_and_the_most_per_metre():
    limit = Verdict(LIMIT, 0.12, met=False, certain=True)
    near = detail(psi=(0.12, 0.12), verdicts=[limit])
    free = detail(psi=(0.5, 0.5))
    kept = detail(psi=(0.09, 0.09), verdicts=[limit])
    negative = detail(psi=(-0.1, -0.1))
    junctions = [Junction(str(k), "", "", variant=k, length=10.0) for k in range(4)]
    found = summed(building(*junctions, Junction("5", "Iron", "", chi=9.0, number=1)), [free, near, kept, negative])
    assert [(gain.line.ref, gain.limited) for gain in found.gains] == [
        ("1", True), ("0", False), ("2", False), ("5", False),
    ]  # fmt: skip
    assert found.gains[0].excess == pytest.approx(0.02)
    assert found.gains[0].saving == pytest.approx(0.2)
    assert found.gains[2].reference == 0.0


def test_a_limit_of_another_dimension_system_is_no_reference():
    inner = Verdict(Requirement("psi", 0.01, "maximum", "i", "s", "internal"), 0.2, met=False, certain=True)
    outer = Verdict(LIMIT, 0.2, met=False, certain=True)
    assert strictest([inner, outer], "psi", "external") == 0.1
    assert strictest([inner], "psi", "external") is None


def test_numbers_of_another_shape_are_none():
    document = {"title": "Edge", "junction": "free_section", "input_hash": "hash", "chi": None}
    document |= {"psi": [{"dimensions": "external", "lower": 0.1, "upper": 0.2}]}
    document |= {"installations": [], "f_rsi": [], "requirements": [], "psi_trace": [], "climate": None}
    assert numbers_of(document).psi == {"external": Bounded(0.1, 0.2)}
    with pytest.raises(TypeError, match="no text"):
        numbers_of({**document, "title": 7})
    with pytest.raises(ValueError, match="the lower bound is above the upper one"):
        numbers_of({**document, "psi": [{"dimensions": "external", "lower": 0.3, "upper": 0.2}]})


def test_no_loss_has_no_share():
    found = summed(building(Junction("1", "a", "", psi=-0.1, length=1.0)), [])
    assert found.entries[0].share is None
    assert math.isclose(found.loss.value, -0.1)
