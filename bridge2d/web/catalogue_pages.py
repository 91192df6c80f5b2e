"""The pages of what is chosen from: the catalogue of materials, and the named sets of limits."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from bridge2d.errors import InputError
from bridge2d.shown_units import DisplayUnits
from bridge2d.units import INCH_POUND, SI
from bridge2d.web.edits import source_of
from bridge2d.web.site import Site


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
        found = find(word)
        rows = [(one, source_of(one.name)) for one in found]
        template = "material_rows.html" if "hx-request" in request.headers else "materials.html"
        back = back if back.startswith("/detail/") else ""
        return self.site.page(request, template, rows=rows, word=word, field=field, back=back, count=len(found))

    def limits(self, request: Request) -> Response:
        """The named sets of limits, or those that a word finds, with their sources."""
        from bridge2d.listings import limit_text
        from bridge2d.requirement_sets import matching

        word = request.query_params.get("word", "")[:80]
        units = INCH_POUND if request.query_params.get("units") == INCH_POUND else SI
        shown, message = DisplayUnits(units), ""
        try:
            found = matching(word)
        except InputError as error:
            found, message = (), f"{error.message}; {error.right}"
        sets = [
            {
                "name": one.name,
                "title": one.title,
                "applies": shown.sentence(one.applies, both=True),
                "known": {True: "read", False: "remembered", None: ""}[one.read],
                "limits": [
                    (limit_text(limit, shown), limit.name, shown.sentence(limit.source, both=True))
                    for limit in one.requirements
                ],
            }
            for one in found
        ]
        return self.site.page(request, "limits.html", sets=sets, word=word, units=units, message=message)
