"""The parameters of a solid floor in a masonry wall insulated inside."""

from __future__ import annotations

from typing import Literal

from bridge2d.junctions import walls
from bridge2d.junctions.cross_walls import unused_return
from bridge2d.junctions.declaration import Length, MaterialChoice, parameter


class _Shape(walls.WallLayers):
    """The wall and what the floor adds to it."""

    floor_form: Literal["slab", "vault"] = parameter(
        "slab",
        symbol="",
        label="form of the floor",
        group="floor",
        help='"slab" for one of equal thickness, or "vault" that springs from this wall and carries a filling',
    )
    slab_thickness: Length = parameter(
        0.2,
        symbol="h",
        label="slab",
        group="floor",
        minimum=0.0,
        maximum=0.8,
        help="thickness of the slab; 0 leaves the plain wall, without floor and ceiling",
    )
    slab_material: MaterialChoice = parameter(
        "concrete 2200", symbol="", label="slab", group="floor", help="material of the slab"
    )
    bearing_length: Length = parameter(
        0.15,
        symbol="a",
        label="bearing length",
        group="floor",
        minimum=0.02,
        maximum=1.5,
        help="how far slab or vault reaches into the masonry; the masonry's thickness for one that runs through",
    )
    balcony_projection: Length = parameter(
        0.0,
        symbol="p",
        label="balcony",
        group="floor",
        minimum=0.0,
        maximum=3.0,
        help="how far the slab projects from the outer face as a balcony; 0 for none",
    )
    screed_thickness: Length = parameter(
        0.05,
        symbol="d_8",
        label="screed",
        group="floor",
        minimum=0.0,
        maximum=0.3,
        help="screed or fill on the slab; 0 for none",
    )
    screed_material: MaterialChoice = parameter(
        "cement screed", symbol="", label="screed", group="floor", help="material of the screed"
    )
    flooring_thickness: Length = parameter(
        0.02,
        symbol="d_9",
        label="flooring",
        group="floor",
        minimum=0.0,
        maximum=0.1,
        help="floor finish on the screed; 0 for none",
    )
    flooring_material: MaterialChoice = parameter(
        "oak", symbol="", label="flooring", group="floor", help="material of the floor finish"
    )
    ceiling_thickness: Length = parameter(
        0.015,
        symbol="d_10",
        label="ceiling plaster",
        group="floor",
        minimum=0.0,
        maximum=0.1,
        help="plaster below the slab; 0 for none",
    )
    ceiling_material: MaterialChoice = parameter(
        "lime plaster", symbol="", label="ceiling plaster", group="floor", help="material of the ceiling plaster"
    )
    vault_span: Length = parameter(
        1.6,
        symbol="s",
        label="span of the vault",
        group="vault",
        minimum=0.6,
        maximum=8.0,
        help="clear between the faces of its two supports, of which this wall's masonry is one",
    )
    vault_rise: Length = parameter(
        0.2,
        symbol="f",
        label="rise of the vault",
        group="vault",
        minimum=0.03,
        maximum=4.0,
        help="of the underside at the crown above the springing; at most half the span",
    )
    vault_thickness: Length = parameter(
        0.115,
        symbol="t_v",
        label="vault",
        group="vault",
        minimum=0.03,
        maximum=0.6,
        help="thickness of the vault across its curve",
    )
    vault_material: MaterialChoice = parameter(
        "solid brick, old, 1600", symbol="", label="vault", group="vault", help="material of the vault"
    )
    cover_thickness: Length = parameter(
        0.05,
        symbol="c",
        label="filling over the crown",
        group="vault",
        minimum=0.0,
        maximum=0.6,
        help="least thickness of the filling, which is level on top; 0 where it ends with the crown",
    )
    filling_material: MaterialChoice = parameter(
        "brick rubble fill", symbol="", label="filling", group="vault", help="material of the filling on the vault"
    )
    ceiling_return_length: Length = parameter(
        0.0,
        symbol="l_c",
        label="insulation returned on the ceiling, length",
        group="returned insulation",
        minimum=0.0,
        maximum=3.0,
        help="how far insulation is returned below the slab, from the wall's finished face; 0 for none",
    )
    ceiling_return_thickness: Length = parameter(
        0.04,
        symbol="t_c",
        label="insulation returned on the ceiling, thickness",
        group="returned insulation",
        minimum=0.0,
        maximum=0.3,
        help="its thickness without plaster; 0 for none",
    )
    floor_return_length: Length = parameter(
        0.0,
        symbol="l_f",
        label="insulation returned on the slab, length",
        group="returned insulation",
        minimum=0.0,
        maximum=3.0,
        help="how far insulation lies on the slab within the screed, from the wall's finished face; 0 for none",
    )
    floor_return_thickness: Length = parameter(
        0.03,
        symbol="t_f",
        label="insulation returned on the slab, thickness",
        group="returned insulation",
        minimum=0.0,
        maximum=0.3,
        help="its thickness, at most the screed's; 0 for none",
    )
    return_material: MaterialChoice = parameter(
        "mineral foam board",
        symbol="",
        label="returned insulation",
        group="returned insulation",
        help="material of the returned insulation",
    )


class FloorSlab(walls.Conditions, _Shape):
    """Parameters of the floor; lengths in metres."""

    def unused(self) -> frozenset[str]:
        """See `Parameters.unused`; what describes the other form of floor, or insulation that is not returned."""
        own, vault = set(_Shape.__annotations__), {name for name in _Shape.__annotations__ if _of_vault(name)}
        if self.floor_form == "slab" and self.slab_thickness == 0:
            return super().unused() | own - {"floor_form", "slab_thickness"}
        below, above = (unused_return(self, f"{where}_return") for where in ("ceiling", "floor"))
        found = super().unused() | below | above
        if self.floor_form == "slab":
            found |= vault
        else:
            below = frozenset({"ceiling_return_length", "ceiling_return_thickness"})
            found |= below | {"slab_thickness", "slab_material", "balcony_projection"}
        return found | ({"return_material"} if below and above else set())


def _of_vault(name: str) -> bool:
    return name.startswith(("vault_", "cover_", "filling_"))
