"""Checks a validation's PDF: every published case computed again on other meshes, and held against theirs anew.

All steps of a recheck once more, for the document that compares us with the published cases. What is expected and what
is computed both come from the enclosed files; a formula of a standard is evaluated only if our own cases have it too.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field, FiniteFloat, ValidationError

from bridge2d.errors import InputError
from bridge2d.materials import Material, with_rows
from bridge2d.nomenclature import Quantity
from bridge2d.processes import side_by_side
from bridge2d.recheck.again import Mesh, computed_again, text_of
from bridge2d.recheck.compared import beside, changed_rows
from bridge2d.recheck.pages import altered_files, altered_pages, unsaid_words
from bridge2d.recheck.records import Results, malformed, materials, record, unfit
from bridge2d.recheck.stated import MANY, Line, Number, Record
from bridge2d.recheck.volume import VolumeChecked
from bridge2d.recheck.written import pages
from bridge2d.report.enclosures import CASES, RESULTS
from bridge2d.report.verification_pages import fingerprint
from bridge2d.verify.cases import published_cases
from bridge2d.verify.records import Case, Expected, Verified
from bridge2d.verify.running import held_against
from bridge2d.verify.screen import as_json, number

if TYPE_CHECKING:
    from bridge2d.recheck.opened import Opened

DECIMALS = 6
"""Decimals of the numbers on the screen, which have all kinds of units."""


class ExpectedRecord(Record):
    """What is expected of a number; see `verify.records.Expected`."""

    quantity: Line
    label: Line
    unit: Line
    theirs: FiniteFloat
    band: FiniteFloat
    kind: Line
    of: Line
    between: tuple[FiniteFloat, FiniteFloat] | None = Field(strict=False)
    times: FiniteFloat
    subtract: FiniteFloat
    function: Line
    arguments: Annotated[tuple[int | FiniteFloat | Line, ...], Field(max_length=MANY, strict=False)]


class CaseRecord(Record):
    """A case; see `verify.records.Case`."""

    name: Line
    title: Line
    group: Line
    source: Line
    note: Line
    files: Annotated[list[Line], Field(max_length=MANY)]
    tolerance: Annotated[FiniteFloat, Field(gt=0)]
    expected: Annotated[list[ExpectedRecord], Field(max_length=MANY)]

    def case(self, folder: Path) -> Case:
        """The case as a verification has it."""
        expected = tuple(Expected(**dict(one)) for one in self.expected)
        files = tuple(folder / name for name in self.files)
        return Case(self.name, self.title, self.group, self.source, self.note, files, self.tolerance, expected)


class ValueRecord(Record):
    """A number of a case."""

    label: Line
    unit: Line
    value: FiniteFloat
    lower: FiniteFloat | None
    upper: FiniteFloat | None
    tolerance: FiniteFloat | None
    inside: bool

    @property
    def kind(self) -> Literal["bracket", "estimate", "exact"]:
        """How sure it is."""
        if self.lower is not None and self.upper is not None:
            return "bracket"
        return "exact" if self.tolerance is None else "estimate"


class NamedValues(Record):
    """The numbers of a case."""

    name: Line
    title: Line
    values: Annotated[list[ValueRecord], Field(max_length=MANY)]


class Validation(Record):
    """What the `results.json` of a validation holds."""

    title: Line
    version: Line
    fingerprint: Line
    cases: Annotated[list[NamedValues], Field(max_length=MANY)]
    details: dict[str, Results] = Field(default_factory=dict)


@dataclass(frozen=True)
class Task:
    """A case that a process of its own computes.

    Attributes:
        case: what is expected of it.
        texts: of its detail files.
        old: their enclosed results.
        rows: the enclosed rows of the catalogue.
    """

    case: Case
    texts: tuple[str, ...]
    old: tuple[Results, ...]
    rows: tuple[Material, ...]


def cases_checked(opened: Opened) -> VolumeChecked[Validation]:
    """Compute every case of a validation again, and compare.

    Args:
        opened: the PDF.

    Raises:
        InputError: what it encloses is malformed, or cannot be computed.
        MissingLibraryError: gmsh is needed and cannot start.
    """
    old = record(Validation, RESULTS, opened)
    rows = materials(opened)
    tasks = [_task(case, opened, old, rows) for case in _cases(opened)]
    again = side_by_side(computed_case, tasks)
    cases = [one for one, _ in again]
    new = Validation.model_validate({**as_json(cases), "title": old.title, "fingerprint": fingerprint(cases)})
    written = pages(opened)
    named = {"title": old.title, "fingerprint": old.fingerprint, "version": old.version}
    findings = (
        *altered_pages(opened, written.pages),
        *_unprinted(opened, old),
        *unsaid_words(opened.pages, named),
        *altered_files(opened, written),
        *_identity(old, new),
    )
    compared = beside(_numbers(old), _numbers(new))
    meshes = tuple(mesh for _, found in again for mesh in found)
    return VolumeChecked(compared, findings, meshes, changed_rows(rows), old)


def _cases(opened: Opened) -> list[Case]:
    try:
        found = [CaseRecord.model_validate(one).case(opened.path) for one in json.loads(opened.files[CASES])]
    except ValidationError as error:
        raise unfit(CASES, error, opened) from None
    except (ValueError, TypeError, RecursionError) as error:
        raise malformed(CASES, str(error)[:200], opened) from None
    ours = {one.function for case in published_cases() for one in case.expected}
    for case in found:
        for one in case.expected:
            if one.function not in ours:
                raise malformed(CASES, f"the function {one.function[:60]!r} is none of our cases'", opened)
    return found


def _task(case: Case, opened: Opened, old: Validation, rows: tuple[Material, ...]) -> Task:
    names = [path.name for path in case.files]
    for name in names:
        if name not in opened.files or name not in old.details:
            raise malformed(CASES, f"the case {case.name[:40]!r} names {name[:60]!r}, which is not enclosed", opened)
    texts = tuple(text_of(opened, name)[0] for name in names)
    return Task(case, texts, tuple(old.details[name] for name in names), rows)


def computed_case(task: Task) -> tuple[Verified, tuple[Mesh, ...]]:
    """A case computed again, and its meshes.

    Args:
        task: what is computed.

    Raises:
        InputError: its detail file is wrong or cannot be computed, or has not what is expected of it.
        MissingLibraryError: gmsh is needed and cannot start.
    """
    from bridge2d.detail_file import read

    results, meshes = [], []
    for path, text, old in zip(task.case.files, task.texts, task.old, strict=True):
        with with_rows(task.rows):
            result, made = computed_again(read(text, path), old, task.case.tolerance)
        results.append(result)
        meshes += [replace(mesh, section=f"{path.name}: {mesh.section}") for mesh in made]
    try:
        return held_against(task.case, tuple(results)), tuple(meshes)
    except (ValueError, TypeError, LookupError, StopIteration, ArithmeticError) as error:
        where = str(task.case.files[0].parent if task.case.files else CASES)
        message = f"the case {task.case.name[:40]!r} has not what is expected of it ({type(error).__name__})"
        raise InputError(message, file=where) from None


def _numbers(found: Validation) -> Iterator[Number]:
    for case in found.cases:
        for one in case.values:
            quantity = Quantity(f"{case.name} {one.label}", one.label, one.label, one.unit, DECIMALS)
            off = one.tolerance or 0.0
            lower = one.value - off if one.lower is None else one.lower
            upper = one.value + off if one.upper is None else one.upper
            yield Number(f"{case.name}: {one.label}", one.kind, quantity, one.value, lower, upper)


def _unprinted(opened: Opened, old: Validation) -> Iterator[str]:
    """Enclosed numbers that no page says, in a sentence each."""
    text = "".join("".join(page.words.split()) for page in opened.pages)
    for case in old.cases:
        for one in case.values:
            for value in (one.value, one.lower, one.upper):
                if value is not None and number(value) not in text:
                    yield f"no page says {case.name}: {one.label[:40]} {number(value)}, as the enclosed results do"


def _identity(old: Validation, new: Validation) -> Iterator[str]:
    """What beside the numbers disagrees between the enclosed numbers and the enclosed cases, in a sentence each."""
    if old.fingerprint != new.fingerprint:
        yield "the enclosed cases are not the input of the enclosed numbers: the fingerprint differs"
    if [_labels(one) for one in old.cases] != [_labels(one) for one in new.cases]:
        yield "the numbers of the enclosed results are not those of the enclosed cases"
        return
    for one, other in zip(old.cases, new.cases, strict=True):
        for before, after in zip(one.values, other.values, strict=True):
            if before.inside != after.inside:
                words = [("inside" if it.inside else "outside") for it in (before, after)]
                yield f"{one.name}: {before.label} lies {words[0]} its band on the page, {words[1]} when computed again"


def _labels(one: NamedValues) -> Sequence[object]:
    return one.name, one.title, [(value.label, value.unit, value.kind) for value in one.values]
