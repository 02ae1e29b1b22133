"""`walkdown journal check|show`: is the account whole, and what does it say?"""

import argparse
import json
import re
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, REPORTED, say, say_json
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.inventory.journal import first_break, hashed_line
from fleet.model.clock import to_rfc3339
from fleet.model.errors import PlanError, RecordError
from fleet.model.journal import JournalRow

RECIPE = """\
Anybody can check the account without this program. `walkdown journal show --json` writes a line of
canonical JSON (RFC 8785) for each row, oldest first; the SHA-256 of a line, without its line end, stands as
"previous" in the next one:

  walkdown journal show --json > journal.jsonl
  while IFS= read -r line; do printf %s "$line" | sha256sum; done < journal.jsonl

The last sum is the head of the journal. A hand-over record names the head at the time of its issue; keep
it, and rows cut off at the end are found: walkdown journal check --head SHA256. With --unit only some rows
are written, and the lines of others are missing in between."""

RECORD_FILE = "record.json"
_HEAD = re.compile(r"[0-9a-f]{64}")
_LONGEST_DETAIL = 120


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.epilog = RECIPE
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    acts = parser.add_subparsers(dest="act", required=True, metavar="check|show")
    checking = acts.add_parser("check", help="check that each row follows from the one before")
    heads = checking.add_mutually_exclusive_group()
    heads.add_argument(
        "--head", type=_head, metavar="SHA256", help="a head that was kept: it must be in it"
    )
    heads.add_argument(
        "--record", type=Path, metavar="DIR", help="take the head from a hand-over record"
    )
    showing = acts.add_parser(
        "show",
        help="print the rows, oldest first",
        epilog=RECIPE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    for act in (checking, showing):
        act.add_argument("--unit", default="", metavar="SERIAL", help="rows of one unit alone")
        act.add_argument("--json", action="store_true", help="print JSON for scripts")


def run(arguments: argparse.Namespace) -> int:
    """Check the account, or print it."""
    with open_inventory(arguments.data, real_clock()) as inventory:
        rows = inventory.journal()
        chosen = _of_unit(inventory, rows, arguments.unit)
        if arguments.act == "show":
            return _show(chosen, as_json=arguments.json)
        head = _record_head(arguments.record) if arguments.record else arguments.head or ""
        complaints = complaints_about(rows, head, inventory.unaccounted())
    return _say_checked(rows, chosen, complaints, arguments)


def complaints_about(
    rows: Sequence[JournalRow], head: str = "", unaccounted: Sequence[str] = ()
) -> tuple[str, ...]:
    """Say what is wrong with an account, the first break of its chain first; nothing where it is whole.

    Args:
        rows: the whole account, oldest first.
        head: a hash that was kept earlier and must be in it; "" for none.
        unaccounted: what is kept and no row accounts for.
    """
    found: list[str] = []
    broken = first_break(rows)
    if broken is not None:
        found.append(f"row {broken.number} doesn't follow from the one before: {broken.why}")
    if head and head not in {row.sha256 for row in rows}:
        found.append(f"the head {head} isn't in it: rows are missing, or it is another journal")
    found += [f"rows are missing: {sentence}" for sentence in unaccounted]
    return tuple(found)


def _say_checked(
    rows: Sequence[JournalRow],
    chosen: Sequence[JournalRow],
    complaints: Sequence[str],
    arguments: argparse.Namespace,
) -> int:
    head = rows[-1].sha256 if rows else ""
    if arguments.json:
        document = {"rows": len(rows), "head": head, "whole": not complaints}
        say_json({**document, "complaints": list(complaints)})
    elif complaints:
        say("\n".join(f"NOT WHOLE  {complaint}" for complaint in complaints))
    else:
        of_unit = f", {len(chosen)} of them of {arguments.unit}" if arguments.unit else ""
        say(f"whole  {len(rows)} rows{of_unit}, each follows from the one before")
        say(f"head   {head or 'none: the journal is empty'}")
        if not (arguments.head or arguments.record):
            say("Whether rows were cut off at the end only a head that was kept tells: --head.")
    return REPORTED if complaints else DONE


def _show(rows: Iterable[JournalRow], *, as_json: bool) -> int:
    if as_json:
        for row in rows:
            # Bytes, so that no line end is changed on the way: strangers take sums of these lines.
            sys.stdout.buffer.write(hashed_line(row) + b"\n")
        sys.stdout.buffer.flush()
        return DONE
    for row in rows:
        say(_in_words(row))
    return DONE


def _in_words(row: JournalRow) -> str:
    detail = json.dumps(row.detail, ensure_ascii=False, sort_keys=True)
    if len(detail) > _LONGEST_DETAIL:
        detail = detail[:_LONGEST_DETAIL] + "…"
    return f"{row.number:>6}  {to_rfc3339(row.at)}  {row.what:<20} {row.subject:<16} {detail}"


def _of_unit(inventory: Inventory, rows: Sequence[JournalRow], unit: str) -> tuple[JournalRow, ...]:
    """Return the rows of a unit, named by its serial or its label; all of them for "".

    Raises:
        PlanError: the account doesn't know the unit.
    """
    if not unit:
        return tuple(rows)
    lines = inventory.plan().units if inventory.site_name is not None else ()
    serials = {unit, *(line.serial for line in lines if line.label == unit and line.serial)}
    found = tuple(row for row in rows if row.subject in serials)
    if not found:
        raise PlanError("no row is about that unit.", subject=unit, next_step="Name its serial.")
    return found


def _record_head(folder: Path) -> str:
    """Return the head that a hand-over record names.

    Raises:
        RecordError: there is none.
    """
    path = folder / RECORD_FILE
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as reason:
        raise RecordError(
            f"it can't be read: {reason}.", subject=str(path), next_step="Name a record's folder."
        ) from reason
    head = document.get("journal_head") if isinstance(document, dict) else None
    if not isinstance(head, str) or not _HEAD.fullmatch(head):
        raise RecordError(
            "it names no head of a journal.", subject=str(path), next_step="Use --head instead."
        )
    return head


def _head(text: str) -> str:
    if not _HEAD.fullmatch(text.lower()):
        raise argparse.ArgumentTypeError("a head is 64 hexadecimal digits")
    return text.lower()
