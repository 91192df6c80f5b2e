"""What the pages that vary parameters share: their form, and pieces that are gathered from the processes.

A search and a sweep are many tasks. Each answer does some of them: htmx asks again until all are there, and without a
script one answer does as many as it can.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from bridge2d.errors import Bridge2dError, InputError
from bridge2d.solving import plain
from bridge2d.web.site import Site, said, see_other
from bridge2d.web.states import State
from bridge2d.web.varying import Form, choices, infos

AT_ONCE, NO_SCRIPT, DOWNLOAD = 1.0, 45.0, 300.0
"""So long one answer gathers [s]: where htmx asks again, where nobody does, and for a file."""
Task = tuple[Any, ...]
"""Arguments of a task that stand for the detail."""


class VariedPages:
    """What these pages share, over one site."""

    part = ""
    """Of the page's address."""

    def __init__(self, site: Site) -> None:
        """Keep the site."""
        self.site = site

    def state(self, request: Request) -> State:
        """The detail's state.

        Raises:
            InputError: it has no parameters.
        """
        state = self.site.state(request, request.path_params["name"])
        if not infos(state):
            message = "this detail has no parameters that could be varied"
            raise InputError(message, file=state.name, right="take a detail of a junction")
        return state

    def task(self, state: State) -> Task:
        """Text, path, units and how closely it is computed: arguments that all tasks begin with."""
        return state.text, self.site.path(state.name), state.shown, state.solving

    def planned(self, task: str, arguments: Task, form: Form) -> tuple[Any, dict[str, str], str]:
        """What is going to be computed, or what is wrong: messages by their fields, and one that belongs to none."""
        if not form.pairs():
            return None, {}, ""
        try:
            return self.site.done(task, *arguments, form), {}, ""
        except InputError as wrong:
            if wrong.key in form.keys:
                return None, {wrong.key: f"{wrong.message}; {wrong.right}" if wrong.right else wrong.message}, ""
            return None, {}, said(wrong)
        except Bridge2dError as wrong:
            return None, {}, said(wrong)

    def address(self, state: State, form: Form, ending: str = "") -> str:
        """The address of this page, or of a file of it where an ending is given."""
        pairs = [*state.pairs(), *form.pairs()]
        return f"/detail/{state.name}/{self.part}{ending}" + (f"?{urlencode(pairs)}" if pairs else "")

    def shortened(self, request: Request, state: State, form: Form) -> Response | None:
        """The way on to the same address without empty fields, where a form has sent some."""
        empty = {key for key, words in request.query_params.multi_items() if not words.strip()}
        if "hx-request" in request.headers or not empty & form.keys:
            return None
        address = self.address(state, form)
        if request.query_params.get("all") != "yes":
            return see_other(address)
        return see_other(f"{address}{'&' if '?' in address else '?'}all=yes")

    def shown(
        self, request: Request, state: State, form: Form, messages: Mapping[str, str], error: str, **more: Any
    ) -> Response:
        """The page."""
        by_htmx = "hx-request" in request.headers
        page = {
            "state": state,
            "form": form,
            "messages": messages,
            "error": error,
            "choices": choices(state),
            "tolerance": plain(state.solving.tolerance),
            "here": self.address(state, form),
            "file": lambda ending: self.address(state, form, ending),
            **more,
        }
        status = 422 if (messages or error) and not by_htmx else 200
        return self.site.page(request, f"{self.part}.html", status, **page)


def gather(known: dict[int, Any], count: int, seconds: float, done: Callable[[int], Any]) -> None:
    """Do the pieces that are not known, in their order, as long as there is time.

    Args:
        known: pieces by their numbers; new ones are put in.
        count: how many there are.
        seconds: after which no further one is begun [s]; 0 begins none.
        done: does the piece of a number.
    """
    until = time.monotonic() + seconds
    for k in range(count if seconds > 0.0 else 0):
        if k not in known:
            known[k] = done(k)
            if time.monotonic() >= until:
                return


def seconds_of(request: Request) -> float:
    """How long the answer to a request gathers [s]."""
    if "hx-request" in request.headers:
        return AT_ONCE
    return NO_SCRIPT if request.query_params.get("all") == "yes" else 0.0


def refuse_incomplete(found: int, count: int) -> None:
    """Refuse to make a file of a part.

    Args:
        found: so many pieces are there.
        count: so many there are.

    Raises:
        InputError: some are missing.
    """
    if found < count:
        right = "ask for the file again, or wait on the page until all are there"
        raise InputError(f"{found} of {count} are computed so far", right=right)
