"""Entry point; answers `--version` before anything heavy is imported."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line and leave with its exit code."""
    if sys.argv[1:] == ["--version"]:
        from kb import __version__

        print(f"kb {__version__}")
        return
    from kb.cli.main import run

    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
