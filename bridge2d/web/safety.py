"""What stands before every page: who may ask, how much may be sent, and what a page may load.

The page is for the person at this machine. Another site that is open in the same browser may neither read nor write:
its Host (a name that was pointed here) and Origin are refused, the cookie is not sent along for it, and a write needs
the token in its form too.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Iterable
from http.cookies import CookieError, SimpleCookie
from typing import NamedTuple
from urllib.parse import parse_qs, parse_qsl

from starlette.responses import HTMLResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MEGABYTE = 1_000_000
SMALL_BODY = 3 * MEGABYTE
LARGE_BODY = 61 * MEGABYTE
"""A report of 60 MB with what belongs to its form, on the one address that takes it."""
HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}
FRESH = "max-age=3600"
FIXED = "/static/"
"""Begins the addresses of what is the same for everybody."""
UNKNOWN = "Open the address that `bridge2d serve` printed, token and all; then this one works too."
TYPED = "application/x-www-form-urlencoded"
UNTYPED = ("token", "query", "seen", "tab", "ticked", "t")
"""Fields of forms that nobody types in."""
MOST_FIELDS = 3000
"""Of a form or an address; a building's form has fourteen for each junction."""
ICON = '<link rel="icon" href="/static/mark.svg">'


class TooLargeError(Exception):
    """More is sent than an address takes; the application answers it with `too_large`.

    Attributes:
        limit: what it takes [bytes].
    """

    def __init__(self, limit: int) -> None:
        """Keep the limit, see the attributes."""
        super().__init__(limit)
        self.limit = limit


class Secrets(NamedTuple):
    """What a visitor has to know.

    Attributes:
        token: of the printed address and of the cookie.
        port: of the address, which is part of the cookie's name: browsers keep one jar for all ports.
    """

    token: str
    port: int

    @property
    def cookie(self) -> str:
        """Name of the cookie."""
        return f"bridge2d_{self.port}"

    @property
    def form(self) -> str:
        """What a form has to carry: another secret, so that the cookie's stands in no page."""
        return hmac.new(self.token.encode(), b"form", hashlib.sha256).hexdigest()

    def opens(self, given: str) -> bool:
        """Whether this is the token, compared in constant time."""
        return hmac.compare_digest(given.encode("utf-8", "replace"), self.token.encode())

    def writes(self, given: str) -> bool:
        """Whether a form carried the right secret, compared in constant time."""
        return hmac.compare_digest(given.encode("utf-8", "replace"), self.form.encode())


class Guard:
    """The application behind its door."""

    def __init__(self, app: ASGIApp, secrets: Secrets, large: Iterable[str] = ()) -> None:
        """Keep what is needed.

        Args:
            app: the application.
            secrets: of this run.
            large: addresses that take large uploads.
        """
        self.app = app
        self.secrets = secrets
        self.large = frozenset(large)
        self.hosts = frozenset(f"{name}:{secrets.port}" for name in ("127.0.0.1", "localhost"))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        refused = self._refusal(scope)
        if refused is None and not self._knows(scope):
            refused = _plain(403, UNKNOWN, await _sent(scope, receive))
        if refused is not None:
            await refused(scope, receive, _with_headers(send, scope))
            return
        limit = LARGE_BODY if scope["path"] in self.large else SMALL_BODY
        if _announced(scope) > limit:
            await too_large(limit)(scope, receive, _with_headers(send, scope))
            return
        await self.app(scope, _counted(receive, limit), _with_headers(send, scope))

    def _refusal(self, scope: Scope) -> Response | None:
        hosts, origins = _all(scope, b"host"), _all(scope, b"origin")
        if len(hosts) != 1 or hosts[0].lower() not in self.hosts:
            return _plain(421, "This address belongs to another name. Open the one that `bridge2d serve` printed.")
        if any(origin.lower() not in {f"http://{host}" for host in self.hosts} for origin in origins):
            return _plain(403, "This was sent by another site, and is refused.")
        writes = scope["method"] not in ("GET", "HEAD")
        if writes and any(one not in ("same-origin", "none") for one in _all(scope, b"sec-fetch-site")):
            return _plain(403, "This was sent by another site, and is refused.")
        if scope["path"].startswith(FIXED):
            return None
        try:
            query = parse_qs(scope["query_string"].decode("latin-1"), max_num_fields=2000, keep_blank_values=True)
        except ValueError:
            return _plain(400, "This address has too many parts, and is refused.")
        if "token" in query and not writes and self.secrets.opens(query["token"][0]):
            return self._entered(scope, query)
        return None

    def _knows(self, scope: Scope) -> bool:
        """Whether the visitor knows the token, where it is asked for."""
        return scope["path"].startswith(FIXED) or self.secrets.opens(_cookie(scope, self.secrets.cookie))

    def _entered(self, scope: Scope, query: dict[str, list[str]]) -> Response:
        """The cookie, and the way on to the same address without the token.

        The way on is a page of our own: a redirect would still count as coming from wherever the link stood, and the
        cookie would not be sent.
        """
        from html import escape
        from urllib.parse import quote, urlencode

        rest = urlencode([(key, value) for key, values in query.items() if key != "token" for value in values])
        target = escape("/" + quote(scope["path"].lstrip("/")) + (f"?{rest}" if rest else ""))
        link = f'<a href="{target}">Go on to the page</a>'
        head = f'<title>bridge2d</title>{ICON}<meta http-equiv="refresh" content="0;url={target}">'
        answer = HTMLResponse(
            f'<!doctype html><html lang="en"><head>{head}</head><body><main><h1>bridge2d</h1><p>{link}</p></main>'
            "</body></html>"
        )
        answer.set_cookie(self.secrets.cookie, self.secrets.token, httponly=True, samesite="strict", path="/")
        return answer


def _all(scope: Scope, name: bytes) -> list[str]:
    return [value.decode("latin-1") for key, value in scope["headers"] if key == name]


def _cookie(scope: Scope, name: str) -> str:
    try:
        found = SimpleCookie("; ".join(_all(scope, b"cookie")))
    except CookieError:
        return ""
    return found[name].value if name in found else ""


def _plain(status: int, message: str, sent: Iterable[tuple[str, str]] = ()) -> Response:
    from html import escape

    head = '<meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
    head += '<title>bridge2d: refused</title><link rel="stylesheet" href="/static/page.css">'
    words = "".join(
        f'<p><label>{escape(name)} <textarea readonly rows="{min(24, value.count(chr(10)) + 1)}">\n{escape(value)}'
        "</textarea></label></p>"
        for name, value in sent
    )
    words = words and f"<p>What was sent, to be copied:</p>{words}"
    return HTMLResponse(
        f'<!doctype html><html lang="en"><head>{head}</head><body><main id="content"><h1>Refused</h1>'
        f"<p>{message}</p>{words}</main></body></html>",
        status,
    )


async def _sent(scope: Scope, receive: Receive) -> list[tuple[str, str]]:
    """What was typed in a form that comes after a new start, so that it can be copied; nothing of other kinds."""
    kind = "".join(_all(scope, b"content-type"))
    if scope["method"] != "POST" or not kind.startswith(TYPED) or _announced(scope) > SMALL_BODY:
        return []
    body, counted = b"", _counted(receive, SMALL_BODY)
    try:
        while (message := await counted())["type"] == "http.request":
            body += message.get("body", b"")
            if not message.get("more_body", False):
                return typed_words(parse_qsl(body.decode("utf-8", "replace"), max_num_fields=MOST_FIELDS))
    except (TooLargeError, ValueError):
        pass
    return []


def typed_words(sent: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Of what a form sent all that somebody typed or chose.

    Args:
        sent: names and words of its fields.
    """
    return [(name, words) for name, words in sent if words.strip() and name not in UNTYPED]


def _announced(scope: Scope) -> int:
    lengths = _all(scope, b"content-length")
    return int(lengths[0]) if lengths and lengths[0].isdigit() else 0


def too_large(limit: int) -> Response:
    """The answer to more than is taken, after which the line is closed.

    Args:
        limit: what is taken [bytes].
    """
    answer = _plain(413, f"More was sent than is taken here: at most {limit / MEGABYTE:g} MB.")
    answer.headers["connection"] = "close"  # whatever is still on its way is not read
    return answer


def _counted(receive: Receive, limit: int) -> Receive:
    """The request's body, which ends with an error where it grows too large."""
    seen = 0

    async def counted() -> Message:
        nonlocal seen
        message = await receive()
        if message["type"] == "http.request":
            seen += len(message.get("body", b""))
            if seen > limit:
                raise TooLargeError(limit)
        return message

    return counted


def _with_headers(send: Send, scope: Scope) -> Send:
    """Answers that carry what a browser must know."""
    fixed = scope["path"].startswith(FIXED)

    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {key for key, _ in message["headers"]}
            more = {**HEADERS, **({"cache-control": FRESH} if fixed else {})}
            added = [(key.encode(), value.encode()) for key, value in more.items() if key.encode() not in own]
            message = {**message, "headers": [*message["headers"], *added]}
        await send(message)

    return sent
