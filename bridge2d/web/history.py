"""Where visitors have been: what undo and redo lead to, and the last state that could be drawn.

Each tab of a browser has a history of its own on each detail's page. A tab is known by a word that its page's forms
and links carry; an address alone has none, so that it stays the same for everybody. Where a page sends a tab on to
such an address, `expect` keeps the word until the tab arrives.
"""

from __future__ import annotations

import secrets
from collections import OrderedDict
from dataclasses import dataclass, field
from threading import Lock
from urllib.parse import parse_qsl, urlencode

KEPT_STATES = 200
"""So many steps of a history are kept."""
KEPT_TABS = 400
WAYS = {"prev": -1, "next": 1}
"""Undo and redo, as links say them."""


@dataclass
class _Tab:
    """A tab on one detail's page.

    Attributes:
        visitor: whose browser it is.
        name: of the file.
        steps: queries of the states it has been in.
        at: which of them it is in.
        good: query of the last one that could be drawn.
    """

    visitor: str
    name: str
    steps: list[str] = field(default_factory=lambda: [""])
    at: int = 0
    good: str = ""

    def change(self, query: str) -> None:
        if query != self.steps[self.at]:
            self.steps = [*self.steps[: self.at + 1], query][-KEPT_STATES:]
            self.at = len(self.steps) - 1


class History:
    """Where each tab has been, for undo and redo, and its last state that could be drawn."""

    def __init__(self) -> None:
        """Nothing visited yet."""
        self._tabs: OrderedDict[str, _Tab] = OrderedDict()
        self._expected: OrderedDict[tuple[str, str], str] = OrderedDict()
        self._lock = Lock()

    def known(self, tab: str, visitor: str, name: str) -> bool:
        """Whether a tab is one of this visitor's on this detail's page.

        Args:
            tab: its word.
            visitor: whose browser asks.
            name: of the file.
        """
        with self._lock:
            one = self._tabs.get(tab)
            if one is None or (one.visitor, one.name) != (visitor, name):
                return False
            self._tabs.move_to_end(tab)
            return True

    def expect(self, visitor: str, address: str, tab: str) -> None:
        """Note that a tab is sent on to an address, which cannot name it."""
        with self._lock:
            self._expected[visitor, address] = tab
            self._expected.move_to_end((visitor, address))
            while len(self._expected) > KEPT_TABS:
                self._expected.popitem(last=False)

    def arrived(self, visitor: str, name: str, query: str, address: str, *, again: bool, follows: bool) -> str:
        """The word of a tab that comes to an address; a new one's where it is none that is known.

        Args:
            visitor: whose browser it is.
            name: of the file.
            query: of the state's own address.
            address: that was asked for.
            again: whether the browser loads anew what the tab has shown before.
            follows: whether it comes from a page that belongs to this detail's.
        """
        with self._lock:
            tab = self._expected.pop((visitor, address), "")
            if tab in self._tabs:
                return tab
            mine = [word for word, one in reversed(self._tabs.items()) if (one.visitor, one.name) == (visitor, name)]
            if again:
                been = [word for word in mine if query in self._tabs[word].steps]
                been.sort(key=lambda word: self._tabs[word].steps[self._tabs[word].at] != query)
                for word in been[:1]:
                    one = self._tabs[word]
                    places = [k for k, step in enumerate(one.steps) if step == query]
                    one.at = min(places, key=lambda k: abs(k - one.at))
                    return word
            if follows and mine:
                self._tabs[mine[0]].change(query)
                return mine[0]
            tab = secrets.token_urlsafe(6)
            self._tabs[tab] = _Tab(visitor, name)
            self._tabs[tab].change(query)
            while len(self._tabs) > KEPT_TABS:
                self._tabs.popitem(last=False)
            return tab

    def changed(self, tab: str, query: str) -> None:
        """Note that a tab's state was changed to that of a query: one step more, and nothing to redo."""
        with self._lock:
            self._of(tab).change(query)

    def went(self, tab: str, way: str, query: str) -> None:
        """Note that a tab has undone or redone a step.

        Args:
            tab: its word.
            way: one of `WAYS`.
            query: of the state that the link led to; a step of its own where another one lies that way by now.
        """
        with self._lock:
            one = self._of(tab)
            to = one.at + WAYS[way]
            if 0 <= to < len(one.steps) and one.steps[to] == query:
                one.at = to
            else:
                one.change(query)

    def around(self, tab: str) -> tuple[str | None, str | None]:
        """The queries that undo and redo lead to, None where there is nothing."""
        with self._lock:
            one = self._of(tab)
            after = one.at + 1
            return (one.steps[one.at - 1] if one.at else None), (one.steps[after] if after < len(one.steps) else None)

    def saved(self, tab: str, name: str, states: tuple[str, str], texts: tuple[str, str]) -> None:
        """Note that a file has another text, so that undo and redo of everybody mean what they meant before.

        Queries say what differs from the file; those that were made from the text before it name that text.

        Args:
            tab: that saved.
            name: of the file.
            states: query of the state that was saved, and the query that means it now.
            texts: the address's words for the text before and for the new one, see `Texts.key`.
        """
        before, after = states
        with self._lock:
            for word, one in self._tabs.items():
                if one.name != name:
                    continue
                is_it = word == tab and one.steps[one.at] == before
                one.steps = [_rebased(step, *texts) for step in one.steps]
                one.good = _rebased(one.good, *texts)
                if is_it:
                    one.steps[one.at] = after
            self._of(tab).change(after)

    def good(self, tab: str, query: str | None = None) -> str:
        """The query of the last state of a tab that could be drawn; the file's own where there was none.

        Args:
            tab: its word.
            query: of a state that was just drawn; None only asks.
        """
        with self._lock:
            one = self._of(tab)
            if query is not None:
                one.good = query
            return one.good

    def _of(self, tab: str) -> _Tab:
        """A tab; what was forgotten meanwhile begins anew, and is nobody's."""
        return self._tabs.setdefault(tab, _Tab("", ""))


def _rebased(query: str, old: str, new: str) -> str:
    """A query that means the same state once the file has the new text."""
    pairs = parse_qsl(query, keep_blank_values=True)
    base = dict(pairs).get("t", old)
    rest = [(key, words) for key, words in pairs if key != "t"]
    return urlencode(rest if base == new else [("t", base), *rest])
