"""The pages of what is chosen from: the catalogue of materials, and the named sets of limits."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from bridge2d.errors import InputError
from bridge2d.listings import limit_text
from bridge2d.requirement_sets import RequirementSet, matching
from bridge2d.shown_units import DisplayUnits
from bridge2d.web.edits import source_of
from bridge2d.web.site import Site, system_of


class CataloguePages:
    """These pages, over one site."""

    def __init__(self, site: Site) -> None:
        """Keep the site."""
        self.site = site

    def materials(self, request: Request) -> Response:
        """The catalogue, or what a word finds in it: a page, or only its rows where htmx asks."""
        from bridge2d.materials import find

        word = request.query_params.get("word", "")[:80]
        field, back = request.query_params.get("field", "")[:80], request.query_params.get("back", "")[:8000]
        found, units = find(word), system_of(request)
        rows = [(one, source_of(one.name, units)) for one in found]
        template = "material_rows.html" if "hx-request" in request.headers else "materials.html"
        back = back if back.startswith("/detail/") else ""
        shown = {"rows": rows, "word": word, "field": field, "back": back, "units": units}
        return self.site.page(request, template, 200, count=len(found), **shown)

    def limits(self, request: Request) -> Response:
        """The named sets of limits, or those that a word finds, with their sources."""
        word, units = request.query_params.get("word", "")[:80], system_of(request)
        shown, message = DisplayUnits(units), ""
        own, files, wrong = self.site.own_sets()
        try:
            found = matching(word, own)
        except InputError as error:
            found, message = (), f"{error.message}; {error.right}"
        sets = [_plain(one, files.get(one.name, ""), shown) for one in found]
        page: dict[str, Any] = {"sets": sets, "word": word, "units": units, "message": message, "wrong": wrong}
        return self.site.page(request, "limits.html", **page)


def _plain(one: RequirementSet, file: str, shown: DisplayUnits) -> dict[str, Any]:
    """A set as its page shows it."""
    return {
        "name": one.name,
        "title": one.title,
        "file": file,
        "applies": shown.sentence(one.applies, both=True),
        "known": {True: "read", False: "remembered", None: ""}[one.read],
        "limits": [
            (limit_text(limit, shown), limit.name, shown.sentence(limit.source, both=True))
            for limit in one.requirements
        ],
    }
