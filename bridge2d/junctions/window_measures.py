"""The window box's measures, counted from the rough opening's edge, and how they lie in each section.

Part of the step parameters -> detail. Jamb, head and sill are one profile: t runs along the wall from the masonry's
edge into the opening, n through the wall from its outside into the room. A `View` turns it into the section's x and y.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from bridge2d.detail import Dimension, Environment, Point, Region, Surface
from bridge2d.junctions import window_corners
from bridge2d.junctions.frame_polygons import FrameShape
from bridge2d.junctions.material_choice import MaterialChoice
from bridge2d.standards import iso_10077_1, iso_10077_2, iso_10211, iso_13788

OUTSIDE, INSIDE = "outside", "inside"
LEAST = 1e-6
"""What is thinner than this is not there [m]."""
JAMB, HEAD, SILL, ALONE = "jamb", "head", "sill", "window alone"
WITH_PANEL = "frame with panel"

Sized = tuple[float, MaterialChoice]
Local = window_corners.Local
"""A point (t, n) of the profile [m]."""


@dataclass(frozen=True)
class Measures:
    """Measures [m] with their materials.

    Attributes:
        render, masonry, parge, insulation, cavity, board: layers of the wall, outermost first.
        foam, box: between the masonry's reveal and the frame.
        lining: on the box inside.
        over_frame: insulation over the frame's inner face, by its thickness; `overlap_inside` is how far it laps.
        nib: how far the masonry's outer nib covers the frame.
        position: of the frame's outer face from the outside.
        frame: depth with the block that stands for the frame; `frame_width` is its visible width.
        glazing: thickness with the panel that stands for the glazing.
        setback: of the glazing's outer face from the frame's; `rebate` is how far it reaches into the frame.
        shape: the frame by its polygons; None where it is a block.
        lintel: height; `lintel_start` counts from the masonry's outer face, `lintel_depth` is through the wall.
        sill: thickness; `sill_projection` before the wall, `sill_bearing` beyond the frame's outer face.
        window_board: thickness; `overhang` before the finish.
        airtight: "membrane", "parge coat" or "none".
        inside: temperature [°C], surface resistance for the heat flow and for fRsi of opaque surfaces [m²·K/W].
        outside: temperature [°C] and surface resistance [m²·K/W].
    """

    render: Sized
    masonry: Sized
    parge: Sized
    insulation: Sized
    cavity: Sized
    board: Sized
    foam: Sized
    box: Sized
    lining: Sized
    over_frame: Sized
    overlap_inside: float
    nib: float
    position: float
    frame: Sized
    frame_width: float
    glazing: Sized
    setback: float
    rebate: float
    shape: FrameShape | None
    lintel: Sized
    lintel_start: float
    lintel_depth: float
    sill: Sized
    sill_projection: float
    sill_bearing: float
    sill_bed: MaterialChoice
    window_board: Sized
    overhang: float
    airtight: str
    inside: tuple[float, float, float]
    outside: tuple[float, float]
    humidity: float

    @property
    def face(self) -> float:
        """Distance n of the masonry's inner face."""
        return self.render[0] + self.masonry[0]

    @property
    def levelled(self) -> float:
        """Distance n of the parge coat's inner face, up to which the foam reaches."""
        return self.face + self.parge[0]

    @property
    def box_end(self) -> float:
        """Distance n of the box's inner edge, over which the finish runs."""
        return self.levelled + self.insulation[0] + self.cavity[0]

    @property
    def wall_face(self) -> float:
        """Distance n of the finish's inner face."""
        return self.box_end + self.board[0]

    @property
    def seat(self) -> float:
        """Distance t of the frame's outer edge."""
        return self.foam[0] + self.box[0]

    @property
    def visible(self) -> float:
        """Distance t where the glazing begins."""
        return self.seat + self.frame_width

    @property
    def end(self) -> float:
        """Distance t of the cut through the glazing."""
        return self.visible + iso_10077_1.GLAZING_LENGTH

    @property
    def inner(self) -> float:
        """Distance n of the frame's inner face at its outer edge, where the reveal meets it."""
        return self.position + (self.shape.edge if self.shape else self.frame[0])

    @property
    def pane(self) -> tuple[float, float]:
        """Distance n of the glazing's outer and inner face."""
        outer = self.position + self.setback
        return outer, outer + self.glazing[0]

    @property
    def window_outside(self) -> tuple[Local, ...]:
        """The outer face of frame and glazing, from the frame's outer edge."""
        width = self.frame_width
        face = self.shape.outside if self.shape else ((0.0, 0.0), (width, 0.0), (width, self.setback))
        return (*self.placed(face), (self.end, self.pane[0]))

    @property
    def window_inside(self) -> tuple[Local, ...]:
        """The inner face of frame and glazing, from the frame's outer edge."""
        width, depth = self.frame_width, self.frame[0]
        face = ((0.0, depth), (width, depth), (width, self.setback + self.glazing[0]))
        return (*self.placed(self.shape.inside if self.shape else face), (self.end, self.pane[1]))

    def placed(self, points: tuple[Point, ...]) -> tuple[Local, ...]:
        """Points in the frame's own coordinates, in the profile."""
        return tuple((self.seat + x, self.position + y) for x, y in points)

    @property
    def free_faces(self) -> tuple[float, float]:
        """How far the frame's outer and inner face run straight from its outer edge, to be covered."""
        if self.shape is None:
            return self.frame_width, self.frame_width
        return self.shape.outside[1][0], self.shape.inside[1][0]

    @property
    def depth(self) -> float:
        """Depth of the inside reveal, from the frame to the box's edge."""
        return self.box_end - self.inner

    @property
    def insulated(self) -> bool:
        """Whether insulation laps over the frame."""
        return self.depth > LEAST and self.over_frame[0] > LEAST and self.overlap_inside > LEAST

    @property
    def nib_end(self) -> float:
        """Distance t of the masonry's edge before the frame, at jambs and head."""
        return self.seat + self.nib if self.nib > LEAST else 0.0

    @property
    def reveal(self) -> tuple[float, float, float]:
        """The inside reveal of jambs and head: t at the finish, t at the frame, and n of the step between them."""
        lining = self.lining[0] if self.depth > LEAST else 0.0
        if not self.insulated:
            return self.seat + lining, self.seat + lining, self.inner
        at_frame = self.seat + self.overlap_inside + lining
        step = self.inner + self.over_frame[0] + lining
        if step >= self.box_end - LEAST:
            return at_frame, at_frame, self.box_end
        return self.seat + lining, at_frame, step

    @property
    def board_level(self) -> float:
        """Distance t of the window board's underside."""
        return self.seat + (self.overlap_inside if self.insulated else 0.0)

    @property
    def sill_low(self) -> float:
        """Distance t of the outer sill's underside."""
        return self.seat - self.sill[0]

    @property
    def environments(self) -> tuple[Environment, Environment]:
        """Outside and inside."""
        return Environment(OUTSIDE, self.outside[0]), Environment(INSIDE, self.inside[0], self.humidity)

    def wall_length(self, disturbed: float) -> float:
        """Length of the wall to its cut-off plane, rounded up to a centimetre.

        Args:
            disturbed: how far the junction reaches into the wall.
        """
        length = disturbed + iso_10211.cut_off_distance(self.wall_face)
        return -(-round(length * 1e6) // 10_000) / 100


@dataclass(frozen=True)
class View:
    """How the profile lies in a section.

    Attributes:
        measures: of the window box.
        name: JAMB and ALONE are plans (x = t, y = n), HEAD (x = n, y = −t) and SILL (x = n, y = t) upright.
        wall: length of the wall.
    """

    measures: Measures
    name: str
    wall: float

    def at(self, t: float, n: float) -> Point:
        """The section's point."""
        if self.name == HEAD:
            return n, 0.0 - t
        return (n, t) if self.name == SILL else (t, n)

    def side(self, which: str) -> str:
        """Side of the drawing at the "wall", the "opening", "out" or "in"."""
        upright = {"wall": "top", "opening": "bottom", "out": "left", "in": "right"}
        if self.name == HEAD:
            return upright[which]
        if self.name == SILL:
            return (upright | {"wall": "bottom", "opening": "top"})[which]
        return {"wall": "left", "opening": "right", "out": "bottom", "in": "top"}[which]

    def piece(
        self, name: str, choice: MaterialChoice, t: tuple[float, float], n: tuple[float, float]
    ) -> tuple[Region, ...]:
        """A rectangle of a material; nothing where it has no area.

        Args:
            name: of the region.
            choice: its material.
            t: from and to, along the wall [m].
            n: from and to, through the wall [m].
        """
        if t[1] - t[0] < LEAST or n[1] - n[0] < LEAST:
            return ()
        corners = tuple(self.at(*p) for p in ((t[0], n[0]), (t[1], n[0]), (t[1], n[1]), (t[0], n[1])))
        return (Region(name, choice.material, corners, basis=choice.basis),)

    def line(self, *points: Local) -> tuple[Point, ...]:
        """A line through the points, without legs of no length."""
        kept = [points[0]]
        for point in points[1:]:
            if abs(point[0] - kept[-1][0]) + abs(point[1] - kept[-1][1]) > LEAST:
                kept.append(point)
        return tuple(self.at(*point) for point in kept)

    def polygons(self) -> tuple[Region, ...]:
        """The regions of a frame that is given by its polygons."""
        found = []
        for block in self.measures.shape.blocks if self.measures.shape else ():
            rings = [tuple(self.at(*p) for p in self.measures.placed(r)) for r in (block.polygon, *block.holes)]
            found.append(replace(block.region(), polygon=rings[0], holes=tuple(rings[1:])))
        return tuple(found)

    def outside(self, *points: Local) -> tuple[Surface, ...]:
        """The outer surface along the points."""
        resistance = self.measures.outside[1]
        line = self.line(*points)
        return (Surface(OUTSIDE, line, resistance, resistance),) if len(line) > 1 else ()

    def inside(self, *points: Local, window: bool = False) -> tuple[Surface, ...]:
        """The room's surface along the points.

        Args:
            points: of the profile.
            window: whether it is frame or glazing, for which fRsi takes a smaller surface resistance.
        """
        _, resistance, opaque = self.measures.inside
        factor = iso_13788.factor_surface_resistance(glazing=True) if window else opaque
        line = self.line(*points)
        return (Surface(INSIDE, line, resistance, max(resistance, factor)),) if len(line) > 1 else ()

    def inside_with_window(self, reveal: tuple[Local, ...], window: tuple[Local, ...]) -> tuple[Surface, ...]:
        """The room's surface along a reveal and the window in it, with less radiation in the frame's corners.

        Args:
            reveal: from the finish to the frame; one point where there is no reveal.
            window: on from its last point.
        """
        surfaces: list[Surface] = []
        for run in window_corners.runs(reveal, window):
            least = iso_10077_2.CORNER_RESISTANCE if run.reduced else 0.0
            for one in self.inside(*run.line, window=run.window):
                resistances = max(one.resistance, least), max(one.f_rsi_resistance, least)
                surfaces.append(Surface(one.environment, one.edge, *resistances))
        return tuple(surfaces)

    def dimension(
        self, which: str, start: Local, end: Local, symbol: str, parameter: str, row: int = 0
    ) -> tuple[Dimension, ...]:
        """A dimension line; nothing where it has no length.

        Args:
            which: "wall", "opening", "out" or "in".
            start: of what is measured.
            end: of what is measured.
            symbol: of the parameter.
            parameter: its name.
            row: 0 is next to the section.
        """
        if abs(start[0] - end[0]) + abs(start[1] - end[1]) < LEAST:
            return ()
        return (Dimension(self.at(*start), self.at(*end), symbol, self.side(which), row, parameter),)
