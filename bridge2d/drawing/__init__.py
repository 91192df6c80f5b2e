"""Drawings of a section: the dimensioned section, and isotherms with heat-flow lines, as scenes for PDF and SVG.

results -> **drawing** -> documents. No solver, no reportlab but in `pdf`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge2d.detail import Detail
    from bridge2d.results import SectionResult
    from bridge2d.shown_units import DisplayUnits


def section_svg(
    result: SectionResult,
    kind: str = "isotherms",
    width: float = 168.0,
    detail: Detail | None = None,
    shown: DisplayUnits | None = None,
) -> str:
    """A picture of a section as SVG.

    Args:
        result: the section's numbers.
        kind: "isotherms" or "dimensions".
        width: of the picture [mm].
        detail: whose section it is; its title and project go along, and its limits say which isotherm is heavy.
        shown: units of the picture; SI unless given.

    Raises:
        ValueError: there is no such picture.
    """
    from bridge2d.drawing.svg import scene_svg
    from bridge2d.shown_units import IN_SI

    shown = shown or IN_SI
    said = " · ".join(part for part in (detail.project, detail.title, detail.revision) if part) if detail else ""
    if kind == "isotherms":
        from bridge2d.drawing.isotherms import isotherm_picture

        picture = isotherm_picture(result, width, requirements=detail.requirements if detail else (), shown=shown)
        return scene_svg(picture.scene, _named("Isotherms and heat-flow lines", result, detail), said)
    if kind == "dimensions":
        from bridge2d.drawing.section_drawing import dimensioned_section
        from bridge2d.drawing.shown_materials import material_numbers

        scene = dimensioned_section(
            result, width, numbers=material_numbers(detail.sections) if detail else None, shown=shown
        )
        return scene_svg(scene, _named("Section with dimensions", result, detail), said)
    raise ValueError(f'there is no picture "{kind}" of a section; ask for "isotherms" or "dimensions"')


def _named(picture: str, result: SectionResult, detail: Detail | None) -> str:
    """The picture's spoken name: what it shows, of which section, of which detail and project."""
    parts = [result.section.title, *((detail.title, detail.project) if detail else ())]
    return ": ".join([picture, ", ".join(dict.fromkeys(part for part in parts if part))])
