"""Counts a drawing's entities with blocks resolved, on the bare text, before anything is built of it.

A few nested blocks can stand for more entities than any machine holds, and a block may contain itself; a reader that
follows such references does not come back.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping

from bridge2d.errors import InputError

MOST_ENTITIES = 100_000
"""Most entities of a drawing, blocks resolved."""
DEEPEST = 50
"""Deepest nesting of blocks."""
SPACE = ""
"""Stands for what is drawn directly, in no block."""


def refuse_too_many(data: bytes, file: str) -> None:
    """Refuse a drawing of too many entities, or with a block that contains itself.

    Args:
        data: the bytes of a DXF file in text form.
        file: its name, for messages.

    Raises:
        InputError: there are more than `MOST_ENTITIES`, or blocks are nested without end.
    """
    own, inserts = _counted(data)
    known: dict[str, int] = {}

    def count(name: str, around: tuple[str, ...]) -> int:
        if name in around or len(around) > DEEPEST:
            right = "take it out of its own definition"
            raise InputError(f"the block {name[:60]!r} contains itself or is nested too deeply", file=file, right=right)
        if name not in known:
            inner = inserts.get(name, Counter())
            known[name] = own[name] + sum(n * (1 + count(one, (*around, name))) for one, n in inner.items())
        return known[name]

    number = max(count(name, ()) for name in (SPACE, *inserts))
    if number > MOST_ENTITIES:
        right = f"a drawing may have {MOST_ENTITIES}; keep only the section that is to be computed"
        raise InputError(f"the drawing has {number} entities, blocks resolved", file=file, right=right)


def _counted(data: bytes) -> tuple[Counter[str], Mapping[str, Counter[str]]]:
    """Entities and inserts of each block, and of what is drawn in none, by the block's name."""
    own: Counter[str] = Counter()
    inserts: dict[str, Counter[str]] = defaultdict(Counter)
    block, kind, name, times = SPACE, b"", "", 1
    lines = data.splitlines()
    for code, value in zip(map(bytes.strip, lines[::2]), map(bytes.strip, lines[1::2]), strict=False):
        if code == b"0":
            if kind == b"INSERT":
                inserts[block][name] += times
            own[block] += 1
            kind, name, times = value, "", 1
            block = SPACE if value == b"ENDBLK" else block
        elif code == b"2" and kind in (b"BLOCK", b"INSERT"):
            name = value.decode("utf-8", "replace").casefold()
            block = name if kind == b"BLOCK" else block
        elif code in (b"70", b"71") and kind == b"INSERT" and value[:6].isdigit():
            times *= max(int(value[:6]), 1)
    return own, inserts
