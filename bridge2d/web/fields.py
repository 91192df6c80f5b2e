"""A field of the page's form, and fields under a heading."""

from __future__ import annotations

import re
from dataclasses import dataclass

from bridge2d.errors import InputError

LONGEST_BARE = 1000.0
"""A bare length of more metres than this was meant in millimetres [m]."""
_THOUSANDS = re.compile(r"[-+]?[1-9][0-9]{0,2},[0-9]{3}")
_DECIMALS = re.compile(r"[-+]?[0-9]+,[0-9]+")


@dataclass(frozen=True)
class Field:
    """A field of the form.

    Attributes:
        name: of the parameter, or of the key at the top of the file.
        kind: "number", "words", "material" or "text".
        label, symbol, unit, limits, help: as declared, in the units that are shown.
        value: what stands in it.
        choices: words that it may be.
        own: conductivity and reason of a material that has its own; empty texts where it has none.
        source: where the value of the material comes from.
        empty: what counts where it is left empty, with its unit; empty where nothing does.
        prefix: of its name in an address: "p" for parameters, "h" for the file's head, others see `blocks`; empty for
            what stands in no file.
    """

    name: str
    kind: str
    label: str
    value: str
    symbol: str = ""
    unit: str = ""
    limits: str = ""
    help: str = ""
    choices: tuple[str, ...] = ()
    own: tuple[str, str] = ("", "")
    source: str = ""
    empty: str = ""
    prefix: str = "p"

    @property
    def key(self) -> str:
        """Its name in an address."""
        return f"{self.prefix}.{self.name}" if self.prefix else self.name


@dataclass(frozen=True)
class Group:
    """Fields under a heading; `closed` ones show their heading alone until they are opened."""

    name: str
    fields: tuple[Field, ...]
    closed: bool = False


def plain_number(words: str) -> str:
    """A typed number with a minus that files have and a decimal point; words that are no number keep their commas.

    A comma that may part thousands stays too, so that whoever reads it can refuse it.

    Args:
        words: as they were typed.
    """
    plain = words.replace("−", "-")
    return plain.replace(",", ".") if _DECIMALS.fullmatch(plain) and not _THOUSANDS.fullmatch(plain) else plain


def refuse_millimetres(metres: float, key: str, otherwise: str) -> None:
    """Refuse a bare length that somebody must have meant in millimetres.

    Args:
        metres: of a junction in its building, as typed.
        key: of its field.
        otherwise: what to write if it is that long or was meant so.

    Raises:
        InputError: it is longer than a junction of one building.
    """
    if metres > LONGEST_BARE:
        right = f"lengths in a building are metres: write {metres / 1000.0:g}, or {otherwise}"
        raise InputError(f"{metres:g} m is longer than a junction of one building", key=key, right=right)
