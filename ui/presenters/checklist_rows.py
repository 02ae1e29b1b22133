"""A room's checklist as a person reads, ticks and signs it."""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.model.findings import ItemResult, Outcome, RoomResult
from fleet.model.snapshot import ItemState

_STATES = {
    Outcome.PASS: ItemState.SHOWN,
    Outcome.FAIL: ItemState.WRONG,
    Outcome.INCONCLUSIVE: ItemState.LOOK,
    Outcome.NOT_TESTED: ItemState.NOT_TESTED,
}
_WORDS = {
    Outcome.PASS: "shown",
    Outcome.FAIL: "wrong",
    Outcome.INCONCLUSIVE: "inconclusive",
    Outcome.NOT_TESTED: "not tested",
}


@dataclass(frozen=True, slots=True)
class ChecklistRow:
    """One item.

    Attributes:
        key: the item's key; text: what it asks.
        word: how it stands, in a word; reason: why.
        can_tick: a person may say that it is done.
        can_except: it isn't shown, and may be signed for with a reason.
    """

    key: str
    text: str
    word: str
    reason: str
    state: ItemState
    can_tick: bool
    can_except: bool


def checklist_rows(result: RoomResult) -> tuple[ChecklistRow, ...]:
    """Return a room's items as they stand."""
    return tuple(_row(item) for item in result.items)


def what_is_missing(result: RoomResult, name: str, role: str, exceptions: Mapping[str, str]) -> str:
    """Say what still stands in the way of a signature; "" for nothing."""
    open_items = [
        item for item in result.items if _open(item) and not exceptions.get(item.key, "").strip()
    ]
    if open_items:
        first = open_items[0].text.rstrip(".")
        more = f" and {len(open_items) - 1} more" if len(open_items) > 1 else ""
        return f"Not shown, and no reason written beside it: “{first}”{more}."
    if not name.strip():
        return "The name of the person who accepts is missing."
    if not role.strip():
        return "The role of the person who accepts is missing, for example client or installer."
    return ""


def signed_words(result: RoomResult) -> str:
    """Say who accepted the room."""
    return f"Accepted by {result.signed_by}." if result.signed_by else "Nobody has accepted it yet."


def _row(item: ItemResult) -> ChecklistRow:
    return ChecklistRow(
        key=item.key,
        text=item.text,
        word=_WORDS[item.outcome],
        reason=item.reason,
        state=_STATES[item.outcome],
        can_tick=item.evidence in ("tick", "photo") and item.outcome is not Outcome.PASS,
        can_except=_open(item),
    )


def _open(item: ItemResult) -> bool:
    return item.outcome is not Outcome.PASS and item.evidence != "signature"
