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
        "swap blend",
        ("swap", "cream.toml", "squalane", "--blend", "2", "--top", "4"),
        "swap",
        ("swap", "cream.toml", "squalane", "--blend", "9"),
        2,
    ),
    Case(
        "adapt",
        ("adapt", "cream.toml", "--policy", "natural-only"),
        "adapt",
        ("adapt", "cream.toml"),
        2,
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
    Case("own add", ("own", "add", "materials.csv"), "own-change", ("own", "add", "none.csv"), 3),
    Case("own list", ("own", "list"), "own-list", ("own", "list", "extra"), 2),
    Case("own show", ("own", "show", "jojoba oil"), "own-show", ("own", "show", "carnauba"), 3),
    Case("own remove", ("own", "remove", "jojoba oil"), "own-change", ("own", "remove", "wax"), 3),
    Case("own undo", ("own", "undo"), "own-change", ("own", "undo", "extra"), 2),
    Case(
        "own backup",
        ("own", "backup", "mine.sqlite", "--force"),
        "own-change",
        ("own", "backup", "cream.toml"),
        2,
    ),
    Case(
        "own restore",
        ("own", "restore", "copy.sqlite"),
        "own-change",
        ("own", "restore", "none.sqlite"),
        2,
    ),
    Case("own shelf", ("own", "shelf"), "own-shelf", ("own", "shelf", "bad.csv"), 3),
    Case(
        "sheet",
        ("sheet", "cream.toml", "--batch", "2.5kg"),
        "sheet",
        ("sheet", "cream.toml", "--batch", "a jar"),
        2,
    ),
    Case(
        "measured",
        ("measured", "cream.toml", "--consistency", "42000", "--age", "24h", "--temperature", "25"),
        "measured",
        ("measured", "cream.toml", "--ph", "15"),
        2,
    ),
    Case("measured list", ("measured", "--list"), "measured", ("measured",), 2),
    Case(
        "compare",
        ("compare", "cream.toml", "lotion.toml"),
        "compare",
        ("compare", "cream.toml", "none.toml"),
        3,
    ),
    Case("outlook", ("outlook", "."), "outlook", ("outlook", "none"), 2),
    Case(
        "event",
        ("event", ".", "squalane", "--from", "2030-01-31", "--left", "40"),
        "event",
        ("event", ".", "squalane", "--from", "soon"),
        2,
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
    "adapt",
    "why",
    "sheet",
    "measured",
    "compare",
    "convert",
    "outlook",
    "event",
    "own",
    "own template",
    "own add",
    "own list",
    "own show",
    "own remove",
    "own undo",
    "own export",
    "own backup",
    "own restore",
    "own shelf",
    "serve",
    "build",
    "help",
    "data",
    "data lint",
    "data format",
    "data coverage",
    "data conflicts",
)
