"""Steps that are partly done: which items stand as asked, which as before, and which as neither."""

from dataclasses import dataclass

from fleet.engine.outcomes import outcome_of
from fleet.engine.settling import Remedy
from fleet.model.journal import ItemOutcome, OpenStep, StepState
from fleet.model.sheets import Value
from fleet.model.snapshot import HouseState, ItemState, Job
from ui.presenters.said_parts import Said
from ui.presenters.words import breakable, count_words, item_words, value_words

PARTLY_KEY = "partly:"
REMEDY_WORDS = {Remedy.RESUME: "Write the rest", Remedy.ROLL_BACK: "Roll back"}
_STANDS = {
    StepState.DONE: (ItemState.SHOWN, "stands as asked"),
    StepState.NOT_DONE: (ItemState.TO_DO, "stands as before"),
    StepState.PARTLY: (ItemState.LOOK, "stands as neither"),
}


@dataclass(frozen=True, slots=True)
class PartlyRow:
    """A step that is partly done.

    Attributes:
        key: the step's in the journal.
        title: which unit, which part of it, when it was begun.
        lines: each item as it was last read.
        effects: what either remedy would write, by the remedy.
    """

    key: str
    title: str
    lines: tuple[Said, ...]
    effects: dict[Remedy, str]


def partly_rows(house: HouseState, unit: str = "") -> tuple[PartlyRow, ...]:
    """Return the steps that are partly done, of a unit by its label or of all."""
    steps = [one for one in house.unfinished if not unit or one.step.label == unit]
    return tuple(_row(house, one) for one in steps)


def partly_note(house: HouseState, unit: str = "") -> str:
    """Say how many writes are partly done; "" for none."""
    labels = [row.step.label for row in house.unfinished if not unit or row.step.label == unit]
    if not labels:
        return ""
    which = ", ".join(dict.fromkeys(labels))
    verb = "is" if len(labels) == 1 else "are"
    return f"{count_words(len(labels), 'write')} {verb} partly done ({which}): some of it stands."


def partly_jobs(house: HouseState, room: str = "") -> tuple[Job, ...]:
    """Return a line for each unit that is partly done, of a room by its key or of the house."""
    rooms = {unit.line.label: unit.line.room for unit in house.units.values()}
    labels = dict.fromkeys(one.step.label for one in house.unfinished)
    return tuple(
        Job(
            f"{PARTLY_KEY}{label}",
            "settings",
            rooms.get(label, ""),
            label,
            f"{label} partly done",
            "some of a write stands: write the rest, roll it back, or let it be",
            "Put right …",
            ItemState.LOOK,
        )
        for label in labels
        if not room or rooms.get(label) == room
    )


def item_outcome_said(item: ItemOutcome, before: Value | None) -> Said:
    """Say how an item of a step stands."""
    if item.state not in _STANDS:
        return Said(f"{item_words(item.key)}: {item.state}.", ItemState.LOOK)
    state, words = _STANDS[item.state]
    asked, was = value_words(item.key, item.asked), value_words(item.key, before)
    found = value_words(item.key, item.found)
    said = f"{item_words(item.key)} {words}: {found} (asked {asked}, before {was})."
    return Said(breakable(said), state)


def _row(house: HouseState, unfinished: OpenStep) -> PartlyRow:
    step = unfinished.step
    title = f"{step.label} {step.part}, begun {unfinished.intended_at:%d %b %Y %H:%M} UTC"
    unit = house.units.get(step.serial)
    if unit is None or unit.found is None:
        said = Said(breakable(unfinished.said or "It wasn't read since."), ItemState.LOOK)
        return PartlyRow(unfinished.key, title, (said,), dict.fromkeys(Remedy, ""))
    items = outcome_of(step, unit.found.sheet).items
    lines = tuple(item_outcome_said(item, step.before.get(item.key)) for item in items)
    rest = sum(item.state is not StepState.DONE for item in items)
    back = sum(item.state is not StepState.NOT_DONE for item in items)
    effects = {
        Remedy.RESUME: f"writes {count_words(rest, 'item')} as asked",
        Remedy.ROLL_BACK: f"writes {count_words(back, 'item')} back to what stood before",
    }
    return PartlyRow(unfinished.key, title, lines, effects)
