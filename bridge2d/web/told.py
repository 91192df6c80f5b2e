"""What is wrong with a detail, told once: at the field that it belongs to, in words that fit a form.

Messages of `detail_file` speak to who writes TOML: they tell what to quote, which key to add and which command lists
what there is. At a field none of that helps.
"""

from __future__ import annotations

import re
from pathlib import PurePath
from typing import TYPE_CHECKING

from bridge2d.errors import Bridge2dError, InputError
from bridge2d.web.blocks import field_at_fault
from bridge2d.web.further_blocks import further_field_at_fault

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bridge2d.web.fields import Field
    from bridge2d.web.states import State

IN_A_FORM = (
    (r"`bridge2d (materials|requirements)` lists \w+(?: \w+)?", "choose one of the list"),
    (r'add basis = "where the value comes from"', "say beside it where the value comes from"),
    ("add conductivity = 0.14, or leave basis out", "write the conductivity beside it, or take the reason out"),
    (r"is text where a number is expected; write a number", "is no number; write one"),
    (r", without quotes", ""),
    (r'as a number such as ([^"]*), or a text such as "(.*)"$', r"as a number such as \1, or with a unit, such as \2"),
    (r"is not a list; give (.*), in square brackets", r"is one value; give \1, with spaces between them"),
    (r'add dimensions = "external" \(or internal, overall_internal\)', "choose external, internal or overall internal"),
    (r"\bpsi\b", "Ψ"),
    (r"\bf_rsi\b", "fRsi"),
    (r'"', ""),
)
"""Words of a message to who writes TOML, and what a form says instead, in this order."""

LIMITS = re.compile(r"[-0-9.e]+ \S+ (is (?:outside the limits|beyond what .*))")
"""What a message says of a number that is too small or too large."""
NAMING = ("h.requirement_sets", "c.file")
"""Fields that name another file."""


def told(error: Bridge2dError | None, state: State, *, as_text: bool = False) -> tuple[dict[str, str], int | None]:
    """The message by the field that shows it (none where no field does), and the line of the text.

    Args:
        error: what is wrong; None where nothing is.
        state: whose fields they are.
        as_text: whether the page shows the text, and so no fields but those of how it is computed.
    """
    if not isinstance(error, InputError):
        return {}, None
    shown = [one for group in ((state.solved_by,) if as_text else state.form) for one in group.fields]
    if PurePath(error.file or state.name).name != PurePath(state.name).name:  # its line is none of the text's
        naming = next((one for one in shown if one.key in NAMING and _names(one.value, error.file)), None)
        return {naming.key: str(error.in_file(naming.value))} if naming else {}, None
    name = re.split("[.,]", error.key.removeprefix("parameters."))[0]
    wanted = [one.key for one in shown if one.name == name]  # parameters come first
    if not error.key.startswith("parameters."):
        beside = field_at_fault(error.key, error.message) or further_field_at_fault(error.key)
        wanted = [one.key for one in shown if one.key == beside] or wanted
    field = next((one for one in shown if one.key == next(iter(wanted), "")), None)
    if field is None:
        return {}, error.line
    return {field.key: _in_shown_units(error, field, state) or _in_a_form(error, shown)}, error.line


def _in_shown_units(error: InputError, field: Field, state: State) -> str:
    """A message on limits with what was typed, where the file has it in other units than the page; else empty."""
    found = LIMITS.fullmatch(error.message)
    typed = state.typed.get(field.key, "")
    if not found or not field.limits or not typed or state.shown == state.base.system:
        return ""
    unit = f" {field.unit}" if field.unit and typed[-1:].isdigit() else ""
    return f"{typed}{unit} {found[1]}; give {field.limits}"


def _names(value: str, file: str) -> bool:
    """Whether a field's value names a file."""
    parts = PurePath(value).parts
    return bool(parts) and PurePath(file).parts[-len(parts) :] == parts


def _in_a_form(error: InputError, shown: Sequence[Field]) -> str:
    """A message in a form's words, with labels in place of the names of parameters."""
    text = f"{error.message}; {error.right}" if error.right else error.message
    for pattern, words in IN_A_FORM:
        text = re.sub(pattern, words, text)
    labels = {one.name: one.label for one in reversed(shown) if "_" in one.name}
    return re.sub(r"\b[a-z]+(?:_[a-z]+)+\b", lambda name: labels.get(name[0], name[0]), text)
