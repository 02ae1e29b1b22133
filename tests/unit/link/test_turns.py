"""Whose turn it is, and who may go on meanwhile."""

import asyncio

import pytest
from aiohttp import web

from fleet.description.vocabulary import IDENTITY
from fleet.link.limits import Limits
from fleet.link.turns import Courtesy
from tests.unit.link.small_unit import SmallUnit, description, linked


class Crowd:
    """Counts who is in a turn at the same time."""

    def __init__(self, courtesy):
        self.courtesy, self.inside, self.most, self.entered = courtesy, 0, 0, []

    async def stay(self, origin, until=None):
        async with self.courtesy.turn(origin):
            self.inside += 1
            self.entered.append(origin)
            self.most = max(self.most, self.inside)
            await (until.wait() if until else asyncio.sleep(0.001))
            self.inside -= 1


async def test_a_unit_is_asked_one_thing_at_a_time():
    crowd = Crowd(Courtesy(Limits()))
    await asyncio.gather(*(crowd.stay("a") for _ in range(5)))
    assert crowd.most == 1


async def test_a_unit_that_allows_it_is_asked_more_at_a_time():
    courtesy = Courtesy(Limits())
    courtesy.allow("a", 3)
    crowd = Crowd(courtesy)
    await asyncio.gather(*(crowd.stay("a") for _ in range(9)))
    assert crowd.most == 3


async def test_no_more_units_than_the_bound_are_talked_to_at_once():
    crowd = Crowd(Courtesy(Limits()))
    await asyncio.gather(*(crowd.stay(str(unit)) for unit in range(100)))
    assert crowd.most == 32


async def test_whoever_waits_for_its_own_unit_takes_no_place_from_another():
    crowd, over = Crowd(Courtesy(Limits(units_at_once=2))), asyncio.Event()
    waiting = [asyncio.ensure_future(crowd.stay("slow", over)) for _ in range(5)]
    await asyncio.sleep(0)
    await asyncio.wait_for(crowd.stay("other"), 1)
    over.set()
    await asyncio.gather(*waiting)
    assert crowd.entered[:2] == ["slow", "other"]


async def test_silent_units_hold_nobody_up_for_long():
    crowd = Crowd(Courtesy(Limits(units_at_once=2, patience_s=0.02)))
    over = asyncio.Event()
    silent = [asyncio.ensure_future(crowd.stay(f"silent {number}", over)) for number in range(10)]
    await asyncio.wait_for(crowd.stay("other"), 2)
    assert crowd.inside == 10
    over.set()
    await asyncio.gather(*silent)
    await asyncio.gather(*(crowd.stay(f"later {number}") for number in range(10)))
    assert len(crowd.entered) == 21


@pytest.mark.parametrize(
    ("said", "most"), [(None, 1), (2, 2), (0, 1), (True, 1), ("3", 1), (2.5, 1), (99, 8)]
)
async def test_a_description_says_how_much_at_a_time_its_unit_takes(said, most):
    inside, seen, here = 0, [], asyncio.Barrier(most)

    async def handler(_request):
        nonlocal inside
        inside += 1
        seen.append(inside)
        await here.wait()
        inside -= 1
        return web.json_response({"serial": "s-7"})

    unit = SmallUnit(description(**({} if said is None else {"pres:concurrentRequests": said})))
    unit.routes["GET /about"] = handler
    async with linked(unit) as link:
        about = link.need_property(IDENTITY)
        await asyncio.gather(*(link.read(about) for _ in range(most * 2)))
    assert max(seen) == most
