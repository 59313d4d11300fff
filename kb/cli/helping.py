"""Help: one sentence, then examples that run, then options; the nearest command on a slip."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import Any

from typer.core import TyperCommand, TyperGroup

from kb.errors import UsageError

#: Examples of each command as its help shows them; a test runs them all.
EXAMPLES: dict[str, tuple[str, ...]] = {
    "": ("kb find beeswax", "kb swap cream.toml beeswax"),
    "find": ("kb find beeswax", 'kb find "shea buter" --limit 3'),
    "show": ('kb show "zinc oxide"', "kb show glyceryl-stearate--90-mono --json"),
    "roles": ("kb roles", "kb roles light-ester"),
    "suits": ('kb suits "xanthan gum" --system w/o', "kb suits carbomer --formula cream.toml"),
    "check": ("kb check cream.toml", "kb check - --json < cream.toml"),
    "swap": (
        "kb swap cream.toml beeswax",
        "kb swap cream.toml beeswax --policy vegan --top 5 -o vegan.toml",
        "kb swap cream.toml squalane --blend 2 --top 5",
    ),
    "why": (
        "kb why beeswax melting_point",
        "kb why --formula cream.toml consistency_25c",
    ),
    "serve": ("kb serve", "kb serve --port 8765 --open"),
    "build": ("kb build --force", "kb build -o base.sqlite --force"),
    "help": ("kb help swap", "kb help data lint"),
    "data": ("kb data lint", "kb data coverage"),
    "data lint": ("kb data lint", "kb data lint --json"),
    "data format": ("kb data format --check", "kb data format --folder seed_data --check"),
    "data coverage": ("kb data coverage", "kb data coverage --json"),
    "data conflicts": ("kb data conflicts", "kb data conflicts --json"),
}


def _write_examples(path: str, formatter: Any) -> None:
    """Write the examples of a command, each on a line of its own."""
    lines = EXAMPLES.get(path.removeprefix("kb").strip())
    if lines:
        formatter.write_paragraph()
        formatter.write("Examples:\n")
        for line in lines:
            formatter.write(f"  {line}\n")


#: Options of which the value may be left out, with what it is then.
BARE: dict[str, dict[str, str]] = {}
_LISTS = frozenset({".csv", ".xlsx", ".tsv", ".txt", ".xls", ".ods"})


def _names_a_list(word: str) -> bool:
    """Tell whether a word behind such an option is its file, not the next argument."""
    ending = Path(word).suffix.lower()
    if not word or (word.startswith("-") and word != "-") or ending == ".toml":
        return False
    try:
        there = Path(word).exists()
    except (OSError, ValueError):
        # No usable path; whoever reads the list says so.
        return True
    return there or word == "-" or "/" in word or ending in _LISTS


class Command(TyperCommand):
    """A command whose help shows its examples before its options."""

    def parse_args(self, ctx: Any, args: list[str]) -> Any:
        """Fill in the values of options that may stand bare."""
        bare = BARE.get(self.name or "", {})
        given: list[str] = []
        for n, word in enumerate(args):
            given.append(word)
            after = args[n + 1] if n + 1 < len(args) else ""
            if word in bare and not _names_a_list(after):
                given.append(bare[word])
        return super().parse_args(ctx, given)

    def format_help_text(self, ctx: Any, formatter: Any) -> None:
        """Write the sentence and the examples."""
        super().format_help_text(ctx, formatter)
        _write_examples(ctx.command_path, formatter)


class Group(TyperGroup):
    """A group of commands that names the nearest ones when asked for one it has not."""

    def format_help_text(self, ctx: Any, formatter: Any) -> None:
        """Write the sentence and the examples."""
        super().format_help_text(ctx, formatter)
        _write_examples(ctx.command_path, formatter)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Return the command named first, or raise with the nearest names."""
        word = args[0]
        if self.get_command(ctx, word) is None and not ctx.resilient_parsing:
            known = self.list_commands(ctx)
            near = get_close_matches(word, known, 3, 0.5)
            hint = f"Did you mean {' or '.join(near)}?" if near else f"Try {', '.join(known)}."
            raise UsageError(f"There is no command {word!r}.", ctx.command_path, hint)
        return super().resolve_command(ctx, args)
