"""Every row of sensitivities against differences of tightly bracketed solutions on both sides of its value.

SEARCH=1 takes all rows of all details, for half an hour; the quick run takes the lengths of one wall. Steps, bends and
what is computed of an input are held in `test_sensitivities`.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from bridge2d.calculate import calculate
from bridge2d.detail_file import LoadedDetail, load, read
from bridge2d.sensitivities.rows import sensitivities
from bridge2d.sensitivity_records import InputEffect
from tests.surfaces.held import Held

SEARCH = bool(os.environ.get("SEARCH"))
DETAILS = sorted(
    path for path in (Path(__file__).parents[2] / "details").glob("*.toml") if path.stem != "tollhouse_building"
)
SMALL = """junction = "party_wall"
title = "A party wall that meets a wall insulated inside"
"""


def step_of(row: InputEffect) -> float:
    """A step that is neither lost in the brackets nor far from the value."""
    if row.measure != "length":
        return 0.01 * row.value
    return max(round(min(5e-4, 0.02 * row.value), 6), 2e-6)


def held_rows(loaded: LoadedDetail, tight: float) -> list[str]:
    """Rows that lie outside their tolerance, in words."""
    result = calculate(loaded.detail, 1e-3)
    found = sensitivities(result, loaded)
    assert found is not None
    held, outside = Held(loaded, result, tight), []
    for row in found.inputs:
        if row.computed or row.frozen or (row.kind == "surface" and not row.parameter):
            continue
        for stated, (true, doubt) in held.sides(row, step_of(row)):
            if abs(stated.value - true) > stated.tolerance + doubt:
                outside.append(f"{row.name}: {stated.value} ({stated.tolerance}), but {true} ({doubt})")
    return outside


@pytest.mark.skipif(not SEARCH, reason="takes half an hour; SEARCH=1")
@pytest.mark.parametrize("path", DETAILS, ids=lambda path: path.stem)
def test_every_row_of_every_detail(path: Path) -> None:
    assert not held_rows(load(path), 1e-6)


def test_every_length_of_a_small_detail() -> None:
    """By one difference each, of solutions that are as narrow as the effect is large."""
    loaded = read(SMALL, Path("small.toml"))
    result = calculate(loaded.detail, 1e-3)
    found = sensitivities(result, loaded)
    assert found is not None
    held = Held(loaded, result, 1e-4)
    rows = [row for row in found.inputs if row.measure == "length" and row.smaller is None]
    assert len(rows) >= 5
    for row in rows:
        true, doubt = held.middle(row, 2 * step_of(row))
        assert abs(row.effect.value - true) <= row.effect.tolerance + doubt + 1e-3 * abs(true), row.name
