"""Saying things to the person at the terminal: results on standard output, errors on standard error."""

import getpass
import json
import os
import sys
from collections.abc import Mapping
from pathlib import Path

from fleet.model.errors import PlanError, WalkdownError

DONE, REPORTED, USAGE, FAILED = 0, 1, 2, 3
"""Exit codes: done; the work found something to report; usage; could not do it."""

PASSPHRASE_FILE = "WALKDOWN_PASSPHRASE_FILE"  # noqa: S105 - the name of an environment variable, whose value names a file


def say(text: str) -> None:
    """Print one line of the result."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def say_json(document: object) -> None:
    """Print a result for scripts."""
    say(json.dumps(document, ensure_ascii=False, indent=1))


def say_error(reason: WalkdownError | str) -> None:
    """Print what went wrong, on standard error."""
    sys.stderr.write(f"walkdown: {reason}\n")


def table(rows: list[tuple[str, ...]]) -> str:
    """Set rows under each other in columns as wide as they need."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
    return "\n".join(lines)


def ask_passphrase(environment: Mapping[str, str] | None = None) -> bytes:
    """Get the passphrase of the signing key: from a file that the environment names, or typed in.

    Never from the command line, where other people of the machine could read it.

    Raises:
        PlanError: nobody can be asked.
    """
    named = (os.environ if environment is None else environment).get(PASSPHRASE_FILE)
    if named:
        return Path(named).read_bytes().rstrip(b"\r\n")
    if not sys.stdin.isatty():
        raise PlanError(
            "the signing key needs a passphrase, and nobody is at the terminal to type it.",
            stands="Nothing was signed.",
            next_step=f"Put it into a file and name the file in {PASSPHRASE_FILE}.",
        )
    return getpass.getpass("Passphrase of the signing key: ").encode()
