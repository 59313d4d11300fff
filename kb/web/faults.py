"""What can go wrong on a page, and which status of HTTP tells it."""

from __future__ import annotations

from kb.errors import (
    DatabaseError,
    FormulaError,
    KbError,
    SeedError,
    UnknownNameError,
    UsageError,
)


class PageError(KbError):
    """A request that no page can answer, with the status that says so."""

    code = 2

    def __init__(self, status: int, message: str, where: str = "", fix: str = "") -> None:
        super().__init__(message, where, fix)
        self.status = status

    def __reduce__(self) -> tuple[object, ...]:
        """Return how it is made again in another process."""
        return PageError, (self.status, self.message, self.where, self.fix)


_TITLES = {
    400: "That could not be read",
    403: "The form was not taken",
    404: "Not here",
    405: "Not that way",
    413: "Too large",
    421: "Not this host",
    500: "A fault of the program",
    503: "Busy or too slow",
}


def status_of(error: KbError) -> int:
    """Return the status of HTTP for an error."""
    if isinstance(error, PageError):
        return error.status
    if isinstance(error, UnknownNameError):
        return 404
    if isinstance(error, (UsageError, FormulaError, SeedError)):
        return 400
    return 503 if isinstance(error, DatabaseError) else 500


def title_of(status: int) -> str:
    """Return the heading of the page that tells an error."""
    return _TITLES.get(status, "That did not work")


def not_here(path: str) -> PageError:
    """Return the error for an address that leads nowhere."""
    return PageError(
        404,
        "There is no page at this address.",
        path[:120],
        "Search from the first page, or browse the roles.",
    )


def wrong_method(method: str, allowed: tuple[str, ...]) -> PageError:
    """Return the error for a method that a page does not take."""
    return PageError(
        405,
        f"This page does not take {method[:16]}.",
        "",
        f"It takes {' and '.join(allowed)}.",
    )


def program_fault() -> PageError:
    """Return the error for a fault of the program; it tells nothing of the inside."""
    return PageError(
        500,
        "The program failed on this request.",
        "",
        "Go back and try another way; please report what you did.",
    )
