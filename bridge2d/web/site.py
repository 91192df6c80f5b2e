"""What all pages share: the folder, the processes, what is remembered, and how a page is written."""

from __future__ import annotations

import secrets as random
from collections import OrderedDict
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from hashlib import sha256
from pathlib import Path
from threading import Lock
from typing import Any
from urllib.parse import parse_qsl

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from bridge2d import __version__
from bridge2d.drawing.scene import symbol_runs
from bridge2d.errors import Bridge2dError, InputError
from bridge2d.nomenclature import MINUS
from bridge2d.requirement_sets import RequirementSet, own_sets
from bridge2d.units import SI, SYSTEMS, UnitSystem
from bridge2d.web.folder import Folder, MissingError, OutsideError
from bridge2d.web.history import History
from bridge2d.web.inlined import with_own_ids
from bridge2d.web.option_terms import shown_words
from bridge2d.web.safety import MOST_FIELDS, Secrets, typed_words
from bridge2d.web.states import State, Texts, state_of
from bridge2d.web.working import Workshop

HERE = Path(__file__).parent
KEPT = 200
"""Answers of the processes that are remembered."""
PAPERS = ("A4", "Letter")
KNOWN_UNITS = " and ".join(SYSTEMS)


class RefusedError(Bridge2dError):
    """A form without its token.

    Attributes:
        sent: names and words of its fields, so that nothing typed is lost.
    """

    def __init__(self, message: str, sent: Sequence[tuple[str, str]] = ()) -> None:
        """Keep what was sent, see the attributes."""
        super().__init__(message)
        self.sent = sent


class Site:
    """One served folder."""

    def __init__(self, folder: Folder, secrets: Secrets, workshop: Workshop) -> None:
        """Keep what is needed.

        Args:
            folder: that is served.
            secrets: of this run.
            workshop: processes that compute.
        """
        self.folder = folder
        self.secrets = secrets
        self.workshop = workshop
        self.texts = Texts()
        self.history = History()
        self._answers: OrderedDict[str, Any] = OrderedDict()
        self._lock = Lock()
        self._pages = Environment(
            loader=FileSystemLoader(HERE / "templates"),
            autoescape=select_autoescape(default=True),
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self._pages.filters["symbol"] = symbol
        self._pages.filters["signed"] = signed
        self._pages.filters["drawing"] = drawing
        self._pages.filters["bare"] = shown_words
        self._pages.globals.update(version=__version__, form_token=secrets.form)

    # -- what is remembered --------------------------------------------------------------------------------------------

    def stamp(self) -> str:
        """A word that changes whenever a file of the folder does, since a detail may draw on others."""
        found = []
        for path in sorted(self.folder.path.iterdir()):
            if path.suffix.lower() in (".toml", ".csv", ".dxf"):
                try:
                    told = path.stat()
                except OSError:
                    continue
                found.append(f"{path.name} {told.st_mtime_ns} {told.st_size}")
        return sha256("\n".join(found).encode("utf-8", "surrogatepass")).hexdigest()

    def known(self, task: str, *arguments: Any) -> Any:
        """The remembered answer of a task; None where there is none."""
        with self._lock:
            return self._answers.get(self._key(task, arguments))

    def done(self, task: str, *arguments: Any, key: str = "", seconds: float | None = None) -> Any:
        """The answer of a task, remembered or done now.

        Args:
            task: name of a function in `work`.
            arguments: of it.
            key: fingerprint of its input; a process that knows it already is preferred.
            seconds: limit [s]; the usual one unless given.

        Raises:
            Bridge2dError: the task says so, or it was ended.
        """
        name = self._key(task, arguments)
        with self._lock:
            if name in self._answers:
                self._answers.move_to_end(name)
                return self._answers[name]
        answer = self.workshop.do(task, *arguments, key=key, seconds=seconds)
        with self._lock:
            self._answers[name] = answer
            while len(self._answers) > KEPT:
                self._answers.popitem(last=False)
        return answer

    def gathered(self, task: str, *arguments: Any) -> dict[int, Any]:
        """The answers of a task that is done piece by piece, by their numbers; whoever does a piece puts it in."""
        name = self._key(task, arguments)
        with self._lock:
            found: dict[int, Any] = self._answers.setdefault(name, {})
            self._answers.move_to_end(name)
            return found

    def remember(self, answer: Any, task: str, *arguments: Any) -> None:
        """Keep an answer for a task that was not done."""
        with self._lock:
            self._answers[self._key(task, arguments)] = answer

    def _key(self, task: str, arguments: tuple[Any, ...]) -> str:
        return sha256(repr((task, arguments, self.stamp())).encode("utf-8", "surrogatepass")).hexdigest()

    def own_sets(self) -> tuple[dict[str, RequirementSet], dict[str, str], list[str]]:
        """The folder's own sets by name, the file of each, and what is wrong with their files."""
        known = self.known("own_sets")
        if known is not None:
            return known  # type: ignore[no-any-return]
        own: dict[str, RequirementSet] = {}
        files: dict[str, str] = {}
        wrong = []
        for one in self.folder.listed():
            if one.kind != "sets":
                continue
            try:
                found = own_sets(self.folder.text(one.name).encode("utf-8"), one.name)
            except InputError as error:
                wrong.append(said(error))
                continue
            twins = [name for name in found if name in own]
            wrong += [
                f"{name} stands in {files[name]} and in {one.name}; shown is that of {one.name}" for name in twins
            ]
            own |= found
            files |= dict.fromkeys(found, one.name)
        self.remember((own, files, wrong), "own_sets")
        return own, files, wrong

    # -- requests ------------------------------------------------------------------------------------------------------

    def state(self, request: Request, name: str, query: str | None = None) -> State:
        """The state that an address means.

        Args:
            request: whose address it is, unless a query is given.
            name: of the file.
            query: of the state's address.

        Raises:
            InputError: it means none.
        """
        text = request.url.query if query is None else query
        pairs = parse_qsl(text, keep_blank_values=True, max_num_fields=MOST_FIELDS)
        return state_of(name, self.folder.text(name), pairs, self.texts)

    def path(self, name: str) -> str:
        """The path of a file of the folder, for a process."""
        return str(self.folder.file(name))

    def visitor(self, request: Request) -> str:
        """Who asks: a word of the visitor's own browser, so that two browsers have two histories."""
        if not hasattr(request.state, "visitor"):
            known = request.cookies.get(f"visitor_{self.secrets.port}", "")[:64]
            request.state.visitor = known or random.token_urlsafe(12)
        return str(request.state.visitor)

    @asynccontextmanager
    async def form(self, request: Request) -> AsyncIterator[FormData]:
        """The fields of a form that may write; its files are at hand for as long as the context lasts.

        Raises:
            RefusedError: its token is missing or wrong.
        """
        async with request.form(max_files=1, max_fields=MOST_FIELDS, max_part_size=3_000_000) as form:
            token = form.get("token")
            if not isinstance(token, str) or not self.secrets.writes(token):
                sent = [(key, value) for key, value in form.multi_items() if isinstance(value, str)]
                message = "This form did not come from this page. Open it again and send it once more."
                raise RefusedError(message, typed_words(sent))
            yield form

    # -- answers -------------------------------------------------------------------------------------------------------

    def page(self, request: Request, template: str, status: int = 200, **shown: Any) -> HTMLResponse:
        """A page.

        Args:
            request: that it answers.
            template: name of its file.
            status: of the answer.
            shown: what it shows.
        """
        units = request.query_params.get("units", "")
        notices = (
            [] if not units or units in SYSTEMS else [f"There are no units {units[:40]!r}; known are {KNOWN_UNITS}."]
        )
        text = self._pages.get_template(template).render(path=request.url.path, not_followed=notices, **shown)
        answer = HTMLResponse(text, status)
        name = f"visitor_{self.secrets.port}"
        if not request.cookies.get(name):
            answer.set_cookie(name, self.visitor(request), httponly=True, samesite="strict", path="/")
        return answer

    def message(
        self, request: Request, error: Bridge2dError, status: int = 400, sent: Sequence[tuple[str, str]] = ()
    ) -> HTMLResponse:
        """A page with a message, and what was sent in vain."""
        if isinstance(error, OutsideError | MissingError):
            status = 404
        return self.page(request, "message.html", status, message=said(error), title="This cannot be done", sent=sent)

    def token(self, _: Request) -> JSONResponse:
        """What the forms of this run have to carry, for a page that was opened before it."""
        return JSONResponse({"token": self.secrets.form})


def said(error: Bridge2dError) -> str:
    """An error in a sentence, without the path of the folder."""
    if not isinstance(error, InputError):
        return str(error)
    where = [Path(error.file).name] if error.file else []
    where += [f"line {error.line}"] if error.line is not None else []
    where += [error.key] if error.key else []
    text = f"{error.message}; {error.right}" if error.right else error.message
    return f"{', '.join(where)}: {text}" if where else text


def symbol(text: str) -> Markup:
    """A symbol such as "d_1" with its subscript."""
    if not text:
        return Markup("")
    first, *rest = symbol_runs(text)
    parts = [Markup("<var>{}</var>").format(first.text), *(Markup("<sub>{}</sub>").format(one.text) for one in rest)]
    return Markup("").join(parts)


def signed(value: float) -> str:
    """A coordinate with at most one decimal and the sign that a number has in print."""
    return f"{round(value, 1) + 0.0:.10g}".replace("-", MINUS)


def drawing(svg: str, name: str = "") -> Markup:
    """An SVG of our own, whose texts were escaped where it was written, as a part of a page.

    Args:
        svg: the picture.
        name: that no other picture of the page has; empty where it is the only one.
    """
    return Markup(with_own_ids(svg, name) if name else svg)


def system_of(request: Request) -> UnitSystem:
    """Units of the page, SI unless the address names others."""
    return next((one for one in SYSTEMS if one == request.query_params.get("units")), SI)


def system_of_file(request: Request) -> UnitSystem:
    """Units of a file, SI unless the address names others.

    Raises:
        InputError: it names units that there are not.
    """
    said = request.query_params.get("units", "")
    if said and said not in SYSTEMS:
        raise InputError(f"there are no units {said[:40]!r}", right=f"known are {KNOWN_UNITS}")
    return system_of(request)


def paper_of(request: Request) -> str:
    """Paper of a file, A4 unless the address names another.

    Raises:
        InputError: it names one that there is not.
    """
    said = request.query_params.get("paper", "")
    if said and said not in PAPERS:
        raise InputError(f"there is no paper {said[:40]!r}", right=f"known are {' and '.join(PAPERS)}")
    return said or PAPERS[0]


def see_other(address: str) -> RedirectResponse:
    """The way on after a form, or to the one address of a state."""
    return RedirectResponse(address, 303)


def download(data: bytes, name: str, kind: str) -> Response:
    """Bytes that a browser keeps as a file."""
    from urllib.parse import quote

    return Response(
        data, media_type=kind, headers={"content-disposition": f"attachment; filename*=UTF-8''{quote(name)}"}
    )
