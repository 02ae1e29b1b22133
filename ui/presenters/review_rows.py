"""The review before any write: a row for each change, ticked line by line."""

from collections.abc import Iterable
from dataclasses import dataclass

from fleet.engine.applying import StepResult
from fleet.engine.rehearsing import Rehearsal
from fleet.model.journal import Change, ItemOutcome, StepState
from fleet.model.sheets import Standing
from fleet.model.snapshot import HouseState, ItemState
from ui.presenters.said_parts import Said, Section
from ui.presenters.words import breakable, count_words, item_words, value_words

HEADINGS = ("Unit", "Item", "As left", "Found", "Planned", "Reason", "Disrupts")

_STATES = {
    StepState.DONE: ItemState.SHOWN,
    StepState.NOT_DONE: ItemState.WRONG,
    StepState.PARTLY: ItemState.LOOK,
    StepState.IN_DOUBT: ItemState.LOOK,
}

ChangeKey = tuple[str, str]


@dataclass(frozen=True, slots=True)
class ReviewRow:
    """One change as it is reviewed.

    Attributes:
        change: what would be written.
        cells: texts under `HEADINGS`.
        ticked: ticked to begin with; only what the plan alone decided is.
        waits: it waits for a person's decision, and can't be ticked before.
    """

    change: Change
    cells: tuple[str, ...]
    ticked: bool
    waits: bool

    @property
    def key(self) -> ChangeKey:
        """Serial and item."""
        return self.change.serial, self.change.key


@dataclass(frozen=True, slots=True)
class OutcomeRow:
    """What a write came to, by read-back."""

    text: str
    said: str
    state: ItemState


def review_rows(
    house: HouseState, *, unit: str = "", decided: Iterable[ChangeKey] = ()
) -> tuple[ReviewRow, ...]:
    """Return the rows of all changes, or of one unit.

    Args:
        house: the state.
        unit: label of the unit; "" for all.
        decided: changes that a person decided to write after all.
    """
    changes = [change for change in house.changes if not unit or change.label == unit]
    return rows_of(changes, decided=decided)


def rows_of(
    changes: Iterable[Change], *, decided: Iterable[ChangeKey] = ()
) -> tuple[ReviewRow, ...]:
    """Return the rows of some changes; `decided` are those that a person decided to write after all."""
    settled = set(decided)
    return tuple(_row(change, decided=(change.serial, change.key) in settled) for change in changes)


def outcome_rows(results: Iterable[StepResult]) -> tuple[OutcomeRow, ...]:
    """Return what each write came to."""
    return tuple(
        OutcomeRow(
            f"{result.label} {result.part}: {result.state}", result.said, _STATES[result.state]
        )
        for result in results
    )


def outcome_sections(results: tuple[StepResult, ...]) -> tuple[Section, ...]:
    """Return what each write came to, item by item where only some of it stands."""
    sections = []
    for result, row in zip(results, outcome_rows(results), strict=True):
        lines = [Said(breakable(row.said), row.state)]
        if result.state is StepState.PARTLY:
            lines += [_item_said(item) for item in result.items]
        sections.append(Section(row.text, tuple(lines)))
    return tuple(sections)


def rehearsal_sections(rehearsals: Iterable[Rehearsal]) -> tuple[Section, ...]:
    """Return what each write would be, in the order in which it would go out."""
    return tuple(
        Section(
            f"{one.label} {one.part}: {'could' if one.could else 'could NOT'} be written",
            (
                Said(breakable(one.said), ItemState.SHOWN if one.could else ItemState.WRONG),
                *(Said(breakable(f"would send {sends}")) for sends in one.sends),
            ),
        )
        for one in rehearsals
    )


def rehearsal_words(rehearsals: tuple[Rehearsal, ...]) -> str:
    """Say in one line how a dry run went."""
    could = sum(one.could for one in rehearsals)
    return f"Dry run: {could} of {count_words(len(rehearsals), 'write')} could go out. Nothing was sent."


def outcome_words(results: tuple[StepResult, ...], asked: int) -> str:
    """Say in one line how an apply went.

    Args:
        results: writes that were tried.
        asked: changes that were ticked.
    """
    done = sum(result.state is StepState.DONE for result in results)
    if not results:
        return f"Nothing was written; {count_words(asked, 'change')} still to do."
    return f"{done} of {count_words(len(results), 'write')} stand as asked, by read-back."


def _item_said(item: ItemOutcome) -> Said:
    asked, found = value_words(item.key, item.asked), value_words(item.key, item.found)
    said = f"{item_words(item.key)}, {item.state}: asked {asked}, found {found}."
    return Said(breakable(said), _STATES[item.state])


def _two_lines(text: str) -> str:
    """An outline's size and place under each other, so that three of them fit beside each other."""
    return text.replace(" from ", "\nfrom ")


def _row(change: Change, *, decided: bool) -> ReviewRow:
    waits = change.standing is not Standing.TO_APPLY and not decided
    cells = (
        change.label,
        item_words(change.key),
        *(
            _two_lines(value_words(change.key, v))
            for v in (change.as_left, change.found, change.planned)
        ),
        f"{change.standing}: {change.reason}",
        change.disrupts or "nothing",
    )
    return ReviewRow(change, cells, ticked=not waits, waits=waits)
