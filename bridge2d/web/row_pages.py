"""A building's junctions as a form: which detail, how much of it; rows that come and go; a new building."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from bridge2d.errors import Bridge2dError, InputError
from bridge2d.web.building_pages import refuse_outside
from bridge2d.web.building_rows import (
    HEAD,
    KEYS,
    MOST_ROWS,
    SYSTEMS,
    Row,
    edited_building,
    rows_of,
    rows_typed,
    value_of,
    with_messages,
)
from bridge2d.web.folder import fingerprint, toml_name
from bridge2d.web.site import Site, said, see_other


class RowPages:
    """These pages, over one site."""

    def __init__(self, site: Site) -> None:
        """Keep the site."""
        self.site = site

    def new(self, request: Request) -> Response:
        """From a name and chosen details to the form of a building that is not there yet."""
        query = request.query_params
        name, chosen = toml_name(query.get("name", "")), query.getlist("detail")[:MOST_ROWS]
        if not name:
            raise InputError("the building has no name", right="give its file a name")
        if self.site.folder.file(name).exists():
            raise InputError("the file exists already", file=name, right="choose another name")
        known = {one.name for one in self.site.folder.listed() if one.junction}
        pairs = [("new", "yes"), *(("detail", one) for one in chosen if one in known)]
        return see_other(f"/building/{quote(name)}/rows?{urlencode(pairs)}")

    def rows(self, request: Request) -> Response:
        """The form of a building, or of a new one."""
        name, query = request.path_params["name"], request.query_params
        if query.get("new") == "yes" and not self.site.folder.file(name).exists():
            nothing = dict.fromkeys(KEYS, "")
            known = [one.name for one in self.site.folder.listed() if one.junction]
            chosen = [one for one in query.getlist("detail") if one in known][:MOST_ROWS]
            rows = tuple(Row(None, {**nothing, "detail": one}) for one in chosen) or (Row(None, nothing),)
            return self._form(request, {"dimensions": "external"}, rows, "")
        text = self.site.folder.text(name)
        return self._form(request, *rows_of(text), fingerprint(text))

    async def save(self, request: Request) -> Response:
        """Write the rows into the file, or show a row more; what is wrong is told at its field."""
        async with self.site.form(request) as form:
            fields = {key: str(value) for key, value in form.items()}
        return await run_in_threadpool(self._saved, request, fields)

    def _saved(self, request: Request, fields: Mapping[str, str]) -> Response:
        name, seen = request.path_params["name"], fields.get("seen", "")
        head = {key: fields.get(f"head.{key}", "").strip() for key in (*(one for one, _ in HEAD), "dimensions")}
        typed = rows_typed(fields)
        if "more" in fields:
            return self._form(request, head, (*typed, Row(None, dict.fromkeys(KEYS, ""))), seen)
        try:
            text = self.site.folder.text(name) if seen else ""
            if seen and fingerprint(text) != seen:
                right = "open it again to see what it says now"
                raise InputError("the file was changed by somebody else meanwhile", file=name, right=right)
            for key, words in head.items():
                value_of(key, words)  # refused where it is too long
            typed = tuple(_with_readable(one) for one in typed)
            unread = any(one.messages for one in typed)
            written = edited_building(text, head, [_readable(one) for one in typed])
            refuse_outside(self.site, written, name)
            wrong = self.site.done("building_wrong", written, self.site.path(name))
            if wrong or unread:
                typed, others = with_messages(typed, wrong)
                return self._form(request, head, typed, seen, told=others)
            if seen:
                self.site.folder.save(name, written, seen)
            else:
                self.site.folder.add(name, written.encode("utf-8"))
        except Bridge2dError as error:
            return self._form(request, head, typed, seen, told=(said(error),))
        return see_other(f"/building/{quote(name)}?saved={'yes' if seen else 'new'}")

    def _form(
        self, request: Request, head: Mapping[str, str], rows: Sequence[Row], seen: str, told: Sequence[str] = ()
    ) -> Response:
        listed = [one for one in self.site.folder.listed() if one.junction]
        known = {one.name for one in listed}
        page = {
            "name": request.path_params["name"],
            "head": head,
            "heads": HEAD,
            "systems": SYSTEMS,
            "rows": rows,
            "seen": seen,
            "told": told,
            "details": listed,
            "missing": list(dict.fromkeys(r.words["detail"] for r in rows if r.words["detail"] not in (known | {""}))),
        }
        wrong = bool(told) or any(one.messages for one in rows)
        return self.site.page(request, "building_rows.html", 422 if wrong else 200, wrong=wrong, **page)


def _with_readable(row: Row) -> Row:
    """A row with the messages of what no file could say."""
    messages = {}
    for key in KEYS:
        try:
            value_of(key, row.words[key])
        except InputError as error:
            messages[key] = f"{error.message}; {error.right}"
    return replace(row, messages={} if row.gone else messages)


def _readable(row: Row) -> Row:
    """A row without the words that no file could say, so that all else is checked too."""
    return replace(row, words={key: "" if key in row.messages else words for key, words in row.words.items()})
