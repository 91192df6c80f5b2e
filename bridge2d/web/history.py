"""Where visitors have been: what undo and redo lead to, and the last state that could be drawn."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock
from urllib.parse import parse_qsl, urlencode

KEPT_STATES = 200
"""So many steps of a history, and so many histories, are kept."""


class History:
    """Where each visitor has been on each detail's page, for undo and redo, and the last state that could be drawn."""

    def __init__(self) -> None:
        """Nothing visited yet."""
        self._visits: OrderedDict[tuple[str, str], tuple[list[str], int]] = OrderedDict()
        self._good: OrderedDict[tuple[str, str], str] = OrderedDict()
        self._lock = Lock()

    def visited(self, visitor: str, name: str, query: str) -> tuple[str | None, str | None]:
        """Note a visit; the queries that undo and redo lead to, None where there is nothing.

        Args:
            visitor: whose history it is.
            name: of the file.
            query: of the state's address.
        """
        with self._lock:
            steps, at = self._visits.pop((visitor, name), ([""], 0))
            if query != steps[at]:
                if at > 0 and steps[at - 1] == query:
                    at -= 1
                elif at + 1 < len(steps) and steps[at + 1] == query:
                    at += 1
                else:
                    steps = [*steps[: at + 1], query][-KEPT_STATES:]
                    at = len(steps) - 1
            self._visits[visitor, name] = (steps, at)
            while len(self._visits) > KEPT_STATES:
                self._visits.popitem(last=False)
            return (steps[at - 1] if at else None), (steps[at + 1] if at + 1 < len(steps) else None)

    def saved(self, visitor: str, name: str, states: tuple[str, str], texts: tuple[str, str]) -> None:
        """Note that a file has another text, so that undo and redo of everybody mean what they meant before.

        Queries say what differs from the file; those that were made from the text before it name that text.

        Args:
            visitor: who saved.
            name: of the file.
            states: query of the state that was saved, and the query that means it now.
            texts: the address's words for the text before and for the new one, see `Texts.key`.
        """
        before, after = states
        with self._lock:
            for (who, file), (steps, at) in list(self._visits.items()):
                if file != name:
                    continue
                rebased = [_rebased(one, *texts) for one in steps]
                if who == visitor and steps[at] == before:
                    rebased[at] = after
                self._visits[who, file] = (rebased, at)
            for (who, file), query in list(self._good.items()):
                if file == name:
                    self._good[who, file] = _rebased(query, *texts)
        self.visited(visitor, name, after)

    def good(self, visitor: str, name: str, query: str | None = None) -> str:
        """The query of the last state that could be drawn; the file's own where there was none.

        Args:
            visitor: whose history it is.
            name: of the file.
            query: of a state that was just drawn; None only asks.
        """
        with self._lock:
            if query is not None:
                self._good[visitor, name] = query
                while len(self._good) > KEPT_STATES:
                    self._good.popitem(last=False)
            return self._good.get((visitor, name), "")


def _rebased(query: str, old: str, new: str) -> str:
    """A query that means the same state once the file has the new text."""
    pairs = parse_qsl(query, keep_blank_values=True)
    base = dict(pairs).get("t", old)
    rest = [(key, words) for key, words in pairs if key != "t"]
    return urlencode(rest if base == new else [("t", base), *rest])
