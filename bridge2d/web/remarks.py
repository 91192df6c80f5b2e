"""Remarks of a file that a change of it would have taken along, put back to what they stand before.

tomlkit reckons remarks after the last line of a block to that block, although they are about what follows. Where a
block is taken out, they go with it.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from difflib import SequenceMatcher


def with_remarks(old: str, new: str) -> str:
    """A changed text with the remarks of the old one that stood before a block or at the end and are missing.

    Args:
        old: TOML.
        new: the same after a change.
    """
    before, after = old.splitlines(keepends=True), new.splitlines(keepends=True)
    missing = _remarks(before) - _remarks(after)
    if not missing:
        return new
    places = {}
    for a, b, size in SequenceMatcher(None, before, after, autojunk=False).get_matching_blocks():
        places.update({a + k: b + k for k in range(size)})
    lost = {k for k, line in enumerate(before) if k not in places and line.strip() in missing}
    runs = [(start, end) for start, end in _runs(before) if lost.intersection(range(start, end))]
    found = list(after)
    for start, end in reversed(runs):
        to = next((places[k] for k in range(end, len(before)) if k in places and before[k].strip()), len(after))
        while to < len(after) and to and _is_remark(after[to - 1]):
            to -= 1
        kept = (before[k] for k in range(start, end) if k in lost or not before[k].strip())
        lines = [line if line.endswith("\n") else f"{line}\n" for line in kept]
        if to and not found[to - 1].endswith("\n"):
            found[to - 1] += "\n"
        found[to:to] = lines
    text = "".join(found)
    return text if _same(text, new) else new


def _runs(lines: list[str]) -> list[tuple[int, int]]:
    """Remarks, each with the blank lines behind it, that stand before a block or at the end."""
    found = []
    start = None
    for number, line in enumerate([*lines, "["]):
        if _is_remark(line):
            start = number if start is None else start
        elif line.strip():
            if start is not None and line.lstrip().startswith("["):
                found.append((start, number))
            start = None
    return found


def _is_remark(line: str) -> bool:
    return line.lstrip().startswith("#")


def _remarks(lines: list[str]) -> Counter[str]:
    """How often each remark stands there."""
    return Counter(line.strip() for line in lines if _is_remark(line))


def _same(one: str, other: str) -> bool:
    try:
        return tomllib.loads(one) == tomllib.loads(other)
    except ValueError:
        return False
