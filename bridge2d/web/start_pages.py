"""The list of details and buildings, new and uploaded files, and the recheck of a PDF."""

from __future__ import annotations

import json
import tempfile
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import Response

from bridge2d.errors import Bridge2dError, InputError
from bridge2d.web.building_pages import refuse_outside
from bridge2d.web.folder import fingerprint, fingerprint_of, holds_sets, toml_name
from bridge2d.web.safety import MEGABYTE
from bridge2d.web.site import Site, download, said, see_other

LARGEST = {".toml": 2 * MEGABYTE, ".dxf": 25 * MEGABYTE, ".csv": 2 * MEGABYTE, ".pdf": 60 * MEGABYTE}
"""Bytes of an uploaded file by its ending."""
RECHECK_SECONDS = 180.0
PIECE = 1 << 18


class StartPages:
    """The pages of the folder, over one site."""

    def __init__(self, site: Site) -> None:
        """Keep the site."""
        self.site = site

    def start(self, request: Request) -> Response:
        """The list. Drawings and verdicts come one by one afterwards, or at once where `all` asks for it."""
        return self._start(request)

    def _start(
        self, request: Request, wrong: Mapping[str, str] | None = None, typed: Mapping[str, str] | None = None
    ) -> Response:
        """The list.

        Args:
            request: that it answers.
            wrong: a message by the form that it belongs to, "new" or "upload".
            typed: what was typed in that form.
        """
        from bridge2d.junctions import junctions

        listed = self.site.folder.listed()
        at_once = request.query_params.get("all") == "yes"
        cards = {one.name: self._card(one.name) for one in listed if at_once and one.junction and not one.wrong}
        titles = {name: junction.title for name, junction in junctions().items()}
        others = self.site.folder.others(".dxf", ".csv")
        brought = request.query_params.get("brought", "")
        return self.site.page(
            request,
            "start.html",
            422 if wrong else 200,
            left_out=self.site.folder.left_out(),
            removed=self.site.folder.removed(),
            details=[one for one in listed if one.kind == "detail"],
            buildings=[one for one in listed if one.kind == "building"],
            sets=[one for one in listed if one.kind == "sets"],
            others=others,
            titles=titles,
            junctions=junctions().values(),
            cards=cards,
            folder=self.site.folder.path.resolve().name,
            brought=brought if brought in others or any(one.name == brought for one in listed) else "",
            gone=self._gone(request.query_params.get("gone", "")),
            wrong=wrong or {},
            typed=typed or {},
        )

    def _gone(self, name: str) -> str:
        """The name of a removed file whose kept version can be put back; empty where there is none."""
        try:
            path = self.site.folder.file(name)
        except InputError:
            return ""
        return name if not path.exists() and path.with_name(f"{name}~").is_file() else ""

    def card(self, request: Request) -> Response:
        """Small drawing and verdicts of one detail."""
        name = request.path_params["name"]
        return self.site.page(request, "card.html", card=self._card(name), name=name)

    def _card(self, name: str) -> dict[str, Any]:
        try:
            text = self.site.folder.text(name)
            return {"wrong": "", **self.site.done("small", text, self.site.path(name), key=fingerprint(text))}
        except Bridge2dError as error:
            return {"wrong": said(error)}

    async def new(self, request: Request) -> Response:
        """A detail to begin with, from a junction."""
        from bridge2d.listings import junction_named, new_file
        from bridge2d.units import INCH_POUND, SI

        async with self.site.form(request) as form:
            typed = {key: str(form.get(key, "")) for key in ("name", "junction", "units")}
        name = toml_name(typed["name"])
        system = INCH_POUND if typed["units"] == INCH_POUND else SI
        try:
            text = new_file(junction_named(typed["junction"]), system)
            self.site.folder.add(name, text.encode("utf-8"))
        except Bridge2dError as wrong:
            return await run_in_threadpool(self._start, request, {"new": said(wrong)}, typed)
        return see_other(f"/detail/{name}")

    async def upload(self, request: Request) -> Response:
        """A detail, a building, a drawing or a climate table into the folder."""
        async with self.site.form(request) as form:
            other = str(form.get("name", "")).strip()[:100]
            try:
                name, data = await _uploaded(form.get("file"), (".toml", ".dxf", ".csv"))
                address = await run_in_threadpool(self._brought, _named(other, name), data)
            except Bridge2dError as wrong:
                return await run_in_threadpool(self._start, request, {"upload": said(wrong)}, {"other": other})
        return see_other(address)

    def _brought(self, name: str, data: bytes) -> str:
        """Put a file into the folder that can be read as what it is; the address that shows it."""
        ending = Path(name).suffix.lower()
        kind = ""
        if ending == ".dxf":
            self.site.workshop.do("drawing_layers", data, name)
        else:
            _refuse_binary(data, name)
        if ending == ".csv":
            self.site.workshop.do("climate_columns", data, name)
        if ending == ".toml":
            kind = self._checked(name, data.decode("utf-8-sig"))
        self.site.folder.add(name, data)
        return f"/detail/{name}" if kind == "detail" else f"/?{urlencode({'brought': name})}"

    def _checked(self, name: str, text: str) -> str:
        """What a TOML file is, after it was read as that."""
        path, kind = self.site.path(name), _kind_of(text)
        if kind == "detail":
            self.site.done("input_hash", text, path)
        elif kind == "building":
            self.site.done("building_keys", text, path)
            refuse_outside(self.site, text, name)
        else:
            self.site.done("limit_sets", text, name)
        return kind

    def file(self, request: Request) -> Response:
        """A file of the folder as it lies there."""
        name = request.path_params["name"]
        return download(self.site.folder.there(name).read_bytes(), name, "application/octet-stream")

    # -- another name, no file any more --------------------------------------------------------------------------------

    def manage(self, request: Request) -> Response:
        """The forms that give a file another name, or take it out of the folder's list."""
        return self._manage(request)

    def _manage(self, request: Request, wrong: str = "", typed: str | None = None) -> Response:
        name = request.path_params["name"]
        data = self.site.folder.there(name).read_bytes()
        page = {"name": name, "seen": fingerprint_of(data), "users": self._users(name), "wrong": wrong}
        new = name if typed is None else typed
        kept = self._kept(name)
        return self.site.page(request, "manage.html", 422 if wrong else 200, new=new, kept=kept, **page)

    def _kept(self, name: str) -> bool:
        """Whether there is a version of a detail before its last save, other than the file."""
        try:
            before = self.site.folder.before(name)
            return _kind_of(before) == "detail" and before != self.site.folder.text(name)
        except InputError:
            return False

    def before(self, request: Request) -> Response:
        """The page of a detail with the text of the version before its last save, not saved."""
        name = request.path_params["name"]
        self.site.folder.there(name)
        text = self.site.folder.before(name)
        return see_other(f"/detail/{name}?{urlencode({'t': self.site.texts.key(text)})}")

    def _users(self, name: str) -> list[str]:
        """Files of the folder that name this one."""
        quoted = (f'"{name}"', f"'{name}'")
        listed = [one.name for one in self.site.folder.listed() if not one.wrong and one.name != name]
        return [one for one in listed if any(words in self.site.folder.text(one) for words in quoted)]

    async def rename(self, request: Request) -> Response:
        """Another name for a file."""
        async with self.site.form(request) as form:
            new, seen = str(form.get("new", "")).strip(), str(form.get("seen", ""))
        name = request.path_params["name"]
        try:
            to = new if Path(new).suffix.lower() in LARGEST else _named(new, name)
            await run_in_threadpool(self.site.folder.rename, name, to, seen)
        except Bridge2dError as wrong:
            return await run_in_threadpool(self._manage, request, said(wrong), new)
        return see_other(f"/?{urlencode({'brought': to})}")

    async def remove(self, request: Request) -> Response:
        """No file any more, but the version that is kept of it."""
        async with self.site.form(request) as form:
            seen = str(form.get("seen", ""))
        name = request.path_params["name"]
        try:
            await run_in_threadpool(self.site.folder.remove, name, seen)
        except Bridge2dError as wrong:
            return await run_in_threadpool(self._manage, request, said(wrong))
        return see_other(f"/?{urlencode({'gone': name})}")

    async def restore(self, request: Request) -> Response:
        """The kept version of a removed file as the file again."""
        async with self.site.form(request):
            name = request.path_params["name"]
        await run_in_threadpool(self.site.folder.restore, name)
        return see_other(f"/?{urlencode({'brought': name})}")

    # -- recheck -------------------------------------------------------------------------------------------------------

    def recheck(self, request: Request) -> Response:
        """The form that takes a report."""
        return self.site.page(request, "recheck.html", found=None, name="")

    async def rechecked(self, request: Request) -> Response:
        """A report that was sent, computed again; nothing of it is kept."""
        async with self.site.form(request) as form:
            name, data = await _uploaded(form.get("file"), (".pdf",))
            as_json = form.get("as") == "json"
        if not data.startswith(b"%PDF-"):
            raise InputError("this is no PDF", file=name, right="send a report that bridge2d has written")
        found = await run_in_threadpool(self._rechecked, name, data)
        if as_json:
            numbers = {**{key: value for key, value in found.items() if key != "text"}, "file": name}
            written = json.dumps(numbers, ensure_ascii=False, allow_nan=False, indent=2).encode("utf-8")
            return download(written, f"{Path(name).stem}.json", "application/json")
        return self.site.page(request, "recheck.html", found=found, name=name)

    def _rechecked(self, name: str, data: bytes) -> dict[str, Any]:
        with tempfile.TemporaryDirectory(prefix="bridge2d-") as folder:
            path = Path(folder) / "report.pdf"
            path.write_bytes(data)
            try:
                found: dict[str, Any] = self.site.workshop.do("rechecked", str(path), seconds=RECHECK_SECONDS)
            except InputError as error:
                raise error.in_file(name) from None
        findings = [words.replace(str(path), name) for words in found["findings"]]
        return {**found, "findings": findings, "text": found["text"].replace(str(path), name)}


def _kind_of(text: str) -> str:
    """What a TOML file is: "detail", "building" or "sets".

    Raises:
        InputError: it is none of these.
    """
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError):
        raise InputError("this is not TOML", right="upload a detail file") from None
    junction = data.get("junction")
    if isinstance(junction, str | list):
        return "detail" if isinstance(junction, str) else "building"
    if not holds_sets(data):
        right = "a detail names its junction, a building has [[junction]] blocks, a set of limits [[NAME.requirement]]"
        what = "this is neither a detail nor a building nor a file of limits" if data else "the file is empty"
        raise InputError(what, right=right)
    return "sets"


def _named(other: str, name: str) -> str:
    """The name that a brought file gets: its own, or another one with its ending."""
    ending = Path(name).suffix
    if not other:
        return name
    return other if other.lower().endswith(ending.lower()) else f"{other}{ending}"


async def _uploaded(sent: object, endings: tuple[str, ...]) -> tuple[str, bytes]:
    """Name and bytes of an uploaded file of a kind that is taken here."""
    if not isinstance(sent, UploadFile) or not sent.filename:
        raise InputError("no file was chosen", right=f"choose one that ends in {' or '.join(endings)}")
    name = sent.filename.replace("\\", "/").rpartition("/")[2]
    ending = Path(name).suffix.lower()
    if ending not in endings:
        right = f"choose one that ends in {' or '.join(endings)}"
        raise InputError("this kind of file is not taken here", file=name[:80], right=right)
    parts, size = [], 0
    while piece := await sent.read(PIECE):
        size += len(piece)
        if size > LARGEST[ending]:
            most = f"at most {LARGEST[ending] / MEGABYTE:g} MB"
            raise InputError("the file is too large", file=name[:80], right=most)
        parts.append(piece)
    return name, b"".join(parts)


def _refuse_binary(data: bytes, name: str) -> None:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        raise InputError("this is no text", file=name[:80], right="save it as UTF-8 text")
