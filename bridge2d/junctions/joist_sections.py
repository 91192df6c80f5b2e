"""The joist pocket's three sections, drawn from its measures."""

from __future__ import annotations

from dataclasses import dataclass

from bridge2d.detail import (
    AirtightPiece,
    CutOff,
    Dimension,
    Environment,
    FlankingElement,
    Point,
    Probe,
    Region,
    Section,
    Surface,
    WatchedLine,
)
from bridge2d.junctions.material_choice import MaterialChoice
from bridge2d.junctions.walls import INSIDE, OUTSIDE, line, present, rectangle, room_surface, up
from bridge2d.standards import iso_10211

PLAN, BETWEEN, THROUGH = "plan", "between joists", "through joist"
PSI_SHARE = 0.00025
"""What each of both addends of Ψ may contribute to half its bracket [W/(m·K)]."""
PICTURE_ONLY = 0.01
"""Half bracket of a section whose L2D enters no Ψ [W/(m·K)]."""
TAPE = 0.04
"""Length at which a tape is drawn [m]."""
UPRIGHT_AXES = "x inward from the outside face, y upward from the joist's underside"
TAPE_NAME, JOIST_NAME = "tape to the joist", "joist"
GRAIN_X, GRAIN_Y = 0.0, 90.0

Sized = tuple[float, MaterialChoice]


@dataclass(frozen=True)
class Geometry:
    """Measures [m] with their materials, outermost layer first.

    Attributes:
        inside: temperature [°C], surface resistance of the room, of the bay and for fRsi [m²·K/W].
        outside: temperature [°C] and surface resistance [m²·K/W].
        humidity: relative humidity of the room air [1].
        airtight: "membrane", "parge coat" or "none".
    """

    render: Sized
    masonry: Sized
    parge: Sized
    insulation: Sized
    bay_insulation: Sized
    cavity: Sized
    board: Sized
    joist: Sized
    joist_width: float
    spacing: float
    bearing: float
    pad: Sized
    end_gap: Sized
    side_gap: Sized
    subfloor: Sized
    ceiling: Sized
    airtight: str
    inside: tuple[float, float, float, float]
    outside: tuple[float, float]
    humidity: float

    @property
    def face(self) -> float:
        """Distance of the masonry's inner face from the outside."""
        return self.render[0] + self.masonry[0]

    @property
    def end(self) -> float:
        """Distance of the joist's end face from the outside."""
        return self.face - self.bearing

    @property
    def zone_face(self) -> float:
        """Distance of the wall's inner face in the floor zone from the outside."""
        return self.face + self.parge[0] + self.bay_insulation[0]

    @property
    def wall_face(self) -> float:
        """Distance of the wall's inner face above and below the floor from the outside."""
        return self.face + self.parge[0] + self.insulation[0] + self.cavity[0] + self.board[0]

    @property
    def airtight_in_zone(self) -> tuple[str, float]:
        """Name of the airtight layer in the floor zone and its distance from the outside."""
        if self.airtight == "membrane" and self.bay_insulation[0] > 0:
            return "membrane", self.zone_face
        return "parge coat", self.face + self.parge[0]

    @property
    def zone(self) -> tuple[float, float]:
        """Levels of the ceiling's underside and the subfloor's top; the joist's underside is 0."""
        return -self.ceiling[0], self.joist[0] + self.subfloor[0]

    @property
    def environments(self) -> tuple[Environment, Environment]:
        """Outside and inside."""
        return Environment(OUTSIDE, self.outside[0]), Environment(INSIDE, self.inside[0], self.humidity)

    def region(
        self, name: str, choice: MaterialChoice, left: float, low: float, right: float, high: float
    ) -> Region | None:
        """A rectangle of a material, or None where it has no area.

        Args:
            name: of the region.
            choice: its material.
            left: least x [m].
            low: least y [m].
            right: greatest x [m].
            high: greatest y [m].
        """
        return rectangle(name, choice, (left, low), (right, high))


def _grained(region: Region | None, direction: float) -> Region | None:
    """The region with its grain in the drawing's plane, where its material has one."""
    if region is None or region.material.conductivity_along is None:
        return region
    return Region(region.name, region.material, region.polygon, region.holes, direction, region.basis)


def _inside(g: Geometry, resistance: float, *points: Point) -> tuple[Surface, ...]:
    return room_surface(resistance, g.inside[3], *points)


# -- plan ------------------------------------------------------------------------------------------------------------


def plan(g: Geometry) -> Section:
    """The plan through the joist, half of it: from the joist's axis to the middle between two joists.

    Args:
        g: the joist pocket's measures.
    """
    half, middle = g.joist_width / 2, g.spacing / 2
    pocket = half + g.side_gap[0]
    back = g.end - g.end_gap[0]
    top = up(g.zone_face + iso_10211.cut_off_distance(g.joist_width))
    regions = present(
        [
            g.region("render", g.render[1], 0, 0, middle, g.render[0]),
            g.region("masonry", g.masonry[1], 0, g.render[0], middle, g.face),
            g.region("parge coat", g.parge[1], 0, g.face, middle, g.face + g.parge[0]),
            g.region("insulation", g.bay_insulation[1], 0, g.face + g.parge[0], middle, g.zone_face),
            g.region("gap at the end", g.end_gap[1], 0, back, pocket, g.end),
            g.region("gap at the side", g.side_gap[1], half, g.end, pocket, g.face),
            _grained(g.region("joist", g.joist[1], 0, g.end, half, top), GRAIN_Y),
        ]
    )
    bay = g.inside[2]
    surfaces = (
        Surface(OUTSIDE, ((0, 0), (middle, 0)), g.outside[1], g.outside[1]),
        *_inside(g, bay, (middle, g.zone_face), (half, g.zone_face), (half, top)),
    )
    wall = FlankingElement(
        "wall in the floor zone",
        ((middle, 0), (middle, g.zone_face)),
        {"external": g.spacing, "internal": g.spacing, "overall_internal": g.spacing},
        symmetric=True,
    )
    return Section(
        PLAN,
        "Plan through the joist",
        regions,
        g.environments,
        surfaces,
        (wall,),
        probes=(Probe("middle of the joist's end face", (0, g.end)),),
        watched=(WatchedLine("joist's end face", ((0, g.end), (half, g.end))),),
        airtight=_airtight_plan(g),
        dimensions=_dimensions_plan(g),
        mirrored=True,
        cut_offs=(CutOff("the joist in the room", round(top - g.zone_face, 6), g.joist_width),),
        axes="x along the wall from the joist's axis, y inward from the outside face",
        psi_half_width=PSI_SHARE * g.spacing / g.joist[0],
    )


def _airtight_plan(g: Geometry) -> tuple[AirtightPiece, ...]:
    if g.airtight == "none":
        return ()
    half, middle = g.joist_width / 2, g.spacing / 2
    name, level = g.airtight_in_zone
    return (
        AirtightPiece(name, ((middle, level), (half, level))),
        AirtightPiece(TAPE_NAME, ((half, level), (half, level + TAPE))),
        AirtightPiece(JOIST_NAME, ((half, level), (0, level)), through=True),
    )


def _dimensions_plan(g: Geometry) -> tuple[Dimension, ...]:
    half, middle = g.joist_width / 2, g.spacing / 2
    chain = _chainup(
        middle,
        [
            (g.render[0], "d_1", "render_thickness"),
            (g.masonry[0], "d_2", "masonry_thickness"),
            (g.parge[0], "d_3", "parge_thickness"),
            (g.bay_insulation[0], "d_5", "bay_insulation_thickness"),
        ],
    )
    depth = [
        Dimension((-middle, g.end), (-middle, g.face), "a", "left", 0, "bearing_length"),
        Dimension((-middle, g.end - g.end_gap[0]), (-middle, g.end), "e", "left", 0, "end_gap"),
    ]
    width = [
        Dimension((-half, 0), (half, 0), "b", "bottom", 0, "joist_width"),
        Dimension((-middle, 0), (middle, 0), "s", "bottom", 1, "joist_spacing"),
    ]
    if g.side_gap[0] > 0:
        width.append(Dimension((half, 0), (half + g.side_gap[0], 0), "g", "bottom", 0, "side_gap"))
    return tuple(d for d in (*chain, *depth, *width) if d.start != d.end)


def _chainup(x: float, layers: list[tuple[float, str, str]]) -> list[Dimension]:
    chain, at = [], 0.0
    for thickness, symbol, parameter in layers:
        if thickness > 0:
            chain.append(Dimension((x, at), (x, at + thickness), symbol, "right", 0, parameter))
        at += thickness
    return chain


# -- upright sections ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Frame:
    """Ends of an upright section: lowest and highest level, and the cut through the floor [m]."""

    low: float
    high: float
    room: float


def _frame(g: Geometry) -> _Frame:
    wall = iso_10211.cut_off_distance(g.wall_face)
    bottom, top = g.zone
    floor = iso_10211.cut_off_distance(top - bottom)
    return _Frame(bottom - up(wall), top + up(wall), up(max(g.wall_face, g.zone_face) + floor))


def _wall(g: Geometry, frame: _Frame) -> list[Region | None]:
    """The wall with its lining above and below the floor, and its layers in the floor zone."""
    bottom, top = g.zone
    inner = g.face + g.parge[0]
    regions = [
        g.region("render", g.render[1], 0, frame.low, g.render[0], frame.high),
        g.region("masonry", g.masonry[1], g.render[0], frame.low, g.face, frame.high),
        g.region("parge coat", g.parge[1], g.face, frame.low, inner, frame.high),
    ]
    for low, high in ((frame.low, bottom), (top, frame.high)):
        at = inner
        for name, (thickness, choice) in (
            ("insulation", g.insulation),
            ("service cavity", g.cavity),
            ("board", g.board),
        ):
            regions.append(g.region(name, choice, at, low, at + thickness, high))
            at += thickness
    regions.append(g.region("insulation", g.bay_insulation[1], inner, bottom, g.zone_face, top))
    # Boards span from joist to joist: their grain runs along the wall, out of the drawing's plane.
    regions.append(g.region("subfloor", g.subfloor[1], g.zone_face, g.joist[0], frame.room, top))
    regions.append(g.region("ceiling", g.ceiling[1], g.zone_face, bottom, frame.room, 0))
    return regions


def _outside(g: Geometry, frame: _Frame) -> Surface:
    return Surface(OUTSIDE, ((0, frame.low), (0, frame.high)), g.outside[1], g.outside[1])


def _rooms(g: Geometry, frame: _Frame, bay: bool) -> tuple[Surface, ...]:
    """The surfaces of the rooms above and below, and of the bay between joists where there is one."""
    bottom, top = g.zone
    room, still = g.inside[1], g.inside[2]
    floor = g.subfloor[0] > 0 or not bay
    lining = g.ceiling[0] > 0 or not bay
    above = ((g.wall_face, frame.high), (g.wall_face, top), (frame.room if floor else g.zone_face, top))
    below = ((frame.room if lining else g.zone_face, bottom), (g.wall_face, bottom), (g.wall_face, frame.low))
    surfaces = (*_inside(g, room, *above), *_inside(g, room, *below))
    if bay:
        between = [(g.zone_face, g.joist[0]), (g.zone_face, 0.0)]
        if floor:
            between.insert(0, (frame.room, g.joist[0]))
        if lining:
            between.append((frame.room, 0.0))
        surfaces += _inside(g, still, *between)
    return surfaces


def _walls_above_and_below(g: Geometry, frame: _Frame) -> tuple[FlankingElement, FlankingElement]:
    bottom, top = g.zone
    above, below, zone = frame.high - top, bottom - frame.low, top - bottom
    upper = {"external": above, "internal": above, "overall_internal": above}
    lower = {"external": below + zone, "internal": below, "overall_internal": below + zone}
    return (
        FlankingElement("wall above", ((0, frame.high), (g.wall_face, frame.high)), upper),
        FlankingElement("wall below", ((0, frame.low), (g.wall_face, frame.low)), lower),
    )


def _floor_cut(g: Geometry, frame: _Frame) -> tuple[CutOff, ...]:
    """The end of joist, subfloor and ceiling in the room, where there is any of them."""
    bottom, top = g.zone
    return (CutOff("the floor in the room", round(frame.room - max(g.wall_face, g.zone_face), 6), top - bottom),)


def _wall_cuts(g: Geometry, frame: _Frame) -> tuple[CutOff, CutOff]:
    bottom, top = g.zone
    return (
        CutOff("the wall above", round(frame.high - top, 6), g.wall_face),
        CutOff("the wall below", round(bottom - frame.low, 6), g.wall_face),
    )


def upright_between(g: Geometry) -> Section:
    """The upright section between two joists.

    Args:
        g: the joist pocket's measures.
    """
    frame = _frame(g)
    return Section(
        BETWEEN,
        "Upright section between the joists",
        present(_wall(g, frame)),
        g.environments,
        (_outside(g, frame), *_rooms(g, frame, bay=True)),
        _walls_above_and_below(g, frame),
        airtight=_airtight_upright(g, frame, joist=False),
        dimensions=(*_dimensions_upright(g, frame), *_bay_dimension(g, frame)),
        cut_offs=_floor_cut(g, frame),
        axes=UPRIGHT_AXES,
        psi_half_width=PSI_SHARE,
    )


def upright_through(g: Geometry) -> Section:
    """The upright section through the joist's axis.

    Args:
        g: the joist pocket's measures.
    """
    frame = _frame(g)
    back = g.end - g.end_gap[0]
    roof = g.joist[0] + g.side_gap[0]
    pad = min(g.pad[0], -frame.low)
    regions = _wall(g, frame)
    regions += [
        g.region("gap at the end", g.end_gap[1], back, -pad, g.end, roof),
        g.region("gap above", g.side_gap[1], g.end, g.joist[0], g.face, roof),
        g.region("bearing pad", g.pad[1], g.end, -pad, g.face, 0),
        _grained(g.region("joist", g.joist[1], g.end, 0, frame.room, g.joist[0]), GRAIN_X),
    ]
    depth = (
        Dimension((g.end, frame.low), (g.face, frame.low), "a", "bottom", 0, "bearing_length"),
        Dimension((back, frame.low), (g.end, frame.low), "e", "bottom", 0, "end_gap"),
        Dimension((0, -pad), (0, 0), "p", "left", 0, "pad_thickness"),
        Dimension((0, g.joist[0]), (0, roof), "g", "left", 0, "side_gap"),
    )
    return Section(
        THROUGH,
        "Upright section through the joist",
        present(regions),
        g.environments,
        (_outside(g, frame), *_rooms(g, frame, bay=False)),
        probes=(Probe("middle of the joist's end face", (g.end, g.joist[0] / 2)),),
        watched=(WatchedLine("joist's end face", ((g.end, 0), (g.end, g.joist[0]))),),
        airtight=_airtight_upright(g, frame, joist=True),
        dimensions=tuple(d for d in (*_dimensions_upright(g, frame), *depth) if d.start != d.end),
        cut_offs=(*_wall_cuts(g, frame), *_floor_cut(g, frame)),
        axes=UPRIGHT_AXES,
        psi_half_width=PICTURE_ONLY,
    )


def _airtight_upright(g: Geometry, frame: _Frame, joist: bool) -> tuple[AirtightPiece, ...]:
    """The airtight layer from below to above; at a joist it is taped to the timber, which carries it on."""
    if g.airtight == "none":
        return ()
    bottom, top = g.zone
    name, zone = g.airtight_in_zone
    level = g.face + g.parge[0]
    if g.airtight == "membrane":
        level += g.insulation[0]
    below = line((level, frame.low), (level, bottom), (zone, bottom))
    above = line((zone, top), (level, top), (level, frame.high))
    if not joist:
        if name == g.airtight:
            return (AirtightPiece(name, line(*below, *above)),)
        return (
            AirtightPiece(g.airtight, below),
            AirtightPiece(name, ((zone, bottom), (zone, top))),
            AirtightPiece(g.airtight, above),
        )
    h = g.joist[0]
    pieces = [AirtightPiece(g.airtight, below)] if len(below) > 1 else []
    pieces += [
        AirtightPiece(name, line((zone, bottom), (zone, 0.0))),
        AirtightPiece(TAPE_NAME, ((zone, 0.0), (zone + TAPE, 0.0))),
        AirtightPiece(JOIST_NAME, ((zone, 0.0), (zone, h)), through=True),
        AirtightPiece(TAPE_NAME, ((zone, h), (zone + TAPE, h))),
        AirtightPiece(name, line((zone, h), (zone, top))),
    ]
    pieces += [AirtightPiece(g.airtight, above)] if len(above) > 1 else []
    return tuple(piece for piece in pieces if len(piece.line) > 1)


def _dimensions_upright(g: Geometry, frame: _Frame) -> tuple[Dimension, ...]:
    chain, at = [], 0.0
    for thickness, symbol, parameter in (
        (g.render[0], "d_1", "render_thickness"),
        (g.masonry[0], "d_2", "masonry_thickness"),
        (g.parge[0], "d_3", "parge_thickness"),
        (g.insulation[0], "d_4", "insulation_thickness"),
        (g.cavity[0], "d_6", "cavity_thickness"),
        (g.board[0], "d_7", "board_thickness"),
    ):
        if thickness > 0:
            chain.append(Dimension((at, frame.high), (at + thickness, frame.high), symbol, "top", 0, parameter))
        at += thickness
    bottom, top = g.zone
    heights = [
        Dimension((frame.room, bottom), (frame.room, 0), "d_9", "right", 0, "ceiling_thickness"),
        Dimension((frame.room, 0), (frame.room, g.joist[0]), "h", "right", 0, "joist_depth"),
        Dimension((frame.room, g.joist[0]), (frame.room, top), "d_8", "right", 0, "subfloor_thickness"),
    ]
    return tuple(d for d in (*chain, *heights) if d.start != d.end)


def _bay_dimension(g: Geometry, frame: _Frame) -> tuple[Dimension, ...]:
    """The insulation in the floor zone, where it is not that of the wall."""
    if g.bay_insulation[0] in (0.0, g.insulation[0]):
        return ()
    inner = g.face + g.parge[0]
    start, end = (inner, frame.low), (g.zone_face, frame.low)
    return (Dimension(start, end, "d_5", "bottom", 0, "bay_insulation_thickness"),)
