"""The value that just meets the limits: its form, what was found, and the way to the detail that has it."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from bridge2d.detail import DIMENSION_SYSTEMS
from bridge2d.errors import Bridge2dError
from bridge2d.shown_units import DisplayUnits
from bridge2d.variants.asked import LIMITS
from bridge2d.variants.rows import cell, numbers_of, quantity, title
from bridge2d.web.folder import fingerprint
from bridge2d.web.gathering import DOWNLOAD, VariedPages, gather, refuse_incomplete, seconds_of
from bridge2d.web.how import FINEST, how_with
from bridge2d.web.site import download, said
from bridge2d.web.states import State
from bridge2d.web.varying import FIND_OTHERS, Form, choices, first_choice, form_of, movable, usual_range

ROWS = 2
SECONDS = 240.0
"""A search with one value of its second parameter that takes longer is ended."""
MARKS = {"met": "kept", "not met": "missed", "undecided": "undecided"}
"""The verdict that each standing to the limits has on the page."""


class FindPages(VariedPages):
    """These pages, over one site."""

    part = "find"

    def find(self, request: Request) -> Response:
        """The form of a search, and what was found as far as it is known."""
        state = self.state(request)
        form = _form(request)
        if (way_on := self.shortened(request, state, form)) is not None:
            return way_on
        plan, messages, error = self.planned("find_plan", self.task(state)[:3], form)
        found: Sequence[Any] = ()
        if plan is not None:
            try:
                found = self._found(state, form, plan["count"], seconds_of(request))
            except Bridge2dError as wrong:
                error = said(wrong)
        answers = [{**one, **_shown(one, state)} for one in found]
        count = plan["count"] if plan else 0
        page = {"plan": plan, "answers": answers, "count": count, "missing": 0 if error else count - len(answers)}
        page |= {"dimensions": DIMENSION_SYSTEMS, "others": {name: form.other(name) for name in FIND_OTHERS}}
        page |= {"limits": _limit_fields(state, form), "numbers": choices(state, numbers=True)}
        return self.shown(request, state, form if form.pairs() else _begun(state, form), messages, error, **page)

    def find_json(self, request: Request) -> Response:
        """What was found, as `bridge2d find --json` prints it."""
        state, form = self.state(request), _form(request)
        count = self.site.done("find_plan", *self.task(state)[:3], form)["count"]
        found = self._found(state, form, count, DOWNLOAD)
        refuse_incomplete(len(found), count)
        text = json.dumps([one["json"] for one in found], allow_nan=False, indent=2)
        return download(f"{text}\n".encode(), f"{Path(state.name).stem}_find.json", "application/json")

    def _found(self, state: State, form: Form, count: int, seconds: float) -> list[Any]:
        """What is known, and what can be found in so many seconds."""
        arguments, key = (*self.task(state), form), fingerprint(state.text)
        known = self.site.gathered("find_one", *arguments)

        def searched(number: int) -> Any:
            return self.site.workshop.do("find_one", *arguments, number, key=key, seconds=SECONDS)

        gather(known, count, seconds, searched)
        return [known[k] for k in range(count) if k in known]


def _form(request: Request) -> Form:
    return form_of(request.query_params, ROWS, FIND_OTHERS, limited=True)


def _begun(state: State, form: Form) -> Form:
    """The form to begin with: an insulation's thickness, from a quarter to twice of what it is."""
    known = movable(state)
    rows = list(form.rows)
    for name in first_choice(known):
        (first, last), _ = usual_range(state, known[name])
        rows[0] = rows[0]._replace(name=name, first=f"{first:g}", last=f"{last:g}")
    return form._replace(rows=tuple(rows))


def _shown(found: Mapping[str, Any], state: State) -> dict[str, Any]:
    """What the page adds to what was found: links to the details that have it, and all values as a table."""
    shown = DisplayUnits(state.shown)
    names = numbers_of([({}, row) for _, _, row in found["trials"]])
    lines = [
        {
            "value": f"{value:g}",
            "state": MARKS.get(standing, ""),
            "cells": [cell(row, name, shown) for name in names],
            "reason": shown.sentence(row["reason"] or ""),
        }
        for value, standing, row in found["trials"]
    ]
    return {
        "links": [_detail(state, **one) for one in found["crossings"]],
        "names": [title(name, shown) for name in names],
        "lines": lines,
        "trials_count": len(lines),
    }


def _detail(state: State, changes: Mapping[str, Any], tolerance: float) -> str:
    """The address of the detail with the values that were found, and the bracket that decided."""
    typed = {key: words for key, words in state.typed.items() if key[2:].partition(".")[0] not in changes}
    for name, value in changes.items():
        typed[f"p.{name}"] = value if isinstance(value, str) else f"{value:.12g}"
    return replace(state, typed=typed, how=how_with(state.how, max(tolerance, FINEST))).address()


def _limit_fields(state: State, form: Form) -> list[tuple[str, str, str, str]]:
    """Name, label, unit and words of every limit's field."""
    shown, typed = DisplayUnits(state.shown), dict(form.limits)
    found = []
    for name, (of, sense, _) in LIMITS.items():
        unit = shown.unit(quantity(of))
        label = f"{quantity(of).plain_symbol} {'at most' if sense == 'maximum' else 'at least'}"
        found.append((name, label, "" if unit == "1" else unit, typed.get(name, "")))
    return found
