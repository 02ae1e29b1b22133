"""Picking the verb, and turning errors into sentences and exit codes.

0 done · 1 the work found something to report · 2 usage · 3 could not do it.
"""

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Protocol

from fleet.cli import (
    apply,
    campaign,
    check,
    demo,
    drift,
    identify,
    jobs,
    journal,
    labels,
    profile,
    record,
    restore,
    scan,
    secret,
    shelf,
    simulate,
    site,
    swap,
    template,
    unit,
)
from fleet.cli.saying import FAILED, USAGE, say_error
from fleet.cli.starting import WorkbenchStart
from fleet.inventory.places import default_folder
from fleet.model.errors import WalkdownError

OpenWorkbench = Callable[[WorkbenchStart], int]


class _Verb(Protocol):
    """A module of a verb."""

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Say what the verb takes."""

    def run(self, arguments: argparse.Namespace) -> int:
        """Do it; return the exit code."""


VERBS: dict[str, tuple[_Verb, str]] = {
    "demo": (demo, "a simulated house, found, read, walked, signed and handed over"),
    "simulate": (simulate, "run the simulated house until stopped"),
    "scan": (scan, "listen for units on the network"),
    "unit": (unit, "read one unit by address"),
    "profile": (profile, "try out and list profiles of units without a description"),
    "secret": (secret, "keep, forget and list what lets us into units"),
    "identify": (identify, "have units show themselves, one after another"),
    "labels": (labels, "sticky labels with codes for the units of a site"),
    "swap": (swap, "a unit or its module was replaced"),
    "site": (site, "start a site from a plan file"),
    "template": (template, "room templates, and where each planned value comes from"),
    "jobs": (jobs, "what is left to do"),
    "apply": (apply, "write what is planned and doesn't stand yet, and read it back"),
    "restore": (restore, "bring a unit back to a sheet that was kept of it"),
    "journal": (journal, "check that the account is whole, or print it"),
    "shelf": (shelf, "firmware images on a folder or a stick: add, sign, check, trust"),
    "drift": (drift, "how the units' builds stand, and which houses to visit for a new one"),
    "campaign": (campaign, "install a firmware image over a site, wave by wave"),
    "record": (record, "issue the hand-over record"),
    "check": (check, "check a hand-over record"),
}


def main(argv: Sequence[str] | None = None, open_workbench: OpenWorkbench | None = None) -> int:
    """Run one verb and return its exit code.

    Args:
        argv: the words after the program's name; the process's own by default.
        open_workbench: opens the window, for a verb that may show one; None where there is no screen.
    """
    arguments = _parser().parse_args(sys.argv[1:] if argv is None else argv)
    arguments.open_workbench = open_workbench
    if arguments.data is None and arguments.verb != "demo":
        arguments.data = default_folder()
    verb, _ = VERBS[arguments.verb]
    try:
        return verb.run(arguments)
    except WalkdownError as reason:
        say_error(reason)
        return FAILED
    except KeyboardInterrupt:
        say_error("stopped.")
        return FAILED


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="walkdown",
        description="Commission, check and hand over a house of presence units. "
        "Without a verb the workbench opens.",
        epilog=f"Exit codes: 0 done, 1 something to report, {USAGE} usage, {FAILED} could not do it.",
    )
    verbs = parser.add_subparsers(dest="verb", required=True, metavar="VERB")
    for name, (verb, help_text) in VERBS.items():
        own = verbs.add_parser(name, help=help_text, description=help_text)
        own.add_argument(
            "--data", type=Path, metavar="DIR", help="the inventory's folder (the platform's own)"
        )
        verb.add_arguments(own)
    return parser
