"""Options side by side: what differs in the input, what that changes in the numbers, what it costs and saves.

results of several details -> **comparison** -> screen, JSON, PDF. The first option is the one that the others are
held against. A difference of two brackets has the bracket that follows from both; where it contains zero, the two
cannot be told apart.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from bridge2d.comparison.differing import differing_input
from bridge2d.comparison.given import given
from bridge2d.comparison.numbers import number_rows
from bridge2d.comparison.places import dew_rows, place_row
from bridge2d.comparison.records import Comparison, Row, told
from bridge2d.comparison.remarks import remarks
from bridge2d.comparison.savings import saving_rows
from bridge2d.comparison.terms import agreed, named
from bridge2d.comparison.verdicts import climate_rows, limit_rows
from bridge2d.shown_units import IN_SI, DisplayUnits

if TYPE_CHECKING:
    from bridge2d.comparison_block import ComparisonTerms
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.results import DetailResult


def compared(
    loaded: Sequence[LoadedDetail],
    results: Sequence[DetailResult],
    terms: Sequence[ComparisonTerms],
    shown: DisplayUnits = IN_SI,
) -> Comparison:
    """Hold two or more options against the first one.

    Args:
        loaded: the detail files.
        results: their numbers, in the same order.
        terms: what is said of each option, see `terms.gathered`.
        shown: units of all that is said in words, in which the files have to be read too; numbers stay SI.

    Raises:
        InputError: the terms contradict each other, or the options share no dimension system.
    """
    options = named(loaded, results, terms)
    basis = agreed(options)
    numbers = number_rows(options, basis)
    words = (place_row(options, shown), *dew_rows(options, shown))
    rows = (*numbers, *saving_rows(options, basis))
    inputs = differing_input(options, shown)
    return Comparison(
        options=options,
        basis=basis,
        rows=tuple(_in_words(row, shown) for row in rows),
        words=tuple(row for row in words if row is not None),
        inputs=inputs,
        limits=limit_rows(options),
        remarks=remarks(options, basis),
        fingerprint=fingerprint([option.input_hash for option in options], terms),
        shown=shown,
        climate=climate_rows(options),
        given=given(options, basis, shown),
    )


def _in_words(row: Row, shown: DisplayUnits) -> Row:
    """A row whose names speak of the units that are shown."""
    return replace(row, name=told(row.name, shown), plain=told(row.plain, shown))


def fingerprint(inputs: Sequence[str], terms: Sequence[ComparisonTerms]) -> str:
    """SHA-256 of all that a comparison rests on.

    Args:
        inputs: fingerprints of the options' inputs.
        terms: what is said of each option.
    """
    everything = [{"input": one, **_counted(said)} for one, said in zip(inputs, terms, strict=True)]
    text = json.dumps(everything, sort_keys=True, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _counted(terms: ComparisonTerms) -> dict[str, Any]:
    """What counts of the terms; a source that nobody names leaves the fingerprint as it is without that key."""
    said = asdict(terms)
    if not said["heating_degree_hours_source"]:
        del said["heating_degree_hours_source"]
    return said
