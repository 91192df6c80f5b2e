"""Checks the PDF of a comparison: each option by itself, then all that is said of their differences.

All steps of a recheck once more, for a sheet that holds several options against the first one. What was said of the
options besides their detail files is enclosed too, so nothing else is read.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field, FiniteFloat, ValidationError

from bridge2d import nomenclature as n
from bridge2d.comparison import compared
from bridge2d.comparison.records import BOUNDED, ESTIMATED, EXACT, Amount, Comparison
from bridge2d.comparison.records import Row as ComparisonRow
from bridge2d.comparison.screen import comparison_json
from bridge2d.errors import InputError
from bridge2d.recheck.checked import Checked, checked
from bridge2d.recheck.compared import beside
from bridge2d.recheck.pages import altered_files, altered_pages, stands, unsaid_words
from bridge2d.recheck.records import malformed, record, unfit
from bridge2d.recheck.stated import MANY, Line, Number, Record, ShownRecord, estimate, exact
from bridge2d.recheck.volume import VolumeChecked, of_parts
from bridge2d.recheck.written import pages
from bridge2d.report.comparison_enclosures import TERMS, terms_read
from bridge2d.report.comparison_tables import printed_rows
from bridge2d.report.enclosures import RESULTS, numbered

if TYPE_CHECKING:
    from bridge2d.comparison_block import ComparisonTerms
    from bridge2d.nomenclature import Quantity
    from bridge2d.recheck.opened import Opened
    from bridge2d.recheck.seen import Page

KINDS = {BOUNDED: "bracket", ESTIMATED: "estimate", EXACT: "exact"}
"""How a number of a comparison is called in a recheck."""


class AmountRecord(Record):
    """A number of an option, or a difference with its verdict."""

    value: FiniteFloat
    lower: FiniteFloat
    upper: FiniteFloat
    kind: Literal["bounded", "estimated", "exact"]
    verdict: Line | None = None

    @property
    def amount(self) -> Amount:
        """The number as a comparison has it."""
        return Amount(self.lower, self.upper, self.kind)


Amounts = Annotated[list[AmountRecord | None], Field(max_length=MANY)]


class RowRecord(Record):
    """One number of every option."""

    key: Line
    name: Line
    values: Amounts
    differences: Amounts


class InputRecord(Record):
    """What is not the same in the input of all options."""

    label: Line
    values: Annotated[list[str], Field(max_length=MANY)]


class VerdictRecord(Record):
    """How an option stands to a limit."""

    met: bool
    certain: bool


class LimitRecord(Record):
    """A limit."""

    name: Line
    quantity: Line
    sense: Line
    limit: FiniteFloat
    source: Line
    options: Annotated[list[VerdictRecord | None], Field(max_length=MANY)]

    @property
    def asked(self) -> tuple[object, ...]:
        """All but the verdicts."""
        return self.name, self.quantity, self.sense, self.limit, self.source


class MarginRecord(VerdictRecord):
    """How an option stands to what its climate asks for."""

    climate: Line
    month: Line | None
    asked: FiniteFloat
    value: FiniteFloat
    tolerance: Annotated[FiniteFloat, Field(ge=0.0)]


class ClimateRecord(Record):
    """What the climates ask for by one criterion."""

    criterion: Line
    name: Line
    options: Annotated[list[MarginRecord | None], Field(max_length=MANY)]

    @property
    def asked(self) -> tuple[object, ...]:
        """Which criterion, and of each option the climate and its critical month."""
        return self.criterion, self.name, *((one.climate, one.month) if one else None for one in self.options)


class OptionRecord(Record):
    """An option."""

    option: Line
    description: Line
    input_hash: Line


class Sides(ShownRecord):
    """What the `results.json` of a comparison holds."""

    title: Line
    version: Line
    fingerprint: Line
    options: Annotated[list[OptionRecord], Field(max_length=MANY)]
    rows: Annotated[list[RowRecord], Field(max_length=MANY)]
    input: Annotated[list[InputRecord], Field(max_length=MANY)]
    limits: Annotated[list[LimitRecord], Field(max_length=MANY)]
    climate: Annotated[list[ClimateRecord], Field(max_length=MANY, default_factory=list)]
    given: Annotated[list[Line], Field(max_length=MANY, default_factory=list)]
    remarks: Annotated[list[Line], Field(max_length=MANY, default_factory=list)]


def options_checked(opened: Opened) -> VolumeChecked[Sides]:
    """Compute every option of a comparison again, hold them against each other anew, and compare.

    Args:
        opened: the PDF.

    Raises:
        InputError: what it encloses is malformed, or cannot be computed.
        MissingLibraryError: gmsh is needed and cannot start.
    """
    old = record(Sides, RESULTS, opened)
    terms = _terms(opened)
    found = [checked(report, shown=old.shown_units, printed=False) for report in opened.reports]
    if len(terms) != len(found) or len(old.options) != len(found):
        raise malformed(TERMS, "it does not have as many options as are enclosed", opened)
    again = _compared(opened, found, terms, old)
    new = Sides.model_validate({**comparison_json(again), "title": old.title})
    written = pages(opened)
    findings = [
        *altered_pages(opened, written.pages),
        *_unprinted(opened.pages, old, again),
        *unsaid_words(opened.pages, {"title": old.title, "fingerprint": old.fingerprint, "version": old.version}),
        *altered_files(opened, written),
        *_identity(old, new),
    ]
    return of_parts(old, found, beside(_numbers(old, again), _numbers(new, again)), findings)


def _compared(opened: Opened, found: Sequence[Checked], terms: Sequence[ComparisonTerms], old: Sides) -> Comparison:
    """The options held against each other anew; a message names the enclosed file whose terms do not go together."""
    try:
        return compared([one.loaded for one in found], [one.result for one in found], terms, old.shown)
    except InputError as error:
        if not error.file:
            error.file = str(opened.path / numbered(0, len(found), TERMS))
        raise


def _terms(opened: Opened) -> tuple[ComparisonTerms, ...]:
    try:
        return terms_read(opened.files[opened.detail].decode("utf-8"))
    except ValidationError as error:
        raise unfit(TERMS, error, opened) from None
    except (ValueError, RecursionError) as error:
        raise malformed(TERMS, str(error)[:200], opened) from None


def _numbers(sides: Sides, again: Comparison) -> Iterator[Number]:
    """Every number of every option, and every difference, with the quantities of the comparison computed again."""
    known = {(row.key, row.name): row for row in again.rows}
    names = [option.name for option in again.options]
    for row in sides.rows:
        same = known.get((row.key, row.name))
        if same is None:
            continue  # said by `_identity`
        for option, one in zip(names, row.values, strict=False):
            if one is not None:
                yield _number(f"{option}: {row.name}", same.quantity, one)
        for option, one in zip(names, row.differences, strict=False):
            if one is not None:
                yield _number(f"{option} − {names[0]}: {row.name}", same.difference_quantity, one)
    for asked in sides.climate:
        for option, margin in zip(names, asked.options, strict=False):
            if margin is not None:
                of = f"{option}: {asked.name}"
                yield estimate(f"{of}, temperature factor", n.F_RSI, margin.value, margin.tolerance)
                yield exact(f"{of}, asked for", n.F_RSI, margin.asked)


def _number(name: str, quantity: Quantity, one: AmountRecord) -> Number:
    return Number(name, KINDS[one.kind], quantity, one.value, one.lower, one.upper)


def _unprinted(written: Sequence[Page], old: Sides, again: Comparison) -> Iterator[str]:
    """Enclosed numbers that should stand on paper and do not, in a sentence each."""
    whole = "\n".join(page.words for page in written)
    printed: dict[tuple[str, str], ComparisonRow] = {(row.key, row.name): row for row in printed_rows(again)}
    for row in old.rows:
        same = printed.get((row.key, row.name))
        for one in row.values if same else ():
            words = one.amount.shown(same.quantity, old.shown) if one and same else ""
            if words and not stands(words, whole):
                yield f"no page says {row.name} {words}, as the enclosed results do"
    yield from _unprinted_climate(old, whole)


def _unprinted_climate(old: Sides, whole: str) -> Iterator[str]:
    """The same of what the climates ask for, and of the temperature factors held against it."""
    for row in old.climate:
        for one in row.options:
            for number in (one.asked, one.value) if one else ():
                words = n.format_value(n.F_RSI, number)
                if not stands(words, whole):
                    yield f"no page says {row.name} {words}, as the enclosed results do"


def _identity(old: Sides, new: Sides) -> Iterator[str]:
    """What beside the numbers disagrees between the enclosed comparison and the enclosed files, in a sentence each."""
    if old.fingerprint != new.fingerprint:
        yield "the enclosed files are not the input of the enclosed comparison: the fingerprint differs"
    for what, before, after in (
        ("options", old.options, new.options),
        ("numbers", [(row.key, row.name) for row in old.rows], [(row.key, row.name) for row in new.rows]),
        ("differences in the input", old.input, new.input),
        ("limits", [row.asked for row in old.limits], [row.asked for row in new.limits]),
        ("climate's limits", [row.asked for row in old.climate], [row.asked for row in new.climate]),
        ("lengths and degree hours", old.given, new.given),
        ("remarks", old.remarks, new.remarks),
    ):
        if before != after:
            yield f"the {what} of the enclosed comparison are not those of the enclosed files"
    yield from _off_middle(old)
    yield from _other_verdicts(old, new)


def _other_verdicts(old: Sides, new: Sides) -> Iterator[str]:
    """Limits that an option keeps on one side only, in a sentence each."""
    for (name, before), (_, after) in zip(_verdicts(old), _verdicts(new), strict=False):
        for option, one, other in zip(old.options, before, after, strict=False):
            if one and other and one.certain and other.certain and one.met != other.met:
                verdicts = [("met" if it.met else "not met") for it in (one, other)]
                yield (
                    f"{option.option[:20]}: the limit {name[:60]!r} is {verdicts[0]} on the sheet and "
                    f"{verdicts[1]} when computed again"
                )


def _verdicts(sides: Sides) -> Iterator[tuple[str, Sequence[VerdictRecord | None]]]:
    """Every limit by its name, the climate's too, with its verdicts."""
    yield from ((limit.name, limit.options) for limit in sides.limits)
    yield from ((row.name, row.options) for row in sides.climate)


def _off_middle(old: Sides) -> Iterator[str]:
    for row in old.rows:
        for one in (*row.values, *row.differences):
            if one is not None and abs(one.value - one.amount.value) > 1e-9 * (abs(one.value) + one.upper - one.lower):
                yield f"{row.name} does not lie in the middle of its range in the enclosed comparison"
