"""Results: frozen records of plain numbers and arrays; the drawing and the doors see nothing else.

Three kinds of numbers are kept apart by type: `Bounded` (a guaranteed bracket), `Estimated` (a tolerance from two
refinements) and plain floats (given, or exact by a formula).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bridge2d.climate import ByMonth
from bridge2d.detail import Detail, Environment, Point, Requirement, Section
from bridge2d.sensitivity_records import Sensitivities

if TYPE_CHECKING:  # the doors handle results without loading numpy
    import numpy as np
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]
    IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Bounded:
    """A number with a guaranteed lower and upper bound; the value is their middle."""

    lower: float
    upper: float

    @property
    def value(self) -> float:
        """Middle of the bracket."""
        return 0.5 * (self.lower + self.upper)

    @property
    def half_width(self) -> float:
        """Half the width of the bracket."""
        return 0.5 * (self.upper - self.lower)

    def plus(self, other: Bounded | float) -> Bounded:
        """Sum with a bracket or an exact number; the brackets add."""
        added = other if isinstance(other, Bounded) else Bounded(other, other)
        return Bounded(self.lower + added.lower, self.upper + added.upper)

    def minus(self, other: Bounded | float) -> Bounded:
        """Difference to a bracket or an exact number; the brackets add here too."""
        taken = other if isinstance(other, Bounded) else Bounded(other, other)
        return Bounded(self.lower - taken.upper, self.upper - taken.lower)

    def times(self, factor: float) -> Bounded:
        """Product with an exact number, which may be negative."""
        ends = self.lower * factor, self.upper * factor
        return Bounded(min(ends), max(ends))


@dataclass(frozen=True, slots=True)
class HigherFields:
    """What functions of third and fourth order add to the quadratic ones; they vanish at all nodes.

    Attributes:
        order: of the functions on each triangle; shape (M,).
        temperature: coefficients of the higher functions of `elements`, with the surface resistances of the heat flow;
            shape (M, 9) [K].
        temperature_f_rsi: with those of the temperature factor; shape (M, 9) [K].
        stream: of the stream function; shape (M, 9) [W/m].
    """

    order: IntArray
    temperature: FloatArray
    temperature_f_rsi: FloatArray
    stream: FloatArray


@dataclass(frozen=True, slots=True)
class Fields:
    """Temperature and stream function, quadratic on each triangle but for what `higher` adds.

    Attributes:
        points: coordinates of the nodes, corners first, then the middles of the sides; shape (N, 2) [m].
        triangles: node numbers of each triangle: three corners counter-clockwise, then the middles of the sides
            corner 0–1, 1–2, 2–0; shape (M, 6).
        region: index of each triangle's region in the section; shape (M,).
        temperature: at the nodes, with the surface resistances of the heat flow; shape (N,) [°C].
        temperature_f_rsi: at the nodes, with the surface resistances of the temperature factor; shape (N,) [°C].
        stream: stream function at each triangle's six nodes; shape (M, 6) [W/m], of a solid of revolution the heat
            that passes within the radius [W]. It differs between neighbours
            only across a cut (a section with a hole). Equal steps carry equal heat.
        conductivity: tensor of each region; shape (R, 2, 2) [W/(m·K)].
        rim: triangle, side (0 from corner 0 to 1, 1 from 1 to 2, 2 from 2 to 0) and surface of every side of a triangle
            that faces an environment; shape (k, 3).
        higher: None where all functions are quadratic.
    """

    points: FloatArray
    triangles: IntArray
    region: IntArray
    temperature: FloatArray
    temperature_f_rsi: FloatArray
    stream: FloatArray
    conductivity: FloatArray
    rim: IntArray | None = None
    higher: HigherFields | None = None


@dataclass(frozen=True, slots=True)
class Coupling:
    """Coupling coefficient between two environments [W/(m·K)]."""

    start: str
    end: str
    coefficient: Bounded


@dataclass(frozen=True, slots=True)
class HeatFlow:
    """Heat flow from an environment into the section [W/m]."""

    environment: str
    flow: Bounded


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a flanking element: thickness [m], conductivity [W/(m·K)], resistance [m²·K/W]."""

    name: str
    thickness: float
    conductivity: float
    resistance: float


@dataclass(frozen=True, slots=True)
class FlankingResult:
    """U-value of a flanking element with its layers, from the first environment to the second.

    Of a round duct's element in a solid of revolution U and all resistances are per area of its outermost cylinder.
    """

    name: str
    u_value: float
    lengths: dict[str, float]
    layers: tuple[Layer, ...]
    environments: tuple[str, str]
    resistances: tuple[float, float]
    uniform_length: float
    required_length: float
    symmetric: bool
    within: bool = False


@dataclass(frozen=True, slots=True)
class TraceTerm:
    """One U·l that is taken off L2D, or one U·A that is taken off L3D.

    Attributes:
        name: of the flanking element.
        u_value: U [W/(m²·K)].
        length: l [m], of a solid of revolution A [m²].
    """

    name: str
    u_value: float
    length: float


@dataclass(frozen=True, slots=True)
class Psi:
    """Linear thermal transmittance in one dimension system, with its trace Ψ = L2D − ΣU·l + χ/s [W/(m·K)].

    Attributes:
        dimensions: "external", "internal" or "overall_internal".
        value: Ψ with its bracket.
        l2d: L2D that it starts from.
        terms: every U·l.
        chi_over_spacing: χ/s of repeated pieces that is added; None where there is none.
        reference_l2d: L2D of an installed element alone that is taken off; None where there is none.
    """

    dimensions: str
    value: Bounded
    l2d: Bounded
    terms: tuple[TraceTerm, ...]
    chi_over_spacing: Bounded | None = None
    reference_l2d: Bounded | None = None


@dataclass(frozen=True, slots=True)
class InstallationResult:
    """Ψ of one side of an installed element, with its trace Ψ = L2D − ΣU·l − L2D of the element alone [W/(m·K)].

    Attributes:
        name: of the side ("jamb").
        psi: Ψ with its bracket, to which both solutions contribute.
        l2d: of the section with the element installed.
        reference_l2d: of the element alone in an adiabatic surround.
        terms: every U·l.
        length: of the side in the opening [m].
        section, reference: names of the two sections.
    """

    name: str
    psi: Bounded
    l2d: Bounded
    reference_l2d: Bounded
    terms: tuple[TraceTerm, ...]
    length: float
    section: str
    reference: str


@dataclass(frozen=True, slots=True)
class Area:
    """One of the areas side by side of the combined method (ISO 6946).

    Attributes:
        name: what it has that the other areas have not ("stud, insulation").
        fraction: its share in the whole [1].
        resistances: of each layer within it, outermost first [m²·K/W].
        total: with both surfaces, from one environment to the other [m²·K/W].
    """

    name: str
    fraction: float
    resistances: tuple[float, ...]
    total: float


@dataclass(frozen=True, slots=True)
class CombinedMethod:
    """The combined method of ISO 6946, with the areas and layers that the section has.

    Attributes:
        areas: side by side.
        layers: name, thickness [m] and resistance of the areas side by side [m²·K/W] of each layer, outermost first.
        surfaces: surface resistances outside and inside [m²·K/W].
        upper, lower: limits R' and R'' of the total resistance [m²·K/W].
        u_value: U of their mean [W/(m²·K)].
        error: largest relative error that the standard gives it [1].
        ratio: R'/R'' [1].
        objection: why the standard does not let the method be used here; empty where it does.
    """

    areas: tuple[Area, ...]
    layers: tuple[tuple[str, float, float], ...]
    surfaces: tuple[float, float]
    upper: float
    lower: float
    u_value: float
    error: float
    ratio: float
    objection: str


@dataclass(frozen=True, slots=True)
class ModuleTransmittance:
    """U of a plane element with repeated pieces, from its section, beside the combined method.

    Attributes:
        u_value: L2D over the module's width, with its bracket [W/(m²·K)].
        section: name of the section.
        l2d: of one module [W/(m·K)].
        width: of one module [m].
        combined: the combined method of the same geometry.
        without: the element without the repeated pieces.
        increase: of U over that of the element without them [W/(m²·K)].
        f_rsi: temperature factor on the inside surface over the repeated piece.
    """

    u_value: Bounded
    section: str
    l2d: Bounded
    width: float
    combined: CombinedMethod
    without: FlankingResult
    increase: Bounded
    f_rsi: TemperatureFactor


@dataclass(frozen=True, slots=True)
class Chi:
    """Point thermal transmittance χ = (L2D − ΣU·l)·depth of one repeated piece [W/K].

    Of a solid of revolution it is L3D − ΣU·A: `l2d` is L3D [W/K] then, and the depth is 1.
    """

    value: Bounded
    l2d: Bounded
    terms: tuple[TraceTerm, ...]
    depth: float
    spacing: float | None
    of_revolution: bool = False
    per_area: float | None = None

    @property
    def added_transmittance(self) -> Bounded | None:
        """What the pieces on a square metre add to U, ΔU = n·χ [W/(m²·K)]; None where their number is not given."""
        return None if self.per_area is None else self.value.times(self.per_area)


@dataclass(frozen=True, slots=True)
class TemperatureFactor:
    """fRsi of an environment at its coldest surface point; an estimate with a tolerance."""

    environment: str
    value: float
    temperature: float
    point: Point
    surface_resistance: float
    tolerance: float
    section: str = ""


@dataclass(frozen=True, slots=True)
class ProbeResult:
    """Temperature at a probe, or the lowest along a watched line [°C]; estimates with a tolerance [K].

    `temperature` belongs to the surface resistances of the heat flow, `temperature_f_rsi` to those of fRsi.
    """

    name: str
    point: Point
    temperature: float
    temperature_f_rsi: float
    tolerance: float
    section: str = ""


@dataclass(frozen=True, slots=True)
class Pass:
    """One refinement pass: size of the mesh and bounds of L2D (None where the flow has no bound) [W/(m·K)]."""

    triangles: int
    unknowns: int
    lower: float | None
    upper: float | None


@dataclass(frozen=True, slots=True)
class Check:
    """A rule of a standard that was checked: what it asks, what was found, whether it is kept (None: cannot say)."""

    name: str
    asked: str
    found: str
    met: bool | None
    source: str


@dataclass(frozen=True, slots=True)
class AirtightChange:
    """A place where the airtight layer changes from one piece to the next, so that a tape or sealant is needed [m]."""

    start: str
    end: str
    point: Point


@dataclass(frozen=True, slots=True)
class Break:
    """A place where the airtight layer's line is broken [m]."""

    piece: str
    text: str
    point: Point


@dataclass(frozen=True, slots=True)
class AirtightResult:
    """The airtight layer of a section.

    Attributes:
        pieces: names in order from cut plane to cut plane, or as drawn where the line is broken.
        changes: where tapes and sealants are needed.
        breaks: where the line is broken; empty for a sound one.
        temperature: lowest along the line, with the surface resistances of the temperature factor [°C].
        point: where it is lowest [m].
        tolerance: of that temperature [K].
        dew_point: of the room air [°C]; None where its humidity is not given.
    """

    pieces: tuple[str, ...]
    changes: tuple[AirtightChange, ...]
    breaks: tuple[Break, ...]
    temperature: float
    point: Point
    tolerance: float
    dew_point: float | None


@dataclass(frozen=True, slots=True)
class SectionResult:
    """All numbers of one section.

    Attributes:
        fields: quadratic on each triangle, for all that draws and stores them.
        solved: as they were solved for, functions of higher order included; None where those are `fields`.
    """

    section: Section
    fields: Fields
    mesher: str
    l2d: Bounded | None
    coupling: tuple[Coupling, ...]
    heat_flows: tuple[HeatFlow, ...]
    flanking: tuple[FlankingResult, ...]
    f_rsi: tuple[TemperatureFactor, ...]
    probes: tuple[ProbeResult, ...]
    watched: tuple[ProbeResult, ...]
    passes: tuple[Pass, ...]
    balance: float
    checks: tuple[Check, ...]
    warnings: tuple[str, ...] = ()
    airtight: AirtightResult | None = None
    solved: Fields | None = None


@dataclass(frozen=True, slots=True)
class RequirementResult:
    """A limit and whether it is kept for certain; not certain where it lies inside the bracket."""

    requirement: Requirement
    value: float
    met: bool
    certain: bool


@dataclass(frozen=True, slots=True)
class SurfaceFactor:
    """fRsi at the coldest point of one named surface; an estimate with a tolerance.

    Attributes:
        name: of the surface ("reveal").
        value: fRsi [1].
        temperature: there [°C].
        point: where it is coldest [m].
        surface_resistance: with which it holds [m²·K/W].
        tolerance: of the factor [1].
    """

    name: str
    value: float
    temperature: float
    point: Point
    surface_resistance: float
    tolerance: float


@dataclass(frozen=True, slots=True)
class HatchResult:
    """A hatch as a whole: U of its lid, and its loss U·A + Ψ·P from its clear size, corners not included.

    Attributes:
        parts: planes of the lid: name, U [W/(m²·K)] and area within the clear size [m²].
        u_lid: U of the lid over the clear size, exact where its bracket has no width [W/(m²·K)].
        psi: Ψ between hatch and roof in internal dimensions [W/(m·K)].
        loss: of the whole hatch [W/K].
        factors: fRsi of its named surfaces.
    """

    parts: tuple[tuple[str, float, float], ...]
    u_lid: Bounded
    psi: Bounded
    loss: Bounded
    factors: tuple[SurfaceFactor, ...]


@dataclass(frozen=True, slots=True)
class DetailResult:
    """All numbers of a detail.

    Where it has `installations`, `psi` holds their length-weighted mean in every dimension system alike, because the
    wall's length is measured to the rough opening in all of them.

    Attributes:
        installations: Ψ of every side of an installed element.
        psi_installation: their mean, weighted by length [W/(m·K)]; None where there are none.
        u_installed: U of the installed window [W/(m²·K)]; None where there is none.
        by_month: what the detail's climate asks for, month by month; None where it has none.
        hatch: the hatch as a whole; None where there is none.
        u_frame: U_f computed from the frame's polygons [W/(m²·K)]; None where it is given.
        u_section: U of a plane element from its section; None where the detail is none.
        sensitivities: what a change of its inputs does; None where nobody asked.
    """

    detail: Detail
    sections: tuple[SectionResult, ...]
    psi: tuple[Psi, ...]
    chi: Chi | None
    f_rsi: tuple[TemperatureFactor, ...]
    requirements: tuple[RequirementResult, ...]
    seconds: float
    version: str
    input_hash: str
    installations: tuple[InstallationResult, ...] = ()
    psi_installation: Bounded | None = None
    u_installed: Bounded | None = None
    by_month: ByMonth | None = None
    hatch: HatchResult | None = None
    u_frame: Bounded | None = None
    u_section: ModuleTransmittance | None = None
    sensitivities: Sensitivities | None = None

    def environment_of(self, factor: TemperatureFactor) -> Environment:
        """The environment whose surface a temperature factor belongs to.

        Args:
            factor: one of this result.
        """
        return next(e for e in self._environments(factor) if e.name == factor.environment)

    def kelvin(self, factor: TemperatureFactor) -> float:
        """A factor's tolerance as one of the temperature [K]: times the span from the coldest environment.

        Args:
            factor: one of this result.
        """
        coldest = min(e.temperature for e in self._environments(factor))
        return factor.tolerance * abs(self.environment_of(factor).temperature - coldest)

    def _environments(self, factor: TemperatureFactor) -> tuple[Environment, ...]:
        return next(s.section for s in self.sections if s.section.name == factor.section).environments
