"""The page of a comparison: which options, what is said of them, how they are drawn; all of it is the address."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from bridge2d.errors import Bridge2dError, InputError
from bridge2d.solving import Solving
from bridge2d.units import SI, UnitSystem
from bridge2d.web.option_terms import (
    NAMES,
    Row,
    at_fault,
    call,
    changes,
    data_of,
    overridden,
    rows,
    typed_of,
    without,
)
from bridge2d.web.site import Site, download, paper_of, said, see_other, system_of, system_of_file

MOST_OPTIONS = 6
ENDINGS = ("pdf", "json")
"""Of the files of a comparison."""
LONG_SECONDS = 600.0
LAYERS = {
    "materials": "materials and insulation",
    "isotherms": "isotherms",
    "heat": "heat-flow lines",
    "dimensions": "dimensions that differ",
    "airtight": "airtight layer",
    "coldest": "coldest points",
}
"""What the drawings can show, and its name."""
USUAL = ("materials", "isotherms", "airtight", "coldest")
"""Layers that are shown unless told otherwise."""


class Asked(NamedTuple):
    """What an address of the page asks for.

    Attributes:
        wanted: names of files, or addresses of states; the others are held against the first.
        typed: words by name of their field.
        section: that is drawn; empty for the one with the coldest point of those that differ.
        layers: of the drawings.
        system: units that are shown.
        notices: what the address says and the page does not follow.
    """

    wanted: list[str]
    typed: dict[str, str]
    section: str
    layers: tuple[str, ...]
    system: UnitSystem
    notices: tuple[str, ...]

    def query(self, typed: dict[str, str]) -> str:
        """The one query of this state without its units.

        Args:
            typed: fields that say something else than the files.
        """
        pairs = [*(("d", one) for one in self.wanted), *typed.items()]
        pairs += [("section", self.section)] if self.section else []
        pairs += [("layers", ".".join(self.layers))] if self.layers != USUAL else []
        return "&".join(f"{quote(name, safe='.')}={quote(words, safe='.')}" for name, words in pairs)


class ComparePages:
    """These pages, over one site."""

    def __init__(self, site: Site) -> None:
        """Keep the site."""
        self.site = site

    def compare(self, request: Request) -> Response:
        """The choice of options, and those that were chosen side by side."""
        site, asked = self.site, asked_of(request)
        details = [one for one in site.folder.listed() if one.junction and not one.wrong]
        found, error = None, ""
        form: tuple[Row, ...] = ()
        messages: dict[str, str] = {}
        if len(asked.wanted) >= 2:
            try:
                options, form = self._chosen(request, asked)
                texts = [(one.text, one.file, one.solving) for one in options]
                said_of = call(form), asked.section, asked.layers
                found = site.done("comparison", texts, asked.system, "page", *said_of, seconds=LONG_SECONDS)
            except Bridge2dError as wrong:
                key = at_fault(wrong) if isinstance(wrong, InputError) else ""
                error = said(wrong)
                messages = {key: f"{wrong.message}; {wrong.right}"} if key and isinstance(wrong, InputError) else {}
        query = asked.query(changes(form) if form else asked.typed)
        by_units = f"&units={asked.system}" if asked.system != SI else ""
        address = f"/compare?{query}{by_units}"
        sent = "ticked" in request.query_params
        if sent and not asked.notices and not error and "hx-request" not in request.headers:
            return see_other(address)
        page: dict[str, Any] = {"details": details, "asked": asked, "form": form, "query": query, "layers": LAYERS}
        page |= {"found": found, "error": error, "messages": messages, "changed": bool(changes(form))}
        answer = site.page(request, "compare.html", 422 if error else 200, **page)
        if sent and "hx-request" in request.headers:
            answer.headers["hx-push-url"] = address
        return answer

    def compare_file(self, request: Request) -> Response:
        """The comparison's sheet, or its numbers."""
        asked, ending = asked_of(request), request.path_params["ending"]
        if ending not in ENDINGS:
            raise InputError("there is no such file of a comparison", right="ask for comparison.pdf or comparison.json")
        if len(asked.wanted) < 2:
            raise InputError("a comparison needs two details or more", right="choose a second one")
        options, form = self._chosen(request, asked)
        texts = [(one.text, one.file, one.solving) for one in options]
        kind = "json" if ending == "json" else paper_of(request)
        arguments = (texts, system_of_file(request), kind, call(form), asked.section)
        data = self.site.done("comparison", *arguments, seconds=LONG_SECONDS)
        return download(data, f"comparison.{ending}", f"application/{ending}")

    def _chosen(self, request: Request, asked: Asked) -> tuple[list[_Option], tuple[Row, ...]]:
        """The options without what the fields say otherwise, and the fields.

        A second state of one file goes without that file's name for its option.
        """
        found: list[_Option] = []
        for one in asked.wanted:
            name, _, query = one.partition("?")
            state, file = self.site.state(request, name, query), self.site.path(name)
            again = any(other.file == file for other in found)
            found.append(_Option(without(state.text, NAMES) if again else state.text, file, state.solving))
        form = rows(asked.wanted, [data_of(one.text) for one in found], asked.typed, asked.system)
        return [one._replace(text=without(one.text, overridden(form, k))) for k, one in enumerate(found)], form


class _Option(NamedTuple):
    """A state that is compared: its text, path of its file, how it is computed."""

    text: str
    file: str
    solving: Solving


def asked_of(request: Request) -> Asked:
    """What an address asks for.

    Args:
        request: whose address it is.
    """
    query = request.query_params
    given = [one.strip().removeprefix("/detail/") for one in query.getlist("d")]
    wanted, notices = [one for one in dict.fromkeys(given) if one], []
    if len(wanted) > MOST_OPTIONS:
        notices.append(f"At most {MOST_OPTIONS} options are compared; the others are left out.")
        wanted = wanted[:MOST_OPTIONS]
    first = query.get("first", "")
    if first in wanted:
        wanted = [first, *(one for one in wanted if one != first)]
    elif first and wanted:
        notices.append(f"{first.partition('?')[0][:80]} is not chosen, so that {wanted[0]} is the first.")
    layers, unknown = _layers(query.multi_items())
    if unknown:
        notices.append(f"There is no layer {unknown[:40]!r}; the drawings know {', '.join(LAYERS)}.")
    typed, section = typed_of(query.multi_items()), query.get("section", "")[:80]
    return Asked(wanted, typed, section, layers, system_of(request), tuple(notices))


def _layers(pairs: Sequence[tuple[str, str]]) -> tuple[tuple[str, ...], str]:
    """The layers that are wanted, and the first one that there is not."""
    wanted = [words for key, words in pairs if key == "layer"]
    packed = next((words for key, words in pairs if key == "layers"), None)
    if packed is not None and not wanted:
        wanted = packed.split(".") if packed else []
    elif not wanted and not any(key == "drawn" for key, _ in pairs):
        return USUAL, ""
    unknown = next((one for one in wanted if one not in LAYERS), "")
    return tuple(one for one in LAYERS if one in wanted), unknown
