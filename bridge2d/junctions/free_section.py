"""A free section: regions, environments, flanking elements and probes drawn by hand, for what no junction covers."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    PlainValidator,
    StrictBool,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)

from bridge2d import outlines
from bridge2d.detail import (
    CHI_HALF_WIDTH,
    DIMENSION_SYSTEMS,
    PSI_HALF_WIDTH,
    AirtightPiece,
    Cavity,
    Combination,
    Detail,
    Environment,
    FlankingElement,
    Point,
    Probe,
    Region,
    Section,
    Surface,
)
from bridge2d.errors import QuantityError
from bridge2d.junctions.air_layers import air_layer
from bridge2d.junctions.declaration import (
    Angle,
    Junction,
    Length,
    LineOfText,
    Parameters,
    Ratio,
    Resistance,
    Temperature,
)
from bridge2d.junctions.drawing_block import DrawingBlock
from bridge2d.junctions.material_choice import choose_material, read_conductivities
from bridge2d.junctions.quantities import system_of
from bridge2d.materials import HATCHES, Material
from bridge2d.standards.iso_13788 import factor_surface_resistance

MOST_REGIONS = 2000
"""Most regions in one detail file."""
SECTION = "section"
"""Name of the only section."""

_POINT = {"type": "array", "items": {"type": ["number", "string"]}, "minItems": 2, "maxItems": 2}
_LINE = {"type": "array", "items": _POINT}
_CONDUCTIVITY = {"anyOf": [{"type": ["number", "string"]}, {"type": "array", "items": {"type": ["number", "string"]}}]}


def _point(typed: object, info: ValidationInfo) -> Point:
    return outlines.read_point(typed, system_of(info))


def _line(typed: object, info: ValidationInfo) -> tuple[Point, ...]:
    return outlines.read_line(typed, system=system_of(info))


def _polygon(typed: object, info: ValidationInfo) -> tuple[Point, ...]:
    return outlines.read_polygon(typed, system_of(info))


def _holes(typed: object, info: ValidationInfo) -> tuple[tuple[Point, ...], ...]:
    return outlines.read_holes(typed, system_of(info))


def _conductivities(typed: object, info: ValidationInfo) -> tuple[float, float | None]:
    return read_conductivities(typed, system_of(info))


OnePoint = Annotated[Point, PlainValidator(_point), WithJsonSchema(_POINT)]
Line = Annotated[tuple[Point, ...], PlainValidator(_line), WithJsonSchema(_LINE)]
Polygon = Annotated[tuple[Point, ...], PlainValidator(_polygon), WithJsonSchema(_LINE)]
Holes = Annotated[
    tuple[tuple[Point, ...], ...],
    PlainValidator(_holes),
    WithJsonSchema({"type": "array", "items": _LINE}),
]
Conductivities = Annotated[tuple[float, float | None], PlainValidator(_conductivities), WithJsonSchema(_CONDUCTIVITY)]


class _Block(BaseModel):
    """A [[block]] of the file: frozen, and no key but its own."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class RegionBlock(_Block):
    """A [[region]]: a piece of the section of one material."""

    name: LineOfText = Field(description='write name = "brick"')
    material: LineOfText | None = Field(None, description="name in the catalogue")
    conductivity: Conductivities | None = Field(None, description="λ, or [along, across] the grain")
    grain_direction: Angle | None = Field(None, description="direction of the grain from the x axis")
    basis: LineOfText = Field("", description="why the conductivity differs from the catalogue's")
    hatch: LineOfText | None = Field(None, description="drafting hatch where it is not the material's")
    polygon: Polygon = Field(description="write polygon = [[0, 0], [100, 0], [100, 50]], corners in millimetres")
    holes: Holes = Field((), description="outlines that are cut out of this region")
    cavity: Literal["unventilated", "slightly ventilated", "air layer"] | None = Field(
        None, description="instead of a material: a frame's cavity (ISO 10077-2), or an air layer (ISO 6946)"
    )
    emissivity: Ratio = Field(0.9, description="of a cavity's faces")
    cavity_temperatures: Literal["computed", "standard"] = Field(
        "computed", description='of a cavity; "standard" takes 10 °C and 10 K'
    )
    heat_flow: Literal["horizontal", "up", "down"] | None = Field(None, description="direction, of an air layer")

    @model_validator(mode="after")
    def _fits_together(self) -> RegionBlock:
        """The material is known, the grain has two conductivities, and the holes lie inside."""
        material = self._chosen()
        grained = material.conductivity_along is not None
        if self.grain_direction is not None and not grained:
            right = "give conductivity = [along, across] or leave grain_direction out"
            raise QuantityError(f"{material.name!r} has one conductivity and so no grain", right, ("grain_direction",))
        if self.conductivity is not None and self.conductivity[1] is not None and self.grain_direction is None:
            right = "add grain_direction in degrees from the x axis"
            raise QuantityError("two conductivities are given without a direction", right, ("conductivity",))
        if not 0.0 < self.emissivity <= 1.0:
            raise QuantityError(f"{self.emissivity:g} is no emissivity", "give above 0 and up to 1", ("emissivity",))
        if self.hatch is not None and self.hatch not in HATCHES:
            raise QuantityError(f"there is no hatch {self.hatch!r}", f"known are {', '.join(HATCHES)}", ("hatch",))
        outlines.refuse_stray_holes(self.polygon, self.holes)
        return self

    def _chosen(self) -> Material:
        """The region's material; a cavity's stands in until it is computed."""
        if self.cavity is None:
            if self.heat_flow is not None:
                raise QuantityError("heat_flow belongs to an air layer", 'add cavity = "air layer"', ("heat_flow",))
            return choose_material(self.name, self.material, self.conductivity, self.basis)
        for key in ("material", "conductivity"):
            if getattr(self, key) is not None:
                raise QuantityError(f"a cavity has no {key} of its own", f"leave {key} out, or cavity", (key,))
        if self.cavity != "air layer":
            if self.heat_flow is not None:
                right = "leave it out; the direction in a cavity is computed"
                raise QuantityError("heat_flow belongs to an air layer", right, ("heat_flow",))
            return Material(f"{self.cavity} cavity", 0.1, group="air", hatch="air")
        if self.heat_flow is None:
            right = 'add heat_flow = "horizontal", "up" or "down"'
            raise QuantityError("an air layer depends on the direction of the heat flow", right, ("cavity",))
        sides = [max(p[k] for p in self.polygon) - min(p[k] for p in self.polygon) for k in (0, 1)]
        return air_layer(round(min(sides), 6), self.heat_flow, round(max(sides), 6))

    def region(self) -> Region:
        """The region of the section."""
        material = self._chosen()
        if self.hatch is not None:
            material = replace(material, hatch=self.hatch)
        made = Region(self.name, material, self.polygon, self.holes, self.grain_direction, self.basis)
        if self.cavity in (None, "air layer"):
            return made
        cavity = Cavity(self.cavity == "slightly ventilated", self.emissivity, self.cavity_temperatures == "computed")
        return replace(made, cavity=cavity)


class EnvironmentBlock(_Block):
    """An [[environment]]: a piece of the outline that faces air or ground."""

    name: LineOfText = Field(description='write name = "outside"')
    temperature: Temperature | None = Field(None, description="may be left out where the name has it already")
    surface_resistance: Resistance = Field(description="write surface_resistance = 0.13; 0 prescribes the temperature")
    surface_resistance_f_rsi: Resistance | None = Field(None, description="surface resistance for f_Rsi")
    humidity: Ratio | None = Field(None, description="relative humidity of the air, such as 0.5; for the dew point")
    edge: Line = Field(description="write edge = [[0, 0], [100, 0]], a line along the outline in millimetres")

    @model_validator(mode="after")
    def _fits_together(self) -> EnvironmentBlock:
        """The humidity is a share."""
        if self.humidity is not None and not 0.0 < self.humidity <= 1.0:
            right = "give a share such as 0.5 for 50 %"
            raise QuantityError(f"{self.humidity:g} is no relative humidity", right, ("humidity",))
        return self


class FlankingBlock(_Block):
    """A [[flanking]] element: its U·l is taken off L2D."""

    name: LineOfText = Field(description='write name = "wall"')
    cut: Line = Field(description="write cut = [[0, 0], [0, 300]], from one surface to the other")
    lengths: dict[Literal["external", "internal", "overall_internal"], Length] | None = Field(
        None, description="write lengths = { external = 500, internal = 485 }; left out in a solid of revolution"
    )
    symmetric: StrictBool = Field(False, description="whether the cut is a plane of symmetry")

    @model_validator(mode="after")
    def _fits_together(self) -> FlankingBlock:
        """The cut is one straight line, and there is a length that is not negative."""
        if len(self.cut) != 2:
            raise QuantityError(f"has {len(self.cut)} points", "a cut is one straight line of two points", ("cut",))
        if self.lengths is None:
            return self
        if not self.lengths:
            raise QuantityError("holds no length", "write lengths = { external = 500, internal = 485 }", ("lengths",))
        for system, length in self.lengths.items():
            if length < 0:
                raise QuantityError("is negative", "give the element's length in millimetres", ("lengths", system))
        return self


class ProbeBlock(_Block):
    """A [[probe]]: a point whose temperature is printed."""

    name: LineOfText = Field(description='write name = "A"')
    point: OnePoint = Field(description="write point = [0, 47.5] in millimetres")


class AirtightBlock(_Block):
    """An [[airtight]] piece: a line of the layer that keeps the air in."""

    name: LineOfText = Field(description='write name = "membrane"')
    line: Line = Field(description="write line = [[0, 0], [0, 300]] in millimetres")
    through: StrictBool = Field(False, description="whether a body such as a joist carries the layer on; not drawn")


class FreeSection(Parameters):
    """The blocks of a free section."""

    revolution: StrictBool = Field(False, description="whether x is the radius of a solid of revolution")
    drawing: DrawingBlock | None = None
    region: tuple[RegionBlock, ...] = ()
    environment: tuple[EnvironmentBlock, ...] = ()
    flanking: tuple[FlankingBlock, ...] = ()
    probe: tuple[ProbeBlock, ...] = ()
    airtight: tuple[AirtightBlock, ...] = ()

    @model_validator(mode="before")
    @classmethod
    def _not_too_large(cls, data: Any) -> Any:
        """Count before anything is checked point by point."""
        regions = _tables(data, "region")
        if len(regions) > MOST_REGIONS:
            message = f"the file has {len(regions)} regions"
            raise QuantityError(message, f"a detail may have at most {MOST_REGIONS}", ("region", MOST_REGIONS))
        count = 0
        for block, key in (("region", "polygon"), ("environment", "edge"), ("airtight", "line")):
            for number, table in enumerate(_tables(data, block)):
                count += _points(table.get(key)) + sum(_points(hole) for hole in _list(table.get("holes")))
                if count > outlines.MOST_POINTS:
                    right = f"a detail may have at most {outlines.MOST_POINTS}"
                    raise QuantityError(f"the file has more than {outlines.MOST_POINTS} points", right, (block, number))
        return data

    @model_validator(mode="after")
    def _fits_together(self) -> FreeSection:
        """There are regions, and at least two environments of different temperature."""
        if not self.region and self.drawing is None:
            raise QuantityError("there is no [[region]] block", "add one with a name, a material and a polygon")
        if not self.environment:
            right = "add one [[environment]] block for each side, with name, temperature, surface_resistance and edge"
            raise QuantityError("there is no [[environment]] block, so no heat can flow", right)
        for number, block in enumerate(self.flanking):
            if self.revolution and block.lengths is not None:
                right = "leave lengths out; its area is πr², r being where the cut stands"
                raise QuantityError("an element round an axis has no length", right, ("flanking", number, "lengths"))
            if not self.revolution and block.lengths is None:
                right = "write lengths = { external = 500, internal = 485 }"
                raise QuantityError("the key lengths is missing", right, ("flanking", number))
        if self.revolution and len(self.flanking) > 1:
            right = "keep the one at the greatest radius"
            raise QuantityError("a solid of revolution has one flanking element", right, ("flanking", 1))
        temperatures = self._temperatures()
        if len(temperatures) < 2:
            right = "add an [[environment]] of another name and temperature on the other side"
            only = next(iter(temperatures))
            raise QuantityError(f"{only!r} is the only environment, so no heat can flow", right, ("environment", 0))
        if len(set(temperatures.values())) == 1:
            path = ("environment", len(self.environment) - 1)
            raise QuantityError("all environments have the same temperature", "give at least two temperatures", path)
        return self

    def _temperatures(self) -> dict[str, float]:
        """Temperature of each environment [°C], in the order of the file."""
        known: dict[str, float] = {}
        for number, block in enumerate(self.environment):
            if block.temperature is None:
                continue
            first = known.setdefault(block.name, block.temperature)
            if first != block.temperature:
                raise QuantityError(
                    f"environment {block.name!r} has {first:g} °C earlier and {block.temperature:g} °C here",
                    "blocks that share a name share one temperature",
                    ("environment", number, "temperature"),
                )
        for number, block in enumerate(self.environment):
            if block.name not in known:
                raise QuantityError(
                    f"environment {block.name!r} has no temperature", "add temperature = 20", ("environment", number)
                )
        return {name: known[name] for name in dict.fromkeys(block.name for block in self.environment)}


def _list(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _tables(data: object, key: str) -> list[dict[str, Any]]:
    return [t for t in _list(data.get(key)) if isinstance(t, dict)] if isinstance(data, dict) else []


def _points(value: object) -> int:
    return len(_list(value))


def build(parameters: FreeSection) -> Detail:
    """The detail of a free section.

    Args:
        parameters: the blocks of the file.
    """
    temperatures = parameters._temperatures()
    section = Section(
        name=SECTION,
        title="",
        regions=tuple(block.region() for block in parameters.region),
        environments=tuple(
            Environment(name, value, _humidity(parameters.environment, name)) for name, value in temperatures.items()
        ),
        surfaces=_surfaces(parameters.environment, temperatures),
        flanking=tuple(_flanking(block) for block in parameters.flanking),
        revolution=parameters.revolution,
        psi_half_width=CHI_HALF_WIDTH if parameters.revolution else PSI_HALF_WIDTH,
        probes=tuple(Probe(block.name, block.point) for block in parameters.probe),
        airtight=tuple(AirtightPiece(block.name, block.line, block.through) for block in parameters.airtight),
    )
    has_psi = bool(section.flanking) and len(section.environments) == 2
    if parameters.revolution:
        combination = Combination(chi_section=SECTION if has_psi else "")
        return Detail("", "free_section", (section,), combination)
    return Detail("", "free_section", (section,), Combination(psi_section=SECTION if has_psi else ""))


def _humidity(blocks: tuple[EnvironmentBlock, ...], name: str) -> float | None:
    return next((b.humidity for b in blocks if b.name == name and b.humidity is not None), None)


def _surfaces(blocks: tuple[EnvironmentBlock, ...], temperatures: dict[str, float]) -> tuple[Surface, ...]:
    """The surfaces; all but those of the coldest environment take the resistance of an opaque surface for f_Rsi."""
    coldest = min(temperatures.values())
    surfaces = []
    for block in blocks:
        given = block.surface_resistance
        for_factor = block.surface_resistance_f_rsi
        if for_factor is None:
            warm = temperatures[block.name] > coldest and given > 0
            for_factor = max(given, factor_surface_resistance(glazing=False)) if warm else given
        surfaces.append(Surface(block.name, block.edge, given, for_factor))
    return tuple(surfaces)


def _flanking(block: FlankingBlock) -> FlankingElement:
    if block.lengths is None:  # round an axis: the disc within the cut
        area = math.pi * max(x for x, _ in block.cut) ** 2
        return FlankingElement(
            block.name, (block.cut[0], block.cut[1]), dict.fromkeys(DIMENSION_SYSTEMS, area), block.symmetric
        )
    given: dict[str, float] = {str(system): length for system, length in block.lengths.items()}
    lengths = {system: given[system] for system in DIMENSION_SYSTEMS if system in given}
    return FlankingElement(block.name, (block.cut[0], block.cut[1]), lengths, block.symmetric)


EXAMPLE = """\
# A free section: regions, environments, flanking elements and probes drawn by hand.
# Lengths are numbers in millimetres or text with a unit ("240 mm", "9 1/2 in"); x runs to the right, y upward.
# The numbers below are invented: a partition of brick that runs into an outer wall with insulation inside.

junction = "free_section"
title = "Partition wall through inside insulation"

# Regions may come from a drawing (DXF) in this folder; those of this file then lie over them. Its layers are named:
# [drawing]
# file = "nib.dxf"
# [drawing.layers]
# BRICK = "solid brick, old, 1600"
# INSUL = { conductivity = 0.04, basis = "declared" }

# A region is a polygon of one material; later regions lie over earlier ones.
# material is a name that `bridge2d materials` lists; instead, or with a basis beside it, conductivity in W/(m·K).
[[region]]
name = "outer wall of brick"
material = "solid brick, old, unknown"
polygon = [[0, 0], [1500, 0], [1500, 330], [0, 330]]

[[region]]
name = "inside insulation"
material = "calcium silicate board"
conductivity = 0.06
basis = "declared value of the board (invented)"
polygon = [[0, 330], [1500, 330], [1500, 410], [0, 410]]

[[region]]
name = "partition of brick"
material = "solid brick, old, unknown"
polygon = [[0, 330], [57.5, 330], [57.5, 1500], [0, 1500]]

# An environment is air (or ground) of one temperature along a piece of the outline. Blocks of one name are one
# environment. Where no environment stands, no heat passes: here on the planes of symmetry and the ends.
[[environment]]
name = "outside"
temperature = -5
surface_resistance = 0.04
edge = [[0, 0], [1500, 0]]

[[environment]]
name = "room"
temperature = 20
surface_resistance = 0.13
edge = [[1500, 410], [57.5, 410], [57.5, 1500]]

# A flanking element is a plane element whose U·l is taken off; its layers are those that the cut crosses.
# The partition's middle is a plane of symmetry: this is one half, and Ψ is that of the half.
[[flanking]]
name = "wall with inside insulation"
cut = [[1500, 0], [1500, 410]]
lengths = { external = 1500, internal = 1442.5, overall_internal = 1500 }

# revolution = true at the top makes x the radius of a solid of revolution about x = 0: heat flows are then in W, the
# flanking element (one, without lengths) has the area of the disc within its cut, and χ = L3D − U·A takes Ψ's place.

# A probe prints the temperature of a point.
[[probe]]
name = "corner of room"
point = [57.5, 410]

# A requirement is a limit that the result has to keep; exit status 1 says that it does not.
# [[requirement]]
# quantity = "f_rsi"
# minimum = 0.7
# source = "the brief of the job"
"""

JUNCTION = Junction(
    name="free_section",
    title="free section",
    description=(
        "Regions, environments, flanking elements and probes drawn by hand, for what no junction covers. It has no "
        "[parameters]; its blocks stand at the top level of the file: [[region]], [[environment]], [[flanking]], "
        "[[probe]], [[airtight]]. Regions may come from a drawing (DXF): [drawing]."
    ),
    parameters=FreeSection,
    build=build,
    blocks=True,
    example=EXAMPLE,
)
