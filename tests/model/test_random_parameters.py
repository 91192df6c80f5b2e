"""Every junction at random parameters within its limits: a sound section that is computed, or one clear refusal."""

from __future__ import annotations

import os
from typing import Any

import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st

from bridge2d.junctions import NAMES, junctions
from tests import random_hatches, random_windows
from tests.random_parameters import assert_bracketed, built_or_refused, parameters

SEARCH = bool(os.environ.get("SEARCH"))
SETS, PARTS = 300, 6 if SEARCH else 3
"""Sets of parameters of each junction, and the tests that they are divided into, so that processes can share them."""
LARGE, FEWER = ("hatch_curb", "joist_pocket", "window_box"), (24, 45)
"""Junctions that take most of the time; their sets and those of the others unless SEARCH=1 asks for all."""
TOLERANCE, HALF_WIDTH, AGREEMENT = (1e-3, None, 1e-3) if SEARCH else (0.05, 1e3, 1e3)
"""A wide bracket shows as well that a set is computed; SEARCH=1 asks for that of a report, which takes much longer.
Relative width and half width [W/(m·K)] of the bracket around L2D, and how well temperatures have to settle [1]."""
LEAST_SHARE = 0.02 if SEARCH else 0.1
"""Of the sets at least this share has to be computed, else the test would only try refusals; of those of a window that
Hypothesis draws in one go between a twentieth and a half."""
FIXED: dict[str, list[dict[str, Any]]] = {
    "joist_pocket": [
        {"render_thickness": 1.25, "masonry_thickness": 266.88, "insulation_thickness": 360, "board_thickness": 77},
        # triangles beside the end of 10 µm of insulation were so long that 120 000 unknowns were not enough
        {
            "insulation_thickness": 0.01,
            "subfloor_thickness": 271,
            "ceiling_thickness": 271,
            "subfloor_material": "concrete 2200",
            "outside_resistance": 0.01,
        },
    ],
    "party_wall": [
        # without a party wall the airtight layers of both façades did not meet
        {"party_thickness": 0, "neighbour": "not insulated", "airtight_layer": "membrane"},
        {"party_thickness": 0, "neighbour": "not insulated", "airtight_layer": "none"},
    ],
}
"""Sets that once went wrong."""


def sets(name: str) -> st.SearchStrategy[dict[str, Any]]:
    """Sets of parameters of a junction."""
    fitting = {"window_box": random_windows.parameters, "hatch_curb": random_hatches.parameters}
    return fitting[name]() if name in fitting else parameters(junctions()[name])


@pytest.mark.parametrize("name", [name for name in NAMES if name != "free_section"])
@pytest.mark.parametrize("part", range(PARTS))
def test_any_parameters_are_computed_or_refused_by_name(name: str, part: int, monkeypatch: pytest.MonkeyPatch) -> None:
    for module in ("closer_look", "refinement"):
        monkeypatch.setattr(f"bridge2d.{module}.AGREEMENT", AGREEMENT)
    computed = []

    sets_in_all = SETS if SEARCH else FEWER[name not in LARGE]

    @settings(max_examples=sets_in_all // PARTS)
    @given(sets(name))
    def any_set(values: dict[str, Any]) -> None:
        detail = built_or_refused(junctions()[name], values)
        computed.append(detail is not None)
        if detail is not None:
            assert_bracketed(detail, TOLERANCE, HALF_WIDTH)

    (any_set if SEARCH else seed(part)(any_set))()
    assert sum(computed) >= LEAST_SHARE * len(computed)


@pytest.mark.parametrize(("name", "values"), [(name, values) for name, many in FIXED.items() for values in many])
def test_sets_that_once_went_wrong_are_computed(name: str, values: dict[str, Any]) -> None:
    detail = built_or_refused(junctions()[name], values)
    assert detail is not None
    assert_bracketed(detail, 1e-3, None)
