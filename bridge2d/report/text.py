"""Text wrapped to a width, measured with the embedded fonts; a step before the layout of pages."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

from bridge2d.drawing.fonts import text_width
from bridge2d.drawing.scene import SUBSCRIPT_SIZE, Run, runs, runs_width

Words = str | Run | Sequence[Run]


def as_runs(words: Words) -> tuple[Run, ...]:
    """Plain text or runs as runs."""
    return runs(words)


@lru_cache(maxsize=4096)
def wrapped(words: tuple[Run, ...], size: float, width: float) -> tuple[tuple[Run, ...], ...]:
    """Lines of text no wider than a width; words that are wider are divided.

    Args:
        words: the text; a no-break space does not break.
        size: type size [pt].
        width: of the lines [mm].
    """
    lines: list[list[Run]] = [[]]
    filled = 0.0
    for word in _words(words):
        spaces = word[0].text == " " and len(word) == 1
        needed = runs_width(word, size)
        if filled + needed <= width + 1e-6:
            if not (spaces and not lines[-1]):
                lines[-1].extend(word)
                filled += needed
            continue
        if spaces:
            lines.append([])
            filled = 0.0
            continue
        if lines[-1]:
            lines.append([])
        filled = 0.0
        for run in word if needed <= width else _divided(word, size, width):
            part = text_width(run.text, run.style, size * (SUBSCRIPT_SIZE if run.subscript else 1.0))
            if filled + part > width + 1e-6 and lines[-1]:
                lines.append([])
                filled = 0.0
            lines[-1].append(run)
            filled += part
    return tuple(_joined(found) for found in lines if found) or ((),)


def _words(words: tuple[Run, ...]) -> Iterable[list[Run]]:
    """Pieces between which a line may break; a blank is a piece of its own."""
    open_word: list[Run] = []
    for run in words:
        for part in re.findall(r"[ \n\t]+|[^ \n\t]+", run.text):
            if part[0] in " \n\t":
                if open_word:
                    yield open_word
                    open_word = []
                yield [run._replace(text=" ")]
            else:
                open_word.append(run._replace(text=part))
    if open_word:
        yield open_word


def _divided(word: list[Run], size: float, width: float) -> list[Run]:
    """A word too long for a line, in pieces that fit."""
    found = []
    for run in word:
        scale = size * (SUBSCRIPT_SIZE if run.subscript else 1.0)
        piece = ""
        for sign in run.text:
            if piece and text_width(piece + sign, run.style, scale) > width:
                found.append(run._replace(text=piece))
                piece = ""
            piece += sign
        found.append(run._replace(text=piece))
    return found


def _joined(pieces: list[Run]) -> tuple[Run, ...]:
    """Neighbouring runs of one kind as one, without blanks at the line's end."""
    found: list[Run] = []
    for run in pieces:
        if found and found[-1][1:] == run[1:]:
            found[-1] = run._replace(text=found[-1].text + run.text)
        else:
            found.append(run)
    if found:
        found[-1] = found[-1]._replace(text=found[-1].text.rstrip(" "))
    return tuple(run for run in found if run.text)


def shortened(words: str, style: str, size: float, width: float) -> str:
    """A text cut to a width [mm], with an ellipsis where something is missing."""
    if text_width(words, style, size) <= width:
        return words
    while words and text_width(words + "…", style, size) > width:
        words = words[:-1]
    return words.rstrip() + "…"
