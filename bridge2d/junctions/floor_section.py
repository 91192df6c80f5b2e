"""The upright section through the edge of a solid floor: a slab, or a vault with its filling.

Part of the step parameters -> detail of `floor_slab`. x runs inward from the outside face, y upward from the slab's
underside or the vault's springing.
"""

from __future__ import annotations

from dataclasses import dataclass

from bridge2d.detail import AirtightPiece, Dimension, FlankingElement, Point, Region, Section, Surface
from bridge2d.junctions import walls
from bridge2d.junctions.floor_parameters import FloorSlab
from bridge2d.junctions.vaults import Vault
from bridge2d.junctions.walls import Layer, Wall

UPRIGHT = "upright"
FAR = 0.3
"""A balcony that projects further needs a page of its own [m]."""


@dataclass(frozen=True, slots=True)
class Floor:
    """The floor's measures [m]; a length of 0 where a piece is not there.

    Attributes:
        wall: the wall.
        slab: level of its upper side above the underside or the springing.
        ceiling: thickness of the plaster below.
        toppings: screed and flooring, from below.
        below, above: length and thickness of the insulation returned below and on the slab.
        outer: where slab or vault ends outside.
        vault: its curve; None where the floor is a slab.
    """

    wall: Wall
    slab: float
    ceiling: float
    toppings: tuple[Layer, ...]
    below: tuple[float, float]
    above: tuple[float, float]
    outer: float
    vault: Vault | None = None

    @property
    def top(self) -> float:
        """Level of the flooring's upper side."""
        return self.slab + walls.total(self.toppings)

    @property
    def zone(self) -> tuple[float, float]:
        """Levels of the ceiling's underside, where it meets the wall's finished face, and of the flooring's top."""
        return self.ceiling_line[0][1], self.top

    def soffit(self, start: float, end: float) -> tuple[Point, ...]:
        """The underside of slab or vault, from left to right, with points at the faces of the wall's layers.

        Args:
            start: least x [m].
            end: greatest x [m].
        """
        if self.vault is None:
            return ((start, 0.0), (end, 0.0))
        return self.vault.curve(start, end, at=self.faces)

    @property
    def faces(self) -> tuple[float, ...]:
        """Where the faces of the wall's lining stand, x [m]."""
        at, found = self.wall.parge_face, []
        for layer in self.wall.lining:
            found.append(at)
            at += layer.thickness
        return (*found, at)

    @property
    def ceiling_line(self) -> tuple[Point, ...]:
        """The ceiling's underside, from the wall's finished face to the cut-off plane."""
        inner = self.wall.thickness
        if self.vault is None:
            return ((inner, -self.ceiling), (self.room, -self.ceiling))
        # Near the springing of a steep vault the plaster's own curve lies deeper than the plaster is thick.
        curve = self.vault.curve(inner, self.room, -self.ceiling)
        return tuple((x, max(y, -self.ceiling)) for x, y in curve)

    @property
    def end_below(self) -> float:
        """Where the returned insulation below the slab ends with its plaster."""
        return self.wall.thickness + (self.below[0] + self.ceiling if self.below[0] else 0.0)

    @property
    def low_below(self) -> float:
        """Level of the underside of the returned insulation below the slab with its plaster."""
        return -self.below[1] - self.ceiling

    @property
    def low(self) -> float:
        """Cut-off plane through the wall below."""
        return -walls.cut_plane(-self.low_below, self.wall.thickness)

    @property
    def high(self) -> float:
        """Cut-off plane through the wall above."""
        return walls.cut_plane(self.zone[1], self.wall.thickness)

    @property
    def room(self) -> float:
        """Cut-off plane through the floor; the wall's face where there is no floor."""
        inner = self.wall.thickness
        if self.slab < walls.LEAST:
            return inner
        if self.vault is None:
            return walls.cut_plane(max(self.end_below, inner + self.above[0]), self.top + self.ceiling)
        thickness = self.top - self.vault.rise + self.ceiling
        return max(walls.cut_plane(inner + self.above[0], thickness), walls.up(self.vault.crown))


def upright(p: FloorSlab, f: Floor) -> Section:
    """The section.

    Args:
        p: materials and conditions.
        f: measures.
    """
    level = "vault's springing" if f.vault else "slab's underside"
    return Section(
        UPRIGHT,
        "Upright section through the floor's edge",
        _regions(p, f),
        walls.environments(p),
        _surfaces(p, f),
        _flanking(f),
        airtight=_airtight(f),
        dimensions=_dimensions(f),
        large=-f.outer >= FAR,
        axes=f"x inward from the outside face, y upward from the {level}",
    )


def _regions(p: FloorSlab, f: Floor) -> tuple[Region, ...]:
    wall, inner = f.wall, f.wall.thickness
    found = walls.layers_upright((*wall.structure, wall.parge), 0.0, (f.low, f.high))
    found += _lining_below(f)
    found += walls.layers_upright(wall.lining, wall.parge_face, (f.slab, f.high))
    if f.slab < walls.LEAST:
        return walls.present(found)
    found += _vault(p, f.vault, f) if f.vault else _slab(p, f)
    level = f.slab
    for layer in f.toppings:
        top = level + layer.thickness
        found.append(walls.rectangle(layer.name, layer.choice, (inner, level), (f.room, top)))
        level = top
    length, thickness = f.above
    # Insulation meets insulation: what is returned begins at the wall's insulation, behind cavity and board.
    strip = (wall.insulation_face, f.slab), (inner + length, f.slab + thickness)
    found.append(walls.rectangle("returned insulation", p.return_material, *strip))
    return walls.present(found)


def _lining_below(f: Floor) -> list[Region | None]:
    """The wall's lining, up to the underside of slab or vault."""
    found: list[Region | None] = []
    at = f.wall.parge_face
    for layer in f.wall.lining:
        end = at + layer.thickness
        if layer.thickness >= walls.LEAST:
            outline = ((at, f.low), (end, f.low), *reversed(f.soffit(at, end)))
            found.append(Region(layer.name, layer.choice.material, outline, basis=layer.choice.basis))
        at = end
    return found


def _slab(p: FloorSlab, f: Floor) -> list[Region | None]:
    inner, plaster = f.wall.thickness, p.ceiling_material
    length, thickness = f.below
    below = (f.wall.insulation_face, -thickness), (inner + length, 0.0)
    return [
        walls.rectangle("slab", p.slab_material, (f.outer, 0.0), (f.room, f.slab)),
        walls.rectangle("ceiling plaster", plaster, (inner, f.low_below), (f.end_below, 0.0)),
        walls.rectangle("returned insulation", p.return_material, *below),
        walls.rectangle("ceiling plaster", plaster, (f.end_below, -f.ceiling), (f.room, 0.0)),
    ]


def _vault(p: FloorSlab, vault: Vault, f: Floor) -> list[Region | None]:
    """Filling, vault and plaster: each lies over the one before."""
    face, inner, room = f.wall.face, f.wall.thickness, f.room
    soffit = f.soffit(face, room)
    back = vault.curve(face, room, vault.thickness)
    filling = (*soffit, (room, f.slab), (face, f.slab))
    ring = ((f.outer, 0.0), *soffit, *reversed(back), (f.outer, back[0][1]))
    found: list[Region | None] = [
        Region("filling", p.filling_material.material, filling, basis=p.filling_material.basis),
        Region("vault", p.vault_material.material, ring, basis=p.vault_material.basis),
    ]
    if f.ceiling >= walls.LEAST:
        plaster = (*f.ceiling_line, *reversed(f.soffit(inner, room)))
        material = p.ceiling_material
        found.append(Region("ceiling plaster", material.material, plaster, basis=material.basis))
    return found


def _surfaces(p: FloorSlab, f: Floor) -> tuple[Surface, ...]:
    inner, (bottom, top) = f.wall.thickness, f.zone
    balcony = ((f.outer, 0.0), (f.outer, f.slab), (0.0, f.slab)) if f.outer < 0 else ()
    outside = walls.outside_surface(p, (0.0, f.low), (0.0, 0.0), *balcony, (0.0, f.high))
    if f.slab < walls.LEAST:
        return (outside, *walls.inside_surface(p, (inner, f.low), (inner, f.high)))
    below: list[Point] = [(inner, f.low)]
    if f.vault is None:
        below += [(inner, f.low_below), (f.end_below, f.low_below), (f.end_below, bottom), (f.room, bottom)]
    else:
        below += f.ceiling_line
    above = [(inner, f.high), (inner, top), (f.room, top)]
    return (outside, *walls.inside_surface(p, *above), *walls.inside_surface(p, *below))


def _flanking(f: Floor) -> tuple[FlankingElement, ...]:
    bottom, top = f.zone
    above, below, zone, inner = f.high - top, bottom - f.low, top - bottom, f.wall.thickness
    upper = {"external": above, "internal": above, "overall_internal": above}
    lower = {"external": below + zone, "internal": below, "overall_internal": below + zone}
    return (
        FlankingElement("wall above", ((0.0, f.high), (inner, f.high)), upper),
        FlankingElement("wall below", ((0.0, f.low), (inner, f.low)), lower),
    )


def _airtight(f: Floor) -> tuple[AirtightPiece, ...]:
    level, name = f.wall.airtight_level, f.wall.airtight
    if name == "none":
        return ()
    if f.slab < walls.LEAST:
        return (AirtightPiece(name, ((level, f.low), (level, f.high))),)
    underside = f.soffit(level, f.room)[0]
    floor = "vault and filling" if f.vault else "slab"
    return (
        AirtightPiece(name, ((level, f.low), underside)),
        AirtightPiece(floor, (underside, (level, f.slab))),
        AirtightPiece(name, ((level, f.slab), (level, f.high))),
    )


def _dimensions(f: Floor) -> tuple[Dimension, ...]:
    wall, inner = f.wall, f.wall.thickness
    found = [*walls.chain(wall.layers, "top", f.high)]
    if f.slab < walls.LEAST:
        return tuple(found)
    bearing = max(f.outer, wall.structure[0].thickness)
    found += [
        *(_vault_dimensions(f.vault, f) if f.vault else _slab_dimensions(f)),
        *walls.chain(f.toppings, "right", f.room, f.slab),
        walls.span("a", "bearing_length", "bottom", f.low, (bearing, wall.face)),
        walls.span("p", "balcony_projection", "bottom", f.low, (min(f.outer, 0.0), 0.0)),
        walls.span("l_f", "floor_return_length", "top", f.high, (inner, inner + f.above[0])),
        walls.span("t_f", "floor_return_thickness", "left", 0.0, (f.slab, f.slab + f.above[1])),
    ]
    return walls.drawn(found)


def _slab_dimensions(f: Floor) -> tuple[Dimension, ...]:
    inner = f.wall.thickness
    return (
        walls.span("d_10", "ceiling_thickness", "right", f.room, (-f.ceiling, 0.0)),
        walls.span("h", "slab_thickness", "right", f.room, (0.0, f.slab)),
        walls.span("l_c", "ceiling_return_length", "bottom", f.low, (inner, inner + f.below[0])),
        walls.span("t_c", "ceiling_return_thickness", "left", 0.0, (-f.below[1], 0.0)),
    )


def _vault_dimensions(vault: Vault, f: Floor) -> tuple[Dimension, ...]:
    back = vault.rise + vault.thickness
    return (
        walls.span("d_10", "ceiling_thickness", "right", f.room, (vault.rise - f.ceiling, vault.rise)),
        walls.span("t_v", "vault_thickness", "right", f.room, (vault.rise, back)),
        walls.span("c", "cover_thickness", "right", f.room, (back, vault.top)),
        walls.span("f", "vault_rise", "right", f.room, (0.0, vault.rise), row=1),
        walls.span("s/2", "vault_span", "bottom", f.low, (vault.face, vault.crown), row=1),
    )
