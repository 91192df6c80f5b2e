"""The application: addresses and the pages behind them, all of it behind the door of `safety`."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from bridge2d.errors import Bridge2dError
from bridge2d.web.building_pages import BuildingPages
from bridge2d.web.catalogue_pages import CataloguePages
from bridge2d.web.compare_pages import ComparePages
from bridge2d.web.detail_pages import DetailPages
from bridge2d.web.find_pages import FindPages
from bridge2d.web.folder import Folder
from bridge2d.web.other_pages import OtherPages
from bridge2d.web.row_pages import RowPages
from bridge2d.web.safety import Guard, Secrets, TooLargeError, too_large
from bridge2d.web.site import HERE, RefusedError, Site
from bridge2d.web.start_pages import StartPages
from bridge2d.web.sweep_pages import SweepPages
from bridge2d.web.working import Workshop

LARGE = ("/recheck", "/upload")
"""Addresses that take large files."""


def page(folder: Path, token: str, port: int, workshop: Workshop | None = None) -> Guard:
    """The page of a folder.

    Args:
        folder: whose details are shown and saved.
        token: that a visitor has to know.
        port: of its address.
        workshop: processes that compute; some of its own unless given.
    """
    secrets = Secrets(token, port)
    made = workshop or Workshop(spare=1)
    site = Site(Folder(Path(folder)), secrets, made)

    @asynccontextmanager
    async def alive(_: Starlette) -> AsyncIterator[None]:
        try:
            yield
        finally:
            if workshop is None:
                await run_in_threadpool(made.close)

    async def told(request: Request, error: Exception) -> Response:
        assert isinstance(error, Bridge2dError)
        if isinstance(error, RefusedError):
            return site.message(request, error, 403, error.sent)
        return site.message(request, error, 400)

    async def missing(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        if error.status_code not in (404, 405):
            return site.message(
                request, Bridge2dError(f"The request cannot be read: {error.detail}."), error.status_code
            )
        return site.message(request, Bridge2dError("There is no such page."), error.status_code)

    async def overfull(_: Request, error: Exception) -> Response:
        assert isinstance(error, TooLargeError)
        return too_large(error.limit)

    handlers = {Bridge2dError: told, HTTPException: missing, TooLargeError: overfull}
    app = Starlette(routes=_routes(site), lifespan=alive, exception_handlers=handlers)
    return Guard(app, secrets, LARGE)


def _routes(site: Site) -> list[Route | Mount]:
    start, detail, other = StartPages(site), DetailPages(site), OtherPages(site)
    catalogue, comparing = CataloguePages(site), ComparePages(site)
    find, sweep, building, junctions = FindPages(site), SweepPages(site), BuildingPages(site), RowPages(site)
    return [
        Route("/", start.start),
        Route("/card/{name}", start.card),
        Route("/new", start.new, methods=["POST"]),
        Route("/upload", start.upload, methods=["POST"]),
        Route("/file/{name}", start.file),
        Route("/file/{name}/manage", start.manage, methods=["GET"]),
        Route("/file/{name}/before", start.before),
        Route("/file/{name}/rename", start.rename, methods=["POST"]),
        Route("/file/{name}/remove", start.remove, methods=["POST"]),
        Route("/file/{name}/restore", start.restore, methods=["POST"]),
        Route("/recheck", start.recheck, methods=["GET"]),
        Route("/recheck", start.rechecked, methods=["POST"]),
        Route("/materials", catalogue.materials),
        Route("/limits", catalogue.limits),
        Route("/detail/{name}", detail.detail),
        Route("/detail/{name}/point", detail.point),
        Route("/detail/{name}/catalogue", detail.catalogue),
        Route("/detail/{name}/drawing", detail.large),
        Route("/detail/{name}/depends", detail.depends),
        Route("/detail/{name}/report.pdf", detail.report),
        Route("/detail/{name}/section.{ending}", detail.drawing),
        Route("/detail/{name}/detail.toml", detail.toml),
        Route("/detail/{name}/text", detail.text, methods=["POST"]),
        Route("/detail/{name}/save", detail.save, methods=["POST"]),
        Route("/detail/{name}/save", detail.unsaved, methods=["GET"]),
        Route("/detail/{name}/what-if", other.what_if),
        Route("/detail/{name}/curve", other.curve),
        Route("/detail/{name}/find", find.find),
        Route("/detail/{name}/find.json", find.find_json),
        Route("/detail/{name}/sweep", sweep.sweep),
        Route("/detail/{name}/sweep.{kind}", sweep.sweep_file),
        Route("/compare", comparing.compare),
        Route("/compare/comparison.{ending}", comparing.compare_file),
        Route("/building/{name}", building.building),
        Route("/building/{name}/schedule.{kind}", building.building_file),
        Route("/building/{name}/text", building.text, methods=["GET"]),
        Route("/building/{name}/text", building.save, methods=["POST"]),
        Route("/new-building", junctions.new),
        Route("/building/{name}/rows", junctions.rows, methods=["GET"]),
        Route("/building/{name}/rows", junctions.save, methods=["POST"]),
        Route("/token", site.token),
        Mount("/static", StaticFiles(directory=HERE / "static")),
    ]
