"""The options' pictures side by side: one scale for all drawings, one for all isotherms, one range of temperatures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple, Protocol, TypeVar

from bridge2d.comparison.records import Comparison
from bridge2d.detail import Dimension, Section
from bridge2d.drawing.isotherm_labels import Span
from bridge2d.drawing.isotherms import IsothermPicture, common_span, isotherm_picture
from bridge2d.drawing.legend import materials_legend
from bridge2d.drawing.scene import Scene
from bridge2d.drawing.section_drawing import BareSection, bare_section
from bridge2d.drawing.section_geometry import SectionGeometry, section_geometry
from bridge2d.errors import InputError
from bridge2d.materials import Material
from bridge2d.results import DetailResult, SectionResult

ROUNDS = 8
"""A picture that needs a smaller scale makes all others smaller; after so many rounds what there is counts."""


class Pictures(NamedTuple):
    """All pictures of a comparison, in the order of the options.

    Attributes:
        sections: the sections that are shown.
        drawings, isotherms: pictures of each.
        legend: materials of all.
        span: range of temperatures of all.
        has_dimensions: whether any drawing has dimensions.
    """

    sections: tuple[SectionResult, ...]
    drawings: tuple[BareSection, ...]
    isotherms: tuple[IsothermPicture, ...]
    legend: Scene
    span: Span
    has_dimensions: bool


def shown_sections(comparison: Comparison, name: str = "") -> tuple[SectionResult, ...]:
    """The section of each option that is drawn, unless one is named: of those that differ that with the coldest point.

    Args:
        comparison: the options.
        name: of the section that is wanted.

    Raises:
        InputError: no option has a section of that name.
    """
    results = [option.result for option in comparison.options]
    known = known_sections(comparison)
    if name and name not in known:
        right = f"name one of {', '.join(map(repr, known))}"
        raise InputError(f"no option has a section {name[:60]!r}", key="--section", right=right)
    if not name:
        among = differing_sections(comparison) or known
        factors = [(one.value, one.section) for result in results for one in result.f_rsi if one.section in among]
        of_each = [(one.value, s.section.name) for result in results for s in result.sections for one in s.f_rsi]
        name = min(factors or [one for one in of_each if one[1] in among] or [(1.0, among[0])])[1]
    return tuple(_named(result, name) for result in results)


def differing_sections(comparison: Comparison) -> tuple[str, ...]:
    """Names of the sections whose drawings are not the same in all options, or that an option lacks.

    Args:
        comparison: the options.
    """
    options = [{one.section.name: one.section for one in _real(option.result)} for option in comparison.options]

    def alike(name: str) -> bool:
        return all(name in one and _drawn(one[name]) == _drawn(options[0][name]) for one in options)

    return tuple(name for name in known_sections(comparison) if name not in options[0] or not alike(name))


def alike_words(comparison: Comparison, sections: Sequence[SectionResult]) -> str:
    """That what is drawn is the same in all options, and which sections are not; empty where it is not the same.

    Args:
        comparison: the options.
        sections: of each option that is drawn.
    """
    differing = differing_sections(comparison)
    if any(one.section.name in differing for one in sections):
        return ""
    if not differing:
        return "The drawings are the same in all options: what differs between them is drawn in no section."
    return f"This section is the same in all options; what differs is drawn in: {', '.join(differing)}."


def _drawn(section: Section) -> tuple[object, ...]:
    """What the pictures of a section depend on: its materials, its airtight layer, and what its isotherms come from."""
    temperatures = [(one.name, one.temperature) for one in section.environments]
    return section.regions, section.surfaces, section.airtight, temperatures, section.half


def known_sections(comparison: Comparison) -> tuple[str, ...]:
    """Names of all sections that can be drawn.

    Args:
        comparison: the options.
    """
    return tuple(dict.fromkeys(s.section.name for option in comparison.options for s in _real(option.result)))


def _real(result: DetailResult) -> list[SectionResult]:
    """The sections but for those of a window alone."""
    alone = {side.reference for side in result.detail.installations}
    return [section for section in result.sections if section.section.name not in alone]


def _named(result: DetailResult, name: str) -> SectionResult:
    """A section by its name; where there is none the one with this option's coldest point."""
    found = {section.section.name: section for section in _real(result)}
    if name in found:
        return found[name]
    coldest = min(result.f_rsi, key=lambda one: one.value).section if result.f_rsi else ""
    return found.get(coldest, next(iter(found.values())))


class Shapes(NamedTuple):
    """What is known of the sections before they are drawn; of their dimensions only those that differ."""

    sections: tuple[SectionResult, ...]
    geometries: tuple[SectionGeometry, ...]
    numbers: dict[Material, int]
    dimensions: tuple[tuple[Dimension, ...], ...]


def shapes(comparison: Comparison, section: str = "") -> Shapes:
    """The shapes of the sections that are shown, their materials numbered through.

    Args:
        comparison: the options.
        section: name of the section that is wanted, see `shown_sections`.
    """
    sections = shown_sections(comparison, section)
    symbols = {row.symbol for row in comparison.inputs if row.symbol}
    geometries = tuple(section_geometry(section) for section in sections)
    materials = dict.fromkeys(piece.material for geometry in geometries for piece in geometry.pieces)
    numbers = {material: k for k, material in enumerate(materials, start=1)}
    dimensions = tuple(tuple(d for d in one.section.dimensions if d.symbol in symbols) for one in geometries)
    return Shapes(sections, geometries, numbers, dimensions)


def pictures(
    comparison: Comparison, known: Shapes, drawing: tuple[float, float], isotherms: tuple[float, float], legend: float
) -> Pictures:
    """Draw all options.

    Args:
        comparison: the options.
        known: their shapes.
        drawing: greatest width and height of a drawing [mm].
        isotherms: the same of a picture of isotherms [mm].
        legend: width of the legend of materials [mm].
    """
    span = common_span(known.sections, comparison.shown)

    def drawn(k: int, at_least: float) -> BareSection:
        shape, dimensions = known.geometries[k], known.dimensions[k]
        return bare_section(known.sections[k], *drawing, known.numbers, shape, dimensions, at_least, comparison.shown)

    def coloured(k: int, at_least: float) -> IsothermPicture:
        return isotherm_picture(
            known.sections[k],
            *isotherms,
            comparison.options[k].result.detail.requirements,
            known.geometries[k],
            comparison.shown,
            at_least=at_least,
            span=span,
            bare=True,
        )

    count = len(known.sections)
    materials = materials_legend(known.geometries, known.numbers, legend, comparison.shown)
    return Pictures(
        known.sections,
        tuple(at_one_scale(drawn, count)),
        tuple(at_one_scale(coloured, count)),
        materials,
        span,
        any(known.dimensions),
    )


class Scaled(Protocol):
    """A picture with a scale, 1 to this."""

    @property
    def scale(self) -> float:
        """1 to this."""


Picture = TypeVar("Picture", bound=Scaled)


def at_one_scale(draw: Callable[[int, float], Picture], count: int) -> list[Picture]:
    """All pictures at the largest scale at which each of them fits.

    Args:
        draw: the picture of that number, at a scale of 1 to so much or smaller.
        count: of the pictures.
    """
    at_least = 0.0
    found: list[Picture] = []
    for _ in range(ROUNDS):
        found = [draw(k, at_least) for k in range(count)]
        scales = [one.scale for one in found]
        if max(scales) - min(scales) < 1e-9:
            break
        at_least = max(scales)
    return found
