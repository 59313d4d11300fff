"""Which address shows what, and how an answer becomes HTML, JSON or a file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from kb.errors import KbError
from kb.report.tree import envelope, to_json
from kb.web import adapting, bench, knowledge, making, own, replacing, roles, taking
from kb.web.answer import Answer, Asked, Reply
from kb.web.desk import Desk
from kb.web.faults import status_of
from kb.web.paper import fault_page, page

View = Callable[[Desk, Asked], Answer]
_HTML = "text/html; charset=utf-8"
_JSON = "application/json; charset=utf-8"
#: Tells the gate that an answer is one of ours; it goes no further.
_OURS = {"X-Like-For-Like": "1"}


@dataclass(frozen=True, slots=True)
class Route:
    """One page: its address and view, whether it takes POST, is long, and may be read by GET.

    ``longest_s`` is a deadline of its own, for work that is longer than the rest.
    """

    path: str
    view: View
    post: bool = False
    heavy: bool = False
    get: bool = True
    longest_s: float = 0.0

    @property
    def methods(self) -> tuple[str, ...]:
        """The methods it takes."""
        return (*(("GET", "HEAD") if self.get else ()), *(("POST",) if self.post else ()))


_ADAPT = r"^/bench/adapt(?P<json>\.json)?$"
ROUTES = (
    Route(r"^/(?P<json>\.json)?$", knowledge.home),
    Route(r"^/find(?P<json>\.json)?$", knowledge.find),
    Route(r"^/help(?P<json>\.json)?$", knowledge.guide),
    Route(r"^/material/(?P<name>[^/]+?)(?P<json>\.json)?$", knowledge.material),
    Route(r"^/roles(?P<json>\.json)?$", roles.roles),
    Route(r"^/roles/(?P<name>[^/]+?)(?P<json>\.json)?$", roles.role),
    Route(r"^/suits(?P<json>\.json)?$", knowledge.suits),
    Route(r"^/own(?P<json>\.json)?$", own.overview),
    Route(r"^/own/(?P<deed>add|shelf|remove|undo)$", own.change, True, True, False),
    Route(r"^/own/take$", own.take),
    Route(r"^/bench(?P<json>\.json)?$", bench.bench, True, True),
    Route(r"^/bench/replace(?P<json>\.json)?$", replacing.replace_line, True, True),
    Route(r"^/bench/accept$", replacing.accept, True, True),
    Route(_ADAPT, adapting.adapt, True, True, longest_s=adapting.DEADLINE_S),
    Route(r"^/bench/adopt$", adapting.adopt, True, True, longest_s=adapting.DEADLINE_S),
    Route(r"^/bench/compare(?P<json>\.json)?$", making.compare_versions, True, True),
    Route(r"^/bench/sheet(?P<json>\.json)?$", making.sheet, True, True),
    Route(r"^/bench/measured(?P<json>\.json)?$", making.measured, True, True),
    Route(r"^/bench/keep$", making.keep, True, True, False),
    Route(r"^/bench/take$", taking.take, True, True),
)
_BY_PATH = {route.path: route for route in ROUTES}


def answered(desk: Desk, path: str, asked: Asked) -> Reply:
    """Return what the page of a route answers; its own faults are answers too."""
    try:
        return _reply(_BY_PATH[path].view(desk, asked), desk, asked)
    except KbError as error:
        return told(error, asked.as_json, _BY_PATH[path])


def _reply(answer: Answer, desk: Desk, asked: Asked) -> Reply:
    headers = {**_OURS, "Cache-Control": "private, no-cache"}
    if answer.place:
        return Reply(303, {**headers, "Location": answer.place})
    if answer.file is not None:
        headers["Content-Disposition"] = f'attachment; filename="{answer.file_name}"'
        return Reply(200, headers, answer.file, answer.kind)
    if asked.as_json:
        body = to_json(envelope(desk.base.build, answer.tree or {})) + "\n"
        return Reply(answer.status, headers, body.encode(), _JSON)
    body = page(answer.template, build=desk.base.build, **answer.context)
    return Reply(answer.status, headers, body.encode(), _HTML)


def told(error: KbError, as_json: bool, route: Route | None = None) -> Reply:
    """Return a fault as a page or as the JSON that commands print."""
    status = status_of(error)
    headers = {**_OURS, "Cache-Control": "no-store"}
    if status == 405 and route is not None:
        headers["Allow"] = ", ".join(route.methods)
    if as_json:
        return Reply(status, headers, (to_json(error.as_json()) + "\n").encode(), _JSON)
    return Reply(status, headers, fault_page(error).encode(), _HTML)


def fixed(content: bytes, kind: str) -> Reply:
    """Return what never changes under its address."""
    headers = {**_OURS, "Cache-Control": "public, max-age=31536000, immutable"}
    return Reply(200, headers, content, kind)
