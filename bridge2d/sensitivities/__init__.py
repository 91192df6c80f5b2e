"""What a change of an input does to Ψ and f_Rsi, from the solution that is there already.

results -> **sensitivities** -> screen, JSON, report, page. `forms` integrates over the fields, `motion` moves the mesh
with the section's corners, `sections` puts both together for one section, `factor` looks at one temperature, `targets`
says how the sections' numbers make the result, `rows` makes the records.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge2d.results import DetailResult
    from bridge2d.variations import Inputs


def wanted(loaded: Inputs, *, asked: bool = False) -> bool:
    """Whether sensitivities are to be found.

    Args:
        loaded: the detail file, whose [tolerances] ask for them.
        asked: whether the call does.
    """
    return asked or loaded.tolerances is not None


def as_asked(result: DetailResult, loaded: Inputs, *, asked: bool = False) -> DetailResult:
    """The result with its sensitivities, where the call or the detail file asks for them.

    Args:
        result: all numbers of the detail.
        loaded: the detail file, whose [tolerances] ask for them.
        asked: whether the call does.
    """
    if not wanted(loaded, asked=asked):
        return result
    from bridge2d.sensitivities.rows import with_sensitivities

    return with_sensitivities(result, loaded)
