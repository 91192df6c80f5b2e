"""Writes a scene as an SVG picture, for the README and the local page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bridge2d.drawing.fonts import MILLIMETRES_PER_POINT
from bridge2d.drawing.scene import SUBSCRIPT_DROP, SUBSCRIPT_SIZE, Clip, Item, Path, Run, Scene, Text

FAMILY = "'Noto Sans', 'DejaVu Sans', Arial, sans-serif"


MARGIN = 2.0
"""White paper around the picture [mm]."""


def scene_svg(scene: Scene, title: str = "", description: str = "") -> str:
    """A scene as an SVG document in millimetres.

    Args:
        scene: what to draw.
        title: spoken name of the picture.
        description: whose picture it is; empty where nothing is known.
    """
    written: list[str] = []
    clips: list[str] = []
    _write(scene.items, 0.0, 0.0, scene.height, written, clips)
    width, height = scene.width + 2 * MARGIN, scene.height + 2 * MARGIN
    box = f"{-MARGIN:g} {-MARGIN:g} {width:.2f} {height:.2f}"
    size = f'width="{width:.1f}mm" height="{height:.1f}mm" viewBox="{box}"'
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" font-family="{FAMILY}">',
            f"<title>{escape(title)}</title>",
            *([f"<desc>{escape(description)}</desc>"] if description else []),
            f"<defs>{''.join(clips)}</defs>",
            f'<rect x="{-MARGIN:g}" y="{-MARGIN:g}" width="{width:.2f}" height="{height:.2f}" fill="#ffffff"/>',
            *written,
            "</svg>",
            "",
        ]
    )


class Layer(NamedTuple):
    """Items that are drawn together in a group of their own.

    Attributes:
        items: what it holds.
        marks: of its group, such as {"class": "layer", "data-layer": "isotherms"}.
    """

    items: tuple[Item, ...]
    marks: Mapping[str, str]


def layers_svg(
    size: tuple[float, float],
    layers: Sequence[Layer],
    title: str = "",
    description: str = "",
    marks: Mapping[str, str] | None = None,
) -> str:
    """Layers one over the other as an SVG document that takes the size of its place on a page.

    Args:
        size: width and height of the paper [mm].
        layers: the lowest first.
        title: spoken name of the picture.
        description: whose picture it is; empty where nothing is known.
        marks: more attributes of the whole.
    """
    clips: list[str] = []
    groups: list[str] = []
    for layer in layers:
        written: list[str] = []
        _write(layer.items, 0.0, 0.0, size[1], written, clips)
        groups.append(f"<g{_marks(layer.marks)}>{''.join(written)}</g>")
    width, height = size[0] + 2 * MARGIN, size[1] + 2 * MARGIN
    box = f"{-MARGIN:g} {-MARGIN:g} {width:.2f} {height:.2f}"
    return "".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img" font-family="{FAMILY}"',
            f"{_marks(marks or {})}><title>{escape(title)}</title>",
            f"<desc>{escape(description)}</desc>" if description else "",
            f"<defs>{''.join(clips)}</defs>",
            f'<rect x="{-MARGIN:g}" y="{-MARGIN:g}" width="{width:.2f}" height="{height:.2f}" fill="#ffffff"/>',
            *groups,
            "</svg>",
        ]
    )


def _marks(marks: Mapping[str, str]) -> str:
    return "".join(f' {name}="{escape(value)}"' for name, value in marks.items())


def _write(items: tuple[Item, ...], x: float, y: float, top: float, written: list[str], clips: list[str]) -> None:
    for item in items:
        if isinstance(item, Path):
            written.append(_path(item, x, y, top))
        elif isinstance(item, Text):
            written.append(_text(item, x, y, top))
        elif isinstance(item, Clip):
            name = f"clip{len(clips)}"
            data = _data(item.rings, True, x, y, top)
            clips.append(f'<clipPath id="{name}"><path clip-rule="evenodd" d="{data}"/></clipPath>')
            written.append(f'<g clip-path="url(#{name})">')
            _write(item.items, x, y, top, written, clips)
            written.append("</g>")
        else:
            _write(item.scene.items, x + item.x, y + item.y, top, written, clips)


def _data(lines: tuple[NDArray[np.float64], ...], closed: bool, x: float, y: float, top: float) -> str:
    drawn = [points for points in lines if len(points) > 1]
    if not drawn:
        return ""
    end = "Z" if closed else ""
    written = "".join(f"M%.2f %.2f{'L%.2f %.2f' * (len(points) - 1)}{end}" for points in drawn)
    moved = np.concatenate(drawn) * (1.0, -1.0) + (x, top - y)
    return written % tuple(moved.ravel().tolist())


def _path(path: Path, x: float, y: float, top: float) -> str:
    drawn = f'fill="{path.fill or "none"}"' + (' fill-rule="evenodd"' if path.fill else "")
    if path.stroke:
        drawn += f' stroke="{path.stroke}" stroke-width="{path.width:.3f}" stroke-linejoin="round"'
        drawn += f' stroke-dasharray="{" ".join(f"{d:.2f}" for d in path.dash)}"' if path.dash else ""
    return f'<path {drawn} d="{_data(path.lines, path.closed, x, y, top)}"/>'


def _text(text: Text, x: float, y: float, top: float) -> str:
    at_x, at_y = text.x + x, top - text.y - y
    size = text.size * MILLIMETRES_PER_POINT
    turn = f' transform="rotate({-text.rotation:.2f} {at_x:.2f} {at_y:.2f})"' if text.rotation else ""
    drop = 0.0
    spans = []
    for run in text.runs:
        wanted = SUBSCRIPT_DROP * size if run.subscript else 0.0
        spans.append(_span(run, size, wanted - drop))
        drop = wanted
    return (
        f'<text x="{at_x:.2f}" y="{at_y:.2f}" font-size="{size:.3f}" text-anchor="{text.anchor}" '
        f'fill="{text.colour}" xml:space="preserve"{turn}>{"".join(spans)}</text>'
    )


def _span(run: Run, size: float, shift: float) -> str:
    drawn = f' dy="{shift:.3f}"' if shift else ""
    drawn += f' font-size="{size * SUBSCRIPT_SIZE:.3f}"' if run.subscript else ""
    drawn += ' font-weight="bold"' if run.style == "bold" else ""
    drawn += ' font-style="italic"' if run.style == "italic" else ""
    drawn += f' fill="{run.colour}"' if run.colour else ""
    return f"<tspan{drawn}>{escape(run.text)}</tspan>" if drawn else escape(run.text)
