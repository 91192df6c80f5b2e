"""Marks on a section: the airtight layer, the coldest points of inside surfaces, and probes, each with its label."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np

from bridge2d.drawing.callouts import Labelled, Words, callout, place_block, together
from bridge2d.drawing.colours import ACCENT, INK
from bridge2d.drawing.frame import Frame
from bridge2d.drawing.labels import air_grounds, longest_face_middle, nearest_side, outside_mask, widest_side
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.scene import Clip, Item, Path, Run, circle_ring, rectangle_ring, runs
from bridge2d.drawing.section_geometry import NEAR, both_halves, distance_to
from bridge2d.drawing.sheet import CELL, BoolArray, Sheet
from bridge2d.nomenclature import TEMPERATURE
from bridge2d.results import ProbeResult, SectionResult, TemperatureFactor
from bridge2d.shown_units import IN_SI, DisplayUnits

AIRTIGHT_WIDTH = 0.85
AIRTIGHT_DASH = (3.4, 1.1, 0.7, 1.1)
ON_MATERIAL = 1.6
"""How much rather a label stands in the air than on a material."""
MARK = 2.4
"""Height of the mark at a coldest point [mm]."""
RING = 0.7
"""Radius of the ring at a probe [mm]."""
SMALL = 6.2


# -- airtight layer ------------------------------------------------------------------------------------------------


def _airtight_on_paper(placed: Frame) -> dict[str, list[FloatArray]]:
    """The lines of each name, both halves of a mirrored section [mm]; none where a body carries the layer on."""
    section = placed.geometry.section
    found: dict[str, list[FloatArray]] = {}
    for piece in section.airtight:
        if piece.through:
            continue
        halves = both_halves(piece.line, section.half)
        found.setdefault(piece.name, []).extend(placed.paper(half) for half in halves)
    return found


def airtight_lines(placed: Frame, sheet: Sheet) -> list[Item]:
    """The airtight layer as a heavy dash-dot line, only as it is given, and the cells along it taken."""
    lines = [line for named in _airtight_on_paper(placed).values() for line in named]
    if not lines:
        return []
    x0, y0, x1, y1 = placed.window
    sheet.take_lines(*(np.clip(points, (x0, y0), (x1, y1)) for points in lines))
    under = Path(tuple(lines), stroke="#ffffff", width=AIRTIGHT_WIDTH + 0.5)
    return [
        Clip(
            (rectangle_ring(x0 - 1.0, y0 - 1.0, x1 + 1.0, y1 + 1.0),),
            (under, Path(tuple(lines), stroke=ACCENT, width=AIRTIGHT_WIDTH, dash=AIRTIGHT_DASH)),
        )
    ]


def airtight_labels(placed: Frame, sheet: Sheet, masks: Mapping[str, BoolArray]) -> Labelled:
    """The name of every piece with a leader to its own line, never in the coldest environment's air.

    The first one says what the line is; names for which there is no room are listed in one row under the picture.
    """
    section = placed.geometry.section
    coldest = min(e.temperature for e in section.environments)
    warm = np.zeros_like(sheet.taken)
    for environment in section.environments:
        if environment.temperature > coldest:
            warm |= masks[environment.name]
    grounds = [(1.0, warm), (ON_MATERIAL, sheet.box(*placed.window) & ~outside_mask(placed, sheet))]
    items: list[Item] = []
    named: list[str] = []
    homeless: list[str] = []
    title = Run("airtight layer", "bold")
    for name, lines in _airtight_on_paper(placed).items():
        seen = _seen(placed, lines)
        words = runs(name) if named else runs(title, f": {name}" if name else "")
        blocks = [[words], *([[runs(title), runs(name)]] if name and not named else [])]
        led = callout(sheet, grounds, blocks, seen, colour=ACCENT) if len(seen) else []
        items += led
        named += [name] if led else []
        homeless += [] if led else [name]
    others = "; ".join(name for name in homeless if name)
    row = runs(title._replace(colour=ACCENT), f": {others}" if others else "")
    return Labelled(tuple(items), (row,) if homeless else ())


def _seen(placed: Frame, lines: list[FloatArray]) -> FloatArray:
    """Points along lines within the window; shape (n, 2) [mm]."""
    x0, y0, x1, y1 = placed.window
    found: list[FloatArray] = []
    for points in lines:
        for start, end in pairwise(points):
            count = max(int(np.hypot(*(end - start)) / 4.0), 1)
            found.extend(start + share * (end - start) for share in (np.arange(count) + 0.5) / count)
    points = np.array(found).reshape(-1, 2)
    return points[((points > (x0, y0)) & (points < (x1, y1))).all(axis=1)]


# -- coldest points ------------------------------------------------------------------------------------------------


def coldest_points(
    result: SectionResult, placed: Frame, sheet: Sheet, masks: Mapping[str, BoolArray], *, final: bool
) -> Labelled:
    """▼ at the coldest point of each inside surface, and its temperature in the air or the margin beside it.

    Args:
        result: the section's numbers.
        placed: the section on paper.
        sheet: the paper.
        masks: the environments' air.
        final: whether a label without room may go under the picture.
    """
    return together(_coldest(result, placed, sheet, masks, factor, final=final) for factor in result.f_rsi)


def _coldest(
    result: SectionResult,
    placed: Frame,
    sheet: Sheet,
    masks: Mapping[str, BoolArray],
    factor: TemperatureFactor,
    *,
    final: bool,
) -> Labelled:
    coldest = estimate_text(factor.temperature, placed.shown)
    shown = runs(Run("θ", "italic"), Run("si,min", subscript=True), f" {coldest}")
    mask = masks[factor.environment]
    if is_uniform(result, factor):
        return _uniform(placed, sheet, factor.environment, mask, shown, final=final)
    at = placed.paper(np.array([factor.point]))[0]
    if not _in_window(placed, at):
        where = ", ".join(placed.shown.length(c) for c in factor.point)
        words = runs(shown, f" ({factor.environment}): coldest point outside the part drawn, at {where}")
        return Labelled(notes=(words,))
    mark = _mark(placed, sheet, at)
    sheet.take_box(*(mark.min(axis=0) - 0.2).tolist(), *(mark.max(axis=0) + 0.2).tolist())
    drawn = Path((mark,), closed=True, fill=INK, stroke="#ffffff", width=0.25)
    centre = mark.mean(axis=0)
    led = callout(
        sheet, air_grounds(placed, sheet, masks, factor.environment), [[shown]], centre[None, :], mark=0.6 * MARK
    )
    if led:
        return Labelled((drawn, *led))
    if final:
        return Labelled((drawn,), (runs(shown, f" ({factor.environment}), at the mark"),))
    return Labelled((drawn,), crowded=widest_side(placed, sheet, mask) or nearest_side(placed, at))


def _uniform(placed: Frame, sheet: Sheet, environment: str, mask: BoolArray, shown: Words, *, final: bool) -> Labelled:
    """The words for a surface that is equally cold everywhere."""
    target = longest_face_middle(placed, [f for f in placed.geometry.faces if f.surface.environment == environment])
    everywhere = "the same along the whole surface"
    one_line, two_lines = [runs(shown, f", {everywhere}")], [shown, runs(everywhere)]
    settings = ((two_lines, 0.0), (one_line, 0.0), (one_line, 90.0), (two_lines, 90.0))
    texts = place_block(sheet, mask, settings, target)
    if texts:
        return Labelled(tuple(texts))
    side = widest_side(placed, sheet, mask)
    return Labelled(crowded=side) if side and not final else Labelled(notes=(runs(environment, ": ", one_line[0]),))


def is_uniform(result: SectionResult, factor: TemperatureFactor) -> bool:
    """Whether all of an environment's surface is as cold as its coldest point, within that one's tolerance.

    Args:
        result: the section's numbers.
        factor: the environment's temperature factor.
    """
    section, fields = result.section, result.fields
    on_surface = np.zeros(len(fields.points), dtype=bool)
    for surface in section.surfaces:
        if surface.environment == factor.environment:
            for start, end in pairwise(np.array(surface.edge, dtype=float)):
                on_surface |= distance_to(fields.points, start, end) < NEAR
    if not on_surface.any():
        return False
    given = {e.name: e.temperature for e in section.environments}
    tolerance = factor.tolerance * abs(given[factor.environment] - min(given.values()))
    return float(np.ptp(fields.temperature_f_rsi[on_surface])) < max(tolerance, 1e-9)


def estimate_text(temperature: float, shown: DisplayUnits = IN_SI) -> str:
    """A temperature [°C] as an estimate, without its tolerance, which stands in the table."""
    return shown.estimate(TEMPERATURE, temperature, 0.0).partition(" (")[0]


def _in_window(placed: Frame, at: FloatArray) -> bool:
    x0, y0, x1, y1 = placed.window
    return bool(x0 - 0.1 <= at[0] <= x1 + 0.1 and y0 - 0.1 <= at[1] <= y1 + 0.1)


def _mark(placed: Frame, sheet: Sheet, at: FloatArray) -> FloatArray:
    """A small triangle in the air, its tip on the point."""
    outside = outside_mask(placed, sheet)
    best = (0.0, 1.0)
    for way in ((0.0, 1.0), (0.0, -1.0), (1.0, 0.0), (-1.0, 0.0), (0.7, 0.7), (-0.7, 0.7), (0.7, -0.7), (-0.7, -0.7)):
        row, column = int((at[1] + 2.0 * way[1]) / CELL), int((at[0] + 2.0 * way[0]) / CELL)
        if 0 <= row < outside.shape[0] and 0 <= column < outside.shape[1] and outside[row, column]:
            best = way
            break
    along = np.array(best)
    across = np.array([-along[1], along[0]])
    return np.stack([at, at + MARK * along + 1.1 * across, at + MARK * along - 1.1 * across])


# -- probes --------------------------------------------------------------------------------------------------------


def probe_marks(result: SectionResult, placed: Frame, sheet: Sheet, *, final: bool) -> Labelled:
    """A ring at each probe and at the coldest point of each watched line, with its name and temperature.

    Args:
        result: the section's numbers.
        placed: the section on paper.
        sheet: the paper.
        final: whether a label without room may go under the picture.
    """
    x0, y0, x1, y1 = placed.window
    grounds = [
        (1.0, outside_mask(placed, sheet) | sheet.box(x0 - 3, y0 - 3, x1 + 3, y1 + 3)),
        (1.5, sheet.everywhere()),
    ]
    named = [(probe.name, probe) for probe in result.probes]
    marked = {line.name for line in result.section.watched if line.marked}
    named += [(f"{probe.name}, lowest", probe) for probe in result.watched if probe.name in marked]
    places = [placed.paper(np.array([probe.point]))[0] for _, probe in named]
    rings = [at for at in places if _in_window(placed, at)]
    for at in rings:
        sheet.take_box(at[0] - 0.9, at[1] - 0.9, at[0] + 0.9, at[1] + 0.9)
    circles = [Path((circle_ring(at, RING, 20),), closed=True, fill="#ffffff", stroke=INK, width=0.25) for at in rings]
    labels = [
        _probe_label(placed, sheet, grounds, name, probe, at, final=final)
        for (name, probe), at in zip(named, places, strict=True)
    ]
    return together([Labelled(tuple(circles)), *labels])


def _probe_label(
    placed: Frame,
    sheet: Sheet,
    grounds: list[tuple[float, BoolArray]],
    name: str,
    probe: ProbeResult,
    at: FloatArray,
    *,
    final: bool,
) -> Labelled:
    value = estimate_text(probe.temperature, placed.shown)
    where = ", ".join(placed.shown.length(c) for c in probe.point)
    if not _in_window(placed, at):
        return Labelled(notes=(runs(f"{name} {value}: outside the part drawn, at {where}"),))
    blocks = [[runs(f"{name} {value}")], [runs(name), runs(value)]]
    led = callout(sheet, grounds, blocks, at[None, :], mark=RING, size=SMALL, over_edges=True)
    if led:
        return Labelled(tuple(led))
    note = runs(f"{name} {value}: ring at {where}")
    return Labelled(notes=(note,)) if final else Labelled(crowded=nearest_side(placed, at))
