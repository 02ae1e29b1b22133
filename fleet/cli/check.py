"""`walkdown check DIR`: does a hand-over record still say what was signed?"""

import argparse
from pathlib import Path

from fleet.cli.saying import DONE, REPORTED, say
from fleet.record.checking import check


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument("folder", type=Path, metavar="DIR", help="the record's folder")


def run(arguments: argparse.Namespace) -> int:
    """Check each part and say which doesn't match."""
    report = check(arguments.folder)
    for part in report.parts:
        say(f"{'matches' if part.ok else 'DOES NOT MATCH'}  {part.name}: {part.reason}")
    return DONE if all(part.ok for part in report.parts) else REPORTED
