"""What the words behind `walkdown campaign` take."""

import argparse
from pathlib import Path

from fleet.cli.reached import add_naming_arguments, add_reaching_arguments
from fleet.model.firmware import CampaignTerms

LONGEST_DWELL_S = 24 * 3600
MOST_AT_ONCE = 64
_DEFAULTS = CampaignTerms()


def add_campaign_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb and its second words take."""
    verbs = parser.add_subparsers(dest="campaign_verb", required=True)
    plan = verbs.add_parser("plan", help="show the waves; nothing is sent")
    start = verbs.add_parser("start", help="show the waves, ask, and install")
    for one in (plan, start):
        _add_terms(one)
    resume = verbs.add_parser("resume", help="go on: what was cut off is read first")
    resume.add_argument("--why", default="", metavar="REASON", help="go on in spite of failures")
    resume.add_argument("--shelf", type=Path, metavar="SHELF", help="where the shelf lies now")
    pause = verbs.add_parser("pause", help="begin no more units; running ones get their end first")
    stop = verbs.add_parser("stop", help="the same, for good")
    status = verbs.add_parser("status", help="how it stands, a line a unit")
    status.add_argument("--json", action="store_true", help="print JSON for scripts")
    for one in (resume, pause, stop, status):
        one.add_argument("number", nargs="?", type=int, metavar="N", help="which (the last)")
    for one in (start, resume, pause, stop):
        add_reaching_arguments(one)
        add_naming_arguments(one)
    for one in (plan, start, resume, pause, stop, status):
        one.add_argument(  # behind the second word too, where a person writes it
            "--data", type=Path, default=argparse.SUPPRESS, metavar="DIR", help="the data folder"
        )


def terms_of(arguments: argparse.Namespace) -> CampaignTerms:
    """Return how a campaign is to be run."""
    return CampaignTerms(
        at_once=arguments.at_once,
        dwell_s=arguments.dwell,
        pull=arguments.pull,
        allow_downgrade=arguments.allow_downgrade,
        shelf=str(arguments.shelf.absolute()),
        downgrade_why=arguments.why.strip() if arguments.allow_downgrade else "",
    )


def _add_terms(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("--shelf", required=True, type=Path, metavar="SHELF", help="folder of images and manifest")
    add("--version", required=True, metavar="V", help="which build, as the shelf writes it")
    add("--image", default="", metavar="FILE", help="where the shelf has several of that version")
    add("--units", default=(), type=_labels, metavar="L,L", help="labels of units (all)")
    add(
        "--bench",
        action="append",
        default=[],
        metavar="LABEL",
        help="a unit that lies on the bench",
    )
    add(
        "--at-once",
        type=_at_once,
        default=_DEFAULTS.at_once,
        metavar="N",
        help=f"units away at the same time, never two of one room ({_DEFAULTS.at_once})",
    )
    add(
        "--dwell",
        type=_dwell_s,
        default=_DEFAULTS.dwell_s,
        metavar="S",
        help=f"how long each has to report well afterwards ({_DEFAULTS.dwell_s} s)",
    )
    add("--pull", action="store_true", help="units fetch the image, which is served to each alone")
    add("--allow-downgrade", action="store_true", help="an older build is meant; start asks --why")
    add("--why", default="", metavar="REASON", help="why an older build is meant, for the journal")


def _labels(text: str) -> tuple[str, ...]:
    return tuple(label.strip() for label in text.split(",") if label.strip())


def _at_once(text: str) -> int:
    return _between(text, 1, MOST_AT_ONCE)


def _dwell_s(text: str) -> int:
    return _between(text, 0, LONGEST_DWELL_S)


def _between(text: str, least: int, most: int) -> int:
    number = int(text)
    if not least <= number <= most:
        raise argparse.ArgumentTypeError(f"{least} to {most}")
    return number
