"""The console script: with a verb it hands over to `fleet.cli` and loads no Qt; without, a window opens."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from fleet.cli.main import VERBS
from fleet.cli.main import main as run_verb
from fleet.cli.starting import WorkbenchStart, real_start
from fleet.inventory.places import default_folder

if TYPE_CHECKING:
    from ui.bridge.passphrase import Passphrase


def main(argv: Sequence[str] | None = None) -> int:
    """Run the verb, or open the workbench; return the exit code.

    Args:
        argv: the words after the program's name; the process's own by default.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    if words and (
        words[0] in VERBS or words[0] in ("-h", "--help") or not words[0].startswith("-")
    ):
        return run_verb(words, open_workbench)
    arguments = _parser().parse_args(words)
    # Only the window asks for a passphrase, and it keeps its own; see `ui.bridge.passphrase`.
    from ui.bridge.passphrase import Passphrase  # noqa: PLC0415 - a verb loads nothing of the window

    passphrase = Passphrase()
    start = real_start(arguments.data or default_folder(), passphrase.ask, theme=arguments.theme)
    return _open(start, passphrase)


def open_workbench(start: WorkbenchStart) -> int:
    """Open the window on a start and return the exit code when it is closed; Qt is loaded here."""
    return _open(start, None)


def _open(start: WorkbenchStart, passphrase: "Passphrase | None") -> int:
    from ui.windows.opening import run_workbench  # noqa: PLC0415 - Qt is loaded only for a window

    return run_workbench(start, passphrase)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="walkdown", description="Open the workbench.")
    parser.add_argument("--data", type=Path, metavar="DIR", help="the inventory's folder")
    parser.add_argument("--theme", choices=("light", "dark"), default="light", help="its colours")
    return parser


if __name__ == "__main__":
    sys.exit(main())
