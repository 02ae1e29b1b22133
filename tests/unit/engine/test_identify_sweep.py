"""The sweep: one after another, in plan order, past whoever fails, and ended when asked."""

import asyncio
from dataclasses import dataclass, field

import pytest

from fleet.engine.identify_sweep import (
    SEEN_ELSEWHERE,
    SEEN_WHERE_PLANNED,
    in_plan_order,
    say_seen,
    sweep,
)
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import LinkError, PlanError, UnitError
from fleet.model.house import Floor, HousePlan, Room, RoomKind, Site
from tests.inventories import NOON, SQUARE, CountingClock, line, small_plan


@dataclass(slots=True)
class SteppingClock:
    """Every look is half a second later; a thousand times as fast as the wall, so that nobody waits."""

    seconds: float = 0.0
    speed: float = field(default=1000.0)

    def now(self):
        return NOON

    def monotonic_s(self) -> float:
        self.seconds += 0.5
        return self.seconds


class House:
    """Units that show themselves, some that can't, and an account of what happened."""

    def __init__(self, **failing):
        self.failing = failing
        self.account = []
        self.clock = SteppingClock()
        self.begun = asyncio.Event()

    async def identify(self, serial, seconds):
        self.account.append(f"{serial} for {seconds}")
        self.begun.set()
        await asyncio.sleep(0)
        if serial in self.failing:
            raise self.failing[serial]

    async def swept(self, *serials, stop_after=None, seconds=3):
        turns = []

        def say(serial):
            self.account.append(f"turn of {serial}")
            turns.append(serial)

        return await sweep(
            serials,
            self.identify,
            say,
            self.clock,
            seconds,
            lambda: stop_after is not None and len(turns) >= stop_after,
            lambda: self.account.append("tone"),
        )


async def test_units_show_themselves_one_after_another_with_a_tone_at_each_change():
    house = House()
    assert await house.swept("A", "B") == {}
    assert house.account == [
        *("turn of A", "tone", "A for 3"),
        *("turn of B", "tone", "B for 3"),
        "turn of None",
    ]
    assert house.clock.seconds >= 6


async def test_it_goes_on_past_units_that_fail_and_says_why():
    house = House(A=LinkError("it didn't answer."), C=UnitError("it can't."))
    assert await house.swept("A", "B", "C", "D") == {"A": "it didn't answer.", "C": "it can't."}
    assert [said for said in house.account if said.endswith("for 3")] == [
        "A for 3",
        "B for 3",
        "C for 3",
        "D for 3",
    ]


async def test_a_unit_that_fails_takes_no_time_from_the_others():
    house = House(A=LinkError("it didn't answer."))
    await house.swept("A", seconds=600)
    assert house.clock.seconds < 600


async def test_whoever_asks_to_stop_is_heard_within_a_turn():
    house = House()
    await house.swept("A", "B", stop_after=1, seconds=600)
    assert house.account[-2:] == ["A for 600", "turn of None"]
    assert house.clock.seconds < 600


async def test_asked_to_stop_before_it_begins_it_does_nothing():
    house = House()
    await house.swept("A", stop_after=0)
    assert house.account == ["turn of None"]


async def test_however_it_ends_nobodys_turn_is_left():
    house = House(A=ZeroDivisionError())
    with pytest.raises(ZeroDivisionError):
        await house.swept("A")
    assert house.account[-1] == "turn of None"


async def test_a_cancelled_sweep_ends_at_once():
    house = House()
    house.clock.speed = 1.0
    task = asyncio.ensure_future(house.swept("A", "B", seconds=600))
    await house.begun.wait()
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    assert house.account[-1] == "turn of None"


@pytest.fixture
def inventory(tmp_path):
    with open_inventory(tmp_path / "data", CountingClock()) as opened:
        opened.add_site(small_plan())
        yield opened


@pytest.mark.parametrize(
    ("where_planned", "what"), [(True, SEEN_WHERE_PLANNED), (False, SEEN_ELSEWHERE)]
)
def test_where_a_unit_was_seen_is_journaled_with_its_place_and_who_saw_it(
    inventory, where_planned, what
):
    plan = inventory.plan()
    say_seen(inventory, plan, "S-1", where_planned=where_planned, by=" A. Fitter ")
    (row,) = inventory.journal_of(SEEN_WHERE_PLANNED, SEEN_ELSEWHERE)
    line = next(one for one in plan.units if one.serial == "S-1")
    assert (row.what, row.subject) == (what, "S-1")
    assert row.detail == {"label": line.label, "room": line.room, "by": "A. Fitter"}


def test_a_unit_that_nobody_planned_is_journaled_by_its_serial(inventory):
    say_seen(inventory, inventory.plan(), "N-9", where_planned=False, by="A. Fitter")
    (row,) = inventory.journal_of(SEEN_ELSEWHERE)
    assert (row.subject, row.detail["label"]) == ("N-9", "")


def test_nobody_saw_nothing(inventory):
    with pytest.raises(PlanError, match="who saw it"):
        say_seen(inventory, inventory.plan(), "S-1", where_planned=True, by=" ")
    assert inventory.journal_of(SEEN_WHERE_PLANNED) == ()


def test_plan_order_is_floor_then_room_then_label_with_numbers_as_numbers():
    plan = HousePlan(
        Site("Test Lodge"),
        (Floor("first", "First", 1), Floor("ground", "Ground", 0), Floor("cellar", "Cellar", -1)),
        tuple(
            Room(key, key, floor, RoomKind.LIVING, SQUARE)
            for key, floor in [
                ("loft", "first"),
                ("hall", "ground"),
                ("den", "ground"),
                ("vault", "cellar"),
                ("shed", "nowhere"),
            ]
        ),
        (
            line("U10", "S-1", "hall"),
            line("U9", "S-2", "hall"),
            line("U1", "S-3", "loft"),
            line("U2", "S-4", "den"),
            line("U3", "S-5", "vault"),
            line("U4", "S-6", "shed"),
            line("U5", "S-7", "no such room"),
            line("Uß", "S-8", "hall"),
            line("U" + "9" * 6000, "S-9", "hall"),
            line("U" + "٣" * 6000, "S-10", "hall"),
        ),
    )
    order = [unit.label for unit in in_plan_order(plan)]
    assert [label[:3] for label in order] == [
        *("U3", "U9", "U10", "U99", "Uß", "U٣٣", "U2", "U1", "U4", "U5"),
    ]
