"""What travels inside the PDF of a comparison: what was said of the options, all numbers, and each option's own files.

Every name begins with a number, 0 for the comparison and from 1 on that of an option, as in a bound volume.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from bridge2d.comparison.records import Comparison
from bridge2d.comparison.screen import comparison_json
from bridge2d.comparison_block import ComparisonBlock, ComparisonTerms
from bridge2d.report.enclosures import RESULTS, Enclosure, enclosures, json_bytes, numbered

TERMS = "comparison.toml"
"""The file of what was said of the options."""
HEADING = "# What was said of the options beside their detail files, in their order; in SI."


def of_comparison(comparison: Comparison, title: str) -> tuple[Enclosure, ...]:
    """The files that the PDF of a comparison encloses, the same for the same input.

    Args:
        comparison: the options.
        title: of the comparison.
    """
    count = len(comparison.options)
    said = terms_text([option.terms for option in comparison.options]).encode("utf-8")
    found = comparison_json(comparison)
    for one in found["options"]:
        del one["results"]  # each option has a file of its own for them
    numbers = json_bytes({**found, "title": title, "shown_units": comparison.shown.system})
    files = [
        Enclosure(numbered(0, count, TERMS), "what was said of the options", "application/toml", "Source", said),
        Enclosure(numbered(0, count, RESULTS), "all numbers of the comparison", "application/json", "Data", numbers),
    ]
    for number, option in enumerate(comparison.options, start=1):
        own = enclosures(option.result, option.loaded, comparison.shown)
        files += [one._replace(name=numbered(number, count, one.name)) for one in own]
    return tuple(files)


def terms_text(terms: Sequence[ComparisonTerms]) -> str:
    """What was said of the options as TOML; `terms_read` gives the same back.

    Args:
        terms: of each option.
    """
    blocks = [HEADING]
    for one in terms:
        lines = ["", "[[options]]"]
        for key, value in _said(one).items():
            # a JSON string is a basic string of TOML, but for the delete character
            lines.append(f"{key} = {json.dumps(value, ensure_ascii=False).replace(chr(127), chr(92) + 'u007f')}")
        blocks += lines
    return "\n".join(blocks) + "\n"


def _said(terms: ComparisonTerms) -> dict[str, Any]:
    """The keys of a [comparison] block that were said; lengths with their unit, so that no digit is lost."""
    said = {key: value for key, value in asdict(terms).items() if value is not None and value != ""}
    return said | ({"length": f"{terms.length!r} m"} if "length" in said else {})


def terms_read(text: str) -> tuple[ComparisonTerms, ...]:
    """What was said of the options, read back.

    Args:
        text: see `terms_text`.

    Raises:
        ValueError: it is not such a text.
    """
    options = tomllib.loads(text).get("options")
    if not isinstance(options, list):
        raise ValueError("it has no options")
    return tuple(ComparisonBlock.model_validate(one).terms() for one in options)
