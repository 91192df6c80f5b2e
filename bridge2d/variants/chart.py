"""A sweep as a chart: a number over one parameter with its bounds, or its contours over two, with the limit drawn."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from io import BytesIO
from textwrap import wrap
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from bridge2d.drawing.colours import ACCENT, ACCENT_PALE, GREY, INK, PAPER, temperature_colour
from bridge2d.errors import InputError
from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.variants.about import below_chart
from bridge2d.variants.rows import quantity, title

if TYPE_CHECKING:
    from bridge2d.variants.axes import Axis
    from bridge2d.variants.gridded import Gridded
    from bridge2d.variants.sweeping import Plan

SIZE = (6.3, 4.4)
"""Of the chart [in], as wide as the text of an A4 page."""
BELOW = 150
"""Characters of a line below it."""
LABELLED = (0.12, 0.88)
"""Part of the width and height within which a line has its label, so that none is cut off."""
ONE, TWO = 1, 2
STYLE: dict[str, Any] = {
    "font.family": "Noto Sans",
    "font.size": 8.0,
    "axes.edgecolor": GREY,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.6,
    "xtick.color": GREY,
    "ytick.color": GREY,
    "text.color": INK,
    "figure.facecolor": PAPER,
    "svg.fonttype": "path",
    "svg.hashsalt": "bridge2d",
    "pdf.fonttype": 42,
}


def chart_of(
    name: str,
    grids: Sequence[Gridded],
    plan: Plan,
    ending: str,
    limit: float | None = None,
    shown: DisplayUnits = IN_SI,
) -> bytes:
    """The chart of one number of a sweep.

    Args:
        name: of the number, such as "f_rsi"; the first one where it is empty.
        grids: every number over its grid; empty for a hypercube.
        plan: the sweep.
        ending: ".pdf", ".svg" or ".png".
        limit: that is drawn, in the units that are shown; the file's own unless given.
        shown: units of the number.

    Raises:
        InputError: there is no such number, or the sweep has not one or two numbers.
    """
    known = {grid.name: grid for grid in grids}
    wanted = name or next(iter(known), "")
    if not known:
        message = "a hypercube has no chart" if plan.hypercube else "no variant has a number that could be drawn"
        raise InputError(message, key="--chart", right="a chart shows a grid of variants that were computed")
    if wanted not in known:
        raise _no_number(wanted, known)
    drawn = limit if limit is not None else _own_limit(plan, wanted, shown)
    return chart_bytes(known[wanted], plan.axes, drawn, ending, shown, below_chart(plan, known[wanted]))


def refuse_chart(plan: Plan, name: str, known: Sequence[str]) -> None:
    """Refuse what has no chart before anything is computed.

    Args:
        plan: the sweep.
        name: of the number that is to be drawn; empty for the first one.
        known: names of the numbers that there are; empty where nobody knows yet.

    Raises:
        InputError: a hypercube has none, nor has a sweep without one or two numbers, nor a number that there is not.
    """
    if plan.hypercube:
        right = "a chart shows a grid of variants that were computed"
        raise InputError("a hypercube has no chart", key="--chart", right=right)
    _drawn_axes(plan.axes)
    if name and known and name not in known:
        raise _no_number(name, known)


def _no_number(name: str, known: Iterable[str]) -> InputError:
    right = f"known are {', '.join(known)}"
    return InputError(f"there is no number {name[:40]!r} over a grid", key="--of", right=right)


def _drawn_axes(axes: Sequence[Axis]) -> list[Axis]:
    """The axes of a chart."""
    drawn = [axis for axis in axes if len(axis.values) > 1]
    if not ONE <= len(drawn) <= TWO or any(axis.info.kind is None for axis in drawn):
        plural = "s have" if len(drawn) != 1 else " has"
        words = ", not all of them numbers" if any(axis.info.kind is None for axis in drawn) else ""
        raise InputError(
            f"{len(drawn)} parameter{plural} more than one value{words}",
            key="--chart",
            right="a chart shows one or two parameters that are numbers",
        )
    return drawn


def _own_limit(plan: Plan, name: str, shown: DisplayUnits) -> float | None:
    """The file's limit of a number, in the units that are shown."""
    for one in plan.base.loaded().detail.requirements:
        if name in (one.quantity, f"{one.quantity}_{one.dimensions}", f"{one.quantity}_installation"):
            return float(shown.number(quantity(name), one.limit))
    return None


def chart_bytes(
    found: Gridded,
    axes: Sequence[Axis],
    limit: float | None,
    ending: str,
    shown: DisplayUnits = IN_SI,
    below: str = "",
) -> bytes:
    """The chart of a sweep over a grid of one or two numbers.

    Args:
        found: the number that is drawn.
        axes: what is varied.
        limit: drawn as a heavy line, in the units that are shown; None for none.
        ending: ".pdf", ".svg" or ".png".
        shown: units of the number.
        below: what stands below it.

    Raises:
        InputError: the sweep has not one or two numbers.
    """
    drawn = _drawn_axes(axes)
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    style: Any = {**STYLE, "font.family": _families()}
    with mpl.rc_context(style):
        figure = Figure(figsize=SIZE, layout="constrained")
        FigureCanvasAgg(figure)
        plot = figure.add_subplot()
        plot.set_xlabel(_label(drawn[0]))
        (_line if len(drawn) == ONE else _contours)(plot, found, drawn, limit, title(found.name, shown))
        if below:
            figure.supxlabel("\n".join(wrap(below, BELOW)), fontsize=6.0, x=0.02, ha="left", color=GREY)
        out = BytesIO()
        metadata = {"CreationDate": None} if ending == ".pdf" else {"Date": None} if ending == ".svg" else None
        figure.savefig(out, format=ending[1:], metadata=metadata, dpi=200)
    return out.getvalue()


def _families() -> list[str]:
    """The report's own font and that of its signs, such as the minus; matplotlib has to be shown both."""
    from matplotlib import font_manager

    from bridge2d.drawing.fonts import FILES, FOLDER

    found = []
    for style in ("regular", "signs"):
        path = str(FOLDER / f"{FILES[style]}.ttf")
        if not any(entry.fname == path for entry in font_manager.fontManager.ttflist):
            font_manager.fontManager.addfont(path)
        found.append(font_manager.FontProperties(fname=path).get_name())
    return found


def _label(axis: Axis) -> str:
    unit = f" [{axis.unit}]" if axis.unit else ""
    return f"{axis.info.label}{unit}"


def _line(plot: Any, found: Gridded, axes: Sequence[Axis], limit: float | None, name: str) -> None:
    """The number over one parameter, its bracket or tolerance as a band."""
    places = np.array(axes[0].values, dtype=float)
    plot.fill_between(
        places, found.lower.ravel(), found.upper.ravel(), color=ACCENT_PALE, edgecolor=ACCENT, linewidth=0.4
    )
    plot.plot(places, found.values.ravel(), color=ACCENT, linewidth=1.2, marker="o", markersize=3.0)
    plot.set_ylabel(name)
    if limit is not None:
        plot.axhline(limit, color=INK, linewidth=1.8, linestyle=(0, (6, 2)))
        plot.annotate(f"limit {limit:g}", (places[0], limit), xytext=(2, 3), textcoords="offset points")


def _computed(grid: NDArray[np.float64], axis: int) -> slice:
    """From the first to the last value of the other parameter at which anything was computed."""
    places = np.flatnonzero(np.isfinite(grid).any(axis=axis))
    return slice(int(places[0]), int(places[-1]) + 1)


def _contours(plot: Any, found: Gridded, axes: Sequence[Axis], limit: float | None, name: str) -> None:
    """Lines of equal value over two parameters; what was refused stays empty, and at the ends is left out."""
    from matplotlib.colors import LinearSegmentedColormap

    x, y = (np.array(axis.values, dtype=float) for axis in axes)
    grid = found.values.reshape(len(x), len(y))
    across, up = _computed(grid, 1), _computed(grid, 0)
    x, y = x[across], y[up]
    values = np.ma.masked_invalid(grid[across, up].T)
    colours = LinearSegmentedColormap.from_list("own", [temperature_colour(k / 8) for k in range(9)])
    if float(np.ptp(values)) > 0:
        filled = plot.contourf(x, y, values, levels=12, cmap=colours)
        others = [one for one in filled.levels if limit is None or not math.isclose(one, limit, abs_tol=1e-12)]
        lines = plot.contour(x, y, values, levels=others, colors=INK, linewidths=0.5, linestyles="solid")
        label_inside(plot, lines, fontsize=7.0, fmt="%g")
        low, high = float(values.min()), float(values.max())
        if limit is not None and low < limit < high:
            heavy = plot.contour(x, y, values, levels=[limit], colors=INK, linewidths=2.2, linestyles=[(0, (6, 2))])
            if not label_inside(plot, heavy, fontsize=8.0, fmt=f"limit {limit:g}"):
                name += f"; heavy: limit {limit:g}"
        elif limit is not None:
            name += f"; the limit {limit:g} lies {'above' if limit >= high else 'below'} all values"
    xs, ys = np.meshgrid(x, y)
    plot.plot(xs.ravel(), ys.ravel(), linestyle="none", marker=".", markersize=2.0, color=GREY)
    plot.set_ylabel(_label(axes[1]))
    plot.set_title(name, fontsize=9.0)


def label_inside(plot: Any, lines: Any, **how: Any) -> int:
    """Labels of contours, each at the point of its lines nearest the middle, if well within the chart; how many.

    Args:
        plot: axes of the chart.
        lines: contours.
        how: of the labels, as `clabel` takes it.
    """
    (left, right), (bottom, top) = plot.get_xlim(), plot.get_ylim()
    low, high = LABELLED
    at = []
    for segments in lines.allsegs:
        points = np.concatenate([_dense(np.asarray(one, dtype=float)) for one in segments] or [np.empty((0, 2))])
        share = (points - (left, bottom)) / (right - left, top - bottom)
        inside = ((share > low) & (share < high)).all(axis=1)
        if inside.any():
            off = np.hypot(*(share[inside] - 0.5).T)
            at.append(tuple(float(one) for one in points[inside][int(np.argmin(off))]))
    if at:
        plot.clabel(lines, manual=at, **how)
    return len(at)


def _dense(line: NDArray[np.float64]) -> NDArray[np.float64]:
    """The same line with ten points for each one."""
    if len(line) < TWO:
        return line
    at = np.linspace(0.0, len(line) - 1.0, 10 * len(line))
    return np.stack([np.interp(at, np.arange(len(line)), line[:, k]) for k in (0, 1)], axis=1)
