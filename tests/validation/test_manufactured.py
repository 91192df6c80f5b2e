"""Solutions made by hand whose equations sympy checks: films, interfaces, grain at an angle, revolution; then computed.

The first half shows that the fields behind the closed forms are what they claim to be; the second half computes
sections made so that a simple field solves them.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from bridge2d.detail import Region, Section
from bridge2d.results import Bounded
from bridge2d.section_results import solve_section
from tests.shapes import material, mm, rectangle, section, surface
from tests.validation.closed_forms import Layer, through

sympy = pytest.importorskip("sympy", reason="sympy is not installed")

x, y, r, z, g = sympy.symbols("x y r z g", positive=True)
across, along, resistance = sympy.symbols("across along R", positive=True)


def is_zero(expression: object) -> bool:
    return sympy.simplify(expression) == 0


# -- the fields behind the closed forms --------------------------------------------------------------------------------


def test_modes_of_a_grained_layer_solve_its_equation() -> None:
    root = g * sympy.sqrt(along / across)
    for mode in (sympy.cosh(root * y), sympy.sinh(root * y)):
        field = mode * sympy.cos(g * x)
        assert is_zero(along * field.diff(x, 2) + across * field.diff(y, 2))


def test_modes_round_an_axis_solve_its_equation() -> None:
    field = sympy.besselj(0, g * r) * sympy.cosh(g * y)
    assert is_zero(
        sympy.expand_func((r * field.diff(r)).diff(r) / r + field.diff(y, 2)).rewrite(sympy.besselj).simplify()
    )


def test_layers_of_the_series_join_with_films_and_interfaces() -> None:
    # Two layers, one with grain, films on both sides: a linear system for the four constants of the mode cos(g x).
    layers = [Layer(0.07, 0.13, 0.24), Layer(0.2, 0.9, 0.9)]
    r_si, r_se, wave = 0.13, 0.04, 5.0
    a, b, c, d = sympy.symbols("a b c d")
    one, other = (math.sqrt(layer.along / layer.across) * wave for layer in layers)
    first = a * sympy.cosh(one * y) + b * sympy.sinh(one * y)
    second = c * sympy.cosh(other * y) + d * sympy.sinh(other * y)
    t, u = layers[0].thickness, layers[1].thickness
    conditions = [
        first.subs(y, 0) / r_si - layers[0].across * first.diff(y).subs(y, 0),  # heat from the layer into the room at 0
        first.subs(y, t) - second.subs(y, 0),
        layers[0].across * first.diff(y).subs(y, t) - layers[1].across * second.diff(y).subs(y, 0),
        (1 - second.subs(y, u)) / r_se - layers[1].across * second.diff(y).subs(y, u),  # outside at 1
    ]
    found = sympy.solve(conditions, [a, b, c, d])
    flux, surface_temperature = through(layers, r_si, r_se, wave)
    assert float((layers[1].across * second.diff(y).subs(y, u)).subs(found)) == pytest.approx(flux, rel=1e-9)
    assert float(first.subs(y, 0).subs(found)) == pytest.approx(surface_temperature, rel=1e-9)


def test_modes_of_a_fin_keep_its_film() -> None:
    # λ ∂θ/∂y = −θ/R at y = t wherever x tan x = t/(R λ)
    t, k = sympy.symbols("t k", positive=True)
    eigenvalue = sympy.symbols("e", positive=True)
    field = sympy.cos(eigenvalue * y / t)
    film = t / (k * eigenvalue * sympy.tan(eigenvalue))
    assert is_zero((k * field.diff(y) + field / film).subs(y, t))


def test_the_disc_s_potential_is_harmonic() -> None:
    s = r**2 + z**2 - 1
    zeta = sympy.sqrt((s + sympy.sqrt(s**2 + 4 * z**2)) / 2)
    field = sympy.atan(zeta)
    laplace = (r * field.diff(r)).diff(r) / r + field.diff(z, 2)
    for place in ((0.3, 0.4), (1.5, 0.2), (0.9, 2.0)):
        exactly = {r: sympy.Rational(str(place[0])), z: sympy.Rational(str(place[1]))}
        assert abs(laplace.subs(exactly).evalf(30)) < 1e-20
        # atan ζ is 0 on the disc and constant on the spheroid r²/(1 + ζ²) + z²/ζ² = 1
        value = float(zeta.subs({r: place[0], z: place[1]}))
        assert place[0] ** 2 / (1 + value**2) + place[1] ** 2 / value**2 == pytest.approx(1.0)


def test_the_strip_s_potential_is_constant_on_confocal_ellipses() -> None:
    xi, angle = sympy.symbols("xi angle", positive=True)
    ellipse = sympy.cosh(xi) * sympy.cos(angle) + sympy.I * sympy.sinh(xi) * sympy.sin(angle)
    assert is_zero(sympy.expand_complex(ellipse - sympy.cosh(xi + sympy.I * angle)))


# -- sections made so that a simple field solves them ------------------------------------------------------------------


def l2d(of: Section, tolerance: float = 1e-4) -> Bounded:
    found = solve_section(replace(of, psi_half_width=1e3), tolerance).l2d
    assert found is not None
    return found


@pytest.mark.parametrize("direction", [30.0, 60.0, -45.0])
def test_grain_at_an_angle_between_layers_with_films(direction: float) -> None:
    # θ depends on y alone. In the grained layer heat then flows aslant, (K_xy, K_yy)/K_yy per unit of height, and its
    # sides run along it, so that they are adiabatic. Films and interfaces see the same flux everywhere: series, exact.
    c, s = sympy.cos(sympy.rad(direction)), sympy.sin(sympy.rad(direction))
    turn = sympy.Matrix([[c, -s], [s, c]])
    tensor = turn * sympy.diag(sympy.Rational(24, 100), sympy.Rational(13, 100)) * turn.T
    field = sympy.Function("f")(y)
    flux = tensor * sympy.Matrix([field.diff(x), field.diff(y)])
    side = sympy.Matrix([tensor[0, 1], tensor[1, 1]])
    assert is_zero(flux[0] * side[1] - flux[1] * side[0])  # no heat crosses the sides
    shift = float(100 * tensor[0, 1] / tensor[1, 1])  # mm over 100 mm
    grained = Region(
        "timber", material(0.13, 0.24), mm((0, 50), (300, 50), (300 + shift, 150), (shift, 150)), (), direction
    )
    above = Region("render", material(0.9), mm((shift, 150), (300 + shift, 150), (300 + shift, 200), (shift, 200)))
    of = section(
        [rectangle(0.5, 0, 0, 300, 50), grained, above],
        {"a": 0, "b": 1},
        [surface("a", 0.04, (0, 0), (300, 0)), surface("b", 0.13, (shift, 200), (300 + shift, 200))],
    )
    exact = 0.3 / (0.04 + 0.05 / 0.5 + 0.1 / float(tensor[1, 1]) + 0.05 / 0.9 + 0.13)
    bracket = l2d(of)
    # corners are given to a micrometre of 300 mm
    assert bracket.lower <= exact * (1 + 1e-5)
    assert bracket.upper >= exact * (1 - 1e-5)
    assert bracket.value == pytest.approx(exact, rel=2e-5)


def test_a_pipe_of_two_layers_with_films_round_an_axis() -> None:
    # θ = A ln r + B in each layer, heat and temperature continuous, films at both ends: solved by sympy.
    a, b, c, d = sympy.symbols("a b c d")
    inner, outer = a * sympy.log(r) + b, c * sympy.log(r) + d
    for field in (inner, outer):
        assert is_zero((r * field.diff(r)).diff(r) / r)
    at = [sympy.Rational(3, 100), sympy.Rational(5, 100), sympy.Rational(11, 100)]
    k1, k2, r1, r2 = (sympy.Rational(*n) for n in ((1, 2), (1, 25), (1, 20), (1, 10)))
    found = sympy.solve(
        [
            (1 - inner.subs(r, at[0])) / r1 + k1 * inner.diff(r).subs(r, at[0]),
            inner.subs(r, at[1]) - outer.subs(r, at[1]),
            k1 * inner.diff(r).subs(r, at[1]) - k2 * outer.diff(r).subs(r, at[1]),
            outer.subs(r, at[2]) / r2 + k2 * outer.diff(r).subs(r, at[2]),
        ],
        [a, b, c, d],
    )
    exact = float((-k1 * found[a]) * 2 * sympy.pi * sympy.Rational(1, 4))
    of = section(
        [rectangle(0.5, 30, 0, 50, 250), rectangle(0.04, 50, 0, 110, 250)],
        {"out": 0, "in": 1},
        [surface("in", 0.05, (30, 0), (30, 250)), surface("out", 0.1, (110, 0), (110, 250))],
    )
    bracket = l2d(replace(of, revolution=True))
    assert bracket.lower <= exact * (1 + 1e-12)
    assert bracket.upper >= exact * (1 - 1e-12)
    assert bracket.half_width <= 1e-4 * exact
