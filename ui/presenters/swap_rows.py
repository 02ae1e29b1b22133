"""A swap before it is carried out: what carries over, what is dropped, what lapses, what is to do."""

from dataclasses import dataclass

from fleet.engine.swapping import signs_of
from fleet.jobs.swap_signs import SwapKind, SwapSign
from fleet.jobs.swapping import SwapPlan
from fleet.model.snapshot import HouseState, ItemState, Job
from ui.presenters.said_parts import Section, section
from ui.presenters.words import sentence

SWAP_KEY = "swap:"
_OTHER_SERIAL = (SwapKind.UNIT, SwapKind.BOTH)


@dataclass(frozen=True, slots=True)
class Successor:
    """Who may take a place over: its serial, and a line that says which it is."""

    serial: str
    text: str


def successors(house: HouseState, serial: str) -> tuple[Successor, ...]:
    """Return who may take over from the unit of a serial: whoever has no place, and itself.

    The unit itself is last: with it, its module was exchanged, or it was reset.
    """
    others = [
        Successor(one.serial, f"{one.serial} · {one.sheet.get('module.type', 'module not known')}")
        for one in house.unplaced
        if one.serial != serial
    ]
    itself = f"{serial} itself: its module was exchanged, or it was reset"
    return (*others, *([Successor(serial, itself)] if serial else []))


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


def swap_sections(plan: SwapPlan) -> tuple[Section, ...]:
    """Return what a planned swap comes to: what is lost and to do first, what carries over is long."""
    return (
        section("Dropped", plan.dropped, ItemState.WRONG, "Nothing: it can hold all of it."),
        section(
            "Lapses", plan.lapses, ItemState.LOOK, "Nothing: no verdict rested on the old one."
        ),
        section("To do", plan.to_do, ItemState.TO_DO, "Nothing."),
        section("Carries over", plan.carries, ItemState.SHOWN, "Nothing."),
        section("It brings along", plan.own, ItemState.LOOK, "Nothing of its own."),
    )
