"""The pages of one detail: form, section, numbers; a pointed place; its files; saving."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import urlencode, urlsplit

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from bridge2d.errors import Bridge2dError, InputError
from bridge2d.materials import catalogue
from bridge2d.units import CONDUCTIVITY, SI
from bridge2d.web.edits import document
from bridge2d.web.fields import plain_number
from bridge2d.web.folder import fingerprint, toml_name
from bridge2d.web.history import WAYS
from bridge2d.web.safety import SMALL_BODY
from bridge2d.web.site import Site, download, paper_of, said, see_other
from bridge2d.web.states import LAYERS, State, changed_from
from bridge2d.web.told import told

DRAWINGS = {
    "dxf": "image/vnd.dxf",
    "svg": "image/svg+xml",
    "dimensions.svg": "image/svg+xml",
    "vtu": "application/octet-stream",
    "json": "application/json",
}
"""Kinds of a section's files by their endings; JSON has the numbers of all sections."""
MOST_TOLD = 12
"""So many wrong fields are told at once."""
REPORT_SECONDS = 90.0
LAYER_NAMES = {
    "materials": "materials",
    "isotherms": "isotherms",
    "heat": "heat-flow lines",
    "dimensions": "dimensions",
    "airtight": "airtight layer",
    "coldest": "coldest points",
}


class DetailPages:
    """The pages of a detail, over one site."""

    def __init__(self, site: Site) -> None:
        """Keep the site."""
        self.site = site

    def detail(self, request: Request) -> Response:
        """The page itself; a change that htmx sends gets a first look, which then asks for the rest."""
        site, name = self.site, request.path_params["name"]
        state = site.state(request, name)
        by_htmx, refined = "hx-request" in request.headers, "x-refine" in request.headers
        own = request.query_params
        if isinstance(state.base.data.get("junction"), list):
            return see_other(f"/building/{name}")
        address = self._address_of(state, own.get("seen", ""))
        tab = self._tab(request, state, refined=refined)
        other = request.url.query != address.partition("?")[2] and "saved" not in own and "as" not in own
        if not by_htmx and (other or "tab" in own):
            address = f"{address}{_more(address)}as=text" if own.get("as") == "text" else address
            site.history.expect(site.visitor(request), address, tab)
            return see_other(address)
        coarse = by_htmx and not refined
        page = self._page(request, state, tab, own.get("seen", ""), coarse=coarse)
        if coarse:
            page.headers["hx-push-url"] = address
        return page

    def _tab(self, request: Request, state: State, *, refined: bool = False) -> str:
        """The tab that asks, with its step noted.

        Args:
            request: that names the tab, or else comes to an address.
            state: that it asks for.
            refined: whether it only asks for more of what it shows.
        """
        site, own, query = self.site, request.query_params, state.query()
        tab, visitor = own.get("tab", ""), site.visitor(request)
        if not site.history.known(tab, visitor, state.name):
            address = request.url.path + (f"?{request.url.query}" if request.url.query else "")
            again = request.headers.get("cache-control", "") in ("max-age=0", "no-cache")
            return site.history.arrived(visitor, state.name, query, address, again=again, follows=_follows(request))
        if own.get("way") in WAYS:
            site.history.went(tab, own["way"], query)
        elif not refined:
            site.history.changed(tab, query)
        return tab

    def _address_of(self, state: State, seen: str) -> str:
        """The address of a state whose fields were made from a text that may no longer be the file's.

        Args:
            state: of the page.
            seen: fingerprint of the text that the fields were made from; empty for the file's.
        """
        address = state.address()
        if not seen or seen == fingerprint(self.site.folder.text(state.name)):
            return address
        return f"{address}{_more(address)}{urlencode({'seen': seen[:64]})}"

    def _page(
        self,
        request: Request,
        state: State,
        tab: str,
        seen: str = "",
        *,
        coarse: bool = False,
        refused: str = "",
        other: str = "",
    ) -> Response:
        """The page of a state.

        Args:
            request: that it answers.
            state: what it shows.
            tab: that it is shown in.
            seen: fingerprint of the text that the fields were made from; empty for the file's.
            coarse: whether a first look is enough.
            refused: why it was not saved.
            other: name that was typed for a new file.
        """
        site, name, own = self.site, state.name, request.query_params
        answer, error = self._answered(state, coarse=coarse)
        before, after = site.history.around(tab)
        last_good = False
        if error is None:
            site.history.good(tab, state.query())
        else:
            answer, last_good = self._last_good(request, state, tab)
        as_text = state.base.blocks or own.get("as") == "text"
        messages, wrong_line = told(error, state, as_text=as_text)
        if messages and not as_text:
            messages |= self._also_wrong(state, messages)
        current = site.texts.stood(site.folder.text(name))
        overtaken = bool(seen) and seen != current
        own_sets, own_files, _ = site.own_sets()
        messages |= _of_own_sets(messages, state, own_files)
        shown = {
            "state": state,
            "answer": answer,
            "last_good": last_good,
            "error": said(error) if error else "",
            "messages": messages,
            "wrong_line": wrong_line,
            "undo": None if before is None else _step(name, before, tab, "prev"),
            "redo": None if after is None else _step(name, after, tab, "next"),
            "tab": tab,
            "here": lambda **other: _with_tab(state.address(**other), tab),
            "as_text": as_text,
            "part": request.headers.get("hx-target") == "sheet",
            "at_fault": [one for group in state.form for one in group.fields if one.key in messages],
            "layers": [(one, LAYER_NAMES[one], one in state.layers) for one in LAYERS],
            "seen": seen or current,
            "overtaken": overtaken,
            "over": self._over(state, seen) if overtaken and refused else "",
            "saved": own.get("saved", ""),
            "refused": refused,
            "other": other,
            "text": _text(state),
            "own_sets": [*own_sets],
            "own_files": list(dict.fromkeys(own_files.values())),
            "conductivity_unit": CONDUCTIVITY.unit_in(state.shown),
            "tables": site.folder.others(".csv"),
            "catalogue": () if state.base.blocks else tuple(catalogue()),
        }
        wrong = refused or (error is not None and "hx-request" not in request.headers)
        return site.page(request, "detail.html", 422 if wrong else 200, **shown)

    def _answered(self, state: State, *, coarse: bool) -> tuple[dict[str, Any] | None, Bridge2dError | None]:
        """Picture and numbers of a state, or what is wrong with it."""
        try:
            arguments, solving = self._arguments(state), state.solving
            if coarse:
                known = self.site.known("answer", *arguments, False, solving)
                if known is not None:
                    return known, None
            key = fingerprint(arguments[0])
            answer = self.site.done("answer", *arguments, coarse, solving, key=key)
        except Bridge2dError as error:
            return None, error
        return answer, None

    def _over(self, state: State, seen: str) -> str:
        """The address of what was changed, without what somebody else has changed meanwhile.

        Args:
            state: that could not be saved.
            seen: fingerprint of the text that its fields were made from.
        """
        try:
            return changed_from(self.site.texts.text(f"h{seen}"), state).address()
        except InputError:  # of a run before this one
            return state.address()

    def _also_wrong(self, state: State, messages: Mapping[str, str]) -> dict[str, str]:
        """What is wrong with other fields that were typed in, by the field: found with those known so far left out."""
        found = dict(messages)
        for _ in range(MOST_TOLD):
            typed = {key: words for key, words in state.typed.items() if not _of_a_field(key, found)}
            how = {key: words for key, words in state.how.items() if key not in found}
            if len(typed) == len(state.typed) and len(how) == len(state.how):
                break
            left = replace(state, typed=typed, how=how)
            try:
                self.site.done("input_hash", left.text, self.site.path(state.name))
                break
            except Bridge2dError as error:
                more, _ = told(error, left)
            if not any(_of_a_field(one, more) for one in typed):
                break
            found |= more
        return found

    def _arguments(self, state: State) -> tuple[Any, ...]:
        return state.text, self.site.path(state.name), state.shown, state.section, state.layers

    def _last_good(self, request: Request, state: State, tab: str) -> tuple[dict[str, Any] | None, bool]:
        """The last picture that could be drawn, or the file's own, of the section and layers that are asked for."""
        for query in dict.fromkeys((self.site.history.good(tab), "")):
            try:
                good = self.site.state(request, state.name, query)
            except Bridge2dError:
                continue
            good = replace(good, section=state.section, layers=state.layers)
            answer, error = self._answered(good, coarse=False)
            if error is None:
                return answer, True
        return None, False

    def catalogue(self, request: Request) -> Response:
        """The way to the catalogue with what stands in the fields, and from there back to its field."""
        state = self.site.state(request, request.path_params["name"])
        back = _with_tab(state.address(), self._tab(request, state))
        asked = {"field": request.query_params.get("field", ""), "back": back}
        if state.shown != SI:
            asked["units"] = state.shown
        return see_other(f"/materials?{urlencode(asked)}")

    # -- a place -------------------------------------------------------------------------------------------------------

    def point(self, request: Request) -> Response:
        """Temperature and material at a place: JSON where it was pointed at, else a page."""
        site, name = self.site, request.path_params["name"]
        state = site.state(request, name)
        unit = 1000.0 if request.query_params.get("unit", "mm") == "mm" else 1.0 / 0.0254
        point = tuple(_number(request.query_params.get(axis, ""), axis) / unit for axis in ("x", "y"))
        text = state.text
        arguments = (text, site.path(name), state.shown, state.section, point, state.solving)
        found = site.done("pointed", *arguments, key=fingerprint(text))
        if "application/json" in request.headers.get("accept", ""):
            return JSONResponse(found)
        return site.page(request, "place.html", found=found, state=state)

    def large(self, request: Request) -> Response:
        """The section by itself, drawn so large that its smallest words can be read on a small screen."""
        state = self.site.state(request, request.path_params["name"])
        answer = self.site.done("answer", *self._arguments(state), False, state.solving, key=fingerprint(state.text))
        tab = request.query_params.get("tab", "")
        layers = [LAYER_NAMES[one] for one in state.layers]
        shown = {"answer": answer, "state": state, "layers": layers, "here": lambda: _with_tab(state.address(), tab)}
        return self.site.page(request, "large.html", **shown)

    def depends(self, request: Request) -> Response:
        """What the result depends on: asked for when the panel is opened, or a page of its own without scripts."""
        site, name = self.site, request.path_params["name"]
        state = site.state(request, name)
        text = state.text
        arguments = (text, site.path(name), state.shown, state.solving)
        found = site.done("depends", *arguments, key=fingerprint(text), seconds=REPORT_SECONDS)
        return site.page(request, "depends.html", found=found, state=state)

    # -- what is taken away --------------------------------------------------------------------------------------------

    def report(self, request: Request) -> Response:
        """The PDF, as `bridge2d report` writes it."""
        site, name = self.site, request.path_params["name"]
        state = site.state(request, name)
        text = state.text
        arguments = (text, site.path(name), state.shown, paper_of(request), state.solving, _asks(request))
        data = site.done("report", *arguments, key=fingerprint(text), seconds=REPORT_SECONDS)
        return download(data, f"{Path(name).stem}.pdf", "application/pdf")

    def drawing(self, request: Request) -> Response:
        """A section as `bridge2d draw` writes it, or all numbers as JSON as `bridge2d solve --json` does."""
        site, name, ending = self.site, request.path_params["name"], request.path_params["ending"]
        if ending not in DRAWINGS:
            raise InputError("there is no such file", right=f"ask for section.{', section.'.join(DRAWINGS)}")
        state = site.state(request, name)
        text = state.text
        arguments = (text, site.path(name), state.shown, state.section, ending, state.solving, _asks(request))
        data = site.done("drawing", *arguments, key=fingerprint(text), seconds=REPORT_SECONDS)
        return download(data, f"{Path(name).stem}.{ending}", DRAWINGS[ending])

    def toml(self, request: Request) -> Response:
        """The detail file of this state."""
        state = self.site.state(request, request.path_params["name"])
        return download(state.text.encode("utf-8"), state.name, "application/toml")

    # -- writing -------------------------------------------------------------------------------------------------------

    async def text(self, request: Request) -> Response:
        """A text that was typed: the way on to the state that it makes."""
        name = request.path_params["name"]
        async with self.site.form(request) as form:
            fields = {key: str(value) for key, value in form.items()}
        state = self._of_text(request, name, fields)
        tab = self._tab_of(request, fields, state)
        address = self._address_of(state, fields.get("seen", ""))
        address += "" if state.base.blocks else f"{_more(address)}as=text"
        self.site.history.expect(self.site.visitor(request), address, tab)
        return see_other(address)

    def _of_text(self, request: Request, name: str, form: Mapping[str, str]) -> State:
        """The state of a text that was typed."""
        typed = form.get("text", "").replace("\r\n", "\n")
        if len(typed.encode("utf-8", "replace")) > min(SMALL_BODY, 2_000_000):
            raise InputError("the text is too long", right="a detail file may have 2 MB")
        state = self.site.state(request, name, form.get("query", ""))
        key = self.site.texts.key(typed) if typed != self.site.folder.text(name) else ""
        return replace(state, base=document(typed), text_key=key, typed={})

    def _tab_of(self, request: Request, form: Mapping[str, str], state: State) -> str:
        """The tab that sends a form, with its step noted."""
        tab, visitor = form.get("tab", ""), self.site.visitor(request)
        if not self.site.history.known(tab, visitor, state.name):
            return self.site.history.arrived(visitor, state.name, state.query(), "", again=False, follows=False)
        self.site.history.changed(tab, state.query())
        return tab

    def unsaved(self, request: Request) -> Response:
        """The detail's page, for the address of a save that was refused."""
        name = request.path_params["name"]
        self.site.folder.there(name)
        return see_other(f"/detail/{name}")

    async def save(self, request: Request) -> Response:
        """Write what stands in the form into the file, or into a new one."""
        from starlette.concurrency import run_in_threadpool

        async with self.site.form(request) as form:
            fields = [(key, str(value)) for key, value in form.multi_items()]
        return await run_in_threadpool(self._saved, request, fields)

    def _saved(self, request: Request, pairs: Sequence[tuple[str, str]]) -> Response:
        site, name, form = self.site, request.path_params["name"], dict(pairs)
        if "text" in form:
            state = self._of_text(request, name, form)
        else:
            own = [(key, words) for key, words in pairs if key not in ("token", "tab", "seen", "other")]
            state = site.state(request, name, urlencode(own))
        tab = self._tab_of(request, form, state)
        seen, other = form.get("seen", ""), form.get("other", "")
        old = site.folder.text(name)
        try:
            text = state.text
            site.done("input_hash", text, site.path(name))  # what cannot be read is not written
            into = toml_name(other)
            if into:
                site.folder.add(into, text.encode("utf-8"))
                return see_other(f"/detail/{into}?saved=new")
            site.folder.save(name, text, seen)
        except Bridge2dError as wrong:
            return self._page(request, state, tab, seen, refused=said(wrong), other=other[:100])
        after = replace(state, base=document(text), text_key="", typed={})
        words = (site.texts.key(old), site.texts.key(text))
        site.history.saved(tab, name, (state.query(), after.query()), words)
        address = after.address()
        address = f"{address}{_more(address)}saved=yes"
        site.history.expect(site.visitor(request), address, tab)
        return see_other(address)


def _of_own_sets(messages: Mapping[str, str], state: State, files: Mapping[str, str]) -> dict[str, str]:
    """Messages at sets that the folder has in a file which the detail does not name."""
    fields = [one for group in state.form for one in group.fields if one.prefix == "s" and one.key in messages]
    return {
        one.key: f"{one.value} is a set of {files[one.value]}; name that file below, as File of own sets"
        for one in fields
        if one.value in files
    }


def _of_a_field(key: str, fields: Mapping[str, str]) -> bool:
    """Whether a name of an address is one of these fields', of a material's own value in one, or of a limit of one."""
    of_limits = tuple(f"{one.rpartition('.')[0]}." for one in fields if one.startswith("r."))
    return key.startswith(of_limits) or any(key == one or key.startswith(f"{one}.") for one in fields)


def _more(address: str) -> str:
    """What parts an address from one more pair."""
    return "&" if "?" in address else "?"


def _with_tab(address: str, tab: str) -> str:
    """An address as the links of a tab have it, so that its undo goes on."""
    return f"{address}{_more(address)}{urlencode({'tab': tab})}"


def _step(name: str, query: str, tab: str, way: str) -> str:
    """The address of an undone or redone state, as a tab's link has it."""
    return _with_tab(_address(name, query), tab) + f"&way={way}"


def _follows(request: Request) -> bool:
    """Whether a request comes from a page that a detail's page leads to and that leads back to it."""
    where = urlsplit(request.headers.get("referer", "")).path
    return where == "/compare" or where.startswith(f"{request.url.path}/")


def _asks(request: Request) -> bool:
    """Whether a file shall say what the result depends on, as `--sensitivities` does."""
    return request.query_params.get("sensitivities") == "yes"


def _number(text: str, key: str) -> float:
    try:
        value = float(plain_number(text.strip()))
    except ValueError:
        value = math.nan
    if not abs(value) < 1e6:
        raise InputError(f"{text[:40]!r} is no coordinate", key=key, right="write a number")
    return value


def _address(name: str, query: str) -> str:
    return f"/detail/{name}" + (f"?{query}" if query else "")


def _text(state: State) -> str:
    try:
        return state.text
    except InputError:
        return state.base.text
