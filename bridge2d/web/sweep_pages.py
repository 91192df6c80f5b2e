"""Many variants of a detail: their form, the table as it grows, the chart, and their files."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from bridge2d.errors import Bridge2dError, InputError
from bridge2d.shown_units import DisplayUnits
from bridge2d.variants.rows import cell, numbers_of, title
from bridge2d.web.find_pages import MARKS
from bridge2d.web.folder import fingerprint
from bridge2d.web.gathering import DOWNLOAD, VariedPages, gather, refuse_incomplete, seconds_of
from bridge2d.web.site import download, said
from bridge2d.web.states import State
from bridge2d.web.varying import MOST_VARIANTS, SWEEP_OTHERS, Form, first_choice, form_of, movable, usual_range
from bridge2d.web.working import BusyError

ROWS = 3
COUNT = 9
"""Values that a form begins with."""
LEAST = 1e-6
"""So long a further piece may be begun in any case [s]."""
SECONDS = 30.0
"""A variant that takes longer is ended."""
FILES = {
    "csv": "text/csv",
    "about.csv": "text/csv",
    "parquet": "application/octet-stream",
    "chart.pdf": "application/pdf",
    "chart.svg": "image/svg+xml",
}


class SweepPages(VariedPages):
    """These pages, over one site."""

    part = "sweep"

    def sweep(self, request: Request) -> Response:
        """The form of a sweep, its rows as far as they are known, and its chart when all are there."""
        state = self.state(request)
        form = _form(request)
        if (way_on := self.shortened(request, state, form)) is not None:
            return way_on
        plan, messages, error = self.planned("sweep_plan", self.task(state), form)
        variants: Sequence[Any] = plan["variants"] if plan else ()
        rows: Mapping[int, Any] = {}
        between: Mapping[int, Any] = {}
        count, drawn = len(variants), None
        try:
            rows, between, count = self._all(state, form, variants, seconds_of(request))
            done = count and len(rows) + len(between) == count
            drawn = self._drawn(state, form, rows, between) if done else None
        except Bridge2dError as wrong:
            error = said(wrong)
        page: dict[str, Any] = {
            "count": count,
            "missing": 0 if error else count - len(rows) - len(between),
            "computed": len(rows) + len(between),
            "what": "variants are" if len(rows) < len(variants) else "variants, with values between them, are",
            "more": len(rows) < len(variants),
            "table": _table(plan, rows, state) if plan else None,
            "drawn": drawn,
            "most": MOST_VARIANTS,
            "others": {name: form.other(name) for name in SWEEP_OTHERS},
            "parquet": find_spec("pyarrow") is not None,
            "of": [(name, words, self.address(state, form.having(of=name))) for name, words in _names(drawn)],
        }
        return self.shown(request, state, form if form.pairs() else _begun(state, form), messages, error, **page)

    def sweep_file(self, request: Request) -> Response:
        """A table or a chart, as `bridge2d sweep` writes it."""
        kind = request.path_params["kind"]
        if kind not in FILES:
            raise InputError("there is no such file of a sweep", right=f"ask for {', '.join(FILES)}")
        state, form = self.state(request), _form(request)
        variants = self.site.done("sweep_plan", *self.task(state), form)["variants"]
        rows, between, count = self._all(state, form, variants, DOWNLOAD)
        refuse_incomplete(len(rows) + len(between), count)
        data = self.site.done("sweep_file", *self.task(state), form, _in_order(rows), _in_order(between), kind)
        ending = "_about.csv" if kind == "about.csv" else f".{kind.removeprefix('chart.')}"
        return download(data, f"{Path(state.name).stem}_variants{ending}", FILES[kind])

    def _all(
        self, state: State, form: Form, variants: Sequence[Any], seconds: float
    ) -> tuple[dict[int, Any], dict[int, Any], int]:
        """The rows, those between them that tell the error of interpolation, and how many there will be of both."""
        begun = time.monotonic()
        rows = self._rows(state, form, variants, seconds)
        if not variants or len(rows) < len(variants):
            return rows, {}, len(variants)
        plain = form.having(of="", limit="")
        between = self.site.done("sweep_plan", *self.task(state), plain, _in_order(rows))["variants"]
        left = max(seconds - (time.monotonic() - begun), LEAST) if seconds else 0.0
        known = self._rows(state, form, between, left, "between")
        return rows, known, len(variants) + len(between)

    def _rows(
        self, state: State, form: Form, variants: Sequence[Any], seconds: float, what: str = ""
    ) -> dict[int, Any]:
        """The rows that are known, and those that can be computed in so many seconds."""
        arguments, key = self.task(state), fingerprint(state.text)
        known = self.site.gathered("sweep_row", *arguments, form.having(of="", limit=""), what)

        def computed(number: int) -> Any:
            try:
                return self.site.workshop.do("sweep_row", *arguments, variants[number], key=key, seconds=SECONDS)
            except BusyError:
                raise
            except Bridge2dError as error:  # one that was ended has its row too, and the others go on
                return {"status": "refused", "reason": str(error)}

        gather(known, len(variants), seconds, computed)
        return dict(known)

    def _drawn(self, state: State, form: Form, rows: Mapping[int, Any], between: Mapping[int, Any]) -> Any:
        return self.site.done("sweep_shown", *self.task(state), form, _in_order(rows), _in_order(between))


def _form(request: Request) -> Form:
    return form_of(request.query_params, ROWS, SWEEP_OTHERS)


def _begun(state: State, form: Form) -> Form:
    """The form to begin with: an insulation's thickness, from a quarter to twice of what it is."""
    known = movable(state)
    rows = list(form.rows)
    for name in first_choice(known):
        (first, last), _ = usual_range(state, known[name])
        rows[0] = rows[0]._replace(name=name, first=f"{first:g}", last=f"{last:g}", number=str(COUNT))
    return form._replace(rows=tuple(rows))


def _names(drawn: Any) -> list[tuple[str, str]]:
    return drawn["names"] if drawn else []


def _in_order(rows: Mapping[int, Any]) -> list[Any]:
    return [rows[k] for k in range(len(rows))]


def _table(plan: Mapping[str, Any], rows: Mapping[int, Any], state: State) -> dict[str, Any]:
    """The rows so far as text."""
    shown, variants = DisplayUnits(state.shown), plan["variants"]
    known = [(variants[k], rows[k]) for k in sorted(rows)]
    names = numbers_of(known)
    lines = [
        {
            "values": [_said(changes[name]) for name, _ in plan["axes"]],
            "cells": [cell(row, name, shown) for name in names],
            "state": MARKS.get(str(row.get("limits")), ""),
            "reason": shown.sentence(row["reason"] or ""),
        }
        for changes, row in known
    ]
    limited = any(line["state"] for line in lines)
    titles = [title(name, shown) for name in names]
    return {"axes": [label for _, label in plan["axes"]], "names": titles, "lines": lines, "limited": limited}


def _said(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:.9g}"
