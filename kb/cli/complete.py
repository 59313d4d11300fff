"""What the shell offers on TAB: names, roles, policies, kinds of product."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from kb.errors import KbError


def _offer(known: Iterable[str], begun: str) -> list[str]:
    word = begun.casefold()
    return sorted({name for name in known if name.casefold().startswith(word)})


def _asked(query: Callable[[], Iterable[str]], begun: str) -> list[str]:
    """Offer what the base answers; a base that is missing or broken offers nothing."""
    from kb.store.opening import default_path

    try:
        return _offer(query(), begun) if default_path().exists() else []
    except KbError:
        return []


def material_names(incomplete: str) -> list[str]:
    """Offer ids of materials."""

    def query() -> Iterable[str]:
        from kb.store.opening import open_names

        return open_names().inci

    return _asked(query, incomplete)


def role_names(incomplete: str) -> list[str]:
    """Offer ids of roles."""
    return _asked(lambda: _ids("role"), incomplete)


def policy_names(incomplete: str) -> list[str]:
    """Offer ids of policies."""
    return _asked(lambda: _ids("policy"), incomplete)


def system_names(incomplete: str) -> list[str]:
    """Offer kinds of product."""
    from kb.formula.model import SYSTEMS

    return _offer(SYSTEMS, incomplete)


def _ids(table: str) -> list[str]:
    from kb.store.asking import ids
    from kb.store.opening import connect, default_path

    connection = connect(default_path())
    try:
        return ids(connection, table)
    finally:
        connection.close()
