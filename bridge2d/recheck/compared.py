"""Holds old numbers against new ones.

Fifth step of a recheck: old and new results -> **rows**. Two brackets of one number both contain the true value, so
they overlap; two estimates lie no further apart than their tolerances together.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from bridge2d.materials import Material, catalogue
from bridge2d.recheck.numbers import numbers
from bridge2d.recheck.records import Results
from bridge2d.recheck.stated import Number

if TYPE_CHECKING:
    from bridge2d.recheck.records import RequirementRecord

ROUNDING = 1e-9
"""Share of a number that is put down to rounding."""
RULE = (
    "A number with ± is inside where both brackets overlap: the new value lies within the report's bracket widened on "
    "either side by half of the new one. An estimate (≈) is inside where old and new differ by no more than both "
    "tolerances together, an exact number where they are equal. Of each number 1e-9 is put down to rounding."
)


@dataclass(frozen=True)
class Row:
    """A number of the report and the same computed again; None where one side has none.

    Attributes:
        name: what it is.
        old, new: both sides.
    """

    name: str
    old: Number | None
    new: Number | None

    @property
    def difference(self) -> float | None:
        """New less old."""
        return None if self.old is None or self.new is None else self.new.value - self.old.value

    @property
    def allowed(self) -> float | None:
        """How large the difference may be, see RULE."""
        if self.old is None or self.new is None:
            return None
        return max(self.old.half, 0.0) + max(self.new.half, 0.0) + ROUNDING * abs(self.new.value)

    @property
    def inside(self) -> bool:
        """Whether it agrees."""
        difference, allowed = self.difference, self.allowed
        return difference is not None and allowed is not None and abs(difference) <= allowed


def compared(old: Results, new: Results) -> tuple[Row, ...]:
    """Every number of either side beside its counterpart.

    Args:
        old: the enclosed results.
        new: the same computed again.
    """
    return beside(numbers(old), numbers(new))


def beside(old: Iterable[Number], new: Iterable[Number]) -> tuple[Row, ...]:
    """Numbers beside their counterparts of the same name.

    Args:
        old: the enclosed ones.
        new: those computed again.
    """
    before, after = _named(old), _named(new)
    names = dict.fromkeys((*before, *after))
    return tuple(Row(name, before.get(name), after.get(name)) for name in names)


def _named(found: Iterable[Number]) -> dict[str, Number]:
    """Numbers by name; the second one of a name is told from the first."""
    seen: Counter[str] = Counter()
    named = {}
    for number in found:
        seen[number.name] += 1
        count = seen[number.name]
        named[number.name if count == 1 else f"{number.name} ({count})"] = number
    return named


def identity(old: Results, new: Results) -> Iterator[str]:
    """What beside the numbers disagrees between the enclosed results and the enclosed detail, in a sentence each.

    Args:
        old: the enclosed results.
        new: what the enclosed detail gives.
    """
    if old.input_hash != new.input_hash:
        known = old.version != new.version
        hint = f"; version {old.version} may have read it otherwise than {new.version}" if known else ""
        yield f"the enclosed detail file is not the input of the enclosed results: its fingerprint differs{hint}"
    for what in ("title", "junction", "project", "revision"):
        before, after = getattr(old, what), getattr(new, what)
        if before != after:
            yield f"the {what} of the enclosed results is {before[:60]!r}, that of the detail file {after[:60]!r}"
    if old.critical != new.critical:
        yield "the critical months of the enclosed results are not those of the climate"
    yield from off_middle(numbers(old))
    if altered_limits(old.requirements, new.requirements):
        yield "the limits of the enclosed results are not those of the detail file"
        return
    yield from other_verdicts(old.requirements, new.requirements)
    yield from _other_margins(old, new)


def off_middle(found: Iterable[Number]) -> Iterator[str]:
    """Numbers that do not lie in the middle of their brackets, in a sentence each.

    Args:
        found: enclosed numbers.
    """
    for number in found:
        if number.kind == "bracket" and not _in_the_middle(number):
            yield f"{number.name} does not lie in the middle of its bracket in the enclosed results"


def altered_limits(old: Sequence[RequirementRecord], new: Sequence[RequirementRecord]) -> bool:
    """Whether the enclosed limits are others than those of the enclosed file.

    Args:
        old: the enclosed ones.
        new: those of the file.
    """
    return [_asked(one) for one in old] != [_asked(one) for one in new]


def other_verdicts(old: Sequence[RequirementRecord], new: Sequence[RequirementRecord]) -> Iterator[str]:
    """Limits that are kept on one side only, in a sentence each.

    Args:
        old: the enclosed ones.
        new: the same, computed again.
    """
    for before, after in zip(old, new, strict=True):
        if before.certain and after.certain and before.met != after.met:
            verdicts = [("met" if one.met else "not met") for one in (before, after)]
            yield f"the limit {before.name[:60]!r} is {verdicts[0]} in the report and {verdicts[1]} when computed again"


def _other_margins(old: Results, new: Results) -> Iterator[str]:
    """Margins to a climate that are kept on one side only, in a sentence each."""
    margins = dict(new.margins)
    for name, one in old.margins:
        again = margins.get(name, one)
        if one.certain and again.certain and one.met != again.met:
            verdicts = [("kept" if it.met else "not kept") for it in (one, again)]
            yield f"the margin of {name[:60]} is {verdicts[0]} in the report and {verdicts[1]} when computed again"


def _asked(one: RequirementRecord) -> tuple[object, ...]:
    return one.name, one.quantity, one.dimensions, one.sense, one.limit, one.source


def _in_the_middle(number: Number) -> bool:
    off = number.value - 0.5 * (number.lower + number.upper)
    return number.lower <= number.upper and abs(off) <= ROUNDING * (abs(number.value) + number.upper - number.lower)


def changed_rows(rows: Iterable[Material]) -> tuple[str, ...]:
    """How the catalogue of today differs from the enclosed rows, in a sentence each.

    Args:
        rows: the enclosed ones.
    """
    found = []
    for row in rows:
        now = catalogue().get(row.name)
        if now is None:
            found.append(f"{row.name!r} is no longer in the catalogue")
        elif now != row:
            changes = [
                f"{field.name.replace('_', ' ')} {getattr(row, field.name)} is {getattr(now, field.name)} today"
                for field in fields(Material)
                if field.name != "source" and getattr(now, field.name) != getattr(row, field.name)
            ]
            found.append(f"{row.name!r}: {', '.join(changes) or 'the source is worded otherwise today'}")
    return tuple(found)
