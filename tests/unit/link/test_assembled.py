"""Reading, watching and writing part by part, over a link whose answers the test decides."""

import asyncio
import json
import re
from contextlib import aclosing
from dataclasses import replace
from itertools import repeat

import pytest

from fleet.description.assembly import names_needed
from fleet.description.frames import ReportReader
from fleet.description.things import read_thing
from fleet.link.arrivals import Arrival, ReadValue
from fleet.link.assembled import (
    PartialWriteError,
    read_assembled,
    watch_assembled,
    write_assembled,
)
from fleet.model.errors import LinkError, PlanError, UnitError
from fleet.model.reports import Target
from tests.unit.description.samples import URL
from tests.unit.description.scattered import scattered

AT_ONCE = (0.0, 0.0, 0.0)
EDGES = ("left", "right", "near", "far")


class FakeLink:
    """Holds a unit's numbers and does what a test says about some of them."""

    def __init__(self, **values):
        self.thing = read_thing(json.dumps(scattered()).encode(), URL)
        self.subject = "U1"
        self.values = {"reach": 45, "linger": 30, "lamp": "on", **values}
        self.on_read, self.on_write = {}, {}  # what happens at each read, and instead of a write
        self.reads, self.writes, self.watched = [], [], {}
        self.open, self.all_open = 0, asyncio.Event()

    async def read(self, affordance):
        self.reads.append(affordance.name)
        await asyncio.sleep(0)
        for change in self.on_read.get(affordance.name, ()):
            change()
            break
        if affordance.name not in self.values:
            raise UnitError("it has nothing there (404).")
        return ReadValue(self.values[affordance.name], None)

    async def write(self, affordance, value, _etag):
        self.writes.append((affordance.name, value))
        take = self.on_write.get(affordance.name, self.values.__setitem__)
        take(affordance.name, value)

    async def observe(self, affordance):
        queue = self.watched.setdefault(affordance.name, asyncio.Queue())
        self.open += 1
        if self.open == len(names_needed(self.part("frame"))):
            self.all_open.set()
        try:
            while (came := await queue.get()) is not None:
                if isinstance(came, Exception):
                    raise came
                yield [Arrival(came if isinstance(came, bytes) else json.dumps(came).encode())]
        finally:
            self.open -= 1

    def part(self, name):
        return self.thing.properties[name]

    def says(self, **values):
        for name, value in values.items():
            self.watched.setdefault(name, asyncio.Queue()).put_nowait(value)


def failing(error):
    def fail(*_):
        raise error

    return fail


def place(number, *edges):
    return {f"place{number}{name}": value for name, value in zip(EDGES, edges, strict=True)}


def with_places(*first):
    return FakeLink(**place(1, *first), **place(2, 0, 0, 0, 0), **place(3, 0, 0, 0, 0))


async def test_every_part_is_read_once_and_put_together():
    link = FakeLink()
    read = await read_assembled(link, link.part("settings"))
    assert read == ReadValue({"reach": 45, "linger": 30, "lamp": "on"}, None)
    assert sorted(link.reads) == ["lamp", "linger", "reach"]


async def test_a_part_that_is_refused_is_left_out():
    link = FakeLink()
    del link.values["linger"]
    assert (await read_assembled(link, link.part("settings"))).value == {"reach": 45, "lamp": "on"}


async def test_a_unit_that_refuses_every_part_refuses_the_whole():
    link = FakeLink()
    link.values.clear()
    with pytest.raises(UnitError, match="nothing there"):
        await read_assembled(link, link.part("settings"))


async def test_a_unit_that_cannot_be_reached_ends_the_reading():
    link = FakeLink()
    link.on_read["linger"] = repeat(failing(LinkError("it didn't answer in time.")))
    with pytest.raises(LinkError, match="in time"):
        await read_assembled(link, link.part("settings"))


async def test_only_what_differs_is_written_and_each_write_is_read_back():
    link = FakeLink()
    wanted = {"reach": 45, "linger": 60, "lamp": "off"}
    await write_assembled(link, link.part("settings"), wanted, AT_ONCE)
    assert link.writes == [("linger", 60), ("lamp", "off")]
    assert sorted(link.reads[3:]) == ["lamp", "linger"]


async def test_a_value_that_the_part_rules_out_is_refused_before_anything_is_sent():
    link = FakeLink()
    with pytest.raises(PlanError, match="max distance 9 m is above"):
        await write_assembled(link, link.part("settings"), {"linger": 60, "reach": 90}, AT_ONCE)
    with pytest.raises(PlanError, match="hold time 9000 s is above the unit's 600 s"):
        await write_assembled(link, link.part("settings"), {"reach": 9, "linger": 9000}, AT_ONCE)
    assert link.writes == []


async def test_a_part_that_only_can_be_read_is_refused_before_anything_is_sent():
    link = FakeLink(bodies=1, body1right=1, body1away=2)
    frame = {"targets": [{"right": 3, "away": 2}]}
    with pytest.raises(PlanError, match="its body1right can't be written"):
        await write_assembled(link, link.part("frame"), frame, AT_ONCE)
    assert link.writes == []


async def test_a_part_that_cannot_be_read_is_not_written_blind():
    link = FakeLink()
    del link.values["linger"]
    with pytest.raises(UnitError, match="nothing there"):
        await write_assembled(link, link.part("settings"), {"linger": 60, "reach": 9}, AT_ONCE)
    await write_assembled(link, link.part("settings"), {"reach": 9}, AT_ONCE)
    assert link.writes == [("reach", 9)]


async def test_an_area_is_written_edge_by_edge_without_an_invalid_rectangle():
    link = with_places(-100, 100, 50, 300)
    wanted = {"areas": [dict(zip(EDGES, (150, 250, 350, 400), strict=True)), None, None]}
    await write_assembled(link, link.part("places"), wanted, AT_ONCE)
    names = [name for name, _ in link.writes]
    assert names.index("place1right") < names.index("place1left")
    assert names.index("place1far") < names.index("place1near")
    assert {name: link.values[name] for name in names} == place(1, 150, 250, 350, 400)


def fails_at(name, error, *, reads_too=False):
    link = with_places(-100, 100, 50, 300)
    link.on_write[name] = failing(error)
    if reads_too:
        link.on_write[name] = lambda *_: link.on_read.update({name: repeat(failing(error))})
    return link


MOVED = {"areas": [dict(zip(EDGES, (-90, 90, 60, 290), strict=True)), None, None]}


async def moved(link):
    """Write the area and return the error that comes of it, with the names in the order of writing."""
    with pytest.raises(PartialWriteError) as caught:
        await write_assembled(link, link.part("places"), MOVED, AT_ONCE)
    return caught.value


async def test_a_refused_part_in_the_middle_says_what_stands_and_what_does_not():
    link = with_places(-100, 100, 50, 300)
    await write_assembled(link, link.part("places"), MOVED, AT_ONCE)
    order = [name for name, _ in link.writes]
    for at, name in enumerate(order):
        link = fails_at(name, UnitError("it doesn't take that value (422)."))
        error = await moved(link)
        assert (error.written, error.unwritten) == (tuple(order[:at]), tuple(order[at:]))
        assert error.doubtful == ()
        assert isinstance(error, UnitError)
        assert isinstance(error, LinkError)
        assert f"{name}: it doesn't take that value (422)." in error.what
        assert error.stands.startswith(f"Written: {', '.join(order[:at]) or 'none'}; not written: ")
        # The same value written again goes on with what is missing.
        link.on_write.clear()
        link.writes.clear()
        await write_assembled(link, link.part("places"), MOVED, AT_ONCE)
        assert [name for name, _ in link.writes] == order[at:]


async def test_a_part_that_got_no_answer_but_stands_is_written():
    link = with_places(-100, 100, 50, 300)

    def take_and_fall_silent(name, value):
        link.values[name] = value
        raise LinkError("it broke the connection off.")

    link.on_write["place1left"] = take_and_fall_silent
    await write_assembled(link, link.part("places"), MOVED, AT_ONCE)
    assert len(link.writes) == 4


async def test_a_part_that_got_no_answer_and_does_not_stand_is_not_written():
    error = await moved(fails_at("place1left", LinkError("it broke the connection off.")))
    assert error.doubtful == ()
    assert "place1left" in error.unwritten
    assert "place1left: it broke the connection off." in error.what


async def test_a_part_that_cannot_be_read_back_is_in_doubt():
    gone = LinkError("nothing answers at its address.")
    link = fails_at("place1left", gone, reads_too=True)
    error = await moved(link)
    assert error.doubtful == ("place1left",)
    assert "place1left" not in error.written + error.unwritten
    assert "in doubt: place1left" in error.stands
    assert len(error.written) + len(error.unwritten) == 3


async def test_a_first_part_in_doubt_is_not_called_unwritten():
    link = FakeLink()
    link.on_write["reach"] = lambda *_: link.on_read.update(
        reach=repeat(failing(LinkError("nothing answers at its address.")))
    )
    with pytest.raises(
        PartialWriteError, match="nobody knows yet whether it was written"
    ) as caught:
        await write_assembled(link, link.part("settings"), {"reach": 9}, AT_ONCE)
    assert (caught.value.written, caught.value.unwritten) == ((), ())


async def test_a_write_that_is_lost_on_the_way_is_seen_by_reading_back():
    link = FakeLink()
    link.on_write["linger"] = lambda *_: None
    with pytest.raises(PartialWriteError, match="the unit took 60 and still says 30"):
        await write_assembled(link, link.part("settings"), {"reach": 9, "linger": 60}, AT_ONCE)
    assert link.values["reach"] == 9
    assert link.reads.count("linger") == 1 + len(AT_ONCE)


async def test_a_unit_may_take_a_moment_to_say_the_new_value():
    link = FakeLink()

    def takes_its_time(name, value):
        link.on_read[name] = iter([int, lambda: link.values.update({name: value})])

    link.on_write["linger"] = takes_its_time
    await write_assembled(link, link.part("settings"), {"linger": 60}, AT_ONCE)
    assert link.values["linger"] == 60


async def test_a_tag_is_read_just_before_the_write_and_a_change_meanwhile_stops_it():
    link = FakeLink()
    link.thing.properties["linger"] = _with_if_match(link.part("linger"))
    link.on_read["linger"] = iter([int, lambda: link.values.update(linger=31)])
    with pytest.raises(PartialWriteError, match="somebody else changed it meanwhile"):
        await write_assembled(link, link.part("settings"), {"linger": 60}, AT_ONCE)
    assert link.writes == []
    await write_assembled(link, link.part("settings"), {"linger": 60}, AT_ONCE)
    assert link.values["linger"] == 60


def _with_if_match(affordance):
    forms = tuple(replace(form, if_match=form.op == "writeproperty") for form in affordance.forms)
    return replace(affordance, forms=forms)


class Watched:
    """A watch of the frame with a clock that the test sets."""

    def __init__(self, link):
        self.link, self.now_s = link, 0.0
        self.reader = ReportReader(link.part("frame"))

    def arrivals(self):
        return watch_assembled(self.link, self.link.part("frame"), lambda: self.now_s)

    def targets(self, arrivals):
        return [self.reader.read(arrival.data).targets for arrival in arrivals]


async def test_parts_that_come_one_at_a_time_become_reports_with_their_ages():
    link = FakeLink()
    watched = Watched(link)
    async with aclosing(watched.arrivals()) as arrivals:
        link.says(bodies=1)
        link.says(body1right=-50)
        link.says(body1away=210)
        came = await anext(arrivals)
        assert watched.targets(came)[-1] == (Target(-500, 2100, None, None, 1),)
        assert came[-1].part_ages_s == {"bodies": 0.0, "body1right": 0.0, "body1away": 0.0}
        watched.now_s = 0.5
        link.says(body1pace=-0.4)
        (arrival,) = await anext(arrivals)
        assert watched.targets([arrival]) == [(Target(-500, 2100, None, -400, 1),)]
        assert arrival.part_ages_s["body1right"] == 0.5
        link.says(bodies=0)
        assert watched.targets(await anext(arrivals)) == [()]
        assert link.open == 7
    assert link.open == 0


async def test_a_count_that_is_only_known_by_asking_lets_targets_stand_and_makes_no_report():
    link = FakeLink(bodies=1)
    watched = Watched(link)
    async with aclosing(watched.arrivals()) as arrivals:
        link.says(body1right=-50, body1away=210)
        assert watched.targets(await anext(arrivals))[-1] == (Target(-500, 2100, None, None, 1),)
    quiet = FakeLink(bodies=0)
    async with aclosing(Watched(quiet).arrivals()) as arrivals:
        quiet.says(body2right=b"{")  # the first thing that comes is this, and no empty report
        assert [arrival.data for arrival in await anext(arrivals)] == [b"{"]


async def test_what_is_no_json_is_handed_on_to_be_counted():
    link = FakeLink()
    async with aclosing(Watched(link).arrivals()) as arrivals:
        link.says(body1right=b"NaN")
        assert await anext(arrivals) == [Arrival(b"NaN")]


@pytest.mark.parametrize("error", [LinkError("it fell silent."), UnitError("it refused (404).")])
async def test_a_needed_part_that_ends_ends_the_watch_and_leaves_nothing_open(error):
    link = FakeLink()
    watched = Watched(link)
    link.says(bodies=1, body1right=-50, body1away=210)
    reports = []

    async def watch():
        async for arrivals in watched.arrivals():
            reports.extend(watched.targets(arrivals))
            link.says(body1away=error)

    with pytest.raises(type(error), match=re.escape(error.what)):
        await watch()
    assert reports == [(Target(-500, 2100, None, None, 1),)]
    assert link.open == 0


async def test_a_part_that_a_report_can_do_without_may_be_refused():
    link = FakeLink()
    watched = Watched(link)
    link.says(body1pace=UnitError("it refused (404)."))
    async with aclosing(watched.arrivals()) as arrivals:
        await asyncio.sleep(0)
        link.says(bodies=1, body1right=-50, body1away=210)
        assert watched.targets(await anext(arrivals))[-1] == (Target(-500, 2100, None, None, 1),)


async def test_a_part_that_ends_of_itself_ends_the_watch_without_an_error():
    link = FakeLink()
    link.says(body2right=None)
    assert [arrivals async for arrivals in Watched(link).arrivals()] == []
    assert link.open == 0


async def test_a_unit_that_is_gone_ends_the_watch_though_only_a_spare_part_says_so():
    link = FakeLink()
    link.says(body1pace=LinkError("nothing answers at its address."))
    with pytest.raises(LinkError, match="nothing answers"):
        await anext(Watched(link).arrivals())
    assert link.open == 0


async def test_a_watch_that_is_cancelled_leaves_nothing_open():
    link = FakeLink()
    waiting = asyncio.create_task(anext(Watched(link).arrivals()))
    await link.all_open.wait()
    waiting.cancel()
    with pytest.raises(asyncio.CancelledError):
        await waiting
    assert link.open == 0
