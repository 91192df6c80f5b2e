"""The drawings of a comparison's page: each option in layers at one scale, its fine parts enlarged, a legend for all.

Part of `work`: records → plain values with SVG in them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bridge2d.comparison.records import Comparison
from bridge2d.drawing.colours import INK
from bridge2d.drawing.hatches import hatched
from bridge2d.drawing.isotherms import common_span
from bridge2d.drawing.layered_section import Common, LayeredSection, layered_section
from bridge2d.drawing.legend import hatch_spacings
from bridge2d.drawing.material_marks import drawn_kind
from bridge2d.drawing.scene import Item, Path, Placed, Scene, Text, rectangle_ring, runs
from bridge2d.drawing.section_geometry import Piece
from bridge2d.drawing.svg import MARGIN, Layer, layers_svg
from bridge2d.nomenclature import CONDUCTIVITY, TEMPERATURE_DIFFERENCE
from bridge2d.report.comparison_parts import fine_parts
from bridge2d.report.comparison_pictures import (
    Shapes,
    alike_words,
    at_one_scale,
    differing_sections,
    known_sections,
    shapes,
)

SIZE = (116.0, 120.0)
"""Greatest width and height of a drawing [mm]."""
PARTS = 176.0
"""Width that the enlarged parts are drawn for [mm]."""
SWATCH = (9.0, 5.0)
"""Of a material's hatch in the legend [mm]."""


def option_pictures(comparison: Comparison, section: str, layers: tuple[str, ...]) -> dict[str, Any]:
    """All drawings of a comparison.

    Args:
        comparison: the options held against the first.
        section: name of the section that is drawn; of those that differ that with the coldest point unless given.
        layers: of the drawings.

    Raises:
        InputError: no option has such a section.
    """
    known = shapes(comparison, section)
    span = common_span(known.sections, comparison.shown)
    details = [option.result.detail for option in comparison.options]

    def drawn(k: int, at_least: float) -> LayeredSection:
        common = Common(known.numbers, known.dimensions[k], span, at_least)
        return layered_section(known.sections[k], details[k], layers, SIZE, comparison.shown, common)

    found = at_one_scale(drawn, len(known.sections))
    widths = [one.width + 2 * MARGIN for one in found]
    shares = [100.0 * one / max(widths) for one in widths]
    pictures = [
        {
            "svg": _with_width(one.svg, share),
            "scale": one.scale,
            "section": result.section.title,
            "insulation": _insulation(comparison, known, k),
            "airtight": list(dict.fromkeys(piece.name for piece in result.section.airtight if piece.name)),
        }
        for k, (one, share, result) in enumerate(zip(found, shares, known.sections, strict=True))
    ]
    return {
        "pictures": pictures,
        "parts": _parts(comparison, known),
        "legend": _legend(comparison, known),
        "step": f"{span.step:g} {comparison.shown.unit(TEMPERATURE_DIFFERENCE)}" if "isotherms" in layers else "",
        "differing": any(known.dimensions),
        "alike": alike_words(comparison, known.sections),
        "some_differ": 0 < len(differing_sections(comparison)) < len(known_sections(comparison)),
    }


def _insulation(comparison: Comparison, known: Shapes, k: int) -> list[str]:
    """Number and name of each insulation in a drawing."""
    here = {known.numbers[piece.material]: piece.material for piece in known.geometries[k].pieces}
    return [
        f"({number}) {comparison.shown.made_name(material.name)}"
        for number, material in sorted(here.items())
        if material.group == "insulation"
    ]


def _with_width(svg: str, share: float) -> str:
    """A picture that takes its share of its place, so that all have one scale where the places are equally wide [%]."""
    return svg.replace("<svg ", f'<svg width="{share:.3f}%" ', 1)


def _parts(comparison: Comparison, known: Shapes) -> dict[str, Any] | None:
    """The fine parts of all options, as the sheet has them; None where the drawings show all well."""
    parts = fine_parts(comparison, known, PARTS)
    if parts is None:
        return None
    scenes = parts.drawn.scenes
    titles = [f"Fine part of {name}, enlarged" for name in parts.names]
    return {
        "one_scale": parts.drawn.one_scale,
        "pictures": [
            {"svg": layers_svg((one.width, one.height), [Layer(_for_screen(one.items), {})], title), "unnamed": unnamed}
            for one, title, unnamed in zip(scenes, titles, parts.drawn.unnamed, strict=True)
        ],
    }


def _for_screen(items: Sequence[Item]) -> tuple[Item, ...]:
    """A picture's items without the scale in figures beside its bar, since a screen does not keep it."""
    found: list[Item] = []
    for one in items:
        if isinstance(one, Text) and "    scale " in (words := "".join(run.text for run in one.runs)):
            found.append(one._replace(runs=runs(words.partition("    scale ")[0])))
        elif isinstance(one, Placed):
            found.append(one._replace(scene=one.scene._replace(items=_for_screen(one.scene.items))))
        else:
            found.append(one)
    return tuple(found)


def _legend(comparison: Comparison, known: Shapes) -> list[dict[str, Any]]:
    """Number, hatch, name and conductivity of each material, and the options that have it unless all do."""
    shown, spacings = comparison.shown, hatch_spacings(known.numbers)
    pieces: dict[Any, Piece] = {}
    users: dict[Any, list[str]] = {}
    for option, geometry in zip(comparison.options, known.geometries, strict=True):
        for piece in geometry.pieces:
            pieces[piece.material] = piece
            names = users.setdefault(piece.material, [])
            if option.name not in names:
                names.append(option.name)
    found = []
    for material, number in sorted(known.numbers.items(), key=lambda one: one[1]):
        ring = rectangle_ring(0.0, 0.0, *SWATCH)
        items = hatched(drawn_kind(pieces[material]), [ring], pieces[material].grain, spacing=spacings[material])
        swatch = Scene(*SWATCH, (*items, Path((ring,), closed=True, stroke=INK, width=0.13)))
        named = users[material]
        found.append(
            {
                "number": number,
                "svg": layers_svg(SWATCH, [Layer(swatch.items, {})], f"hatch of material {number}"),
                "name": shown.made_name(material.name),
                "conductivity": shown.value(CONDUCTIVITY, material.conductivity),
                "only": "" if len(named) == len(comparison.options) else ", ".join(named),
            }
        )
    return found
