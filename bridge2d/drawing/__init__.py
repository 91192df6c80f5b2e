"""Drawings of a section: the dimensioned section, and isotherms with heat-flow lines, as scenes for PDF and SVG.

results -> **drawing** -> documents. No solver, no reportlab but in `pdf`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge2d.results import SectionResult


def section_svg(result: SectionResult, kind: str = "isotherms", width: float = 168.0) -> str:
    """A picture of a section as SVG.

    Args:
        result: the section's numbers.
        kind: "isotherms" or "dimensions".
        width: of the picture [mm].

    Raises:
        ValueError: there is no such picture.
    """
    from bridge2d.drawing.svg import scene_svg

    if kind == "isotherms":
        from bridge2d.drawing.isotherms import isotherm_picture

        return scene_svg(
            isotherm_picture(result, width).scene, f"Isotherms and heat-flow lines: {result.section.title}"
        )
    if kind == "dimensions":
        from bridge2d.drawing.section_drawing import dimensioned_section

        return scene_svg(dimensioned_section(result, width), f"Section with dimensions: {result.section.title}")
    raise ValueError(f'there is no picture "{kind}" of a section; ask for "isotherms" or "dimensions"')
