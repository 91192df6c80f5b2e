"""What is said of the options, from the files and from the call, and what all of them have to agree on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from string import ascii_uppercase
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from bridge2d.comparison.records import Basis, Option
from bridge2d.comparison_block import RIGHT_UNITS, ComparisonBlock, ComparisonTerms
from bridge2d.detail import DIMENSION_SYSTEMS
from bridge2d.errors import InputError, QuantityError
from bridge2d.units import SI, UnitSystem

if TYPE_CHECKING:
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.results import DetailResult

BOTH = "say it in one place, or the same in both"
TEXTS = ("option", "description", "currency", "dimensions", "heating_degree_hours_source")
"""Keys of text; all others are numbers, with or without a unit."""


def gathered(
    loaded: Sequence[LoadedDetail], said: Mapping[str, Sequence[str]], system: UnitSystem = SI
) -> tuple[ComparisonTerms, ...]:
    """The terms of every option: those of its file, and what the call adds.

    Args:
        loaded: the detail files.
        said: words of the call by key of the [comparison] block, one for all options or one for each; empty for an
            option of which nothing is said.
        system: of units of the call; in inch-pound units no bare number is taken, because its key speaks of metres.

    Raises:
        InputError: a word cannot be read, or file and call contradict each other.
    """
    found = []
    for number, one in enumerate(loaded):
        given = one.comparison or ComparisonTerms()
        called = _called(said, number, len(loaded), system)
        for field in fields(ComparisonTerms):
            old, new = getattr(given, field.name), getattr(called, field.name)
            if _is_said(old) and _is_said(new) and old != new:
                message = f"the call says {field.name} {new}, the file says {old}"
                raise InputError(message, file=str(one.path), key="[comparison]", right=BOTH)
            if _is_said(new):
                given = replace(given, **{field.name: new})
        if given.length is not None and given.number is not None:
            raise InputError("both length and number are given", file=str(one.path), right="give one of them")
        found.append(_with_source(given, one))
    return tuple(found)


def _with_source(terms: ComparisonTerms, one: LoadedDetail) -> ComparisonTerms:
    """The terms with where the degree hours stand, if nobody says where they come from."""
    if terms.heating_degree_hours is None or terms.heating_degree_hours_source:
        return terms
    in_file = one.comparison is not None and one.comparison.heating_degree_hours is not None
    where = f"as given in {one.path.name}" if in_file else "as given in the call"
    return replace(terms, heating_degree_hours_source=f"{where}, which names no source")


def _is_said(value: object) -> bool:
    return value is not None and value != ""


def _called(said: Mapping[str, Sequence[str]], number: int, count: int, system: UnitSystem) -> ComparisonTerms:
    """What the call says of one option."""
    words: dict[str, Any] = {}
    for key, values in said.items():
        if not values:
            continue
        if len(values) not in (1, count):
            right = f"give it once for all, or {count} times in the order of the files"
            raise InputError(f"is given {len(values)} times for {count} files", key=_flag(key), right=right)
        word = values[number if len(values) == count else 0]
        if word.strip():  # else nothing is said of this option
            words[key] = _typed(key, word, system)
    try:
        return ComparisonBlock.model_validate(words).terms()
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        cause = (first.get("ctx") or {}).get("error")
        place = cause.path if isinstance(cause, QuantityError) and cause.path else first["loc"]
        key = _flag(str(place[0])) if place else "compare"
        if isinstance(cause, QuantityError):
            raise InputError(cause.message, key=key, right=cause.right) from None
        raise InputError(f"{first.get('input')!r:.60} does not fit", key=key, right=first["msg"]) from None


def _typed(key: str, word: str, system: UnitSystem) -> str | float:
    """A word of the call as the file would have it: a number where it is a plain one."""
    if key in TEXTS:
        return word
    try:
        value = float(word)
    except ValueError:
        return word
    if system != SI and key in RIGHT_UNITS and value:
        raise InputError(f"{word[:40]} has no unit", key=_flag(key), right=f"write {RIGHT_UNITS[key]}")
    return int(value) if key == "number" and value.is_integer() else value


def _flag(key: str) -> str:
    return "--" + key.replace("_", "-")


def named(
    loaded: Sequence[LoadedDetail], results: Sequence[DetailResult], terms: Sequence[ComparisonTerms]
) -> tuple[Option, ...]:
    """The options with their names; letters in order where none is given.

    Raises:
        InputError: two options have one name.
    """
    taken = {one.option for one in terms if one.option}
    letters = (letter for letter in ascii_uppercase if letter not in taken)
    found: list[Option] = []
    for one, result, said in zip(loaded, results, terms, strict=True):
        name = said.option or next(letters)
        twin = next((option for option in found if option.name == name), None)
        if twin is not None:
            message = f"the option is called {name!r}, and so is that of {twin.file}"
            raise InputError(message, file=str(one.path), key="[comparison], option", right="give it another name")
        text = said.description or result.detail.title
        found.append(Option(name, text, one.path.name, one.input_hash, said, one, result))
    return tuple(found)


def agreed(options: Sequence[Option]) -> Basis:
    """What all options share.

    Raises:
        InputError: they contradict each other.
    """
    return Basis(
        dimensions=_dimensions(options),
        heating_degree_hours=_shared(options, "heating_degree_hours", "{:g} kKh/a"),
        lifetime=_shared(options, "lifetime", "{:g} years"),
        currency=_shared(options, "currency", "{}") or "",
        heating_degree_hours_source="; ".join(_sources(options)),
    )


def _sources(options: Sequence[Option]) -> list[str]:
    """Where the degree hours come from, each source once."""
    said = (option.terms.heating_degree_hours_source for option in options if option.terms.heating_degree_hours)
    return [source for source in dict.fromkeys(said) if source]


def _shared(options: Sequence[Option], key: str, form: str) -> Any:
    """A value that may be said once and must not be said differently; None where nobody says it."""
    said = [(option, getattr(option.terms, key)) for option in options if _is_said(getattr(option.terms, key))]
    for option, value in said[1:]:
        first, other = said[0]
        if value != other:
            message = f"option {first.name} has {form.format(other)}, option {option.name} {form.format(value)}"
            right = "options are compared with one and the same value"
            raise InputError(message, key=key, right=right)
    return said[0][1] if said else None


def _dimensions(options: Sequence[Option]) -> str:
    """The dimension system: the one that is said, else the first that all options with a Ψ have."""
    said = _shared(options, "dimensions", "{} dimensions")
    having = [(option, [psi.dimensions for psi in option.result.psi]) for option in options if option.result.psi]
    if not having or (not said and all(option.result.installations for option, _ in having)):
        return said or ""
    for system in [said] if said else DIMENSION_SYSTEMS:
        if all(system in systems for _, systems in having):
            return str(system)
    known = "; ".join(f"{option.name}: {' and '.join(systems)}" for option, systems in having)
    what = f"not every option has a Ψ in {said} dimensions" if said else "the options share no dimension system"
    right = "add the lengths of that system to [[flanking]] lengths; Ψ of different systems cannot be compared"
    raise InputError(f"{what} ({known})", key="dimensions", right=right)
