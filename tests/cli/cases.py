"""One row a command: a call that works, its schema, and calls that fail with their code."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Case:
    """How a command is called well and badly."""

    name: str
    good: tuple[str, ...]
    schema: str
    bad: tuple[str, ...]
    code: int
    reads_base: bool = True


CASES = (
    Case("find", ("find", "beeswax"), "find", ("find",), 2),
    Case("show", ("show", "zinc oxide"), "show", ("show", "beewxx"), 3),
    Case("roles", ("roles",), "roles", ("roles", "no-such-role"), 3),
    Case("role", ("roles", "light-ester"), "role", ("roles", "light", "eseter"), 3),
    Case(
        "suits",
        ("suits", "xanthan gum", "--system", "w/o"),
        "suits",
        ("suits", "xanthan gum", "--system", "o/o"),
        2,
    ),
    Case(
        "suits formula",
        ("suits", "carbomer", "--formula", "lotion.toml"),
        "suits",
        ("suits", "carbomer"),
        2,
    ),
    Case("check", ("check", "cream.toml"), "check", ("check", "none.toml"), 3),
    Case(
        "swap",
        ("swap", "cream.toml", "beeswax", "--top", "4"),
        "swap",
        ("swap", "cream.toml", "carnauba"),
        3,
    ),
    Case(
        "why",
        ("why", "beeswax", "melting_point"),
        "why-fact",
        ("why", "beeswax", "meltingpoint"),
        3,
    ),
    Case(
        "why quantity",
        ("why", "--formula", "cream.toml", "consistency_25c"),
        "why-quantity",
        ("why", "--formula", "cream.toml", "thickness"),
        3,
    ),
    Case("build", ("build", "-o", "own.sqlite"), "build", ("build", "-o", "cream.toml"), 2, False),
    Case("lint", ("data", "lint"), "lint", ("data", "lint", "--folder", "none"), 2, False),
    Case("coverage", ("data", "coverage"), "coverage", ("data", "coverage", "extra"), 2),
    Case("conflicts", ("data", "conflicts"), "conflicts", ("data", "conflict"), 2),
)
COMMANDS = (
    "find",
    "show",
    "roles",
    "suits",
    "check",
    "swap",
    "why",
    "serve",
    "build",
    "help",
    "data",
    "data lint",
    "data format",
    "data coverage",
    "data conflicts",
)
