"""How words of a call are read that several commands have."""

from __future__ import annotations

import argparse
from collections.abc import Callable

MOST_PROCESSES = 256


def whole_number(what: str, most: int) -> Callable[[str], int]:
    """The reader of a whole number from 1 on, for `argparse`.

    Args:
        what: the number is, for the message.
        most: greatest one.
    """

    def read(text: str) -> int:
        if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= most):
            raise argparse.ArgumentTypeError(f"{text[:40]!r} is no {what}; write a whole number from 1 to {most}")
        return int(text)

    return read


processes = whole_number("number of processes", MOST_PROCESSES)
