"""Run the commands shown in README.md and put their real output under them.

A block is ``<!-- run: kb ... -->``, then a fenced block that this script rewrites; ``<!-- day -->``
is the maker's day of ``day.py``. With ``--check`` nothing is written; the exit code is 1 when the
README shows something else than what runs.
"""

from __future__ import annotations

import contextlib
import io
import re
import shlex
import sys
import tempfile
from pathlib import Path

from kb.cli.main import run

sys.path.insert(0, str(Path(__file__).resolve().parent))
from day import shown  # noqa: E402

ROOT = Path(__file__).resolve().parent.parent
BLOCK = re.compile(
    r"(<!-- run: (?P<command>[^>]*?)(?: \| head -(?P<head>\d+))? -->\n)```.*?```", re.S
)

DAY = re.compile(r"(<!-- day -->\n)```.*?```", re.S)


def output_of(command: str, head: str | None) -> str:
    """Return what a command prints, cut after some lines when asked."""
    words = shlex.split(command)
    assert words[0] == "kb", command
    stream = io.StringIO()
    with contextlib.redirect_stdout(stream):
        run(words[1:])
    lines = stream.getvalue().rstrip().splitlines()
    if head and len(lines) > int(head):
        lines = [*lines[: int(head)], "..."]
    return "\n".join(lines)


def renewed(text: str) -> str:
    """Return README text with every block run again."""

    def again(match: re.Match[str]) -> str:
        shown = f"$ {match['command']}\n{output_of(match['command'], match['head'])}"
        return f"{match[1]}```text\n{shown}\n```"

    def day(match: re.Match[str]) -> str:
        with tempfile.TemporaryDirectory() as folder, contextlib.redirect_stderr(io.StringIO()):
            return f"{match[1]}```text\n{shown(Path(folder))}\n```"

    return DAY.sub(day, BLOCK.sub(again, text))


def main() -> int:
    path = ROOT / "README.md"
    old = path.read_text(encoding="utf-8")
    new = renewed(old)
    if "--check" in sys.argv:
        return int(old != new)
    path.write_text(new, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
