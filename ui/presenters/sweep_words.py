"""A sweep of identify: which unit shows itself now, and what the person who walks found."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from fleet.model.snapshot import HouseState
from ui.presenters.words import count_words

TITLE = "Sweep"
"""How the title of the running operation begins."""


class Found(StrEnum):
    """What a person says of a unit that showed itself."""

    THERE = "found it"
    ELSEWHERE = "isn't where the plan says"


@dataclass(frozen=True, slots=True)
class SweepState:
    """How far a sweep is.

    Attributes:
        showing: serial of the unit that shows itself, "" for none.
        seen: serials of those that did so far, in order.
        found: what was said of them.
    """

    showing: str = ""
    seen: tuple[str, ...] = ()
    found: Mapping[str, Found] = field(default_factory=dict)


def shown(state: SweepState, serial: str) -> SweepState:
    """Return the state when another unit shows itself."""
    seen = state.seen if not serial or serial in state.seen else (*state.seen, serial)
    return replace(state, showing=serial, seen=seen)


def ticked(state: SweepState, what: Found) -> SweepState:
    """Return the state when a person says what was found of the unit that shows itself."""
    return replace(state, found={**state.found, state.showing: what}) if state.showing else state


def where_words(house: HouseState, serial: str) -> str:
    """Say which unit it is and where to look: "U05, Kitchen-diner"."""
    unit = house.units.get(serial)
    if unit is None or not unit.line.room:
        return f"{serial}, on no plan yet"
    names = {room.key: room.name for room in house.plan.rooms}
    return f"{unit.line.label}, {names.get(unit.line.room, unit.line.room)}"


def said_words(house: HouseState, state: SweepState) -> str:
    """Say below it what was ticked, and how far the sweep is."""
    number = f"number {len(state.seen)} of this sweep"
    said = state.found.get(state.showing)
    if said is None:
        return f"It shows itself now: {number}. Do you see it?"
    label = where_words(house, state.showing).partition(",")[0]
    return f"{label}: {said}. The next one follows by itself."


def end_words(house: HouseState, state: SweepState, trouble: Mapping[str, str]) -> str:
    """Say what a sweep came to: found, elsewhere, not said, couldn't."""
    there = _labels(house, state, Found.THERE)
    elsewhere = _labels(house, state, Found.ELSEWHERE)
    silent = [s for s in state.seen if s not in state.found and s not in trouble]
    parts = [f"{count_words(len(there), 'unit')} found"]
    if elsewhere:
        parts.append(f"not where the plan says: {', '.join(elsewhere)}")
    if silent:
        parts.append(f"nothing said of {_some(house, silent)}")
    if trouble:
        parts.append(f"couldn't show themselves: {_some(house, list(trouble))}")
    return "; ".join(parts) + "."


def _labels(house: HouseState, state: SweepState, what: Found) -> list[str]:
    return [_label(house, serial) for serial in state.seen if state.found.get(serial) is what]


def _label(house: HouseState, serial: str) -> str:
    return where_words(house, serial).partition(",")[0]


def _some(house: HouseState, serials: list[str]) -> str:
    most = 4
    names = ", ".join(_label(house, serial) for serial in serials[:most])
    return names if len(serials) <= most else f"{names} and {len(serials) - most} more"
