"""ISO 6946: thermal resistance and transmittance of plane building elements.

Used for the flanking elements (U), the surfaces (R_si, R_se) and air layers. Clause numbers are remembered, of the
edition of 2017, and so are the constants unless a published source stands beside them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from bridge2d.standards._limits import require_between, require_finite, require_not_negative, require_positive

HeatFlowDirection = Literal["horizontal", "up", "down"]
"""Direction of the heat flow through a surface or an air layer."""

# ISO 6946:2017, table 7; the values are published in the Spanish ministry document DA DB-HE/1.
INTERNAL_SURFACE_RESISTANCE: dict[HeatFlowDirection, float] = {"horizontal": 0.13, "up": 0.10, "down": 0.17}
EXTERNAL_SURFACE_RESISTANCE = 0.04

STEFAN_BOLTZMANN = 5.67e-8
"""Stefan-Boltzmann constant as the standard rounds it [W/(m²·K⁴)]."""
ABSOLUTE_ZERO = -273.15
"""Absolute zero [°C]."""
EMISSIVITY = 0.9
"""Emissivity of a building material's surface [1]."""
MEAN_TEMPERATURE = 10.0
"""Mean temperature of an air layer where none is known [°C]."""
SMALL_TEMPERATURE_DIFFERENCE = 5.0
"""Up to this difference across an air layer [K] the convective coefficient is a constant."""
GREATEST_AIR_LAYER = 0.3
"""Thickest layer [m] that counts as an air layer; what is thicker is a room."""
NARROW_VOID_RATIO = 10.0
"""A void narrower than this times its thickness has less radiation across it."""
GREATEST_RATIO_OF_LIMITS = 1.5
"""The combined method holds while R'/R'' is not above this [1]."""


@dataclass(frozen=True, slots=True)
class CombinedResistance:
    """Limits of the combined method and their mean.

    Attributes:
        upper: R', heat flowing straight through [m²·K/W].
        lower: R'', every plane at one temperature [m²·K/W].
    """

    upper: float
    lower: float

    @property
    def total(self) -> float:
        """R_T, the mean of the two limits [m²·K/W]."""
        return 0.5 * (self.upper + self.lower)

    @property
    def largest_relative_error(self) -> float:
        """Half the distance of the limits over R_T [1]."""
        return (self.upper - self.lower) / (2.0 * self.total)

    @property
    def ratio(self) -> float:
        """R'/R'', up to GREATEST_RATIO_OF_LIMITS of which the method holds [1]."""
        return self.upper / self.lower


def _require_direction(direction: str) -> None:
    if direction not in get_args(HeatFlowDirection):
        raise ValueError(f"the direction of the heat flow is {direction!r}; it has to be horizontal, up or down")


def direction_of_heat_flow(angle: float) -> HeatFlowDirection:
    """Direction that a sloping heat flow counts as: horizontal within 30° of the horizontal plane.

    ISO 6946:2017, 6.8

    Args:
        angle: angle of the heat flow above the horizontal plane, negative below [deg].

    Raises:
        ValueError: the angle is not from -90 to 90.
    """
    require_between("the angle of the heat flow", angle, -90.0, 90.0, "deg")
    if abs(angle) <= 30.0:
        return "horizontal"
    return "up" if angle > 0.0 else "down"


def internal_surface_resistance(direction: HeatFlowDirection) -> float:
    """Internal surface resistance R_si [m²·K/W].

    ISO 6946:2017, 6.8, table 7

    Args:
        direction: direction of the heat flow.

    Raises:
        ValueError: the direction is none of the three.
    """
    _require_direction(direction)
    return INTERNAL_SURFACE_RESISTANCE[direction]


def external_surface_resistance() -> float:
    """External surface resistance R_se [m²·K/W], the same for every direction of the heat flow.

    ISO 6946:2017, 6.8, table 7
    """
    return EXTERNAL_SURFACE_RESISTANCE


def layer_resistance(thickness: float, conductivity: float) -> float:
    """Thermal resistance of a homogeneous layer, R = d/λ [m²·K/W].

    ISO 6946:2017, 6.7.1.1

    Args:
        thickness: thickness of the layer [m].
        conductivity: design conductivity [W/(m·K)].

    Raises:
        ValueError: one of them is not above zero.
    """
    require_positive("the thickness of the layer", thickness, "m")
    require_positive("the conductivity of the layer", conductivity, "W/(m·K)")
    return thickness / conductivity


def total_resistance(layers: Sequence[float], r_si: float, r_se: float) -> float:
    """Total thermal resistance of homogeneous layers, R_T = R_si + ΣR + R_se [m²·K/W].

    ISO 6946:2017, 6.7.1.1, equation (4)

    Args:
        layers: thermal resistances of the layers [m²·K/W].
        r_si: internal surface resistance [m²·K/W].
        r_se: external surface resistance [m²·K/W].

    Raises:
        ValueError: a resistance is negative, or not a number.
    """
    for resistance in (r_si, *layers, r_se):
        require_not_negative("a thermal resistance", resistance, "m²·K/W")
    return math.fsum((r_si, *layers, r_se))


def thermal_transmittance(total: float) -> float:
    """Thermal transmittance U = 1/R_T [W/(m²·K)].

    ISO 6946:2017, 6.5.1

    Args:
        total: total thermal resistance [m²·K/W].

    Raises:
        ValueError: the resistance is not above zero.
    """
    require_positive("the total thermal resistance", total, "m²·K/W")
    return 1.0 / total


def parallel_resistance(fractions: Sequence[float], resistances: Sequence[float]) -> float:
    """Resistance of areas side by side, 1/R = Σ f/R [m²·K/W].

    ISO 6946:2017, 6.7.2.3 and 6.7.2.4, equations (6) and (7)

    Args:
        fractions: share of each area in the whole, in sum 1 [1].
        resistances: thermal resistance of each area [m²·K/W].

    Raises:
        ValueError: a resistance is not above zero, a share is negative, or the shares are not 1 in sum.
    """
    if len(fractions) != len(resistances):
        raise ValueError(f"{len(fractions)} shares and {len(resistances)} resistances; it has to be one for each area")
    for fraction in fractions:
        require_between("the share of an area", fraction, 0.0, 1.0, "")
    if abs(math.fsum(fractions) - 1.0) > 1e-9:
        raise ValueError(f"the shares of the areas are {math.fsum(fractions)} in sum; that has to be 1")
    for resistance in resistances:
        require_positive("the thermal resistance of an area", resistance, "m²·K/W")
    return 1.0 / math.fsum(f / r for f, r in zip(fractions, resistances, strict=True))


def combined_method(
    fractions: Sequence[float], layers: Sequence[Sequence[float]], r_si: float, r_se: float
) -> CombinedResistance:
    """Total resistance of layers that have areas side by side: R', R'' and their mean [m²·K/W].

    ISO 6946:2017, 6.7.2

    Args:
        fractions: share of each area in the whole, in sum 1 [1].
        layers: for each layer, its resistance in each of the areas [m²·K/W]; the same in all where it is
                homogeneous.
        r_si: internal surface resistance [m²·K/W].
        r_se: external surface resistance [m²·K/W].

    Raises:
        ValueError: a value is out of its range, or R'/R'' is above 1.5, where the method does not hold.
    """
    found = resistance_limits(fractions, layers, r_si, r_se)
    if found.upper > GREATEST_RATIO_OF_LIMITS * found.lower:
        raise ValueError(f"R'/R'' is {found.ratio}; the combined method holds up to {GREATEST_RATIO_OF_LIMITS}")
    return found


def resistance_limits(
    fractions: Sequence[float], layers: Sequence[Sequence[float]], r_si: float, r_se: float
) -> CombinedResistance:
    """R' and R'' of layers that have areas side by side, whether or not the combined method holds [m²·K/W].

    ISO 6946:2017, 6.7.2.3 and 6.7.2.4

    Args:
        fractions: share of each area in the whole, in sum 1 [1].
        layers: for each layer, its resistance in each of the areas [m²·K/W].
        r_si: internal surface resistance [m²·K/W].
        r_se: external surface resistance [m²·K/W].

    Raises:
        ValueError: a value is out of its range.
    """
    for layer in layers:
        if len(layer) != len(fractions):
            raise ValueError(
                f"a layer has {len(layer)} resistances for {len(fractions)} areas; it has to be one for each"
            )
    paths = [total_resistance([layer[i] for layer in layers], r_si, r_se) for i in range(len(fractions))]
    upper = parallel_resistance(fractions, paths)
    lower = total_resistance([parallel_resistance(fractions, layer) for layer in layers], r_si, r_se)
    return CombinedResistance(upper, lower)


def convective_coefficient(
    thickness: float,
    direction: HeatFlowDirection,
    temperature_difference: float = SMALL_TEMPERATURE_DIFFERENCE,
) -> float:
    """Conduction and convection coefficient h_a of an air layer [W/(m²·K)].

    ISO 6946:2017, annex D, D.2, table D.1

    Args:
        thickness: thickness of the air layer along the heat flow [m].
        direction: direction of the heat flow.
        temperature_difference: difference across the layer [K]; up to 5 K it makes no odds.

    Raises:
        ValueError: the thickness is not above zero, or the difference is negative.
    """
    _require_direction(direction)
    require_positive("the thickness of the air layer", thickness, "m")
    require_between("the temperature difference across the air layer", temperature_difference, 0.0, 100.0, "K")
    still_air = 0.025 / thickness
    small = temperature_difference <= SMALL_TEMPERATURE_DIFFERENCE
    if direction == "horizontal":
        moving = 1.25 if small else 0.73 * math.cbrt(temperature_difference)
    elif direction == "up":
        moving = 1.95 if small else 1.14 * math.cbrt(temperature_difference)
    else:
        moving = (0.12 if small else 0.09 * temperature_difference**0.187) * thickness**-0.44
    return max(moving, still_air)


def black_body_coefficient(mean_temperature: float = MEAN_TEMPERATURE) -> float:
    """Radiative coefficient between black surfaces, h_r0 = 4σTm³ [W/(m²·K)].

    ISO 6946:2017, annex C, equation (C.3)

    Args:
        mean_temperature: mean temperature of the surfaces [°C].

    Raises:
        ValueError: the temperature is not from -100 to 200.
    """
    require_between("the mean temperature of the surfaces", mean_temperature, -100.0, 200.0, "°C")
    return 4.0 * STEFAN_BOLTZMANN * (mean_temperature - ABSOLUTE_ZERO) ** 3


def intersurface_emittance(first: float, second: float) -> float:
    """Emittance between two parallel surfaces, E = 1/(1/ε1 + 1/ε2 − 1) [1].

    ISO 6946:2017, annex D, equation (D.4)

    Args:
        first: emissivity of the one surface [1].
        second: emissivity of the other [1].

    Raises:
        ValueError: an emissivity is not above 0 and up to 1.
    """
    for emissivity in (first, second):
        require_positive("the emissivity of a surface", emissivity, "")
        require_between("the emissivity of a surface", emissivity, 0.0, 1.0, "")
    return 1.0 / (1.0 / first + 1.0 / second - 1.0)


def void_shape_factor(thickness: float, width: float) -> float:
    """Share of the radiation between endless surfaces that crosses a void, F = ½(1 + √(1 + d²/b²) − d/b) [1].

    ISO 6946:2017, annex D, D.4, equation (D.7)

    Args:
        thickness: d, along the heat flow [m].
        width: b, across it [m].

    Raises:
        ValueError: one of them is not above zero.
    """
    require_positive("the thickness of the void", thickness, "m")
    require_positive("the width of the void", width, "m")
    ratio = thickness / width
    # √(1 + r²) − r, written so that nothing cancels in a deep, narrow void
    return 0.5 * (1.0 + 1.0 / (math.hypot(1.0, ratio) + ratio))


def air_layer_resistance(
    thickness: float,
    direction: HeatFlowDirection,
    *,
    width: float | None = None,
    emissivities: tuple[float, float] = (EMISSIVITY, EMISSIVITY),
    mean_temperature: float = MEAN_TEMPERATURE,
    temperature_difference: float = SMALL_TEMPERATURE_DIFFERENCE,
) -> float:
    """Thermal resistance of an unventilated air layer or void, R = 1/(h_a + h_r) [m²·K/W].

    ISO 6946:2017, annex D, D.2 to D.4

    Args:
        thickness: d, along the heat flow [m].
        direction: direction of the heat flow.
        width: b, across it [m]; below 10 d the void is a narrow one. None for a layer without end.
        emissivities: of the two surfaces [1].
        mean_temperature: of the two surfaces [°C].
        temperature_difference: between the two surfaces [K].

    Raises:
        ValueError: a value is out of its range; a layer thicker than 0.3 m is none.
    """
    require_positive("the thickness of the air layer", thickness, "m")
    require_between("the thickness of the air layer", thickness, 0.0, GREATEST_AIR_LAYER, "m")
    radiative = intersurface_emittance(*emissivities) * black_body_coefficient(mean_temperature)
    if width is not None and width < NARROW_VOID_RATIO * thickness:
        radiative *= void_shape_factor(thickness, width)
    return 1.0 / (convective_coefficient(thickness, direction, temperature_difference) + radiative)


def equivalent_conductivity(thickness: float, resistance: float) -> float:
    """Conductivity of a solid that resists as an air layer does, λ_eq = d/R [W/(m·K)].

    ISO 6946:2017, 6.7.1.1, solved for λ

    Args:
        thickness: thickness of the air layer along the heat flow [m].
        resistance: its thermal resistance [m²·K/W].

    Raises:
        ValueError: one of them is not above zero.
    """
    require_positive("the thickness of the air layer", thickness, "m")
    require_positive("the thermal resistance of the air layer", resistance, "m²·K/W")
    require_finite("the equivalent conductivity", thickness / resistance, "W/(m·K)")
    return thickness / resistance
