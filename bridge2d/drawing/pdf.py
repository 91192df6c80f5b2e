"""Draws a scene on a reportlab canvas, as vectors.

Last step of the flow for the PDF. Path operators are written as they stand in ISO 32000-1, 8.5, since that is several
times as quick as reportlab's own path objects.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bridge2d.drawing.fonts import FILES, FOLDER, MILLIMETRES_PER_POINT, pieces
from bridge2d.drawing.scene import SUBSCRIPT_DROP, SUBSCRIPT_SIZE, Clip, Path, Scene, Text, runs_width

POINTS = 1.0 / MILLIMETRES_PER_POINT
ESCAPES = {code: f"\\{code:03o}" for code in (*range(32), *range(127, 256), *b"()\\")}
"""Bytes that do not stand for themselves in a PDF string (ISO 32000-1, 7.3.4.2)."""


@cache
def register_fonts() -> None:
    """Make the embedded fonts known to reportlab, once."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name in FILES.values():
        pdfmetrics.registerFont(TTFont(name, str(FOLDER / f"{name}.ttf")))


def draw_scene(canvas: Any, scene: Scene, x: float = 0.0, y: float = 0.0) -> None:
    """Draw a scene.

    Args:
        canvas: a reportlab canvas.
        scene: what to draw.
        x: of the scene's lower left corner on the page [mm].
        y: ditto.
    """
    register_fonts()
    for item in scene.items:
        if isinstance(item, Path):
            canvas.addLiteral(path_operators(item, x, y))
        elif isinstance(item, Text):
            _draw_text(canvas, item, x, y)
        elif isinstance(item, Clip):
            canvas.addLiteral(f"q {_lines(item.rings, True, x, y)} W* n")
            draw_scene(canvas, Scene(scene.width, scene.height, item.items), x, y)
            canvas.addLiteral("Q")
        else:
            draw_scene(canvas, item.scene, x + item.x, y + item.y)


def path_operators(path: Path, x: float = 0.0, y: float = 0.0) -> str:
    """The operators that draw a path moved by x, y [mm]."""
    state = ["q 1 J 1 j"] if not path.dash else ["q 0 J 1 j"]
    paint = {(True, True): "B*", (True, False): "f*", (False, True): "S", (False, False): "n"}
    if path.fill:
        state.append(f"{_colour(path.fill)} rg")
    if path.stroke:
        state.append(f"{_colour(path.stroke)} RG {path.width * POINTS:.3f} w")
        if path.dash:
            state.append(f"[{' '.join(f'{d * POINTS:.2f}' for d in path.dash)}] 0 d")
    state.append(_lines(path.lines, path.closed, x, y))
    state.append(paint[bool(path.fill), bool(path.stroke)])
    return "\n".join([*state, "Q"])


def _lines(lines: tuple[NDArray[np.float64], ...], closed: bool, x: float, y: float) -> str:
    if len(lines) > 8 and not closed and all(len(points) == 2 for points in lines):
        flat = ((np.stack(lines) + np.array([x, y])) * POINTS).ravel().tolist()
        return ("%.2f %.2f m %.2f %.2f l\n" * len(lines)) % tuple(flat)
    written = []
    for points in lines:
        if len(points) < 2:
            continue
        flat = ((points + np.array([x, y])) * POINTS).ravel().tolist()
        form = "%.2f %.2f m" + "\n%.2f %.2f l" * (len(points) - 1)
        written.append(form % tuple(flat) + ("\nh" if closed else ""))
    return "\n".join(written)


@cache
def _colour(colour: str) -> str:
    return " ".join(f"{int(colour[k : k + 2], 16) / 255:.3f}" for k in (1, 3, 5))


def _draw_text(canvas: Any, text: Text, x: float, y: float) -> None:
    left = {"start": 0.0, "middle": -0.5, "end": -1.0}[text.anchor] * runs_width(text.runs, text.size)
    turn = math.radians(text.rotation)
    c, s = math.cos(turn), math.sin(turn)
    across, up = (text.x + x + c * left) * POINTS, (text.y + y + s * left) * POINTS
    written = [f"q BT {c:.5f} {s:.5f} {-s:.5f} {c:.5f} {across:.2f} {up:.2f} Tm"]
    colour = ""
    for run in text.runs:
        size = text.size * (SUBSCRIPT_SIZE if run.subscript else 1.0)
        wanted = run.colour or text.colour
        if wanted != colour:
            colour = wanted
            written.append(f"{_colour(wanted)} rg")
        if run.subscript:
            written.append(f"{-SUBSCRIPT_DROP * text.size:.2f} Ts")
        for style, part in pieces(run.text, run.style):
            written.extend(_shown(canvas, FILES[style], size, part))
        if run.subscript:
            written.append("0 Ts")
    canvas.addLiteral("\n".join([*written, "ET Q"]))


def _shown(canvas: Any, name: str, size: float, words: str) -> list[str]:
    """Operators that show words; an embedded font is divided into subsets of 256 signs."""
    from reportlab.pdfbase.pdfmetrics import getFont

    document = canvas._doc
    font = getFont(name)
    return [
        f"{font.getSubsetInternalName(subset, document)} {size:.2f} Tf ({_escaped(codes)}) Tj"
        for subset, codes in font.splitString(words, document)
    ]


def _escaped(codes: bytes) -> str:
    return codes.decode("latin-1").translate(ESCAPES)
