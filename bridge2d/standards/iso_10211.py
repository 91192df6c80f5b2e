"""ISO 10211: heat flows and surface temperatures of thermal bridges by detailed calculation.

Used on both sides of the numerics: cut-off planes and precision before, Ψ, χ and f_Rsi after them. Clause numbers are
remembered, of the edition of 2017.
"""

import math
from collections.abc import Iterable, Sequence

from bridge2d.standards._limits import require_finite, require_positive

LEAST_CUT_OFF_DISTANCE = 1.0
"""Least distance of a cut-off plane from the central element [m]."""
CUT_OFF_THICKNESSES = 3.0
"""… and least distance in thicknesses of the flanking element [1]."""
LARGEST_DOUBLING_DIFFERENCE = 0.01
"""Largest change of the heat flows when the subdivisions are doubled [1]."""
LARGEST_BALANCE = 1e-4
"""Largest sum of the heat flows over half the sum of their sizes [1]; published."""


def cut_off_distance(thickness: float) -> float:
    """Least distance of a cut-off plane from the central element, max(1 m, 3 d) [m].

    ISO 10211:2017, 7.2.1, table 1

    Args:
        thickness: d, thickness of the flanking element [m].

    Raises:
        ValueError: the thickness is not above zero.
    """
    require_positive("the thickness of the flanking element", thickness, "m")
    return max(LEAST_CUT_OFF_DISTANCE, CUT_OFF_THICKNESSES * thickness)


def coupling_coefficient(flow: float, warm: float, cold: float) -> float:
    """Thermal coupling coefficient between two environments, L2D = Φ_l/(θi − θe) [W/(m·K)].

    ISO 10211:2017, 9.1, equation (16)

    Args:
        flow: heat flow from the one environment to the other [W/m].
        warm: temperature of the environment that the flow comes from [°C].
        cold: temperature of the environment that it goes to [°C].

    Raises:
        ValueError: the temperatures are equal, or a value is not finite.
    """
    require_finite("the heat flow", flow, "W/m")
    return flow / _difference(warm, cold)


def heat_flow(temperature: float, couplings: Iterable[tuple[float, float]]) -> float:
    """Heat flow from an environment to all others, Φ_l,i = Σ L_i,j (θ_i − θ_j) [W/m].

    ISO 10211:2017, 9.1, equation (15)

    Args:
        temperature: temperature of the environment [°C].
        couplings: for each other environment, its coupling coefficient [W/(m·K)] and its temperature [°C].
    """
    return math.fsum(coefficient * (temperature - other) for coefficient, other in couplings)


def linear_thermal_transmittance(l2d: float, flanking: Iterable[tuple[float, float]]) -> float:
    """Linear thermal transmittance Ψ = L2D − ΣU·l [W/(m·K)].

    ISO 10211:2017, 10.2, equation (18)

    Args:
        l2d: thermal coupling coefficient of the section [W/(m·K)].
        flanking: for each flanking element, its thermal transmittance [W/(m²·K)] and its length [m].

    Raises:
        ValueError: L2D is not finite.
    """
    require_finite("the coupling coefficient", l2d, "W/(m·K)")
    return math.fsum((l2d, *(-u_value * length for u_value, length in flanking)))


def point_thermal_transmittance(
    l3d: float, areas: Iterable[tuple[float, float]], lines: Iterable[tuple[float, float]]
) -> float:
    """Point thermal transmittance χ = L3D − ΣU·A − ΣΨ·l [W/K].

    ISO 10211:2017, 10.3, equation (20)

    Args:
        l3d: thermal coupling coefficient of the three-dimensional piece [W/K].
        areas: for each plane element, its thermal transmittance [W/(m²·K)] and its area [m²].
        lines: for each linear thermal bridge, its Ψ [W/(m·K)] and its length [m].

    Raises:
        ValueError: L3D is not finite.
    """
    require_finite("the coupling coefficient", l3d, "W/K")
    return math.fsum((l3d, *(-u * a for u, a in areas), *(-psi * length for psi, length in lines)))


def temperature_factor(surface: float, internal: float, external: float) -> float:
    """Temperature factor at the internal surface, f_Rsi = (θsi − θe)/(θi − θe) [1].

    ISO 10211:2017, 3.1.20 and 9.3

    Args:
        surface: lowest temperature of the internal surface [°C].
        internal: temperature of the internal environment [°C].
        external: temperature of the external environment [°C].

    Raises:
        ValueError: the environments have the same temperature, or a value is not finite.
    """
    require_finite("the surface temperature", surface, "°C")
    return (surface - external) / _difference(internal, external)


def surface_temperature(factor: float, internal: float, external: float) -> float:
    """Temperature of the internal surface, θsi = θe + f_Rsi (θi − θe) [°C].

    ISO 10211:2017, 9.3, solved for the temperature

    Args:
        factor: temperature factor [1].
        internal: temperature of the internal environment [°C].
        external: temperature of the external environment [°C].
    """
    return external + factor * (internal - external)


def doubling_difference(flows: Sequence[float], doubled: Sequence[float]) -> float:
    """Change of the heat flows when the subdivisions are doubled, |Σ|Φ|n − Σ|Φ|2n| / Σ|Φ|2n [1].

    ISO 10211:2017, 7.4 and annex C.2; it has to be up to 0.01

    Args:
        flows: heat flows through the surfaces, with n subdivisions [W/m].
        doubled: the same with 2n subdivisions [W/m].

    Raises:
        ValueError: no heat flows with 2n subdivisions, or a flow is not finite.
    """
    coarse = _sum_of_sizes(flows)
    fine = _sum_of_sizes(doubled)
    if fine == 0.0:
        raise ValueError(f"the heat flows are {list(doubled)} W/m; where nothing flows there is no relative change")
    return abs(coarse - fine) / fine


def heat_balance(flows: Sequence[float]) -> float:
    """Sum of all heat flows into the section over half the sum of their sizes [1].

    ISO 10211:2017, 7.4 and annex C.2; it has to be below 0.0001

    Args:
        flows: heat flow from each environment into the section, with its sign [W/m].

    Raises:
        ValueError: nothing flows, or a flow is not finite.
    """
    sizes = _sum_of_sizes(flows)
    if sizes == 0.0:
        raise ValueError(f"the heat flows are {list(flows)} W/m; where nothing flows there is no balance")
    return abs(math.fsum(flows)) / (0.5 * sizes)


def _difference(warm: float, cold: float) -> float:
    require_finite("the temperature of an environment", warm, "°C")
    require_finite("the temperature of an environment", cold, "°C")
    if warm == cold:
        raise ValueError(f"both environments have {warm} °C; there has to be a difference")
    return warm - cold


def _sum_of_sizes(flows: Sequence[float]) -> float:
    for flow in flows:
        require_finite("a heat flow", flow, "W/m")
    return math.fsum(abs(flow) for flow in flows)
