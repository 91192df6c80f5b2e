"""States of a detail's page: each is an address, made of what differs from the file.

`p.NAME`, `h.NAME` and those of `blocks` carry what was typed, `t` a whole text, `tolerance` and `mesher` how it is
computed, `units`, `section` and `layers` what is shown. An address that only names what is as it would be anyway is
shortened to the same state's one address.
"""

from __future__ import annotations

import base64
import binascii
import re
import zlib
from collections import OrderedDict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from threading import Lock
from typing import Any
from urllib.parse import urlencode

from bridge2d.detail_text import LARGEST_FILE
from bridge2d.errors import InputError
from bridge2d.solving import Solving
from bridge2d.units import SYSTEMS, UnitSystem
from bridge2d.web.edits import LONGEST, Document, document, edited, groups, source_of
from bridge2d.web.fields import Group
from bridge2d.web.folder import fingerprint
from bridge2d.web.how import how_group, how_of, solving_of
from bridge2d.web.typed_units import carried, shown_words

LAYERS = ("materials", "isotherms", "heat", "dimensions", "airtight", "coldest")
USUAL = ("materials", "isotherms", "dimensions", "airtight", "coldest")
"""Layers that are shown unless told otherwise."""
LONGEST_PACKED = 6000
"""A text whose packed form is longer is kept in memory, and only its fingerprint stands in the address."""
KEPT_TEXTS = 300


@dataclass(frozen=True)
class State:
    """A state of a detail's page.

    Attributes:
        name: of the file.
        base: the text that the fields begin with.
        text_key: the address's word for a text other than the file's; empty for the file's.
        typed: what was typed in fields, by their names in an address.
        units: shown; None for the file's own.
        section: drawn; empty for the first.
        layers: of the picture.
        how: what was typed of how it is computed, where it is not as usual, see `how`.
    """

    name: str
    base: Document
    text_key: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    units: UnitSystem | None = None
    section: str = ""
    layers: tuple[str, ...] = USUAL
    how: Mapping[str, str] = field(default_factory=dict)

    @property
    def shown(self) -> UnitSystem:
        """Units of fields and numbers."""
        return self.units or self.base.system

    @cached_property
    def text(self) -> str:
        """The detail's text in this state.

        Raises:
            InputError: what was typed fits into no text.
        """
        return edited(self.base, self.typed, self.shown)

    @property
    def solving(self) -> Solving:
        """How it is computed.

        Raises:
            InputError: what was typed says nothing of the kind.
        """
        return solving_of(self.how)

    @property
    def changed(self) -> bool:
        """Whether it differs from the file."""
        return bool(self.typed or self.text_key)

    def query(self, **other: Any) -> str:
        """The address's query, shortest; empty for the file as it is.

        Args:
            other: attributes that differ from this state's.
        """
        return urlencode(replace(self, **other).pairs() if other else self.pairs())

    def pairs(self) -> list[tuple[str, str]]:
        """The same as pairs."""
        found = [("t", self.text_key)] if self.text_key else []
        found += sorted(self.typed.items()) + sorted(self.how.items())
        found += [("units", self.units)] if self.units and self.units != self.base.system else []
        found += [("section", self.section)] if self.section else []
        found += [("layers", ".".join(self.layers) or "none")] if self.layers != USUAL else []
        return found

    def address(self, part: str = "", **other: Any) -> str:
        """The address of this state, or of a part of it such as "report.pdf"."""
        query = self.query(**other)
        return f"/detail/{self.name}" + (f"/{part}" if part else "") + (f"?{query}" if query else "")

    @cached_property
    def form(self) -> tuple[Group, ...]:
        """The form's groups with what was typed in them."""
        found = []
        for group in groups(self.base, self.shown, self.typed):
            fields = []
            for one in group.fields:
                value = self.typed.get(one.key, one.value)
                value = shown_words(self.base, one.key, value, self.shown) if one.key in self.typed else value
                own = one.own
                if one.kind == "material":
                    if one.key in self.typed and f"{one.key}.conductivity" not in self.typed:
                        own = ("", "")
                    own = (
                        self.typed.get(f"{one.key}.conductivity", own[0]),
                        self.typed.get(f"{one.key}.basis", own[1]),
                    )
                source = source_of(value, self.shown) if one.kind == "material" else ""
                fields.append(replace(one, value=value, own=own, source=source))
            found.append(replace(group, fields=tuple(fields)))
        return (*found, self.solved_by)

    @property
    def kept(self) -> dict[str, str]:
        """What stands in the state for fields that show something else, since it was typed in other units.

        A form sends it along by the field's name with a "k" before it, so that a field that was not touched keeps it.
        """
        fields = ((key, words, shown_words(self.base, key, words, self.shown)) for key, words in self.typed.items())
        return {f"k{key}": words for key, words, display in fields if display != words}

    @property
    def solved_by(self) -> Group:
        """The fields that say how it is computed, open where something is asked for."""
        return how_group(self.how)


class Texts:
    """Texts that were typed and are too long for an address, for as long as the page is served."""

    def __init__(self) -> None:
        """Nothing kept yet."""
        self._kept: OrderedDict[str, str] = OrderedDict()
        self._lock = Lock()

    def key(self, text: str) -> str:
        """The address's word for a text: the text itself, packed, or its fingerprint where that is too long."""
        packed = base64.urlsafe_b64encode(zlib.compress(text.encode("utf-8", "surrogatepass"), 9)).decode().rstrip("=")
        if len(packed) <= LONGEST_PACKED:
            return f"z{packed}"
        return f"h{self.stood(text)}"

    def stood(self, text: str) -> str:
        """The fingerprint of a text, which is kept: one that is too long, or what fields are made from."""
        name = fingerprint(text)
        with self._lock:
            self._kept[f"h{name}"] = text
            self._kept.move_to_end(f"h{name}")
            while len(self._kept) > KEPT_TEXTS:
                self._kept.popitem(last=False)
        return name

    def text(self, key: str) -> str:
        """The text of such a word.

        Raises:
            InputError: there is none.
        """
        if key.startswith("h"):
            with self._lock:
                known = self._kept.get(key)
            if known is None:
                right = "open the detail from the list; a text that long lives only while the page is served"
                raise InputError("the text that this address means is gone", right=right)
            return known
        try:
            packed = base64.urlsafe_b64decode(key[1:] + "=" * (-len(key[1:]) % 4))
            unpacking = zlib.decompressobj()
            data = unpacking.decompress(packed, LARGEST_FILE + 1)
            if len(data) > LARGEST_FILE or not unpacking.eof:
                raise ValueError
            return data.decode("utf-8")
        except (ValueError, zlib.error, binascii.Error):
            raise InputError("the address holds no text", right="open the detail from the list") from None


def state_of(name: str, file_text: str, query: Iterable[tuple[str, str]], texts: Texts) -> State:
    """The state that an address means.

    Args:
        name: of the file.
        file_text: its text.
        query: the address's pairs, also those of a form that was sent off.
        texts: that were typed.

    Raises:
        InputError: the address means none.
    """
    pairs = list(query)
    given = dict(pairs)
    text_key = given.get("t", "")
    text = texts.text(text_key) if text_key else file_text
    if text == file_text:
        text_key = ""
    base = document(text)
    units = next((one for one in SYSTEMS if one == given.get("units")), None)
    layers = _layers(pairs)
    known = State(name, base, text_key, {}, units, given.get("section", "")[:80], layers, how_of(given))
    before = next((one for one in SYSTEMS if one == given.get("typed_in")), known.shown)
    typed = _typed(base, pairs, before)
    if before != known.shown and typed:
        typed = carried(base, typed, before, known.shown)
    return replace(known, typed=typed)


def _layers(pairs: list[tuple[str, str]]) -> tuple[str, ...]:
    ticked = {value for key, value in pairs if key == "layer"}
    if ticked or any(key == "ticked" for key, _ in pairs):
        return tuple(one for one in LAYERS if one in ticked)
    said = next((value for key, value in pairs if key == "layers"), None)
    return USUAL if said is None else tuple(one for one in LAYERS if one in re.split("[.,]", said))


def changed_from(text: str, state: State) -> State:
    """A state with what was typed alone, where its fields were made from an earlier text of the file.

    Args:
        text: that the fields were made from; what stands in it was typed by nobody.
        state: over the file as it is now.
    """
    stood = _standing(document(text), state.shown, state.typed)
    return replace(state, typed={key: words for key, words in state.typed.items() if stood.get(key) != words})


def _standing(base: Document, shown: UnitSystem, given: Iterable[str]) -> dict[str, str]:
    """What fields show of a text, by their names in an address."""
    standing: dict[str, str] = {}
    for group in groups(base, shown, given):
        for one in group.fields:
            standing[one.key] = one.value
            if one.kind == "material":
                standing[f"{one.key}.conductivity"], standing[f"{one.key}.basis"] = one.own
    return standing


def _typed(base: Document, pairs: list[tuple[str, str]], shown: UnitSystem) -> dict[str, str]:
    """What differs from the text: fields that stand as they were are left out."""
    standing = _standing(base, shown, [key for key, _ in pairs])
    kept = {key[1:]: value for key, value in pairs if key.startswith("kp.")}
    found: dict[str, str] = {}
    for key, value in pairs:
        if key[:2] not in ("p.", "h.", "s.", "r.", "c.", "o.", "l."):
            continue
        if key not in standing:
            raise InputError(f"there is no field {key[:60]!r}", right="open the detail from the list")
        words = value.strip()
        if len(words) > LONGEST:
            raise InputError("what was typed is too long", key=key[2:], right=f"at most {LONGEST} letters")
        if key in kept and words == shown_words(base, key, kept[key], shown):
            words = kept[key][:LONGEST]
        if words != standing[key]:
            found[key] = words
        else:
            found.pop(key, None)
    return found
