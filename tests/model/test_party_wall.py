"""The party wall: sound or refused, nothing where it is not there, better with returned insulation."""

from __future__ import annotations

from functools import partial
from itertools import pairwise

import pytest

from bridge2d.calculate import calculate
from bridge2d.errors import InputError
from bridge2d.junctions.party_wall import JUNCTION
from tests import built_junctions
from tests.built_junctions import overlap, psi
from tests.random_parameters import (
    assert_airtight_line_is_unbroken,
    assert_declared_well,
    unit,
)

built = partial(built_junctions.built, JUNCTION)


@pytest.mark.parametrize("neighbour", ["insulated too", "not insulated"])
def test_declarations_and_airtight_layer(neighbour: str) -> None:
    assert_declared_well(JUNCTION, built(neighbour=neighbour))
    for layer in ("membrane", "parge coat"):
        assert_airtight_line_is_unbroken(built(neighbour=neighbour, airtight_layer=layer))


@pytest.mark.parametrize("neighbour", ["insulated too", "not insulated"])
def test_airtight_layer_turns_along_the_party_wall(neighbour: str) -> None:
    section = built(neighbour=neighbour).sections[0]
    assert all(abs(x) >= 0.125 - 1e-9 for piece in section.airtight for x, _ in piece.line)
    top = max(y for region in section.regions for _, y in region.polygon)
    sides = {x > 0 for piece in section.airtight for x, y in piece.line if y == top}
    assert sides == ({True} if section.mirrored else {True, False})


def test_without_a_party_wall_the_facade_goes_on() -> None:
    # Exact: Ψ = 0 in all three systems.
    for one in psi(built(party_thickness=0, render_thickness=20, cavity_thickness=30)).values():
        assert abs(one.value.lower) <= 1e-6
        assert abs(one.value.upper) <= 1e-6


def test_half_the_section_and_both_flats_agree() -> None:
    # Exact: without insulation both flats are the same, whether one is reflected or both are drawn.
    bare = {"insulation_thickness": 0, "parge_thickness": 0, "return_length": 0, "airtight_layer": "none"}
    half = psi(built(neighbour="insulated too", **bare), 1e-5)
    both = psi(built(neighbour="not insulated", **bare), 1e-5)
    for dimensions, one in half.items():
        assert overlap(one.value, both[dimensions].value)
        assert one.value.value == pytest.approx(both[dimensions].value.value, abs=2e-5)


def test_internal_lengths_leave_the_plastered_party_wall_out() -> None:
    found = psi(built())
    u_value = found["external"].terms[0].u_value
    difference = found["internal"].value.value - found["external"].value.value
    assert difference == pytest.approx(u_value * (0.25 + 2 * 0.015), abs=1e-9)  # exact
    assert found["overall_internal"].value == found["external"].value


def test_returned_insulation_warms_the_edge_and_saves_heat() -> None:
    results = [calculate(built(return_length=length)) for length in (0, 250, 500, 1000)]
    values = [next(p.value for p in r.psi if p.dimensions == "external") for r in results]
    assert all(more.upper < less.lower for less, more in pairwise(values))
    assert results[1].f_rsi[0].value > results[0].f_rsi[0].value


def test_the_neighbour_s_wall_is_the_coldest_place_where_it_is_not_insulated() -> None:
    (factor,) = calculate(built(neighbour="not insulated")).f_rsi
    assert factor.point[0] < 0


def test_a_return_of_no_thickness_is_none() -> None:
    names = {region.name for region in built(return_thickness=0).sections[0].regions}
    assert names == {region.name for region in built(return_length=0).sections[0].regions}


def test_a_room_colder_than_outside_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        built(inside_temperature=-10)
    assert caught.value.key == "inside_temperature"


def test_basis_of_an_override_reaches_the_regions() -> None:
    detail = built(return_material=unit(0.05))
    assert any(region.basis == "test" for region in detail.sections[0].regions)
