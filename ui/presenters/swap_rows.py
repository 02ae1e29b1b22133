"""A swap before it is carried out: what carries over, what is dropped, what lapses, what is to do."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from fleet.model.snapshot import HouseState, ItemState
from ui.presenters.said_parts import Section, section


class SwapSaid(Protocol):
    """What a planned swap says of itself, a sentence each."""

    @property
    def carries(self) -> Sequence[str]:
        """What the unit takes over."""
        ...

    @property
    def dropped(self) -> Sequence[str]:
        """What it can't, and why."""
        ...

    @property
    def lapses(self) -> Sequence[str]:
        """Verdicts that were of the old unit or module."""
        ...

    @property
    def to_do(self) -> Sequence[str]:
        """What has to be done again."""
        ...


@dataclass(frozen=True, slots=True)
class Successor:
    """Who may take a place over: its serial, and a line that says which it is."""

    serial: str
    text: str


def successors(house: HouseState, serial: str) -> tuple[Successor, ...]:
    """Return who may take over from the unit of a serial: whoever has no place, and itself.

    The unit itself is last: with it, only its module was exchanged.
    """
    others = [
        Successor(one.serial, f"{one.serial} · {one.sheet.get('module.type', 'module not known')}")
        for one in house.unplaced
        if one.serial != serial
    ]
    same = [Successor(serial, f"{serial} itself: its module was exchanged")] if serial else []
    return (*others, *same)


def swap_sections(plan: SwapSaid) -> tuple[Section, ...]:
    """Return what a planned swap comes to."""
    return (
        section("Carries over", plan.carries, ItemState.SHOWN, "Nothing."),
        section("Dropped", plan.dropped, ItemState.WRONG, "Nothing: the unit can hold all of it."),
        section(
            "Lapses", plan.lapses, ItemState.LOOK, "Nothing: no verdict rested on the old one."
        ),
        section("To do again", plan.to_do, ItemState.TO_DO, "Nothing."),
    )
