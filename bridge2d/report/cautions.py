"""The report's chapter on what the sheet does not say: a detail's own cautions and the general ones, each said once."""

from __future__ import annotations

from typing import NamedTuple

from bridge2d.drawing.scene import Run, runs
from bridge2d.report.layout import Block, paragraph
from bridge2d.report.words import has_timber, said
from bridge2d.results import DetailResult
from bridge2d.shown_units import IN_SI, DisplayUnits


class Caution(NamedTuple):
    """A general caution: its title, words that tell that the detail's own one speaks of the same, and its text."""

    title: str
    signs: tuple[str, ...]
    words: str


CAUTIONS = (
    Caution(
        "Mould",
        ("mould",),
        (
            "The temperature factor screens for mould with steady conditions. It does not replace a judgement of the "
            "room's ventilation, heating and use."
        ),
    ),
    Caution(
        "Timber",
        ("timber", "decay"),
        (
            "A steady heat calculation gives temperatures and a screening, never a verdict on decay. Have timber in "
            "masonry looked at and its moisture measured."
        ),
    ),
    Caution(
        "Fire",
        ("fire",),
        (
            "Insulation and membranes in cavities, floor zones and at openings touch compartments and escape routes. "
            "What may be used there is for the local code and the fire authority to say."
        ),
    ),
    Caution(
        "Structure",
        ("load", "structur"),
        (
            "Nothing here says whether a part carries its load. Openings, bearings and cuts need somebody licensed to "
            "judge them."
        ),
    ),
    Caution(
        "Practice",
        (),
        "Local codes and licensed practice come before this sheet wherever they say something else.",
    ),
)


def caution_texts(result: DetailResult) -> list[tuple[str, str]]:
    """Topic and words of the detail's own cautions, and of those general ones that they leave open.

    Args:
        result: all numbers of the detail.
    """
    own = result.detail.cautions
    found = [(_topic(words), words) for words in own]
    for caution in CAUTIONS:
        spoken = any(sign in words.lower() for words in own for sign in caution.signs)
        if not spoken and (caution.title != "Timber" or has_timber(result.detail)):
            found.append((caution.title, caution.words))
    order = [caution.title for caution in CAUTIONS]
    found.sort(key=lambda one: order.index(one[0]) if one[0] else -1)
    return found


def cautions(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """What this sheet does not say: the detail's own cautions, and of the general ones those that they leave open."""
    return [
        paragraph(runs(Run(f"{title}  " if title else "", "bold"), said(words, shown)), mark="–", after=1.6)
        for title, words in caution_texts(result)
    ]


def _topic(words: str) -> str:
    """Title of the general caution that a sentence stands for; empty where it is about something else."""
    return next((c.title for c in CAUTIONS if any(sign in words.lower() for sign in c.signs)), "")
