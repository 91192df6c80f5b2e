"""The partition's end: sound or refused, nothing where the insulation runs on behind it or it is not there."""

from __future__ import annotations

from functools import partial
from itertools import pairwise
from typing import Any

import pytest

from bridge2d.errors import InputError
from bridge2d.junctions.partition_end import JUNCTION
from tests import built_junctions
from tests.built_junctions import overlap, psi
from tests.random_parameters import (
    assert_airtight_line_is_unbroken,
    assert_declared_well,
    unit,
)

built = partial(built_junctions.built, JUNCTION)


BARE: dict[str, Any] = {"parge_thickness": 0, "airtight_layer": "none", "cavity_thickness": 0, "board_thickness": 0}


@pytest.mark.parametrize("runs_to", ["masonry", "insulation"])
def test_declarations_and_airtight_layer(runs_to: str) -> None:
    assert_declared_well(JUNCTION, built(runs_to=runs_to))
    for layer in ("membrane", "parge coat"):
        assert_airtight_line_is_unbroken(built(runs_to=runs_to, airtight_layer=layer, return_length=200))


def test_without_a_partition_the_facade_goes_on() -> None:
    # Exact: Ψ = 0 in all three systems.
    for one in psi(built(partition_thickness=0, render_thickness=20, cavity_thickness=30)).values():
        assert abs(one.value.lower) <= 1e-6
        assert abs(one.value.upper) <= 1e-6


def test_a_partition_of_the_facade_s_insulation_interrupts_nothing() -> None:
    # Exact: the layer that it interrupts goes on unchanged, so it may as well stop at it.
    same = {"insulation_material": unit(0.05), "partition_material": unit(0.05), **BARE}
    through, before = (built(runs_to=runs_to, **same) for runs_to in ("masonry", "insulation"))
    for dimensions, one in psi(through).items():
        other = psi(before)[dimensions]
        assert one.value.value == pytest.approx(other.value.value, abs=1e-6)


def test_a_return_of_the_facade_s_plaster_is_plaster() -> None:
    # Exact: insulation returned beside the partition that is as thick and made as its plaster changes nothing.
    plaster = {
        "partition_plaster_thickness": 30,
        "partition_plaster_material": unit(0.8),
        "insulation_material": unit(0.8),
        **BARE,
    }
    plain = psi(built(**plaster, return_length=0), 1e-5)
    returned = psi(built(**plaster, return_length=300, return_thickness=30, return_material=unit(0.8)), 1e-5)
    for dimensions, one in plain.items():
        assert overlap(one.value, returned[dimensions].value)
        assert one.value.value == pytest.approx(returned[dimensions].value.value, abs=2e-5)


def test_insulation_behind_the_partition_is_worth_more_than_any_return() -> None:
    # Behind it runs all the insulation; ΔΨ is far beyond the brackets.
    values = [
        psi(built(**changes))["external"].value
        for changes in (
            {"return_length": 0},
            {"return_length": 300},
            {"return_length": 1000},
            {"runs_to": "insulation"},
        )
    ]
    assert all(better.upper < worse.lower for worse, better in pairwise(values))


def test_a_light_partition_leaks_less_than_a_solid_one() -> None:
    light, solid = (
        psi(built(partition_material=name))["external"].value for name in ("gypsum block, old", "concrete 2200")
    )
    assert light.upper < solid.lower


def test_a_room_colder_than_outside_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        built(inside_temperature=-10)
    assert caught.value.key == "inside_temperature"
