"""The detail: regions, surfaces, environments and flanking elements of the sections to be computed.

This is the middle of the flow: detail file -> parameters -> **detail** -> mesh -> fields -> results -> documents.
A junction makes a detail, the numerics read it, nobody changes it. Lengths are in metres, temperatures in
degrees Celsius, conductivities in W/(m·K), surface resistances in m²·K/W.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from bridge2d.climate import Climate
from bridge2d.materials import Material
from bridge2d.standards import iso_13788

Point = tuple[float, float]
"""A point of a section [m], x to the right and y upward in the drawing."""

DIMENSION_SYSTEMS = ("external", "internal", "overall_internal")
"""The three ways of measuring a building (ISO 13789, 3.1; ISO 14683, 4.2)."""

PSI_HALF_WIDTH = 0.0005
"""Widest half of the bracket around L2D, unless a section asks for another [W/(m·K)]."""
CHI_HALF_WIDTH = 0.00002
"""Widest half of the bracket around the L3D of a solid of revolution, unless it asks for another [W/K]."""


@dataclass(frozen=True, slots=True)
class Cavity:
    """What makes a region a cavity, whose conductivity follows from its shape and heat flow (ISO 10077-2:2012, 6.3).

    Attributes:
        slightly_ventilated: whether a slit of 2 to 10 mm joins it to the outside.
        emissivity: of its faces [1].
        computed_temperatures: whether mean temperature and difference come from the solution; else the standard's
            10 °C and 10 K.
    """

    slightly_ventilated: bool = False
    emissivity: float = 0.9
    computed_temperatures: bool = True


@dataclass(frozen=True, slots=True)
class Region:
    """A piece of a section filled with one material; later regions lie over earlier ones.

    Attributes:
        name: what the drawing and the tables call it.
        material: conductivity and all else that is known of it.
        polygon: outline [m], either sense of rotation, not closed by repeating the first point.
        holes: outlines [m] that are cut out of this region alone.
        grain_direction: angle of the grain from the x axis, counter-clockwise [deg]; None for isotropic material.
        basis: why the material's value differs from the catalogue's; empty where it does not.
        cavity: what it is where it is a cavity; its material then only stands in until it is computed.
    """

    name: str
    material: Material
    polygon: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...] = ()
    grain_direction: float | None = None
    basis: str = ""
    cavity: Cavity | None = None


@dataclass(frozen=True, slots=True)
class Environment:
    """Air or ground of one temperature [°C] on one or more surfaces.

    `humidity` is the air's relative humidity [1], None where it is not given; it enters no heat flow.
    """

    name: str
    temperature: float
    humidity: float | None = None

    @property
    def dew_point(self) -> float | None:
        """Of its air [°C]; None where no humidity is given, or the air is so cold and dry that no formula covers it."""
        if self.humidity is None:
            return None
        try:
            return iso_13788.dew_point(self.temperature, self.humidity)
        except ValueError:
            return None


@dataclass(frozen=True, slots=True)
class Surface:
    """A piece of the outline that faces an environment.

    Attributes:
        environment: name of the environment.
        edge: line along the outline [m].
        resistance: surface resistance for the heat flow [m²·K/W]; 0 prescribes the temperature.
        f_rsi_resistance: surface resistance for the temperature factor [m²·K/W].
    """

    environment: str
    edge: tuple[Point, ...]
    resistance: float
    f_rsi_resistance: float


@dataclass(frozen=True, slots=True)
class FlankingElement:
    """A plane element whose U·l is taken off L2D.

    Attributes:
        name: what the trace calls it.
        cut: the cut plane through the element's layers, from one surface to the other [m].
        lengths: length [m] per dimension system (a key of DIMENSION_SYSTEMS).
        symmetric: whether the cut plane is a plane of symmetry, so that the rule on its distance does not apply.
        within: whether the cut lies within the section, so that it tells the layers and is no cut-off plane.
    """

    name: str
    cut: tuple[Point, Point]
    lengths: dict[str, float] = field(default_factory=dict)
    symmetric: bool = False
    within: bool = False


@dataclass(frozen=True, slots=True)
class Probe:
    """A point at which the temperature is printed [m]."""

    name: str
    point: Point


@dataclass(frozen=True, slots=True)
class WatchedLine:
    """A line within the section whose lowest temperature is printed [m], such as a timber's end face.

    `marked` says whether the picture of isotherms names the coldest point.
    """

    name: str
    line: tuple[Point, Point]
    marked: bool = True


@dataclass(frozen=True, slots=True)
class AirtightPiece:
    """A piece of the airtight layer: its name (membrane, parge coat, board, …) and its line [m].

    `through` marks a body that carries the layer on without being laid as one, such as a joist; it is not drawn.
    """

    name: str
    line: tuple[Point, ...]
    through: bool = False


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension line of the drawing.

    Attributes:
        start, end: the two measured points [m]; horizontal or vertical between them is measured, see `direction`.
        symbol: symbol of the parameter that it shows ("d_1"), or empty.
        side: "top", "bottom", "left" or "right" of the section, outside of which the chain stands.
        row: 0 for the chain next to the section, 1 for the next one out, …
        parameter: name of the parameter, or empty for a plain length.
    """

    start: Point
    end: Point
    symbol: str
    side: str
    row: int = 0
    parameter: str = ""


@dataclass(frozen=True, slots=True)
class CutOff:
    """A cut-off plane that belongs to no flanking element, such as the end of a joist in the room.

    Attributes:
        name: what is cut.
        distance: from the junction's central element [m].
        thickness: of what is cut [m].
    """

    name: str
    distance: float
    thickness: float


@dataclass(frozen=True, slots=True)
class Section:
    """One two-dimensional section.

    Attributes:
        name: short name used in JSON and file names ("plan").
        title: what stands above the drawing.
        regions, environments, surfaces, flanking, probes, watched, airtight, dimensions: see there.
        revolution: the section is the half at x = r ≥ 0 of a cut through the axis x = 0 of a solid of revolution. Heat
            flows are then [W], L2D is L3D [W/K], the flanking elements' lengths are areas [m²].
        mirrored: the section is the half at x ≥ 0 of one that is symmetric about x = 0. Flows and L2D of results
            are those of the whole; the drawing shows the whole; dimensions and flanking lengths are the whole's.
        cut_offs: cut-off planes beside those of the flanking elements.
        axes: where x and y begin and run, for the places that are printed.
        psi_half_width: widest half of the bracket around L2D that is allowed [W/(m·K)], around L3D [W/K].
        large: whether each of its pictures gets a page of its own in the report, because small pieces stand close.
    """

    name: str
    title: str
    regions: tuple[Region, ...]
    environments: tuple[Environment, ...]
    surfaces: tuple[Surface, ...]
    flanking: tuple[FlankingElement, ...] = ()
    probes: tuple[Probe, ...] = ()
    watched: tuple[WatchedLine, ...] = ()
    airtight: tuple[AirtightPiece, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    mirrored: bool = False
    psi_half_width: float = PSI_HALF_WIDTH
    cut_offs: tuple[CutOff, ...] = ()
    axes: str = ""
    revolution: bool = False
    large: bool = False

    @property
    def half(self) -> bool:
        """Whether the section is the half at x ≥ 0 of what is drawn."""
        return self.mirrored or self.revolution


@dataclass(frozen=True, slots=True)
class Requirement:
    """A limit that a result has to keep.

    Attributes:
        quantity: "psi", "chi", "f_rsi" or "u_value".
        limit: the limit [W/(m·K), W/K, 1 or W/(m²·K)].
        sense: "maximum" or "minimum".
        dimensions: dimension system of a Ψ, else empty.
        name: what the table calls it.
        source: where the limit comes from.
    """

    quantity: str
    limit: float
    sense: str
    name: str
    source: str
    dimensions: str = ""


@dataclass(frozen=True, slots=True)
class Combination:
    """How the sections' numbers make the detail's Ψ and χ.

    Attributes:
        chi_section: section whose (L2D − ΣU·l) times `chi_depth` is χ, or of revolution, whose L3D − ΣU·A is χ; empty
            where the junction has no χ.
        chi_depth: height or depth that χ is taken over [m].
        psi_section: section whose L2D − ΣU·l is Ψ without the repeated pieces; empty where there is no Ψ.
        spacing: distance of the repeated pieces [m]; χ/spacing is added to Ψ. None where nothing is added.
        per_area: how many pieces stand on a square metre [1/m²], which add n·χ to U; None where that is not asked.
    """

    psi_section: str = ""
    chi_section: str = ""
    chi_depth: float = 1.0
    spacing: float | None = None
    per_area: float | None = None


@dataclass(frozen=True, slots=True)
class Installation:
    """A side of an element set into an opening, whose Ψ takes off the L2D of that element alone.

    Ψ = L2D of `section` − its ΣU·l − L2D of `reference`, in which the element stands in an adiabatic surround.

    Attributes:
        name: what the trace calls it ("jamb").
        section: name of the section with the element installed.
        reference: name of the section with the element alone.
        length: how long this side is in the opening [m].
    """

    name: str
    section: str
    reference: str
    length: float


@dataclass(frozen=True, slots=True)
class InstalledWindow:
    """The window that the installations' Ψ belong to.

    Attributes:
        u_window: U_w of the window alone [W/(m²·K)].
        frame_area, glazing_area: A_f and A_g [m²]; the window's area is their sum.
        edge_length: l_g, visible edge of the glazing [m].
        u_frame, u_glazing: U_f and U_g [W/(m²·K)].
        psi_edge: Ψ_g of the glazing's edge [W/(m·K)].
    """

    u_window: float
    frame_area: float
    glazing_area: float
    edge_length: float
    u_frame: float
    u_glazing: float
    psi_edge: float

    @property
    def area(self) -> float:
        """A_w, area of the window over its frame [m²]."""
        return self.frame_area + self.glazing_area


@dataclass(frozen=True, slots=True)
class Hatch:
    """A hatch as a whole, from its clear size.

    Attributes:
        width, length: of the clear opening [m].
        areas: flanking elements that make the lid, with their areas within the clear size [m²].
        frame: name and length in the section [m] of the lid's frame whose U_f is computed; None where U_f is given.
        edge: Ψ_g of the glazing's edge [W/(m·K)] and its length [m]; None for an opaque lid.
        surfaces: names of watched lines whose fRsi is stated, with the surface resistance of fRsi there [m²·K/W].
    """

    width: float
    length: float
    areas: tuple[tuple[str, float], ...]
    edge: tuple[float, float] | None
    surfaces: tuple[tuple[str, float], ...]
    frame: tuple[str, float] | None = None

    @property
    def area(self) -> float:
        """Clear area [m²]."""
        return self.width * self.length

    @property
    def perimeter(self) -> float:
        """Of the clear opening, its four sides [m]."""
        return 2.0 * (self.width + self.length)


@dataclass(frozen=True, slots=True)
class ComputedFrame:
    """A frame whose U_f is computed, U_f = (L2D − U_p·b_p)/b_f; its cavities are those of that section everywhere.

    Attributes:
        section: name of the section with a panel in place of the glazing.
        u_panel: U_p of the panel [W/(m²·K)].
        panel_length: b_p, its visible length [m].
        width: b_f, of the frame [m].
    """

    section: str
    u_panel: float
    panel_length: float
    width: float


@dataclass(frozen=True, slots=True)
class RepeatedModule:
    """One module of a plane element with repeated pieces, between planes of symmetry: U is its L2D over its width.

    Attributes:
        section: name of the section, x along the element and y through it; every region a rectangle along the axes.
        without: the element without the repeated pieces, with one flanking element whose U is compared; not solved.
        probe: name of the section's probe on the inside surface over the repeated piece.
    """

    section: str
    without: Section
    probe: str


@dataclass(frozen=True, slots=True)
class Detail:
    """A junction's sections with the limits it has to keep.

    Attributes:
        title, junction: of the detail file.
        sections: at least one.
        combination: how the sections' numbers are put together.
        requirements: limits from the detail file.
        parameters: (symbol, label, value as text) rows for the report's table, in the order of declaration.
        notes: sentences on the model (what was reduced to two dimensions and what that is worth).
        cautions: sentences on safety.
        project, revision, author, date: for the report's header, as the file gives them.
        installations: sides of an element set into an opening; their Ψ have no dimension systems.
        window: the element that they belong to; None where it has no U of its own.
        climate: twelve months that its temperature factors and timber are looked at with; None where none is given.
        hatch: the hatch whose edge the Ψ belongs to; None where there is none.
        frame: how its U_f is computed; None where it is given. `window` holds it only in the results.
        module: the section whose L2D over its width is the U of a plane element; None where there is none.
        unused: (symbol, label) of the rows on which the detail does not depend at these values.
        undrawn: rows of `parameters` with a symbol that stands at no dimension: measured across the drawings, or no
            lengths; without the conditions.
    """

    title: str
    junction: str
    sections: tuple[Section, ...]
    combination: Combination
    requirements: tuple[Requirement, ...] = ()
    parameters: tuple[tuple[str, str, str], ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    project: str = ""
    revision: str = ""
    author: str = ""
    date: str = ""
    installations: tuple[Installation, ...] = ()
    window: InstalledWindow | None = None
    climate: Climate | None = None
    hatch: Hatch | None = None
    frame: ComputedFrame | None = None
    module: RepeatedModule | None = None
    unused: frozenset[tuple[str, str]] = frozenset()
    undrawn: tuple[tuple[str, str, str], ...] = ()

    @property
    def alone(self) -> frozenset[str]:
        """Names of sections that hold an element alone; their surfaces are not those of the building."""
        frame = {self.frame.section} if self.frame else set()
        return frozenset(frame | {side.reference for side in self.installations})
