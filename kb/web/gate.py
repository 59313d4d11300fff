"""The gate before every page: known hosts only, small bodies only, safe headers on all of ours."""

from __future__ import annotations

import json
import re
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from kb.web.faults import PageError, program_fault, status_of
from kb.web.fields import FORM, MAX_BODY, MULTIPART, of_body
from kb.web.paper import fault_page

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

HOSTS = frozenset({"localhost", "127.0.0.1", "[::1]"})
POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}
#: Addresses that are ours; all others are Datasette's own tables behind the pages.
OURS = re.compile(r"/($|\.json$|(find|material|roles|bench|suits|own|help)(\.json)?($|/)|-/like/)")
_OF_BODY = frozenset({b"content-type", b"content-length", b"transfer-encoding"})
_CLEAN_FAULTS = frozenset({400, 403, 500})


class Gate:
    """Wraps the whole application.

    Parameters
    ----------
    app : ASGI application
    hosts : frozenset of str
        Host names that may ask, without port.
    """

    def __init__(self, app: App, hosts: frozenset[str] = HOSTS) -> None:
        self.app = app
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it at the gate."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {k.decode("latin-1").lower(): v.decode("latin-1") for k, v in scope["headers"]}
        path = str(scope.get("path") or "/")
        ours = OURS.match(path) is not None
        try:
            _check_host(headers.get("host", ""), self.hosts)
            if scope["method"] not in {"GET", "HEAD", "OPTIONS"}:
                kind = headers.get("content-type", "")
                if ours:
                    _check_sender(headers)
                    _check_kind(kind)
                body = await _measured(headers, receive)
                if ours:
                    scope, body = _plain_form(scope, body, kind)
                receive = _again(body, receive)
        except PageError as error:
            await _tell(error, path, scope["method"], send)
            return
        outgoing = _Outgoing(send, path, scope["method"], ours)
        try:
            await self.app(scope, receive, outgoing)
        except Exception:
            if outgoing.started or not ours:
                raise
            await _tell(program_fault(), path, scope["method"], send)


class _Outgoing:
    """Adds our headers; replaces refusals that come from below the pages by a clear page."""

    def __init__(self, send: Send, path: str, method: str, ours: bool) -> None:
        self.send, self.path, self.method, self.ours = send, path, method, ours
        self.started = False
        self._dropped = False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.started = True
            mine = any(k.lower() == b"x-like-for-like" for k, _ in message["headers"])
            if not mine and not self.ours:
                await self.send(message)
                return
            if not mine and message["status"] in _CLEAN_FAULTS:
                self._dropped = True
                error = _old_form() if message["status"] == 403 else program_fault()
                await _tell(error, self.path, self.method, self.send)
                return
            kept = [
                (k, v)
                for k, v in message["headers"]
                if k.lower().decode("latin-1") not in {*HEADERS, "x-like-for-like"}
            ]
            await self.send({**message, "headers": kept + _raw(HEADERS)})
        elif not self._dropped:
            await self.send(message)


def _raw(headers: dict[str, str]) -> list[tuple[bytes, bytes]]:
    return [(k.encode(), v.encode()) for k, v in headers.items()]


def _check_host(host: str, hosts: frozenset[str]) -> None:
    name = re.sub(r":\d{1,5}$", "", host.strip().lower())
    if name not in hosts:
        raise PageError(
            421,
            "This host name is not served here.",
            host[:80],
            "Open the address that `kb serve` prints.",
        )


def _check_sender(headers: dict[str, str]) -> None:
    """Refuse a form that another site sent: it could write to the user's file.

    A token alone does not keep that out, since a browser without our cookie is let through by what
    checks it in Datasette 0.65.
    """
    site, origin = headers.get("sec-fetch-site", ""), headers.get("origin", "")
    if site:
        good = site in {"same-origin", "none"}
    else:
        good = not origin or origin.partition("://")[2] == headers.get("host", "")
    if not good:
        raise PageError(
            403, "The form was sent by another page.", origin[:80], "Fill it in on this one."
        )


def _check_kind(content_type: str) -> None:
    kind = content_type.split(";")[0].strip().lower()
    if kind == FORM or (kind == MULTIPART and re.search(r"; boundary=.+", content_type)):
        return
    raise PageError(
        400, "The body is no form.", kind[:60], "Send form fields, or fetch the page with GET."
    )


async def _measured(headers: dict[str, str], receive: Receive) -> bytes:
    """Read a body up to the limit."""
    fault = PageError(
        413,
        f"More than {MAX_BODY // 1024} KB were sent.",
        "",
        "A formula is far smaller: send one at a time, as TOML or CSV.",
    )
    stated = headers.get("content-length", "0")
    if not stated.isdigit() or int(stated) > MAX_BODY:
        raise fault
    body = b""
    while True:
        message = await receive()
        if message["type"] != "http.request":
            break
        body += message.get("body", b"")
        if len(body) > MAX_BODY:
            raise fault
        if not message.get("more_body", False):
            break
    return body


def _plain_form(scope: Scope, body: bytes, kind: str) -> tuple[Scope, bytes]:
    """Return the request with its form in the plain kind, a file among the fields.

    What checks the token behind the gate in Datasette 0.65 fails on text that is not UTF-8, and on
    forms in parts with newer releases of the parser it uses. Read once here, neither reaches it.
    """
    plain = of_body(body, kind).plain()
    headers = [(k, v) for k, v in scope["headers"] if k.lower() not in _OF_BODY]
    headers += [(b"content-type", FORM.encode()), (b"content-length", str(len(plain)).encode())]
    return {**scope, "headers": headers}, plain


def _again(body: bytes, receive: Receive) -> Receive:
    """Hand a body on that has been read."""
    waiting: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def again() -> Message:
        return waiting.pop() if waiting else await receive()

    return again


async def _tell(error: PageError, path: str, method: str, send: Send) -> None:
    if path.endswith(".json"):
        body = json.dumps(error.as_json(), ensure_ascii=False, indent=2)
        kind = "application/json; charset=utf-8"
    else:
        body, kind = fault_page(error), "text/html; charset=utf-8"
    raw = body.encode()
    headers = {
        "content-type": kind,
        "cache-control": "no-store",
        "content-length": str(len(raw)),
        "connection": "close",
        **HEADERS,
    }
    await send(
        {"type": "http.response.start", "status": status_of(error), "headers": _raw(headers)}
    )
    await send({"type": "http.response.body", "body": b"" if method == "HEAD" else raw})


def _old_form() -> PageError:
    return PageError(
        403,
        "The form was open too long, or cookies are off.",
        "",
        "Open the bench again, allow its cookie, and send the form once more.",
    )
