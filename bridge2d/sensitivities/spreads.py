"""By how much each input may be off: from the detail file, the catalogue's ranges, or as this program assumes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge2d.sensitivity_records import Spread
from bridge2d.tolerances_block import LENGTH_SHARE

if TYPE_CHECKING:
    from bridge2d.sensitivities.inputs import MaterialInput
    from bridge2d.tolerances_block import Tolerances
    from bridge2d.variations import Variation

GIVEN = "given in the detail file"
RANGE = "range of the trade's values, see Materials"
ASSUMED = "assumed by this program"


def of_material(one: MaterialInput, tolerances: Tolerances) -> Spread | None:
    """± of a conductivity; None where it follows from other inputs: air layers, cavities, blocks, composed layers.

    Args:
        one: the conductivity.
        tolerances: of the detail.
    """
    material = one.material
    scale = one.value / material.conductivity  # along the grain by the same share as across
    given = tolerances.materials.get(material.name)
    if given is not None:
        return Spread(given * scale, GIVEN) if given else None
    if one.frozen or one.computed:
        return None
    ends = [abs(end - material.conductivity) for end in (material.low, material.high) if end is not None]
    if ends and max(ends) > 0:
        return Spread(max(ends) * scale, RANGE)
    share = tolerances.conductivity
    return Spread(share * one.value, _basis("conductivity", tolerances, share)) if share else None


def of_surface(value: float, tolerances: Tolerances) -> Spread | None:
    """± of a surface resistance; None unless the detail file gives one, since they are agreed values.

    Args:
        value: of the resistance [m²·K/W].
        tolerances: of the detail.
    """
    share = tolerances.surface_resistance
    return Spread(share * value, _basis("surface_resistance", tolerances, share)) if share else None


def of_parameter(varied: Variation, tolerances: Tolerances) -> Spread | None:
    """± of a parameter: of every dimension, and of others where the detail file names them.

    Args:
        varied: the parameter.
        tolerances: of the detail.
    """
    given = tolerances.parameters.get(varied.name)
    if given is not None:
        return Spread(given, GIVEN) if given else None
    if varied.measure != "length" or not tolerances.length:
        return None
    most = LENGTH_SHARE * abs(varied.value)
    if most < tolerances.length:
        return Spread(most, f"{100 * LENGTH_SHARE:g} % of it, {ASSUMED}")
    return Spread(tolerances.length, _basis("length", tolerances))


def _basis(key: str, tolerances: Tolerances, share: float | None = None) -> str:
    words = GIVEN if key in tolerances.given else ASSUMED
    return words if share is None else f"{100 * share:g} %, {words}"
