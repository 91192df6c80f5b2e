"""Frozen records of the published cases: what is expected, and ours beside it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from bridge2d.results import DetailResult

KINDS = {
    "exact": "a closed form, evaluated",
    "published": "read in the public document named",
    "memory": "what a standard or handbook prints, remembered; its text was not read",
    "recomputed": "another method of our own: a comparison, no validation",
}
"""Kinds of expected values, and what each of them is."""
WIDEST = 0.03
"""A bracket wider than this share of an exact value says too little to agree with it."""


@dataclass(frozen=True, slots=True)
class Expected:
    """One number of a case as its source has it.

    Attributes:
        quantity: what of the results it is, a key of `running.QUANTITIES`.
        label: what the table calls it.
        unit: of all its numbers.
        theirs: the value; the middle of `between` where that is given.
        band: how far ours may lie from it; of an exact value, what it is itself in doubt by.
        kind: a key of `KINDS`.
        of: name of the environment, probe or region; empty where there is none.
        between: a range in which the whole bracket has to lie; None for a value.
        times, subtract: ours is (value − subtract)·times.
        function, arguments: of a formula, the module and function of a standard and what it is called with.
    """

    quantity: str
    label: str
    unit: str
    theirs: float
    band: float
    kind: str
    of: str = ""
    between: tuple[float, float] | None = None
    times: float = 1.0
    subtract: float = 0.0
    function: str = ""
    arguments: tuple[float | str, ...] = ()


@dataclass(frozen=True, slots=True)
class Case:
    """A published case.

    Attributes:
        name: short, and of its file.
        title: what the table calls it.
        group: chapter of the table.
        source: where its expected values come from.
        note: what has to be known beside; may be empty.
        files: its detail files; none where it is a formula.
        tolerance: relative width of the bracket [-].
        expected: its numbers.
    """

    name: str
    title: str
    group: str
    source: str
    note: str
    files: tuple[Path, ...]
    tolerance: float
    expected: tuple[Expected, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """Ours: a value, with its bracket or its tolerance where it has one.

    Attributes:
        value: the middle of a bracket, an estimate, or what a formula gives.
        lower, upper: of the bracket; None where there is none.
        tolerance: of an estimate; None where it is none.
    """

    value: float
    lower: float | None = None
    upper: float | None = None
    tolerance: float | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """Ours beside theirs."""

    case: Case
    expected: Expected
    found: Found

    @property
    def ends(self) -> tuple[float, float]:
        """The bracket, or the value twice."""
        lower, upper = self.found.lower, self.found.upper
        value = self.found.value
        return (value if lower is None else lower), (value if upper is None else upper)

    @property
    def difference(self) -> float:
        """Ours less theirs; of a range, how far ours lies beyond it."""
        if self.expected.between is None:
            return self.found.value - self.expected.theirs
        low, high = self.expected.between
        return max(self.ends[1] - high, 0.0) + min(self.ends[0] - low, 0.0)

    @property
    def inside(self) -> bool:
        """Whether ours agrees.

        An exact value has to lie in the bracket, but for what it is itself in doubt by, and the bracket has to be
        narrow; of any other value the bracket as a whole has to lie in the band.
        """
        lower, upper = self.ends
        theirs, band = self.expected.theirs, self.expected.band
        if self.expected.between is not None:
            return self.expected.between[0] <= lower and upper <= self.expected.between[1]
        if self.expected.kind == "exact" and self.found.lower is not None:
            return lower - band <= theirs <= upper + band and upper - lower <= WIDEST * abs(theirs)
        return theirs - band <= lower and upper <= theirs + band


@dataclass(frozen=True, slots=True)
class Verified:
    """A case with its rows, and the results of its files."""

    case: Case
    rows: tuple[Row, ...]
    results: tuple[DetailResult, ...]

    @property
    def inside(self) -> bool:
        """Whether every number agrees."""
        return all(row.inside for row in self.rows)
