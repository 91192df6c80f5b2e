"""How far off a linear interpolation between rows is: what is stated holds, on functions that are exact."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Sequence
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from bridge2d import __version__
from bridge2d.cli import main
from bridge2d.detail_file import load
from bridge2d.variants.axes import Axis, axis
from bridge2d.variants.between import Cells, Point, errors, places
from bridge2d.variants.gridded import gridded, in_words, rounded_up
from bridge2d.variants.varied import REFUSED, Row
from tests.small_detail import CORNER

LONG = "insulation_thickness=0:200:5"
OTHER = "masonry_thickness=100:500:5"


def rows_of(function: Callable[..., float], variants: Sequence[Sequence[float | str]]) -> list[Row]:
    return [
        {"status": "computed", "psi_external": psi, "psi_external_lower": psi - 1e-3, "psi_external_upper": psi + 1e-3}
        for psi in (function(*values) for values in variants)
    ]


def stated(function: Callable[..., float], axes: list[Axis], count: int | None = None) -> tuple[float, int]:
    """The error that is stated, and from how many values."""
    rows = rows_of(function, list(product(*(one.values for one in axes))))
    points = places(axes, rows, count)
    cells = Cells.of(axes)
    between = rows_of(function, [list(cells.changes(point).values()) for point in points])
    return errors(axes, rows, points, between)["psi_external"], len(points)


def actual(function: Callable[..., float], axes: list[Axis]) -> float:
    """The largest error over a fine grid of every cell, by numpy."""
    worst = 0.0
    for cell in product(*(range(len(one.values) - 1) for one in axes)):
        ends = [(float(one.values[k]), float(one.values[k + 1])) for one, k in zip(axes, cell, strict=True)]
        for shares in product(np.linspace(0, 1, 21), repeat=len(axes)):
            chord = sum(
                np.prod([s if k else 1 - s for s, k in zip(shares, corner, strict=True)])
                * function(*(end[k] for end, k in zip(ends, corner, strict=True)))
                for corner in product((0, 1), repeat=len(axes))
            )
            at = [low + s * (high - low) for s, (low, high) in zip(shares, ends, strict=True)]
            worst = max(worst, abs(chord - function(*at)))
    return worst


def test_of_a_parabola_it_is_known_exactly(corner: Path) -> None:
    """Exact: a x² lies a/4 step² off its chord in the middle; 4/3 of that is stated."""
    loaded = load(corner)
    assert stated(lambda x: 2e-6 * x**2, [axis(LONG, loaded)])[0] == pytest.approx(2e-6 * 50**2 / 4 * 4 / 3)
    both = [axis(LONG, loaded), axis(OTHER, loaded)]
    found, _ = stated(lambda x, y: 2e-6 * x**2 + 3e-7 * y**2, both)
    assert found == pytest.approx((2e-6 * 50**2 / 4 + 3e-7 * 100**2 / 4) * 4 / 3)


@pytest.mark.parametrize(
    "function",
    [
        lambda x: 1 / (20 + x),  # steep in the first interval
        lambda x: 1 / (220 - x),  # steep in the last one
        lambda x: abs(x - 62.0),
        lambda x: abs(x - 75.0),
        lambda x: max(x, 117.0),
        lambda x: np.exp(-x / 15),
    ],
)
def test_it_holds_along_one_parameter(corner: Path, function: Callable[[float], float]) -> None:
    axes = [axis(LONG, load(corner))]
    found, count = stated(function, axes)
    assert actual(function, axes) <= found * (1 + 1e-9) <= 2 * actual(function, axes)
    assert count <= 16


@pytest.mark.parametrize(
    "function",
    [
        lambda x, y: max(x, y - 60.0),  # a kink across the cells, which no edge shows
        lambda x, y: x * y / 1e4,
        lambda x, y: x**2 / 1e4 - y**2 / 2e4,  # bends that cancel in the middle of a cell
        lambda x, y: np.exp(-x / 30) * y,
    ],
)
def test_it_holds_over_two_parameters(corner: Path, function: Callable[[float, float], float]) -> None:
    axes = [axis(LONG, load(corner)), axis(OTHER, load(corner))]
    assert actual(function, axes) <= stated(function, axes)[0] + 1e-12


def test_words_are_not_interpolated_and_the_order_of_values_does_not_matter(corner: Path) -> None:
    loaded = load(corner)
    words, some = axis("masonry_material=granite,softwood", loaded), axis("insulation_thickness=200,0,100", loaded)
    cells = Cells.of([some, words])
    rows = rows_of(lambda x, word: x**2 if word == "softwood" else 0.0, list(product(some.values, words.values)))
    points = places([some, words], rows)
    assert {cells.changes(point)["masonry_material"] for point in points} == {"granite", "softwood"}
    assert cells.changes(points[0]) == {"insulation_thickness": 50.0, "masonry_material": "softwood"}
    assert places([words], rows[:2]) == []
    assert places([axis("insulation_thickness=50", loaded)], rows[:1]) == []


def test_next_to_what_was_refused_nothing_is_computed(corner: Path) -> None:
    axes = [axis(LONG, load(corner))]
    rows = rows_of(lambda x: x**2, [[x] for x in axes[0].values])
    rows[1] = {"status": REFUSED, "reason": "x"}
    points = places(axes, rows)
    assert {point.corner for point in points} == {(2,), (3,)}
    refused: list[Row] = [{"status": REFUSED, "reason": "x"}] * len(rows)
    assert places(axes, refused) == []
    assert errors(axes, rows, [Point((2,), (0.5,))], [refused[0]]) == {}


def test_a_large_grid_is_looked_at_in_few_places(corner: Path) -> None:
    """Ten thousand variants: one in two hundred."""
    loaded = load(corner)
    names = ("insulation_thickness", "masonry_thickness", "board_thickness", "parge_thickness")
    axes = [axis(f"{name}=10:100:10", loaded) for name in names]
    found, count = stated(lambda *x: sum(1 / (10 + one) for one in x), axes)
    assert count == 50
    assert found >= 4 * (0.5 / 20 + 0.5 / 30 - 1 / 25)


def test_what_is_said_of_a_number_is_never_less(corner: Path) -> None:
    axes = [axis(LONG, load(corner))]
    rows = [({}, row) for row in rows_of(lambda x: 2e-6 * x**2, [[x] for x in axes[0].values])]
    found = gridded("psi_external", axes, rows, off={"psi_external": 0.00123}, between=12)
    assert found.half == pytest.approx(0.001)
    assert in_words(found) == (
        "Ψ external [W/(m·K)]: within ± 0.001; off by linear interpolation between values: up to about 0.0013 "
        "(4/3 of the most found at 12 values between them)"
    )
    assert "not known, nothing was computed between them" in in_words(gridded("psi_external", axes, rows))
    assert [rounded_up(one) for one in (0.0, 0.001, 0.00101, 0.0999, 12.3)] == ["0", "0.001", "0.0011", "0.1", "13"]


def test_the_error_stands_in_the_table_and_beside_it(corner: Path, tmp_path: Path, capsys) -> None:
    """Once for real: f_Rsi and Ψ at the middle between two rows are within what is stated."""
    call = ["sweep", str(corner), "--vary", "insulation_thickness=0:100:2", "-o", str(tmp_path / "t.csv")]
    assert main([*call, "--jobs", "1"]) == 0
    rows = list(csv.DictReader((tmp_path / "t.csv").read_text(encoding="utf-8-sig").splitlines()))
    corner.write_text(CORNER.replace("= 60", "= 50"), encoding="utf-8")
    capsys.readouterr()
    assert main(["solve", str(corner), "--json"]) == 0
    middle = json.loads(capsys.readouterr().out)
    for name, value in (("psi_external", middle["psi"][0]["value"]), ("f_rsi", middle["f_rsi"][0]["value"])):
        unit = " [W/(m·K)]" if name != "f_rsi" else ""
        mean = sum(float(row[name + unit]) for row in rows) / 2
        assert abs(value - mean) <= float(rows[0][f"{name}_interpolation{unit}"]) < 2 * abs(value - mean)
    assert {row["version"] for row in rows} == {__version__}
    about = list(csv.DictReader((tmp_path / "t_about.csv").read_text(encoding="utf-8-sig").splitlines()))
    told = {one["what"]: (one["value"], one["unit"]) for one in about}
    assert told["varied: insulation_thickness"] == ("0; 100", "mm")
    assert told["fixed: masonry_thickness"] == ("300 mm", "")
    assert "fixed: insulation_thickness" not in told
    assert told["program"] == (f"bridge2d {__version__}", "")
    error = next(value for what, value in told.items() if what.startswith("f_rsi: error of linear interpolation"))
    assert float(error[0]) == float(rows[0]["f_rsi_interpolation"])
