"""What the words behind `walkdown shelf` take."""

import argparse
import getpass
from datetime import date
from pathlib import Path

from fleet.model.house import MatchWord, ModuleType


def add_shelf_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb and its second words take."""
    verbs = parser.add_subparsers(dest="shelf_verb", required=True)
    own = [
        _add_image_arguments(verbs.add_parser("add", help="put an image on a shelf")),
        _add_shelf(verbs.add_parser("sign", help="sign a shelf with the firm's key")),
        _add_check_arguments(verbs.add_parser("check", help="is it whole, signed and trusted?")),
        _add_trust_arguments(verbs.add_parser("trust", help="use shelves that a key signed")),
        _add_trust_arguments(verbs.add_parser("distrust", help="use them no longer")),
        _add_match_arguments(
            verbs.add_parser("match", help="say whether a build goes with some units")
        ),
    ]
    for one in own:
        one.add_argument(  # behind the second word too, where a person writes it
            "--data", type=Path, default=argparse.SUPPRESS, metavar="DIR", help="the data folder"
        )


def _reason(text: str) -> str:
    if not text.strip():
        raise argparse.ArgumentTypeError("a reason is needed")
    return text.strip()


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as reason:
        raise argparse.ArgumentTypeError("a day is written YYYY-MM-DD") from reason


def _add_shelf(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    parser.add_argument("shelf", type=Path, metavar="SHELF", help="the shelf's folder")
    return parser


def _add_image_arguments(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    add = parser.add_argument
    modules = [module.value for module in ModuleType]
    add("image", type=Path, metavar="IMAGE", help="the image's file")
    add("--version", required=True, help="as its maker writes it")
    add("--sequence", required=True, type=int, metavar="N", help="only ever rises in its class")
    add("--vendor", required=True, metavar="UUID", help="who made the units")
    add("--class", required=True, dest="class_id", metavar="UUID", help="class of the units")
    add("--hardware", required=True, action="append", metavar="R", help="a board it is for")
    add("--module", required=True, action="append", choices=modules, help="it goes with such")
    add("--module-firmware", action="append", default=[], metavar="F", help="it was tried with")
    add("--build-id", default="", metavar="NAME", help="the maker's name for this very build")
    add("--notes", default="", help="what a person should know")
    add("--support-ends", type=_day, metavar="DATE", help="last day on which it is mended")
    return _add_shelf(parser)


def _add_check_arguments(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    parser.add_argument("--key", type=Path, metavar="FILE", help="the one public key to trust")
    return _add_shelf(parser)


def _add_word_arguments(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    parser.add_argument("--why", required=True, type=_reason, help="the reason, for the journal")
    parser.add_argument("--by", default=getpass.getuser(), metavar="NAME", help="who says so")
    return parser


def _add_trust_arguments(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    told = "of the key, from its owner by another way"
    parser.add_argument("fingerprint", metavar="FINGERPRINT", help=told)
    return _add_word_arguments(parser)


def _add_match_arguments(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    add = parser.add_argument
    add("word", choices=[word.value for word in MatchWord])
    add("--version", required=True, help="of the build")
    add("--hardware", required=True, metavar="R", help="hardware revision")
    add("--module", required=True, choices=[module.value for module in ModuleType])
    add("--module-firmware", required=True, metavar="F", help="firmware of the module")
    return _add_word_arguments(parser)
