"""A swap before it is carried out: what carries over, what is dropped, what lapses, what is to do."""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.engine.swapping import signs_of
from fleet.jobs.swap_lapses import Lapse, LapseKind, Redo
from fleet.jobs.swap_rows import EARLIER_DECISION, WITH_ITS_AREA, Fate, SwapRow
from fleet.jobs.swap_signs import SwapKind, SwapSign
from fleet.jobs.swapping import SwapPlan
from fleet.jobs.update_time import duration
from fleet.model.geometry import Pose
from fleet.model.snapshot import HouseState, ItemState, Job
from ui.presenters.checklist_rows import ChecklistRow, checklist_rows
from ui.presenters.said_parts import Section, section
from ui.presenters.words import count_words, item_words, sentence, value_words

SWAP_KEY = "swap:"
_OTHER_SERIAL = (SwapKind.UNIT, SwapKind.BOTH)
_MINUTE_S = 60
_ITEMS = (LapseKind.ITEM, LapseKind.TICK)
_HEADS = {"areas": "outline", "build": "version"}
"""Part of a sheet → the item of it that the others go with."""

_WRITE_BACK = "Write back what it was left with, under “Restore …” of the unit."


@dataclass(frozen=True, slots=True)
class Successor:
    """Who may take a place over: its serial, what is exchanged by that, and a line that says which it is.

    `kind` is None where what the readings show decides.
    """

    serial: str
    kind: SwapKind | None
    text: str


@dataclass(frozen=True, slots=True)
class SwapRequest:
    """What a person chose of a swap; see `fleet.engine.swapping.planned_swap`."""

    serial: str
    kind: SwapKind | None = None
    mount: Pose | None = None
    chosen_areas: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AreaRow:
    """An area that may be kept: its id, a line that says which it is and what becomes of it."""

    key: str
    text: str
    kept: bool


def successors(house: HouseState, serial: str) -> tuple[Successor, ...]:
    """Return who may take over from the unit of a serial: whoever has no place, and itself.

    The unit itself is last: with it, its module was exchanged, or it was reset.
    """
    others = [
        Successor(
            one.serial, None, f"{one.serial} · {one.sheet.get('module.type', 'module not known')}"
        )
        for one in house.unplaced
        if one.serial != serial
    ]
    itself = [
        Successor(serial, SwapKind.MODULE, f"{serial} itself, with another module"),
        Successor(serial, SwapKind.RESET, f"{serial} itself, which was reset"),
    ]
    return (*others, *(itself if serial else ()))


def likeliest(among: tuple[Successor, ...], sign: SwapSign | None) -> int:
    """Return the index of who seems to have taken over, by what looks like a swap; 0 where nothing does."""
    if sign is None:
        return 0
    return next(
        (
            at
            for at, one in enumerate(among)
            if one.serial == sign.serial and one.kind in (None, sign.kind)
        ),
        0,
    )


def area_rows(plan: SwapPlan) -> tuple[AreaRow, ...]:
    """Return the areas to choose among; () where the new one holds all that it can see."""
    if not any(one.crowded_out for one in plan.areas):
        return ()
    choosable = [one for one in plan.areas if one.area is not None or one.crowded_out]
    return tuple(
        AreaRow(
            one.key,
            f"{one.label or one.key}: {'left out' if one.area is None else 'kept'}",
            one.area is not None,
        )
        for one in choosable
    )


def heading_hint(pose: Pose) -> str:
    """Say how a heading is read, and which one is planned."""
    return f"{pose.heading_mdeg / 1000:.1f}° is planned; on the plan 0° is right, 90° is up."


def areas_note(plan: SwapPlan) -> str:
    """Say how many areas the new one holds, and what a tick does; "" where all go in."""
    rows = area_rows(plan)
    if not rows:
        return ""
    kept = sum(row.kept for row in rows)
    return (
        f"The new one holds {kept} of {count_words(len(rows), 'area')}. Tick those to keep first:"
    )


def sign_of(house: HouseState, label: str) -> SwapSign | None:
    """Return what makes a unit look swapped; None where nothing does."""
    return next((sign for sign in signs_of(house) if sign.label == label), None)


def sign_words(sign: SwapSign | None) -> str:
    """Say why it looks like a swap; "" where it doesn't."""
    return "" if sign is None else f"It looks like this: {sign.kind}. {sentence(sign.reason)}"


def swap_jobs(house: HouseState, room: str = "") -> tuple[Job, ...]:
    """Return a line for each place in which another unit seems to stand, of a room or of the house."""
    rooms = {unit.line.label: unit.line.room for unit in house.units.values()}
    return tuple(
        Job(
            f"{SWAP_KEY}{sign.label}",
            "snags",
            rooms.get(sign.label, ""),
            sign.label,
            f"{sign.label} {sign.kind}?",
            sign.reason,
            "Swap …",
            ItemState.LOOK,
        )
        for sign in (signs_of(house) if house.unplaced else ())
        if sign.kind in _OTHER_SERIAL and (not room or rooms.get(sign.label) == room)
    )


def swap_sections(house: HouseState, plan: SwapPlan) -> tuple[Section, ...]:
    """Return what a planned swap comes to: what is lost and to do first, what carries over is long."""
    rooms = {room.key: room.name for room in house.plan.rooms}
    result = house.rooms.get(plan.line.room)
    items = {row.key: row for row in (checklist_rows(result) if result else ())}
    place = (
        f"{plan.line.label} stays in {rooms.get(plan.line.room, plan.line.room)}: label and place."
    )
    carries = (place, *_rows(plan, Fate.CARRIES), *_rows(plan, Fate.CHANGED))
    lapses = [_lapse(one, rooms.get(plan.line.room, ""), items) for one in plan.lapsed]
    return (
        section(
            "Dropped", _rows(plan, Fate.DROPPED), ItemState.WRONG, "Nothing: it can hold all of it."
        ),
        section("Lapses", lapses, ItemState.LOOK, "Nothing: no verdict rested on the old one."),
        section("To do", _to_do(plan, rooms, items), ItemState.TO_DO, "Nothing."),
        section("Carries over", carries, ItemState.SHOWN, "Nothing."),
        section("It brings along", _rows(plan, Fate.NEW), ItemState.LOOK, "Nothing of its own."),
    )


def _rows(plan: SwapPlan, fate: Fate) -> tuple[str, ...]:
    by_key = {row.key: row for row in plan.rows}
    rows = [row for row in plan.rows if row.fate is fate and not _goes_without_saying(row, by_key)]
    return tuple(_row(row, _area_name(row.key, by_key)) for row in rows)


def _goes_without_saying(row: SwapRow, by_key: Mapping[str, SwapRow]) -> bool:
    """Say whether a row goes with another one that is said: an area's outline, a build's version."""
    part = row.key.rpartition(".")[0]
    leading = _HEADS.get(part.partition(".")[0])
    head = by_key.get(f"{part}.{leading}") if leading else None
    if head is None or head is row:
        return False
    same = (row.fate, row.reason) == (head.fate, head.reason)
    return same or row.reason == WITH_ITS_AREA


def _area_name(key: str, by_key: Mapping[str, SwapRow]) -> str:
    """Return how people call the area that an item is of; "" where it is of none, or has no name."""
    part, _, member = key.rpartition(".")
    label = (
        by_key.get(f"{part}.label") if key.startswith("areas.") and member == "outline" else None
    )
    return "" if label is None else str(label.before or label.after or "")


def _row(row: SwapRow, area: str) -> str:
    """Say what becomes of an item: "Hold time 30 s → 20 s: the new one keeps its own."."""
    key = row.key.removeprefix(EARLIER_DECISION)
    item = f"Area {area}" if area else item_words(key)
    head = item if key == row.key else f"Earlier decision on {item}"
    before, after = value_words(key, row.before), value_words(key, row.after)
    values = before if row.fate is Fate.DROPPED else after
    if row.fate is Fate.CHANGED and before != after:
        values = f"{before} → {after}"
    now = "" if row.says_now is None else f"it says {value_words(key, row.says_now)} now, "
    return f"{head} {values}: {now}{_end(row.reason)}"


def _end(reason: str) -> str:
    """Return the end of a sentence, with one full stop."""
    return f"{reason.strip().removesuffix('.')}."


def _lapse(lapse: Lapse, room: str, items: Mapping[str, ChecklistRow]) -> str:
    item = items.get(lapse.subject) if lapse.kind in _ITEMS else None
    if item is None:
        return sentence(lapse.said)
    return f"{room}: {_quoted(item)}, {item.word} ({item.reason.strip().removesuffix('.')})."


def _to_do(
    plan: SwapPlan, rooms: Mapping[str, str], items: Mapping[str, ChecklistRow]
) -> tuple[str, ...]:
    ticks = {one.subject for one in plan.lapsed if one.kind is LapseKind.TICK}
    ticked = {key: item for key, item in items.items() if key in ticks}
    again = [_redo(one, rooms, ticked) for one in plan.redo]
    if plan.kind is SwapKind.RESET:
        again = [_WRITE_BACK]
    return (*plan.decide, *again)


def _redo(one: Redo, rooms: Mapping[str, str], ticked: Mapping[str, ChecklistRow]) -> str:
    """Say what is to do again; what a person had ticked is named by its key, and said by its text."""
    item = ticked.get(one.what)
    what = _quoted(item) if item is not None else one.what.capitalize()
    minutes = duration(one.minutes * _MINUTE_S)
    return f"{what}, {rooms.get(one.room, one.room)}, {minutes}: {_end(one.why)}"


def _quoted(item: ChecklistRow) -> str:
    return f"“{item.text.strip().removesuffix('.')}”"
