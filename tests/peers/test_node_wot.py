"""A unit served by `@node-wot`: found, read, watched and written, and spoken to nowhere but where it is.

Its addresses name other interfaces, every form has a twin in CBOR, it knows no tags and only long poll, and
it answers a bad value with 500.
"""

import sys

import pytest

from fleet.description.frames import ReportReader
from fleet.description.vocabulary import IDENTIFY, TARGET_FRAME
from fleet.engine.reading import read_unit
from fleet.engine.unit_values import read_part, with_items
from fleet.link.refusals import LockedError
from fleet.model.credentials import Credential
from fleet.model.errors import PlanError, UnitError
from tests.peers.install import HERE, node_wot_modules
from tests.peers.serving import CLOCK, Known, linked, served, watched_address

RIGHT, WRONG = Credential("three-ladders", user="fitter"), Credential("two-ladders", user="fitter")


def node(*arguments: str):
    modules = node_wot_modules()
    command = ["node", str(HERE / "node_wot" / "server.js"), *arguments]
    return served(command, modules, PEER_MODULES=str(modules))


@pytest.fixture(scope="module")
def peer():
    with node() as running:
        yield running


@pytest.fixture
def locked_peer():
    with node("--secret", f"{RIGHT.user}:{RIGHT.secret}") as running:
        yield running


async def test_its_description_is_found_and_everything_is_read(peer):
    async with linked() as links:
        link = await links.describe(peer.url)
        read = await read_unit(link, peer.url, CLOCK)
    assert (read.serial, read.title) == ("NW-0001", "Invented unit")
    assert read.sheet == {
        "areas.1.kind": "watch",
        "areas.1.label": "Sofa",
        "areas.1.outline": "-900,500 600,500 600,2500 -900,2500",
        "build.version": "1.4.0",
        "hardware.revision": "r2",
        "module.type": "T",
        "setting.hold_time_s": 30,
        "setting.indicator_light": True,
        "setting.max_distance_mm": 4500,
        "setting.note": "by the door",
    }
    assert read.capabilities == {"max_range_mm": 6500, "max_areas": 4}
    assert read.area_revision == 3
    assert "21500" in read.other["warmth"]
    assert read.missing == ()


async def test_its_addresses_name_another_interface_and_that_is_said(peer):
    async with linked() as links:
        link = await links.describe(peer.url)
    own = peer.url.removesuffix("/invented-unit")
    forms = [form for one in link.thing.properties.values() for form in one.forms]
    assert all(form.url.startswith(f"{own}/") and form.moved_from for form in forms)
    assert {form.response_content_type for form in forms} >= {
        "application/json",
        "application/cbor",
    }
    assert any("forms point to" in complaint for complaint in link.thing.complaints)


async def test_its_reports_are_watched_by_long_poll(peer):
    async with linked() as links:
        link = await links.describe(peer.url)
        frame = link.need_property(TARGET_FRAME)
        reader, numbers = ReportReader(frame), []
        async for arrivals in link.observe(frame):
            numbers += [reader.read(arrival.data).number for arrival in arrivals]
            if len(numbers) >= 5:
                break
        way = link.way_of(frame)
    sys.stdout.write(f"report numbers by long poll: {numbers}\n")
    assert way == "long poll"
    assert numbers == sorted(set(numbers))


@pytest.mark.parametrize(
    ("part", "changes"),
    [
        ("settings", {"setting.hold_time_s": 45, "setting.max_distance_mm": 5200}),
        ("areas", {"areas.1.outline": "-800,400 500,400 500,2400 -800,2400"}),
        ("areas", {"areas.2.kind": "ignore", "areas.2.outline": "0,0 100,0 100,100 0,100"}),
    ],
)
async def test_what_is_written_is_read_back(peer, part, changes):
    async with linked() as links:
        link = await links.describe(peer.url)
        before = await read_part(link, part)
        await link.write(before.affordance, with_items(part, before, changes), before.etag)
        after = await read_part(link, part)
        await link.write(after.affordance, before.value, after.etag)
    assert before.etag is None
    assert after.items.items() >= changes.items()
    assert {key: after.items[key] for key in before.items.keys() - changes.keys()} == {
        key: before.items[key] for key in before.items.keys() - changes.keys()
    }


@pytest.mark.parametrize(
    ("part", "changes", "words"),
    [
        ("settings", {"setting.hold_time_s": 9000}, "hold time 9000 s is above the unit's 3600 s"),
        ("settings", {"setting.max_distance_mm": 6500}, "is above the unit's 600 cm"),
        ("settings", {"setting.note": "x" * 41}, "no more than 40"),
        ("settings", {"setting.volume": 1}, "has no volume"),
        ("areas", {"areas.1.outline": "-7000,0 0,0 0,9 -7000,9"}, "-7000"),
        ("areas", {f"areas.{n}.outline": "0,0 9,0 9,9 0,9" for n in range(6)}, "no more than 4"),
    ],
)
async def test_a_value_that_it_would_answer_with_500_is_never_sent(peer, part, changes, words):
    before = len(await peer.asked("PUT"))
    async with linked() as links:
        link = await links.describe(peer.url)
        current = await read_part(link, part)
        with pytest.raises(PlanError, match=words):
            await link.write(current.affordance, with_items(part, current, changes), current.etag)
    assert len(await peer.asked("PUT")) == before


async def test_it_is_asked_to_show_itself_for_as_long_as_it_can(peer):
    before = len(await peer.asked("POST"))
    async with linked() as links:
        link = await links.describe(peer.url)
        await link.invoke(link.need_action(IDENTIFY), {"seconds": 3})
        with pytest.raises(PlanError, match="above the unit's 60"):
            await link.invoke(link.need_action(IDENTIFY), {"seconds": 61})
    assert len(await peer.asked("POST")) == before + 1


async def test_the_right_password_lets_us_in(locked_peer):
    async with linked(Known({origin(locked_peer): RIGHT})) as links:
        link = await links.describe(locked_peer.url)
        read = await read_unit(link, locked_peer.url, CLOCK)
        current = await read_part(link, "settings")
        value = with_items("settings", current, {"setting.hold_time_s": 31})
        await link.write(current.affordance, value, current.etag)
    assert read.serial == "NW-0001"
    assert [one["letIn"] for one in await locked_peer.asked("PUT")] == [True]


async def test_a_password_that_is_kept_under_its_id_waits_for_a_person_over_http(locked_peer):
    async with linked() as links:
        said_id = (await links.describe(locked_peer.url)).thing.id
    async with linked(Known({said_id: RIGHT})) as links:
        link = await links.describe(locked_peer.url)
        with pytest.raises(LockedError, match="wasn't for this address") as caught:
            await link.read(link.thing.properties["about"])
    assert (caught.value.kept_under, caught.value.key) == (said_id, origin(locked_peer))
    assert not [one for one in await locked_peer.asked() if one["letIn"]]


@pytest.mark.parametrize("known", [WRONG, None], ids=["wrong", "none"])
async def test_the_wrong_password_or_none_is_said_and_not_tried_again(locked_peer, known):
    known_by = Known({origin(locked_peer): known} if known else {})
    async with linked(known_by) as links:
        link = await links.describe(locked_peer.url)
        for _ in range(3):
            with pytest.raises(UnitError) as refused:
                await link.read(link.thing.properties["about"])
    said = str(refused.value)
    assert "Type another one" in said if known else "password" in said
    assert WRONG.secret not in said
    with_secret = [one for one in await locked_peer.asked() if one["letIn"]]
    assert len(with_secret) == (1 if known else 0)


async def test_nobody_comes_to_the_address_that_its_description_names():
    async with watched_address() as watcher, linked() as links:
        with node("--base-uri", watcher.url) as peer:
            link = await links.describe(peer.url)
            await read_unit(link, peer.url, CLOCK)
            current = await read_part(link, "settings")
            await link.write(current.affordance, current.value, current.etag)
            await link.invoke(link.need_action(IDENTIFY), {"seconds": 1})
            async for _ in link.observe(link.need_property(TARGET_FRAME)):
                break
            asked = len(await peer.asked())
    sys.stdout.write(f"{asked} requests to the unit, {watcher.came} elsewhere\n")
    assert any(watcher.url in complaint for complaint in link.thing.complaints)
    assert watcher.came == 0


def origin(peer) -> str:
    return peer.url.rsplit("/", 1)[0]
