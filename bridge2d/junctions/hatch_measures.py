"""The hatch curb's measures: where roof, upstand, frame and lid lie in the half section.

Part of the step parameters -> detail. x counts from the lid's middle into the roof, y upward from the deck's underside.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from bridge2d.detail import Point, Region
from bridge2d.junctions import walls
from bridge2d.junctions.air_layers import air_layer
from bridge2d.junctions.frame_polygons import FrameShape
from bridge2d.junctions.hatch_parameters import HatchCurb
from bridge2d.junctions.hatch_roof import roof_layers
from bridge2d.junctions.material_choice import MaterialChoice
from bridge2d.junctions.walls import LEAST, Layer
from bridge2d.materials import Material, get
from bridge2d.standards import iso_10077_1, iso_10077_2

KINDS = {
    "timber": "softwood",
    "steel": "steel",
    "aluminium": "aluminium alloy",
    "grp": "glass-fibre reinforced polyester",
    "sandwich": "polyurethane board, open-faced",
}
"""What each kind of upstand is made of, its core where it is a sandwich."""


@dataclass(frozen=True, slots=True)
class Measures:
    """Measures [m] with their materials.

    Attributes:
        p: the parameters.
        layers: of the roof, from below.
        upstand: material of the upstand, or of the sandwich's core.
        lid: the opaque lid's inner skin, core and outer skin, or the glazed lid's frame.
        pane: the glazing; None for an opaque lid.
        shape: the glazed lid's frame by its polygons; None where it is a block.
    """

    p: HatchCurb
    layers: tuple[Layer, ...]
    upstand: MaterialChoice
    lid: tuple[Layer, ...]
    pane: Layer | None
    shape: FrameShape | None = None

    # -- across ------------------------------------------------------------------------------------------------------

    @property
    def clear(self) -> float:
        """Where the clear opening ends, at the reveal's finished face."""
        return round(0.5 * self.p.clear_width, 6)

    @property
    def lined(self) -> float:
        """Outer face of the reveal's lining."""
        return self.clear + self.p.reveal_thickness

    @property
    def rough(self) -> float:
        """The roof's rough opening: inner face of upstand, deck and trimmer."""
        return self.lined + self.p.inside_insulation_thickness

    @property
    def standing(self) -> float:
        """Outer face of the upstand, before its outside insulation."""
        return self.rough + self.p.upstand_thickness

    @property
    def outer(self) -> float:
        """Outer face of the upstand with its insulation; here the lid ends, and boards and covering begin."""
        return self.standing + self.p.outside_insulation_thickness

    @property
    def trimmed(self) -> float:
        """Outer face of the trimmer."""
        return self.rough + (self.p.trimmer_width if self.p.joist_depth >= LEAST else 0.0)

    @property
    def cut(self) -> float:
        """Cut-off plane through the roof."""
        return walls.cut_plane(max(self.outer, self.trimmed), walls.total(self.layers))

    @property
    def width(self) -> float:
        """Width of the upstand with insulation and lining, on which frame and lid lie."""
        return self.outer - self.clear

    # -- up ----------------------------------------------------------------------------------------------------------

    @property
    def low(self) -> float:
        """The ceiling's underside."""
        return -walls.total(self.layers[:3])

    @property
    def deck(self) -> float:
        """The deck's upper face, on which the upstand stands."""
        return self.layers[3].thickness

    @property
    def membrane(self) -> float:
        """The joists' underside."""
        return -self.layers[2].thickness

    @property
    def top(self) -> float:
        """The roof covering's upper face."""
        return walls.total(self.layers[3:])

    @property
    def curb(self) -> float:
        """The upstand's top."""
        return self.top + self.p.upstand_height

    @property
    def framed(self) -> float:
        """The fixed frame's upper face."""
        return self.curb + (0.0 if self.pane else self.p.frame_height)

    @property
    def lid_low(self) -> float:
        """The lid's underside."""
        return self.framed + (0.0 if self.pane else self.p.gasket_height)

    @property
    def lid_top(self) -> float:
        """The lid's upper face."""
        return self.lid_low + (self.shape.edge if self.shape else walls.total(self.lid))

    @property
    def seen(self) -> float:
        """Where the glazing ends; of an opaque lid the clear opening's edge."""
        if self.shape:
            return self.outer - self.shape.width
        return self.clear - (self.p.lid_frame_projection if self.pane else 0.0)

    @property
    def pane_levels(self) -> tuple[float, float]:
        """Lower and upper face of the glazing in its frame; of an opaque lid its own."""
        if self.pane is None:
            return self.lid_low, self.lid_top
        high = self.lid_top - self.p.pane[0]
        return high - self.pane.thickness, high

    @property
    def frame_outside(self) -> tuple[Point, ...]:
        """The upper face of the glazed lid's frame, from its outer edge to the glazing."""
        if self.shape:
            return self.placed(self.shape.outside)
        return (self.outer, self.lid_top), (self.seen, self.lid_top), (self.seen, self.pane_levels[1])

    @property
    def frame_inside(self) -> tuple[Point, ...]:
        """The lower face of the glazed lid's frame, from the clear opening's edge to the glazing."""
        if self.shape is None:
            return (self.clear, self.lid_low), (self.seen, self.lid_low), (self.seen, self.pane_levels[0])
        return walls.line((self.clear, self.lid_low), *self.placed(self.shape.inside[1:]))

    def placed(self, points: tuple[Point, ...]) -> tuple[Point, ...]:
        """Points in the frame's own coordinates, in the half section.

        Args:
            points: x from the outer edge toward the glazing, y from the upper face downward [m].
        """
        return tuple((round(self.outer - x, 6), round(self.lid_top - y, 6)) for x, y in points)

    # -- pieces ------------------------------------------------------------------------------------------------------

    def polygons(self) -> tuple[Region, ...]:
        """The regions of a frame that is given by its polygons."""
        found = []
        for block in self.shape.blocks if self.shape else ():
            rings = [self.placed(ring) for ring in (block.polygon, *block.holes)]
            found.append(replace(block.region(), polygon=rings[0], holes=tuple(rings[1:])))
        return tuple(found)

    def beside(
        self, name: str, choice: MaterialChoice, x: tuple[float, float], y: tuple[float, float]
    ) -> Region | None:
        """A rectangle without what of it lies above the upstand's top within the lid's width.

        Args:
            name: of the region.
            choice: its material.
            x: from and to [m].
            y: from and to [m].
        """
        if y[1] <= self.curb + LEAST or x[0] >= self.outer - LEAST:
            return walls.rectangle(name, choice, (x[0], y[0]), (x[1], y[1]))
        if x[1] <= self.outer + LEAST:
            return walls.rectangle(name, choice, (x[0], y[0]), (x[1], self.curb))
        if y[0] >= self.curb - LEAST:
            return walls.rectangle(name, choice, (self.outer, y[0]), (x[1], y[1]))
        step = ((self.outer, y[1]), (self.outer, self.curb), (x[0], self.curb))
        return Region(name, choice.material, ((x[0], y[0]), (x[1], y[0]), (x[1], y[1]), *step), basis=choice.basis)


def measures(p: HatchCurb) -> Measures:
    """The parameters with equivalent layers and blocks.

    Args:
        p: see `HatchCurb`.

    Raises:
        InputError: joists and fill make no equivalent layer.
    """
    layers = roof_layers(p, (p.ceiling_resistance, p.outside_resistance))
    given = p.upstand_material
    upstand = given if isinstance(given, MaterialChoice) else MaterialChoice(get(KINDS[p.upstand_kind]))
    if p.lid_kind == "glazed":
        frame = _block("lid frame", "plain", "Uf", p.frame_transmittance, p.lid_frame_depth)
        pane = _block("glazing", "glass", "Ug", p.glazing_transmittance, p.glazing_thickness)
        lid = (Layer("lid frame", p.lid_frame_depth, frame, "d_f", "lid_frame_depth"),)
        glazing = Layer("glazing", p.glazing_thickness, pane, "d_g", "glazing_thickness")
        return Measures(p, layers, upstand, lid, glazing, p.shape())
    opaque = (
        Layer("inner skin of the lid", p.inner_skin_thickness, p.inner_skin_material, "e_i", "inner_skin_thickness"),
        Layer("core of the lid", p.core_thickness, p.core_material, "e_c", "core_thickness"),
        Layer("outer skin of the lid", p.outer_skin_thickness, p.outer_skin_material, "e_o", "outer_skin_thickness"),
    )
    return Measures(p, layers, upstand, opaque, None)


def _block(what: str, hatch: str, symbol: str, u_value: float, depth: float) -> MaterialChoice:
    """The material of the block that stands for frame or glazing."""
    material = Material(
        f"{what}, block with its {symbol}",
        iso_10077_1.block_conductivity(u_value, depth),
        hatch=hatch,
        source=f"given in the detail file: {symbol} = {u_value:g} W/(m²·K); conductivity computed from it over "
        f"{1000 * depth:g} mm with Rsi {iso_10077_1.R_SI:g} and Rse {iso_10077_1.R_SE:g} m²·K/W (ISO 10077-1)",
    )
    return MaterialChoice(material)


def slit(height: float, width: float, *, ventilated: bool) -> MaterialChoice:
    """The air in the joint below the lid, beside a gasket.

    Args:
        height: of the joint [m].
        width: of its air [m].
        ventilated: whether it is open to the outside.
    """
    if height < LEAST or width < LEAST:
        return MaterialChoice(air_layer(0.0))
    words = "slightly ventilated" if ventilated else "unventilated"
    conductivity = iso_10077_2.equivalent_conductivity(height, width, slightly_ventilated=ventilated)
    material = Material(
        f"air in the joint, {words}",
        conductivity,
        group="air",
        hatch="air",
        source=f"ISO 10077-2:2012, 6.3 and 6.4: joint of {1000 * height:g} × {1000 * width:.4g} mm, {words}; computed",
        read=False,
    )
    return MaterialChoice(material)
