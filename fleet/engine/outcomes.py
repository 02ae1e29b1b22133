"""What a read-back shows of a step: done, not done, or some of each, item by item. Pure.

An item is done where the unit holds what was asked, not done where it holds what it held before, and
partly done where it holds neither (an area of which two edges of four were moved; another's value).
"""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.jobs.comparing import agree
from fleet.model.journal import ItemOutcome, StepState, WriteStep
from fleet.model.sheets import Sheet, Value


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a read-back shows of a whole step; no items where it couldn't be read."""

    state: StepState
    said: str
    items: tuple[ItemOutcome, ...] = ()

    @property
    def found_in_words(self) -> str:
        """What the unit holds of the step's items."""
        return in_words({item.key: item.found for item in self.items}) or "nobody knows"


def outcome_of(step: WriteStep, found: Sheet) -> Outcome:
    """Say what a read-back shows of a step."""
    items = tuple(_item(key, asked, step, found) for key, asked in step.items.items())
    states = {item.state for item in items}
    if states <= {StepState.DONE}:
        return Outcome(StepState.DONE, f"read back: {in_words(step.items)}", items)
    if states == {StepState.NOT_DONE}:
        before = {item.key: item.found for item in items}
        return Outcome(StepState.NOT_DONE, f"read back as before: {in_words(before)}", items)
    return Outcome(StepState.PARTLY, _some_of_each(items), items)


def stands(key: str, value: Value | None, found: Sheet) -> bool:
    """Say whether an item stands as it should, tolerances included."""
    return agree(key, value, found.get(key))


def in_words(items: Mapping[str, Value | None]) -> str:
    """Return items and values as a list in words."""
    return ", ".join(f"{key} {'none' if value is None else value}" for key, value in items.items())


def _item(key: str, asked: Value | None, step: WriteStep, found: Sheet) -> ItemOutcome:
    if stands(key, asked, found):
        state = StepState.DONE
    elif stands(key, step.before.get(key), found):
        state = StepState.NOT_DONE
    else:
        state = StepState.PARTLY
    return ItemOutcome(key, state, asked, found.get(key))


def _some_of_each(items: tuple[ItemOutcome, ...]) -> str:
    words = {
        "stands as asked": StepState.DONE,
        "stands as before": StepState.NOT_DONE,
        "stands neither as before nor as asked": StepState.PARTLY,
    }
    by_word = {
        word: in_words({item.key: item.found for item in items if item.state is state})
        for word, state in words.items()
    }
    told = "; ".join(f"{word}: {items}" for word, items in by_word.items() if items)
    return f"only some of it stands. {told}. Resume it, roll it back, or let it be"
