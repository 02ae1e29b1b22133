"""What the words behind `walkdown template` take."""

import argparse
import getpass
from pathlib import Path

from fleet.model.errors import PlanError
from fleet.model.house import ModuleType, RoomKind
from fleet.model.sheets import Value
from fleet.model.templates import Level

MOST_DIGITS = 15
_SWITCH = {"true": True, "on": True, "false": False, "off": False}


def add_template_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb and its second words take."""
    verbs = parser.add_subparsers(dest="template_verb", required=True)
    shown = verbs.add_parser("list", help="the site's templates")
    where = verbs.add_parser("where", help="where each planned value of a unit comes from")
    where.add_argument("unit", metavar="UNIT", help="label or serial")
    own = [
        shown,
        where,
        _add_set_arguments(verbs.add_parser("set", help="set one, or values in one")),
    ]
    for one in (shown, where):
        one.add_argument("--json", action="store_true", help="print JSON for scripts")
    for one in own:
        one.add_argument(  # behind the second word too, where a person writes it
            "--data", type=Path, default=argparse.SUPPRESS, metavar="DIR", help="the data folder"
        )


def _add_set_arguments(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    which = parser.add_mutually_exclusive_group(required=True)
    which.add_argument("--file", type=Path, metavar="FILE", help="take a template file over")
    which.add_argument("--example", choices=[*RoomKind], help="take a shipped example over")
    which.add_argument("--site", action="store_true", help="values for the whole site")
    which.add_argument("--room-kind", choices=[*RoomKind], help="values for rooms of a kind")
    which.add_argument("--room", metavar="KEY", help="values for one room, by its key in the plan")
    which.add_argument("--unit", metavar="UNIT", help="values for one unit, by label or serial")
    parser.add_argument(
        "--module", choices=[*ModuleType], help="for units with this module type alone"
    )
    parser.add_argument(
        "--drop",
        action="store_true",
        help="take the template of --site, --room-kind or --room away",
    )
    parser.add_argument(
        "values",
        nargs="*",
        metavar="SETTING=VALUE",
        help="a setting by its name in a sheet; SETTING= sets it no longer",
    )
    parser.add_argument("--why", type=_reason, required=True, help="the reason, for the journal")
    parser.add_argument("--by", default=getpass.getuser(), help="who sets it (you)")
    return parser


def refuse_mixture(arguments: argparse.Namespace) -> None:
    """Refuse words that don't go together.

    Raises:
        PlanError: a whole template and values, nothing at all, or a unit with a module or a drop.
    """
    whole = arguments.file is not None or arguments.example is not None
    values, drop = bool(arguments.values), bool(arguments.drop)
    if whole and (values or drop or arguments.module):
        raise _mixed("a whole template is taken over, so nothing else can be set with it")
    if not whole and drop == values:
        raise _mixed("values to set are named, or the template is dropped: one of the two")
    if arguments.module and drop:
        raise _mixed("a template is dropped as a whole, not for one module type")
    if arguments.unit is not None and (drop or arguments.module):
        raise _mixed("a single unit has no template: name the settings to decide about it")


def _mixed(reason: str) -> PlanError:
    return PlanError(
        f"{reason}.",
        stands="Nothing was changed.",
        next_step="See walkdown template set --help.",
    )


def target_of(arguments: argparse.Namespace) -> tuple[Level, str]:
    """Return the level and the subject that values are set for."""
    if arguments.room_kind is not None:
        return Level.ROOM_KIND, str(arguments.room_kind)
    return (Level.ROOM, str(arguments.room)) if arguments.room is not None else (Level.SITE, "")


def setting_from(text: str) -> tuple[str, Value | None]:
    """Read SETTING=VALUE: a whole number, on or off, or a word; nothing behind the sign is None.

    Raises:
        PlanError: there is no sign, or no name before it.
    """
    name, sign, value = text.partition("=")
    name = name.strip().removeprefix("setting.")
    if not sign or not name:
        raise PlanError(
            "it is no SETTING=VALUE.",
            subject=text,
            stands="Nothing was changed.",
            next_step="For example hold_time_s=45.",
        )
    return name, _value(value.strip())


def _value(text: str) -> Value | None:
    if not text:
        return None
    digits = text.removeprefix("-")
    if digits.isascii() and digits.isdigit() and len(digits) <= MOST_DIGITS:
        return int(text)
    return _SWITCH.get(text.lower(), text)


def _reason(text: str) -> str:
    if not text.strip():
        raise argparse.ArgumentTypeError("a reason is needed")
    return text.strip()
