"""A solid floor that bears in an inside-insulated masonry wall: a slab, which may run on to a balcony, or a vault.

One upright section; the slab's underside, or the vault's springing, is the level 0. From it comes Ψ of the floor's
edge.
"""

from __future__ import annotations

from bridge2d.detail import Combination, Detail
from bridge2d.errors import InputError
from bridge2d.junctions import floor_section, walls
from bridge2d.junctions.declaration import Junction
from bridge2d.junctions.floor_parameters import FloorSlab
from bridge2d.junctions.floor_section import UPRIGHT, Floor
from bridge2d.junctions.vaults import Vault
from bridge2d.junctions.walls import LEAST, Layer

NOTES = (
    (
        "The rooms above and below have the inside temperature; no heat passes the slab's far end. The lining stands "
        "on the slab and reaches up to the slab above; screed and ceiling plaster begin at its finished face."
    ),
    "External and overall internal lengths count the floor with the wall below, internal lengths leave it out.",
    walls.AS_GIVEN,
)
VAULT = (
    "The vault's curve is part of a circle, drawn by chords at most 2 mm off it, and level beyond the crown. "
    "It springs from the masonry's inner face. Beams of steel or concrete between vaults are not modelled."
)
CAUTIONS = (
    walls.STEADY,
    walls.COLD_MASONRY,
    (
        "Steel beams that bear in the wall behind a new insulation become colder and may rust; let somebody licensed "
        "look at bearings and balconies before they are closed in."
    ),
)


def build(parameters: FloorSlab) -> Detail:
    """The floor's upright section.

    Args:
        parameters: see `FloorSlab`.

    Raises:
        InputError: parameters do not fit together.
    """
    _refuse_misfits(parameters)
    floor = _floor(parameters)
    notes = (*NOTES, VAULT) if floor.vault else NOTES
    section = floor_section.upright(parameters, floor)
    return Detail("", "floor_slab", (section,), Combination(psi_section=UPRIGHT), notes=notes, cautions=CAUTIONS)


def _refuse_misfits(p: FloorSlab) -> None:
    if p.floor_form == "vault":
        _refuse_misfits_of_vault(p)
    elif p.slab_thickness < LEAST:
        return
    masonry = f"masonry_thickness = {1000 * p.masonry_thickness:g} mm"
    if p.bearing_length > p.masonry_thickness + LEAST:
        raise InputError(
            f"the floor bears {1000 * p.bearing_length:g} mm in a thinner masonry",
            key="bearing_length",
            right=f"give at most {masonry}, with which the floor runs through",
        )
    if p.balcony_projection >= LEAST and p.bearing_length < p.masonry_thickness - LEAST:
        raise InputError(
            "the slab does not run through the masonry to the balcony",
            key="balcony_projection",
            right=f"give balcony_projection = 0, or bearing_length = {masonry}",
        )
    if min(p.floor_return_length, p.floor_return_thickness) < LEAST:
        return
    if p.floor_return_thickness > p.screed_thickness + LEAST:
        raise InputError(
            f"the insulation on the slab is {1000 * p.floor_return_thickness:g} mm thick and rises out of the screed",
            key="floor_return_thickness",
            right=f"give at most screed_thickness = {1000 * p.screed_thickness:g} mm",
        )


def _refuse_misfits_of_vault(p: FloorSlab) -> None:
    half, lining = 0.5 * p.vault_span, walls.total(walls.wall(p).layers) - walls.wall(p).face
    if p.vault_rise > half + LEAST:
        raise InputError(
            f"the vault rises {1000 * p.vault_rise:g} mm over half its span of {1000 * half:g} mm",
            key="vault_rise",
            right=f"give at most {1000 * half:g} mm, half of vault_span, with which it is a semicircle",
        )
    if lining > half - 0.1:
        raise InputError(
            f"the wall's lining is {1000 * lining:g} mm thick and reaches to the vault's crown",
            key="vault_span",
            right=f"give at least {2000 * (lining + 0.1):g} mm, or a thinner lining",
        )
    if p.balcony_projection >= LEAST:
        raise InputError("a vault does not project as a balcony", key="balcony_projection", right="give 0")
    if min(p.ceiling_return_length, p.ceiling_return_thickness) >= LEAST:
        raise InputError(
            "insulation returned below a vault would follow its curve, which is not modelled",
            key="ceiling_return_length",
            right='give 0, or floor_form = "slab"',
        )


def _floor(p: FloorSlab) -> Floor:
    wall = walls.wall(p)
    if p.floor_form == "slab" and p.slab_thickness < LEAST:
        return Floor(wall, 0.0, 0.0, (), (0.0, 0.0), (0.0, 0.0), 0.0)

    def returned(length: float, thickness: float) -> tuple[float, float]:
        return (length, thickness) if min(length, thickness) >= LEAST else (0.0, 0.0)

    vault = None
    if p.floor_form == "vault":
        vault = Vault(wall.face, p.vault_span, p.vault_rise, p.vault_thickness, p.cover_thickness)
    toppings = (
        Layer("screed", p.screed_thickness, p.screed_material, "d_8", "screed_thickness"),
        Layer("flooring", p.flooring_thickness, p.flooring_material, "d_9", "flooring_thickness"),
    )
    projection = p.balcony_projection
    return Floor(
        wall,
        vault.top if vault else p.slab_thickness,
        p.ceiling_thickness,
        toppings,
        returned(p.ceiling_return_length, p.ceiling_return_thickness),
        returned(p.floor_return_length, p.floor_return_thickness),
        -projection if projection >= LEAST else max(wall.face - p.bearing_length, wall.structure[0].thickness),
        vault,
    )


JUNCTION = Junction(
    name="floor_slab",
    title="Solid floor, slab or vault, in a masonry wall insulated inside",
    description=(
        "A slab bears in the masonry or runs through it, to a balcony where there is one, or a vault springs from it "
        "with its filling; the floor interrupts the inside insulation, with or without insulation returned on ceiling "
        "and slab. Upright section, cut in walls and floor at least 1 m and three thicknesses away, a vault not "
        "before its crown."
    ),
    parameters=FloorSlab,
    build=build,
)
