"""Rows of the append-only account, and the writes that it accounts for."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any

from fleet.model.sheets import Standing, Value


class StepState(StrEnum):
    """How far a journaled step is known to have got."""

    DONE = "done"
    NOT_DONE = "not done"
    PARTLY = "partly done"
    IN_DOUBT = "in doubt"


@dataclass(frozen=True, slots=True)
class ItemOutcome:
    """What a read-back showed of one item of a step.

    Attributes:
        key: which item of the unit's sheet.
        state: done, not done (as before), or partly done: neither as before nor as asked.
        asked: the value to stand; None for none.
        found: the value read back; None for none.
    """

    key: str
    state: StepState
    asked: Value | None
    found: Value | None


@dataclass(frozen=True, slots=True)
class Change:
    """One item to write to one unit, as a person reviews it.

    Attributes:
        serial, label: which unit.
        key: which item of its sheet.
        as_left, found, planned: the three sheets' values; None where one doesn't say.
        reason: why it should be written.
        disrupts: what the write disrupts, "" for nothing.
        standing: "to apply" may be ticked beforehand; anything else waits for a person's decision.
    """

    serial: str
    label: str
    key: str
    as_left: Value | None
    found: Value | None
    planned: Value | None
    reason: str
    disrupts: str = ""
    standing: Standing = Standing.TO_APPLY


@dataclass(frozen=True, slots=True)
class WriteStep:
    """One write to one unit: all its settings, or its whole area set.

    Attributes:
        serial, label, url: which unit.
        part: "settings" or "areas".
        items: sheet key → value to stand afterwards; None takes the item away.
        before: sheet key → value found when it was planned.
    """

    serial: str
    label: str
    url: str
    part: str
    items: Mapping[str, Value | None]
    before: Mapping[str, Value | None]


@dataclass(frozen=True, slots=True)
class JournalRow:
    """One row of the journal.

    Attributes:
        number: 1 for the first.
        at: when, house time UTC.
        what: a word for what was done, for example "step-intended".
        subject: serial, room key or "" for the site.
        detail: figures of it, JSON.
        previous_sha256, sha256: the chain.
    """

    number: int
    at: datetime
    what: str
    subject: str
    detail: Mapping[str, Any] = field(default_factory=dict)
    previous_sha256: str = ""
    sha256: str = ""


@dataclass(frozen=True, slots=True)
class OpenStep:
    """A step whose intent was journaled; its state is in doubt until an outcome stands beside it."""

    key: str
    step: WriteStep
    intended_at: datetime
    state: StepState
    said: str = ""
