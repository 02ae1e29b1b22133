"""A person's choices about open items: typed in, written down, and for how long they hold.

1. A choice goes into the journal with the three values that it was made on, so that it can be judged
   later. It holds as long as the unit holds what it did, was left as it was, and the plan says what the
   choice made of it: a unit that changes again is open again.
2. To keep what was found, or to type another value, changes the plan too (`planned_after`); to take the
   plan's value leaves the plan. A typed value, like the plan's, may be written then.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from fleet.jobs.comparing import agree
from fleet.model.errors import PlanError
from fleet.model.journal import JournalRow
from fleet.model.sheets import (
    AreaKind,
    Choice,
    Comparison,
    Take,
    Value,
    outline_from_text,
    outline_to_text,
)

DECIDED = "decided"
"""What the journal calls a choice; the subject is the unit's serial."""

_PLANNED_AFTER = {Take.FOUND: "found", Take.PLANNED: "planned", Take.TYPED: "value"}
_FEWEST_CORNERS = 3
_MOST_DIGITS = 15
_SWITCH = {"true": True, "yes": True, "on": True, "false": False, "no": False, "off": False}


def value_from_text(item: Comparison, text: str) -> Value:
    """Read a value that a person typed for an item, of the type that the item has.

    Raises:
        PlanError: it is no such value.
    """
    like = next(v for v in (item.found, item.planned, item.as_left, "") if v is not None)
    text = text.strip()
    if isinstance(like, bool):
        return _switch(item.key, text)
    if isinstance(like, int):
        return _number(item.key, text)
    return _word(item.key, text)


def detail_of(item: Comparison, choice: Choice) -> dict[str, Any]:
    """Return what the journal keeps of a choice about an item."""
    return {
        "item": item.key,
        "take": choice.take.value,
        "value": choice.value,
        "planned": item.planned,
        "found": item.found,
        "as_left": item.as_left,
        "by": choice.by,
        "why": choice.why,
    }


def choices_for(
    serial: str, items: Iterable[Comparison], rows: Iterable[JournalRow]
) -> Mapping[str, Choice]:
    """Return item → the last choice about it in the journal that still holds.

    Args:
        serial: the unit.
        items: how its items stand now.
        rows: the journal's rows of choices, oldest first.
    """
    last = {
        str(row.detail["item"]): row.detail
        for row in rows
        if row.what == DECIDED and row.subject == serial and "take" in row.detail
    }
    return {
        item.key: _choice_of(last[item.key])
        for item in items
        if item.key in last and _holds(item, last[item.key])
    }


def _holds(item: Comparison, detail: Mapping[str, Any]) -> bool:
    planned = detail[_PLANNED_AFTER[Take(detail["take"])]]
    pairs = (
        (item.planned, planned),
        (item.found, detail["found"]),
        (item.as_left, detail["as_left"]),
    )
    return all(now == then or agree(item.key, now, then) for now, then in pairs)


def _choice_of(detail: Mapping[str, Any]) -> Choice:
    return Choice(Take(detail["take"]), str(detail["by"]), str(detail["why"]), detail["value"])


def _switch(key: str, text: str) -> bool:
    if text.lower() not in _SWITCH:
        raise _no_value(key, text, "on or off")
    return _SWITCH[text.lower()]


def _number(key: str, text: str) -> int:
    digits = text.removeprefix("-")
    if not digits.isascii() or not digits.isdigit() or len(digits) > _MOST_DIGITS:
        raise _no_value(key, text, "a whole number in the unit that the item's name ends with")
    return int(text)


def _word(key: str, text: str) -> str:
    if key.startswith("areas.") and key.endswith(".outline"):
        outline = outline_from_text(text)
        if len(outline) < _FEWEST_CORNERS:
            raise _no_value(key, text, "three corners or more")
        return outline_to_text(outline)
    if key.startswith("areas.") and key.endswith(".kind") and text not in set(AreaKind):
        raise _no_value(key, text, ", ".join(AreaKind))
    if not text:
        raise _no_value(key, text, "a word")
    return text


def _no_value(key: str, text: str, wanted: str) -> PlanError:
    return PlanError(
        f"{text[:60]!r} can't be its value.",
        subject=key,
        stands="The item stays open.",
        next_step=f"It has to be {wanted}.",
    )
