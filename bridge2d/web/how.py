"""Fields for what no detail file says: how closely a detail is computed, and by which mesher.

Part of `states`: words of an address ↔ fields.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from bridge2d.solving import MESHERS, TOLERANCE, WIDEST, Solving, plain, read_mesher, read_tolerance
from bridge2d.web.fields import Field, Group, plain_number

FINEST = 1e-5
"""Least tolerance on the page [-]: it costs a few seconds and moves no digit that a report shows."""
AS_USUAL = {"tolerance": plain(TOLERANCE), "mesher": Solving().mesher}
"""How a detail is computed unless told otherwise, as its fields have it."""
HOW = Group(
    "How it is computed",
    (
        Field(
            "tolerance",
            "number",
            "Width of the bracket",
            AS_USUAL["tolerance"],
            help="of L2D, relative to it, at which the mesh is refined no further; half of Ψ's bracket is at most "
            "0.0005 W/(m·K) in any case; a bracket is shown rounded up to its last decimal, however narrow it is",
            limits=f"{plain(FINEST)} to {plain(WIDEST)}",
            prefix="",
        ),
        Field(
            "mesher",
            "words",
            "Mesh",
            AS_USUAL["mesher"],
            choices=MESHERS,
            help="auto: a grid where all edges are parallel to the axes, else gmsh",
            prefix="",
        ),
    ),
    closed=True,
)
"""Fields of what no detail file says."""


def how_of(given: Mapping[str, str]) -> dict[str, str]:
    """What was typed, where it is not as usual.

    Args:
        given: the address's pairs.
    """
    said = {key: given.get(key, "").strip()[:40] for key in AS_USUAL}
    return {key: words for key, words in said.items() if words and words != AS_USUAL[key]}


def solving_of(how: Mapping[str, str]) -> Solving:
    """What was asked for.

    Args:
        how: what was typed, where it is not as usual.

    Raises:
        InputError: it says nothing of the kind; its key is the field.
    """
    said = {**AS_USUAL, **how}
    return Solving(read_tolerance(plain_number(said["tolerance"]), FINEST), read_mesher(said["mesher"]))


def how_with(how: Mapping[str, str], tolerance: float) -> dict[str, str]:
    """The same with another tolerance.

    Args:
        how: what was typed, where it is not as usual.
        tolerance: relative width of the bracket [-].
    """
    return how_of({**how, "tolerance": plain(tolerance)})


def how_group(how: Mapping[str, str]) -> Group:
    """The fields with what was typed in them, open where something was.

    Args:
        how: what was typed, where it is not as usual.
    """
    fields = tuple(replace(one, value=how.get(one.name, one.value)) for one in HOW.fields)
    return replace(HOW, fields=fields, closed=not how)
