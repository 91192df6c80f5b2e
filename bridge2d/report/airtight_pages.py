"""The report's chapter on the airtight layer: its course, where it has to be taped, how cold it gets."""

from __future__ import annotations

from bridge2d.airtight_words import NONE_DRAWN, airtight_lines, bodies_of, lacks_airtight_layer
from bridge2d.drawing.scene import runs
from bridge2d.report.layout import Block, Heading, paragraph
from bridge2d.report.words import with_firm_units
from bridge2d.results import DetailResult
from bridge2d.shown_units import IN_SI, DisplayUnits

LINE = 152.0
"""Width of the sentences, which take two lines at most then [mm]."""
MEANING = (
    "The layer that keeps room air out of the construction has to run unbroken from one cut plane to the other. Where "
    "it changes from one piece to the next, it has to be joined: by tape or sealant, or by a gasket where a part "
    "opens. Temperatures are estimates, with the surface "
    "resistances of the temperature factor; the dew point is that of the room air at the humidity given (ISO 13788)."
)


def airtight(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """The airtight layer of every section that has one; that a junction has none; nothing of a section drawn freely.

    Args:
        result: all numbers of the detail.
        shown: units of everything that is written.
    """
    found: list[Block] = []
    for section in result.sections:
        if section.airtight is None:
            continue
        found.append(Heading(runs(section.section.title or section.section.name), level=2))
        lines = airtight_lines(section.airtight, shown, bodies_of(section.section))
        found += [paragraph(with_firm_units(line), width=LINE, mark="–", indent=5.0) for line in lines]
    if lacks_airtight_layer(result):
        return [paragraph(f"{NONE_DRAWN[:1].upper()}{NONE_DRAWN[1:]}.")]
    return [paragraph(MEANING), *found] if found else []
