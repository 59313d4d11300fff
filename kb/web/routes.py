"""The routes of the plugin: a request of Datasette comes in, a reply of ours goes out."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import unquote

from datasette import Response

from kb.errors import KbError
from kb.web.answer import Asked, Reply
from kb.web.crew import Crew
from kb.web.faults import PageError, not_here, program_fault, wrong_method
from kb.web.fields import Fields, of_body, of_query
from kb.web.pages import ROUTES, Route, answered, fixed, told
from kb.web.paper import ASSETS, asset, asset_path

#: Anything else below our addresses.
_ELSEWHERE = r"^/(find|help|material|roles|suits|own|bench)(/.*)?$"


def routes(crew: Crew) -> list[tuple[str, Callable[..., Any]]]:
    """Return the routes of the plugin, answered by one crew."""
    found = [(r"^/-/like/(?P<name>[^/]+)$", _asset_view())]
    found += [(route.path, _page_view(route, crew)) for route in ROUTES]
    found.append((_ELSEWHERE, _nowhere_view()))
    return found


def _page_view(route: Route, crew: Crew) -> Callable[..., Any]:
    async def view(request: Any) -> Response:
        parts = {k: unquote(v) for k, v in request.url_vars.items() if v}
        as_json = bool(parts.pop("json", ""))
        try:
            asked = Asked(await _fields(request, route), parts, as_json, crew.token_mark)
            if route.heavy:
                longest = route.longest_s
                reply = await crew.work_out(answered, route.path, asked, longest_s=longest)
            else:
                reply = await crew.look_up(lambda desk: answered(desk, route.path, asked))
        except KbError as error:
            reply = told(error, as_json, route)
        return _sent(reply, request, crew.token_mark)

    return view


async def _fields(request: Any, route: Route) -> Fields:
    if request.method not in route.methods:
        raise wrong_method(request.method, route.methods)
    fields = of_query(request.query_string)
    if request.method == "POST":
        sent = of_body(await request.post_body(), request.headers.get("content-type", ""))
        sent.pairs = fields.pairs + sent.pairs
        return sent
    return fields


def _sent(reply: Reply, request: Any, mark: str = "") -> Response:
    """Return the answer of Datasette; a form of POST gets its token, which sets the cookie."""
    body = reply.body
    if mark and mark.encode() in body:
        made = request.scope.get("csrftoken")
        token = str(made()) if callable(made) else ""
        body = body.replace(mark.encode(), token.encode())
    return Response(body, reply.status, reply.headers, reply.kind)


def refused(path: str, status: int) -> Response:
    """Return the page for what Datasette's own tables refuse."""
    path = unquote(path)
    error = not_here(path)
    if status in {400, 403}:
        error = PageError(
            status, "The tables do not answer that.", path[:120], "Follow the links of the tables."
        )
    elif status != 404:
        error = program_fault()
    return _sent(told(error, path.endswith(".json")), None)


def _asset_view() -> Callable[..., Any]:
    known = {asset_path(name).rpartition("/")[2]: name for name in ASSETS}

    async def view(request: Any) -> Response:
        name = known.get(request.url_vars["name"])
        if name is None:
            return _sent(told(not_here(request.path), False), request)
        return _sent(fixed(asset(name), ASSETS[name]), request)

    return view


def _nowhere_view() -> Callable[..., Any]:
    async def view(request: Any) -> Response:
        path = unquote(request.path)
        return _sent(told(not_here(path), path.endswith(".json")), request)

    return view
