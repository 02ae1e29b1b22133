"""A unit served by `wotpy`: read, watched and written; what it would take wrongly is refused before.

It takes values out of range with 200, waits for ever after a write to what can only be read, writes an
empty `oneOf` into every schema, and offers a writing form for everything.
"""

import sys

import pytest

from fleet.description.frames import ReportReader
from fleet.description.vocabulary import IDENTIFY, IDENTITY, SETTINGS, TARGET_FRAME
from fleet.engine.reading import read_unit
from fleet.engine.unit_values import read_part, with_items
from fleet.model.errors import PlanError
from tests.peers.install import HERE, wotpy_python
from tests.peers.serving import CLOCK, linked, served, watched_address


def wotpy(*arguments: str):
    command = [str(wotpy_python()), str(HERE / "wotpy" / "server.py"), *arguments]
    return served(command, HERE / "wotpy")


@pytest.fixture(scope="module")
def peer():
    with wotpy() as running:
        yield running


async def test_everything_is_read_in_spite_of_an_empty_choice_in_every_schema(peer):
    async with linked() as links:
        link = await links.describe(peer.url)
        read = await read_unit(link, peer.url, CLOCK)
    assert read.serial == "WP-0001"
    assert read.sheet == {
        "areas.1.kind": "watch",
        "areas.1.label": "1",
        "areas.1.outline": "-900,500 600,500 600,2500 -900,2500",
        "module.type": "T",
        "setting.hold_time_s": 30,
        "setting.max_distance_mm": 4500,
    }
    assert link.thing.properties["tuning"].schema.keys() & {"oneOf"} == set()


async def test_its_reports_are_watched_though_it_names_no_way(peer):
    async with linked() as links:
        link = await links.describe(peer.url)
        frame = link.need_property(TARGET_FRAME)
        reader, numbers = ReportReader(frame), []
        async for arrivals in link.observe(frame):
            numbers += [reader.read(arrival.data).number for arrival in arrivals]
            if len(numbers) >= 5:
                break
        way = link.way_of(frame)
    sys.stdout.write(f"report numbers by {way}: {numbers}\n")
    assert way == "long poll"
    assert numbers == sorted(set(numbers))


@pytest.mark.parametrize(
    ("part", "changes"),
    [
        ("settings", {"setting.hold_time_s": 45, "setting.max_distance_mm": 5250}),
        ("areas", {"areas.1.outline": "-800,400 500,400 500,2400 -800,2400"}),
    ],
)
async def test_what_is_written_is_read_back(peer, part, changes):
    async with linked() as links:
        link = await links.describe(peer.url)
        before = await read_part(link, part)
        await link.write(before.affordance, with_items(part, before, changes), before.etag)
        after = await read_part(link, part)
        await link.write(after.affordance, before.value, after.etag)
    assert after.items.items() >= changes.items()


@pytest.mark.parametrize(
    ("part", "changes", "words"),
    [
        ("settings", {"setting.hold_time_s": 9000}, "hold time 9000 .*above the unit's 3600"),
        ("settings", {"setting.max_distance_mm": 400}, "below the unit's 0.5 m"),
        ("areas", {"areas.1.kind": "doorway"}, "none of the unit's watch, ignore"),
    ],
)
async def test_a_value_that_it_would_take_out_of_range_is_never_sent(peer, part, changes, words):
    before = len(await peer.asked("PUT"))
    async with linked() as links:
        link = await links.describe(peer.url)
        current = await read_part(link, part)
        with pytest.raises(PlanError, match=words):
            await link.write(current.affordance, with_items(part, current, changes), current.etag)
    assert len(await peer.asked("PUT")) == before


@pytest.mark.parametrize("type_iri", [IDENTITY, TARGET_FRAME])
async def test_a_write_to_what_can_only_be_read_is_refused_before_it_would_wait_for_ever(
    peer, type_iri
):
    before = len(await peer.asked("PUT"))
    async with linked() as links:
        link = await links.describe(peer.url)
        property_ = link.need_property(type_iri)
        held = await link.read(property_)
        with pytest.raises(PlanError, match="can't be written"):
            await link.write(property_, held.value, held.etag)
    assert len(await peer.asked("PUT")) == before


async def test_it_is_asked_to_show_itself(peer):
    async with linked() as links:
        link = await links.describe(peer.url)
        await link.invoke(link.need_action(IDENTIFY), {"seconds": 3})
        with pytest.raises(PlanError, match="below the unit's 1"):
            await link.invoke(link.need_action(IDENTIFY), {"seconds": 0})
    assert len(await peer.asked("POST")) == 1


async def test_nobody_comes_to_the_host_that_its_description_names():
    with wotpy("--host-in-addresses", "127.0.0.2") as peer:
        port = int(origin(peer).rpartition(":")[2])
        async with watched_address("127.0.0.2", port) as watcher, linked() as links:
            link = await links.describe(peer.url)
            read = await link.read(link.need_property(SETTINGS))
            asked = await peer.asked()
    assert read.value["hold"] == 30
    assert any(watcher.url in complaint for complaint in link.thing.complaints)
    assert [one["path"] for one in asked] == ["/invented-unit", "/invented-unit/property/tuning"]
    assert watcher.came == 0


def origin(peer) -> str:
    return peer.url.rsplit("/", 1)[0]
