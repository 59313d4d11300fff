"""Pages as HTML: our own templates, our own assets with their hash in the address."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from importlib import resources
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from kb.errors import KbError
from kb.web import words
from kb.web.faults import status_of, title_of

ASSETS = {
    "style.css": "text/css; charset=utf-8",
    "bench.js": "text/javascript; charset=utf-8",
    "icon.svg": "image/svg+xml",
}


@lru_cache(maxsize=8)
def asset(name: str) -> bytes:
    """Return the bytes of an asset."""
    return (resources.files("kb.web") / "static" / name).read_bytes()


@lru_cache(maxsize=8)
def asset_path(name: str) -> str:
    """Return the address of an asset; it changes with its content."""
    stem, _, ending = name.partition(".")
    return f"/-/like/{stem}.{hashlib.sha256(asset(name)).hexdigest()[:12]}.{ending}"


@lru_cache(maxsize=1)
def _environment() -> Environment:
    found = Environment(
        loader=PackageLoader("kb.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.globals["asset"] = asset_path
    for name in words.FILTERS:
        found.filters[name] = getattr(words, name)
    return found


def page(template: str, **context: Any) -> str:
    """Return a page."""
    return _environment().get_template(template).render(here="", **context)


def fault_page(error: KbError) -> str:
    """Return the page that tells an error and what to do."""
    return page(
        "fault.html",
        title=title_of(status_of(error)),
        error=error,
        nearest=getattr(error, "nearest", ()),
    )
