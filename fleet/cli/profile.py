"""`walkdown profile`: unit profiles, tried out and listed."""

import argparse
from pathlib import Path

from fleet.cli.saying import DONE, FAILED, REPORTED, say, say_error, say_json, table
from fleet.description.profile_parts import Match
from fleet.description.things import Thing
from fleet.engine.profile_files import ProfileFile, check_file, load_profiles, profile_folders
from fleet.model.errors import PlanError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    verbs = parser.add_subparsers(dest="profile_verb", required=True)
    check = verbs.add_parser("check", help="try profiles out; a mistake is told with its line")
    check.add_argument("files", type=Path, nargs="+", metavar="FILE", help="a unit profile")
    listed = verbs.add_parser("list", help="the profiles in use: the user's own and those shipped")
    listed.add_argument("--json", action="store_true", help="print JSON for scripts")
    for own in (check, listed):
        own.add_argument(  # behind the second word too, where a person writes it
            "--data",
            type=Path,
            default=argparse.SUPPRESS,
            metavar="DIR",
            help="the inventory's folder",
        )


def run(arguments: argparse.Namespace) -> int:
    """Try profiles out, or list them."""
    if arguments.profile_verb == "check":
        return max([_check(path) for path in arguments.files])
    return _list(arguments.data, as_json=arguments.json)


def _check(path: Path) -> int:
    try:
        checked = check_file(path)
    except PlanError as reason:
        say_error(reason)
        return FAILED
    for mistake in checked.mistakes:
        say(f"{path}:{mistake.line}: {mistake.sentence}")
    if checked.mistakes or checked.profile is None or checked.thing is None:
        return REPORTED
    say(f"{path}: sound: {checked.profile.name}, {_counts(checked.thing)}.")
    return DONE


def _counts(thing: Thing) -> str:
    numbers = (
        ("property", "properties", len(thing.properties)),
        ("action", "actions", len(thing.actions)),
        ("event", "events", len(thing.events)),
    )
    return ", ".join(f"{number} {one if number == 1 else many}" for one, many, number in numbers)


def _list(data: Path, *, as_json: bool) -> int:
    found = load_profiles(profile_folders(data))
    if as_json:
        say_json([_row(file) for file in found.files])
    else:
        rows = [_row(file) for file in found.files]
        head = ("name", "recognised by", "file")
        say(table([head, *((row["name"], row["match"], row["file"]) for row in rows)]))
    for trouble in found.troubles:
        say_error(trouble)
    return REPORTED if found.troubles else DONE


def _row(file: ProfileFile) -> dict[str, str]:
    profile = file.profile
    return {
        "name": profile.name,
        "match": match_in_words(profile.match),
        "file": str(file.path),
        "note": profile.note,
    }


def match_in_words(match: Match) -> str:
    """Say how units of a profile are recognised."""
    if match.announcement:
        return f"announcements under {match.announcement}"
    if not match.service_type:
        return "by hand, for an address"
    said = [f"{key}={' or '.join(values)}" for key, values in match.txt.items()]
    return " ".join([match.service_type, *said])
