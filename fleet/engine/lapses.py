"""What no longer counts since a unit or its module was swapped: kept beside the evidence, nothing deleted.

A document of the kind "lapse" stands under each label that was ever swapped. It says until when something
of it is void: its soak, the sheet that it was left with, its room's sign-off and ticks. What is dated after
that counts again.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from fleet.inventory.inventory import Inventory
from fleet.inventory.marks import Tick
from fleet.model.clock import from_rfc3339
from fleet.model.house import EarlierVisit, HousePlan, Signature
from fleet.model.sheets import Sheet

LAPSE = "lapse"
SOAK, AS_LEFT, SIGN_OFF, TICK = "soak", "as-left", "sign-off", "tick:"


@dataclass(frozen=True, slots=True)
class Lapsed:
    """What is void of one label.

    Attributes:
        label, room: whose, and where.
        until: "soak", "as-left", "sign-off" or "tick:<item>" → the moment up to which it is void.
    """

    label: str
    room: str
    until: Mapping[str, datetime]

    def voids(self, what: str, at: datetime) -> bool:
        """Say whether something of a date is void."""
        return what in self.until and at <= self.until[what]


def load_lapses(inventory: Inventory) -> Mapping[str, Lapsed]:
    """Return label → what is void of it, for every label that was ever swapped."""
    return {
        label: Lapsed(
            label,
            str(document["room"]),
            {str(what): from_rfc3339(at) for what, at in document["until"].items()},
        )
        for label, document in inventory.evidence(LAPSE).items()
    }


def plan_that_stands(plan: HousePlan, lapses: Mapping[str, Lapsed]) -> HousePlan:
    """Return the plan without the soaks that are void."""
    if not lapses:
        return plan
    return replace(plan, visits=tuple(_visit(visit, lapses) for visit in plan.visits))


def left_that_stands(
    as_left: Mapping[str, tuple[Sheet, datetime]], plan: HousePlan, lapses: Mapping[str, Lapsed]
) -> Mapping[str, tuple[Sheet, datetime]]:
    """Return serial → the sheet that it was left with, where that still counts."""
    by_serial = {line.serial: lapses.get(line.label) for line in plan.units if line.serial}
    return {
        serial: (sheet, at)
        for serial, (sheet, at) in as_left.items()
        if not _is_void(by_serial.get(serial), AS_LEFT, at)
    }


def signatures_that_stand(
    signatures: Mapping[str, Signature], lapses: Mapping[str, Lapsed]
) -> Mapping[str, Signature]:
    """Return room → who accepted it, where that still counts."""
    return {
        room: signature
        for room, signature in signatures.items()
        if not any(one.voids(SIGN_OFF, signature.signed_at) for one in _of_room(room, lapses))
    }


def ticks_that_stand(
    ticks: Mapping[str, Mapping[str, Tick]], lapses: Mapping[str, Lapsed]
) -> Mapping[str, Mapping[str, Tick]]:
    """Return room → item → its tick, where that still counts."""
    return {
        room: {
            item: tick
            for item, tick in by_item.items()
            if not any(one.voids(f"{TICK}{item}", tick.at) for one in _of_room(room, lapses))
        }
        for room, by_item in ticks.items()
    }


def _visit(visit: EarlierVisit, lapses: Mapping[str, Lapsed]) -> EarlierVisit:
    soaks = (
        note for note in visit.soaks if not _is_void(lapses.get(note.unit), SOAK, visit.left_at)
    )
    return replace(visit, soaks=tuple(soaks))


def _of_room(room: str, lapses: Mapping[str, Lapsed]) -> Iterable[Lapsed]:
    return (one for one in lapses.values() if one.room == room)


def _is_void(one: Lapsed | None, what: str, at: datetime) -> bool:
    return one is not None and one.voids(what, at)
