"""One family of errors: each says what happened, where, and what to do next."""

from __future__ import annotations


class KbError(Exception):
    """Something the user can act on.

    Parameters
    ----------
    message : str
        What happened, in one sentence.
    where : str
        Place: file and line, option, or name. Empty when there is none.
    fix : str
        What to do next. Never empty.
    """

    code = 1

    def __init__(self, message: str, where: str = "", fix: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.where = where
        self.fix = fix or "Run `kb --help` for the commands and their options."

    def __reduce__(self) -> tuple[object, ...]:
        """Travel whole from a worker to the program that asked."""
        return type(self), (self.message, self.where, self.fix)

    def as_json(self) -> dict[str, object]:
        """Return the failure in the shape every command prints with ``--json``."""
        return {
            "error": {
                "message": self.message,
                "where": self.where,
                "fix": self.fix,
                "code": self.code,
            }
        }


class UsageError(KbError):
    """The command was called in a way that cannot be carried out."""

    code = 2


class FormulaError(KbError):
    """A formula file cannot be read or does not add up."""

    code = 3


class SeedError(KbError):
    """The seed text has problems."""

    code = 3


class UnknownNameError(KbError):
    """A name is not resolved for certain."""

    code = 3

    def __init__(
        self, message: str, where: str = "", fix: str = "", nearest: tuple[str, ...] = ()
    ) -> None:
        super().__init__(message, where, fix)
        self.nearest = nearest

    def __reduce__(self) -> tuple[object, ...]:
        """Travel whole from a worker to the program that asked."""
        return type(self), (self.message, self.where, self.fix, self.nearest)

    def as_json(self) -> dict[str, object]:
        """Return the failure with the nearest names."""
        tree = super().as_json()
        error = tree["error"]
        assert isinstance(error, dict)
        error["nearest"] = list(self.nearest)
        return tree


class DatabaseError(KbError):
    """The knowledge file is missing, old or damaged."""

    code = 4
