"""The shortest address that a text of a detail has: the fields in which it differs from the file, else the text itself.

text → **address**, the way back of `states`.
"""

from __future__ import annotations

import tomllib
from typing import Any

from bridge2d.errors import InputError
from bridge2d.units import SI, UnitSystem
from bridge2d.web.edits import Document, document, groups
from bridge2d.web.states import State, Texts


def state_of_text(name: str, file_text: str, text: str, texts: Texts, shown: UnitSystem = SI) -> State:
    """The state that a text is, by fields where these say all of it.

    Args:
        name: of the detail file.
        file_text: its text.
        text: another one.
        texts: keep the text where its address cannot hold it.
        shown: units in which the state is shown.
    """
    base, wanted = document(file_text), document(text)
    units = shown if shown != base.system else None
    if wanted.system == base.system and not base.blocks:
        known, asked = _fields(base), _fields(wanted)
        typed = {key: words for key, words in asked.items() if words != known.get(key, words)}
        if units is None:
            state = State(name, base, typed=typed)
            try:
                if _read(state.text) == wanted.data:
                    return state
            except InputError:
                pass
    if text == file_text:
        return State(name, base, units=units)
    return State(name, wanted, texts.key(text), units=shown if shown != wanted.system else None)


def _fields(of: Document) -> dict[str, str]:
    """What every field says, those of a material's own value among them."""
    found: dict[str, str] = {}
    for group in groups(of, of.system):
        for one in group.fields:
            found[one.key] = one.value
            if one.kind == "material":
                found[f"{one.key}.conductivity"], found[f"{one.key}.basis"] = one.own
    return found


def _read(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except ValueError as error:
        raise InputError(str(error)) from None
