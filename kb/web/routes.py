"""Which address shows what; each page of HTML has a twin with the command's JSON."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote

from datasette import Response

from kb.errors import KbError
from kb.report.tree import envelope, to_json
from kb.web import bench, knowledge, replacing, taking
from kb.web.answer import Answer, Asked
from kb.web.desk import Desk
from kb.web.faults import PageError, not_here, program_fault, status_of, wrong_method
from kb.web.fields import Fields, of_body, of_query
from kb.web.paper import ASSETS, asset, asset_path, fault_page, page

View = Callable[[Desk, Asked], Answer]
_OURS = {"X-Like-For-Like": "1"}
_JSON = "application/json; charset=utf-8"


@dataclass(frozen=True, slots=True)
class Route:
    """One page: its address, its view, whether it takes POST, whether its work is long."""

    path: str
    view: View
    post: bool = False
    heavy: bool = False

    @property
    def methods(self) -> tuple[str, ...]:
        """The methods it takes."""
        return ("GET", "HEAD", "POST") if self.post else ("GET", "HEAD")


ROUTES = (
    Route(r"^/(?P<json>\.json)?$", knowledge.home),
    Route(r"^/find(?P<json>\.json)?$", knowledge.find),
    Route(r"^/help(?P<json>\.json)?$", knowledge.guide),
    Route(r"^/material/(?P<name>[^/]+?)(?P<json>\.json)?$", knowledge.material),
    Route(r"^/roles(?P<json>\.json)?$", knowledge.roles),
    Route(r"^/roles/(?P<name>[^/]+?)(?P<json>\.json)?$", knowledge.role),
    Route(r"^/suits(?P<json>\.json)?$", knowledge.suits),
    Route(r"^/bench(?P<json>\.json)?$", bench.bench, True, True),
    Route(r"^/bench/replace(?P<json>\.json)?$", replacing.replace_line, True, True),
    Route(r"^/bench/accept$", replacing.accept, True, True),
    Route(r"^/bench/compare(?P<json>\.json)?$", taking.compare, True, True),
    Route(r"^/bench/take$", taking.take, True, True),
)
#: Anything else below our addresses.
_ELSEWHERE = r"^/(find|help|material|roles|suits|bench)(/.*)?$"


def routes(desk: Desk) -> list[tuple[str, Callable[..., Any]]]:
    """Return the routes of the plugin, for one desk."""
    found = [(r"^/-/like/(?P<name>[^/]+)$", _asset_view())]
    found += [(route.path, _page_view(route, desk)) for route in ROUTES]
    found.append((_ELSEWHERE, _nowhere_view()))
    return found


def _page_view(route: Route, desk: Desk) -> Callable[..., Any]:
    async def view(request: Any) -> Response:
        parts = {k: unquote(v) for k, v in request.url_vars.items() if v}
        as_json = bool(parts.pop("json", ""))
        try:
            fields = await _fields(request, route)
            asked = Asked(fields, parts, as_json, _token(request))
            return await desk.ask(lambda: _respond(route, desk, asked), heavy=route.heavy)
        except KbError as error:
            return _fault(error, as_json, route)

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


def _token(request: Any) -> Callable[[], str]:
    """Return what gives the token a form of POST needs; asking for it sets the cookie."""

    def token() -> str:
        made = request.scope.get("csrftoken")
        return str(made()) if callable(made) else ""

    return token


def _respond(route: Route, desk: Desk, asked: Asked) -> Response:
    answer = route.view(desk, asked)
    headers = {**_OURS, "Cache-Control": "private, no-cache"}
    if answer.place:
        return Response("", 303, {**headers, "Location": answer.place})
    if answer.file is not None:
        headers["Content-Disposition"] = f'attachment; filename="{answer.file_name}"'
        return Response(answer.file, 200, headers, answer.kind)
    if asked.as_json:
        body = to_json(envelope(desk.base.build, answer.tree or {})) + "\n"
        return Response(body, answer.status, headers, _JSON)
    body = page(answer.template, build=desk.base.build, **answer.context)
    return Response(body, answer.status, headers, "text/html; charset=utf-8")


def _fault(error: KbError, as_json: bool, route: Route | None = None) -> Response:
    status = status_of(error)
    headers = {**_OURS, "Cache-Control": "no-store"}
    if status == 405 and route is not None:
        headers["Allow"] = ", ".join(route.methods)
    if as_json:
        return Response(to_json(error.as_json()) + "\n", status, headers, _JSON)
    return Response(fault_page(error), status, headers, "text/html; charset=utf-8")


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
    return _fault(error, path.endswith(".json"))


def _asset_view() -> Callable[..., Any]:
    known = {asset_path(name).rpartition("/")[2]: name for name in ASSETS}

    async def view(request: Any) -> Response:
        name = known.get(request.url_vars["name"])
        if name is None:
            return _fault(not_here(request.path), False)
        headers = {**_OURS, "Cache-Control": "public, max-age=31536000, immutable"}
        return Response(asset(name), 200, headers, ASSETS[name])

    return view


def _nowhere_view() -> Callable[..., Any]:
    async def view(request: Any) -> Response:
        path = unquote(request.path)
        return _fault(not_here(path), path.endswith(".json"))

    return view
