"""From what validation finds to what the person at the desk reads; part of reading a detail file."""

from __future__ import annotations

import re
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from bridge2d.detail_blocks import HEAD
from bridge2d.detail_text import Source
from bridge2d.errors import InputError, QuantityError, nearest
from bridge2d.junctions.declaration import Parameters, describe
from bridge2d.toml_lines import Path as KeyPath

_MARK = re.compile(r"\[key\]$|(literal|function-[a-z]+|union|tagged-union)\[")
"""What validation puts into a path to say which of several types it tried."""


def unknown_key(path: KeyPath, known: tuple[str, ...], source: Source) -> InputError:
    """The message for a key that is not known.

    Args:
        path: way to the key.
        known: the keys that would be right there.
        source: the file.
    """
    key = str(next(k for k in reversed(path) if isinstance(k, str)))
    like = nearest(key, known)
    right = f"did you mean {like!r}?" if like else f"known are {', '.join(known)}"
    return source.error(path, f"unknown key {key[:60]!r}", right)


def findings(error: ValidationError) -> list[ErrorDetails]:
    """What validation found; our own messages first, since a choice of types is refused once per type."""
    return sorted(error.errors(include_url=False), key=lambda one: "error" not in (one.get("ctx") or {}))


def explained(one: ErrorDetails, model: type[BaseModel], prefix: KeyPath, source: Source) -> InputError:
    """One finding of the validation as a message.

    Args:
        one: the finding.
        model: what was validated.
        prefix: way from the top of the file to what was validated.
        source: the file.
    """
    loc = tuple(one["loc"])
    context = one.get("ctx") or {}
    cause = context.get("error")
    if isinstance(cause, QuantityError):
        words = _words_of(model, loc) if "material" in cause.message else ""
        right = _declared_limits(model, loc, source) if "beyond what is allowed" in cause.message else ""
        path = _without_marks((*prefix, *loc)) + cause.path
        return source.built_error(path, cause.message, (right or cause.right) + words)
    owner = _model_at(model, loc[:-1])
    path = _without_marks((*prefix, *loc))
    if one["type"] == "extra_forbidden":
        known = tuple(owner.model_fields) + (HEAD if path == loc and len(loc) == 1 else ())
        return unknown_key(path, known, source)
    declared = owner.model_fields.get(str(loc[-1])) if loc else None
    right = source.units.sentence((declared.description if declared else "") or "")
    if one["type"] == "missing":
        return source.error(path[:-1], f"the key {loc[-1]} is missing", right)
    if one["type"] == "literal_error":
        return source.error(path, f"{one['input']!r:.60} is not known", f"write {context.get('expected', '')}")
    return source.error(path, *_wrong_type(one, path, right))


def _declared_limits(model: type[BaseModel], loc: tuple[str | int, ...], source: Source) -> str:
    """What a parameter's own limits allow; empty where it has none."""
    if len(loc) != 1 or not issubclass(model, Parameters):
        return ""
    system = source.units.system
    limits = next((info.limits_in(system) for info in describe(model) if info.name == loc[0]), "")
    return f"give {limits}" if limits else ""


def _wrong_type(one: ErrorDetails, path: KeyPath, right: str) -> tuple[str, str]:
    """What to say of a value of the wrong type, and what would be right."""
    key = str(path[-1]) if path else ""
    if one["type"] in ("tuple_type", "model_type", "model_attributes_type"):
        name = str(path[0])
        return f"stands where [[{name}]] blocks are expected", f"head each block with [[{name}]] in double brackets"
    if one["type"] == "dict_type":
        return "is not a table", right or f"write [{key}] on a line of its own, its keys below it"
    if one["type"] == "bool_type":
        return "is neither true nor false", f"write {key} = true or {key} = false, without quotes"
    return f"{one['input']!r:.60} does not fit: {one['msg'][:1].lower()}{one['msg'][1:120]}", right


def _without_marks(path: KeyPath) -> KeyPath:
    """The path without what validation adds to it and the file does not hold."""
    return tuple(k for k in path if not (isinstance(k, str) and _MARK.match(k)))


def _words_of(model: type[BaseModel], loc: KeyPath) -> str:
    """The words that may stand where a material is expected, such as "air"."""
    declared = model.model_fields.get(str(loc[0])) if loc else None
    parts = get_args(declared.annotation) if declared else ()
    words = [f'"{word}"' for part in parts if get_origin(part) is Literal for word in get_args(part)]
    return f"; {' or '.join(words)} may stand here too" if words else ""


def _model_at(model: type[BaseModel], loc: KeyPath) -> type[BaseModel]:
    """The model that holds the last key of a path."""
    for key in loc:
        declared = model.model_fields.get(str(key))
        if declared is not None:
            model = _inner_model(declared.annotation) or model
    return model


def _inner_model(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for one in get_args(annotation) if (found := _inner_model(one))), None)
