"""The pages of a building: its schedule with what can be taken away, and its file as text."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from bridge2d.detail_text import Source
from bridge2d.errors import Bridge2dError, InputError
from bridge2d.units import UnitSystem
from bridge2d.web.compare_pages import LONG_SECONDS
from bridge2d.web.folder import OutsideError, fingerprint, toml_name
from bridge2d.web.how import how_group, how_of, solving_of
from bridge2d.web.reached import state_of_text
from bridge2d.web.site import Site, download, paper_of, said, see_other, system_of, system_of_file

KINDS = {
    "pdf": "application/pdf",
    "csv": "text/csv",
    "xlsx": "application/octet-stream",
    "json": "application/json",
}
"""Files of a schedule."""


class BuildingPages:
    """These pages, over one site."""

    def __init__(self, site: Site) -> None:
        """Keep the site."""
        self.site = site

    def building(self, request: Request) -> Response:
        """The schedule of a building; its numbers come afterwards, or at once where `now` asks for it."""
        site, name = self.site, request.path_params["name"]
        path, outside = site.path(name), self._outside(name)
        now = request.query_params.get("now") == "yes" or "hx-request" in request.headers
        title = next((one.title for one in site.folder.listed() if one.name == name), name)
        system = system_of(request)
        found, errors, field_error = None, [outside] if outside else [], ""
        how = how_of({"tolerance": request.query_params.get("tolerance", "")})
        try:
            tolerance = solving_of(how).tolerance
        except InputError as wrong:
            now, field_error = False, f"{wrong.message}; {wrong.right}"
        if now and not outside:
            try:
                found = site.done("scheduled", path, "page", system, "A4", tolerance, seconds=LONG_SECONDS)
            except Bridge2dError as wrong:
                errors = self._all_wrong(name, path) or [said(wrong)]
        details = [self._detail_of(one, system) for one in found["entries"]] if found else []
        saved = request.query_params.get("saved", "")
        page = {
            "name": name,
            "title": title,
            "found": found,
            "errors": errors,
            "system": system,
            "details": details,
            "saved": saved,
            "closely": how_group(how).fields[0],
            "closer": f"&tolerance={quote(how['tolerance'])}" if how else "",
            "field_error": field_error,
        }
        wrong_input = field_error or (errors and "hx-request" not in request.headers)
        return site.page(request, "building.html", 422 if wrong_input else 200, **page)

    def _outside(self, name: str) -> str:
        """That a detail of a building leads out of the folder, or its text cannot be read, in words; else empty."""
        text = self.site.folder.text(name)
        try:
            refuse_outside(self.site, text, name)
        except InputError as wrong:
            return said(wrong)
        return ""

    def _all_wrong(self, name: str, path: str) -> list[str]:
        """All that is wrong with a building which cannot be computed, as far as that is seen before."""
        try:
            return [_told(one) for one in self.site.done("building_wrong", self.site.folder.text(name), path)]
        except Bridge2dError:
            return []

    def _detail_of(self, entry: dict[str, Any], system: UnitSystem) -> str:
        """The address of the detail as the building uses it; empty where a row has none."""
        name = entry["file"]
        if not name:
            return ""
        return state_of_text(name, self.site.folder.text(name), entry["text"], self.site.texts, system).address()

    def building_file(self, request: Request) -> Response:
        """The bound PDF, the table or the workbook of a building."""
        name, kind = request.path_params["name"], request.path_params["kind"]
        if kind not in KINDS:
            raise InputError("there is no such file of a schedule", right="ask for pdf, csv, xlsx or json")
        look = (system_of_file(request), paper_of(request))
        tolerance = solving_of(how_of({"tolerance": request.query_params.get("tolerance", "")})).tolerance
        data = self.site.done("scheduled", self._building(name), kind, *look, tolerance, seconds=LONG_SECONDS)
        return download(data, f"{Path(name).stem}.{kind}", KINDS[kind])

    # -- its file as text ----------------------------------------------------------------------------------------------

    def text(self, request: Request) -> Response:
        """The building file, to be changed."""
        name = request.path_params["name"]
        text = self.site.folder.text(name)
        return self._editor(request, text, fingerprint(text))

    async def save(self, request: Request) -> Response:
        """Write what was typed into the file or into a new one; what is wrong is told above the text, which stays."""
        async with self.site.form(request) as form:
            fields = {key: str(value) for key, value in form.items()}
        return await run_in_threadpool(self._saved, request, fields)

    def _saved(self, request: Request, form: dict[str, str]) -> Response:
        name, other = request.path_params["name"], form.get("other", "").strip()
        typed, seen = form.get("text", "").replace("\r\n", "\n"), form.get("seen", "")
        try:
            into = toml_name(other) or name
            refuse_outside(self.site, typed, name)
            wrong = self.site.done("building_wrong", typed, self.site.path(into))
            if wrong:
                told = [_told(one) for one in wrong]
                return self._editor(request, typed, seen, told, wrong[0]["line"], other)
            if other:
                self.site.folder.add(into, typed.encode("utf-8"))
            else:
                self.site.folder.save(name, typed, seen)
        except Bridge2dError as error:
            line = error.line if isinstance(error, InputError) else None
            return self._editor(request, typed, seen, [said(error)], line, other)
        return see_other(f"/building/{into}?saved={'new' if other else 'yes'}")

    def _editor(
        self, request: Request, text: str, seen: str, told: Sequence[str] = (), line: int | None = None, other: str = ""
    ) -> Response:
        name = request.path_params["name"]
        lines = text.splitlines()
        excerpt = lines[line - 1] if line and line <= len(lines) else ""
        page = {"name": name, "text": text, "seen": seen, "told": told, "line": line, "excerpt": excerpt}
        return self.site.page(request, "building_text.html", 422 if told else 200, other=other, **page)

    def _building(self, name: str) -> str:
        """The path of a building file, none of whose details leads out of the folder."""
        refuse_outside(self.site, self.site.folder.text(name), name)
        return self.site.path(name)


def _told(wrong: Mapping[str, Any]) -> str:
    """A message with its line, as `said` has it."""
    error = InputError(wrong["message"], file=wrong["file"], line=wrong["line"], key=wrong["key"], right=wrong["right"])
    return said(error)


def refuse_outside(site: Site, text: str, name: str) -> None:
    """Refuse a building whose details lead out of the folder.

    Args:
        site: whose folder it is.
        text: of the building.
        name: of its file.

    Raises:
        OutsideError: one of them does; it names the line.
        InputError: the text is nested too deeply to be read.
    """
    try:
        data = tomllib.loads(text)
    except RecursionError:
        raise InputError("this is not TOML", file=name) from None
    except ValueError:
        return  # told with its line where it is read
    junctions = data.get("junction")
    for number, one in enumerate(junctions if isinstance(junctions, list) else ()):
        detail = one.get("detail") if isinstance(one, dict) else None
        if not isinstance(detail, str):
            continue
        try:
            site.folder.file(detail)
        except OutsideError as wrong:
            at, keys = Source(text, Path(name)), ("junction", number, "detail")
            line, key = at.line(keys), at.key(keys)
            raise OutsideError(wrong.message, file=name, line=line, key=key, right=wrong.right) from None
