"""Units behind a real broker: Debian's Mosquitto, started for each test on a loopback port."""

import asyncio
import json
from contextlib import aclosing, asynccontextmanager

import pytest

from fleet.description.forms import Form
from fleet.link.mqtt import Brokers
from fleet.link.mqtt_limits import BrokerLimits
from fleet.link.pinning import CertificateChangedError, Pinning, VisitPins
from fleet.link.refusals import LockedError
from fleet.model.credentials import Credential
from fleet.model.errors import LinkError, PlanError, UnitError
from tests.peers import mosquitto
from tests.peers.broker_client import BrokerClient

QUICK = BrokerLimits(value_s=0.3, first_pause_s=0.05, longest_pause_s=0.2, tries=40)
MANY = 300


class Kept:
    """Credentials of a test, by key."""

    def __init__(self, **known):
        self.by_key = known
        self.asked = []

    def credential_for(self, key):
        self.asked.append(key)
        return self.by_key.get(key)


@pytest.fixture
def broker(tmp_path):
    with mosquitto.running(tmp_path) as running:
        yield running


@asynccontextmanager
async def opened(*args, **options):
    brokers = Brokers(*args, **{"limits": QUICK, **options})
    try:
        yield brokers
    finally:
        await brokers.close()


def to_read(broker, topic="rooms/hall/about", **more):
    return Form("readproperty", broker.url, "SUBSCRIBE", filter=topic, **more)


def to_write(broker, topic="rooms/hall/hold/set", **more):
    return Form("writeproperty", broker.url, "PUBLISH", topic=topic, **more)


async def logged(broker, pattern, begun=0):
    return await asyncio.to_thread(broker.wait_for, pattern, begun)


async def publish(broker, *args, **options):
    await asyncio.to_thread(mosquitto.publish, broker, *args, **options)


async def watching(broker, brokers, topic, taken):
    """Take the next arrivals of a topic, after the broker has seen the subscription."""
    begun = len(broker.lines)
    async with aclosing(brokers.watch(to_read(broker, topic), "U01")) as stream:
        coming = asyncio.ensure_future(anext(stream))
        await logged(broker, "Sending SUBACK", begun)
        await taken()
        return await coming


async def test_a_retained_value_is_read(broker):
    await publish(broker, "rooms/hall/about", '{"serial": "s-1"}', retain=True)
    async with opened() as brokers:
        assert await brokers.read(to_read(broker), "U01") == b'{"serial": "s-1"}'
        assert brokers.counts(broker.url).version == "MQTT 5"
        assert brokers.access_in_words(broker.url) == "open over mqtt"


async def test_a_value_that_is_not_retained_is_read_when_it_comes_next(broker):
    async with opened(limits=BrokerLimits()) as brokers:
        reading = asyncio.ensure_future(brokers.read(to_read(broker), "U01"))
        await logged(broker, "Sending SUBACK")
        await publish(broker, "rooms/hall/about", "7")
        assert await reading == b"7"


async def test_a_silent_unit_is_no_broken_broker(broker):
    async with opened() as brokers:
        with pytest.raises(LinkError, match="its broker answers, but keeps no value") as told:
            await brokers.read(to_read(broker), "U01")
    assert told.value.subject == "U01"
    assert "says nothing of the unit" in told.value.stands


async def test_what_is_published_is_watched_and_what_was_kept_is_not(broker):
    await publish(broker, "rooms/hall/count", "1", retain=True)
    async with opened() as brokers:

        async def two():
            await publish(broker, "rooms/hall/count", "2")

        arrivals = await watching(broker, brokers, "rooms/hall/count", two)
    assert [arrival.data for arrival in arrivals] == [b"2"]


async def test_one_subscription_serves_all_who_watch_and_ends_with_the_last(broker):
    async with opened() as brokers:
        async with aclosing(brokers.watch(to_read(broker, "t"), "U01")) as first:
            one = asyncio.ensure_future(anext(first))
            await logged(broker, "Sending SUBACK")
            async with aclosing(brokers.watch(to_read(broker, "t"), "U01")) as second:
                two = asyncio.ensure_future(anext(second))
                await asyncio.sleep(0)  # the second joins what stands, without a word to the broker
                await publish(broker, "t", "5")
                assert (await one)[0].data == (await two)[0].data == b"5"
            assert not any("UNSUBSCRIBE" in line for line in broker.lines)
        await logged(broker, "Sending UNSUBACK")
    assert sum("Received SUBSCRIBE" in line for line in broker.lines) == 1


@pytest.mark.parametrize("qos", [0, 1, 2])
async def test_a_write_comes_to_the_unit_and_is_read_back(broker, qos):
    async def unit(listening):
        async with BrokerClient("127.0.0.1", broker.port) as client:
            await client.subscribe("rooms/hall/hold/set", 1)
            listening.set()
            message = await anext(client.messages)
            await client.publish("rooms/hall/hold", message.payload, qos=1, retain=True)

    listening = asyncio.Event()
    behind = asyncio.ensure_future(unit(listening))
    await listening.wait()
    async with opened(limits=BrokerLimits()) as brokers:
        await brokers.publish(to_write(broker, qos=qos), b"45", "U01")
        assert await brokers.read(to_read(broker, "rooms/hall/hold"), "U01") == b"45"
    await behind


async def test_an_action_is_never_retained(broker):
    form = Form("invokeaction", broker.url, "PUBLISH", topic="restart", qos=1, retain=True)
    async with opened() as brokers:
        await brokers.publish(form, b"", "U01")
        with pytest.raises(LinkError, match="keeps no value"):
            await brokers.read(to_read(broker, "restart"), "U01")


@pytest.mark.parametrize("topic", ["", "a/+", "a/#", "a\0b", "a" * 2000, "$SYS/x"])
async def test_a_bad_topic_goes_nowhere(broker, topic):
    async with opened() as brokers:
        for work in (
            brokers.publish(to_write(broker, topic), b"1", "U01"),
            brokers.read(to_read(broker, topic), "U01"),
            anext(brokers.watch(to_read(broker, topic), "U01")),
        ):
            with pytest.raises(PlanError, match="can't be reached by its broker"):
                await work
        assert brokers.counts(broker.url).connections == 0


async def test_a_value_too_long_to_be_written_goes_nowhere(broker):
    async with opened() as brokers:
        with pytest.raises(PlanError, match="longer than 256 KiB"):
            await brokers.publish(to_write(broker), bytes(1 << 19), "U01")
        assert brokers.counts(broker.url).connections == 0


async def test_a_wrong_password_is_said_and_not_tried_again(tmp_path):
    extra = mosquitto.with_password(tmp_path, "visit", "right")
    with mosquitto.running(tmp_path, extra=extra) as broker:
        kept = Kept(**{broker.url: Credential("wrong", "visit")})
        async with opened(kept) as brokers:
            for _ in range(3):
                with pytest.raises(LockedError, match="refused this name and password") as told:
                    await brokers.read(to_read(broker), "U01")
                assert (told.value.key, told.value.refused) == (broker.url, True)
                assert "wrong" not in str(told.value)
            kept.by_key[broker.url] = Credential("right", "visit")
            await brokers.publish(to_write(broker, qos=1), b"1", "U01")
            assert brokers.access_in_words(broker.url) == "password over mqtt"
    assert sum("New connection" in line for line in broker.lines) == 2


async def test_a_refused_password_is_tried_again_when_a_person_says_so(tmp_path):
    extra = mosquitto.with_password(tmp_path, "visit", "right")
    with mosquitto.running(tmp_path, extra=extra) as broker:
        async with opened(Kept(**{broker.url: Credential("wrong", "visit")})) as brokers:
            for tries in (1, 2):
                for _ in range(2):
                    with pytest.raises(LockedError):
                        await brokers.read(to_read(broker), "U01")
                assert sum("New connection" in line for line in broker.lines) == tries
                brokers.try_again(broker.url)


async def test_a_broker_that_wants_a_password_says_so(tmp_path):
    extra = mosquitto.with_password(tmp_path, "visit", "right")
    with mosquitto.running(tmp_path, extra=extra) as broker:
        async with opened(Kept()) as brokers:
            with pytest.raises(LockedError, match="lets nobody in without") as told:
                await brokers.read(to_read(broker), "U01")
    assert not told.value.refused


async def test_a_broker_that_refuses_a_topic_says_so(tmp_path):
    rights = tmp_path / "rights"
    rights.write_text("topic read seen/#\n", encoding="utf-8")
    extra = f"allow_anonymous true\nacl_file {rights}"
    with mosquitto.running(tmp_path, extra=extra) as broker:
        async with opened() as brokers:
            with pytest.raises(UnitError, match=r"refused what was published .* \(reason 135\)"):
                await brokers.publish(to_write(broker, qos=1), b"1", "U01")


async def test_a_certificate_is_trusted_on_first_use_and_a_change_is_shouted(tmp_path):
    pins = VisitPins()
    first, other = (mosquitto.certificate(tmp_path, name) for name in ("first", "other"))
    pinning = Pinning(pins)
    with mosquitto.running(tmp_path, secure=True, extra=first.settings) as broker:
        async with opened(pinning=pinning) as brokers:
            await brokers.publish(to_write(broker, qos=1), b"1", "U01")
            assert brokers.access_in_words(broker.url) == "open over mqtts"
        assert pins.pin_for(broker.url).sha256 == first.sha256
    kept = Kept(**{broker.url: Credential("secret", "visit")})
    with mosquitto.running(
        tmp_path, secure=True, extra=other.settings, port=broker.port
    ) as changed:
        async with opened(kept, pinning) as brokers:
            with pytest.raises(CertificateChangedError, match="IT SHOWS ANOTHER") as told:
                await brokers.read(to_read(changed), "U01")
            assert told.value.shown == other.sha256
            assert not any("connected from" in line for line in changed.lines)
            brokers.accept_certificate(broker.url)
            await brokers.publish(to_write(changed, qos=1), b"1", "U01")
            assert brokers.access_in_words(changed.url) == "password over mqtts"


async def test_a_stream_over_tls_goes_on_through_many_messages(tmp_path):
    made = mosquitto.certificate(tmp_path)
    with mosquitto.running(tmp_path, secure=True, extra=made.settings) as broker:
        async with opened(limits=BrokerLimits()) as brokers:
            came = []
            async with aclosing(brokers.watch(to_read(broker, "t"), "U01")) as stream:
                coming = asyncio.ensure_future(anext(stream))
                await logged(broker, "Sending SUBACK")
                for number in range(100):
                    await brokers.publish(to_write(broker, "t", qos=1), b"%d" % number, "U01")
                came += await coming
                while len(came) < 100:
                    came += await anext(stream)
    assert [arrival.data for arrival in came] == [b"%d" % number for number in range(100)]


async def test_a_stream_goes_on_when_the_broker_was_restarted(broker):
    async with opened() as brokers:
        async with aclosing(brokers.watch(to_read(broker, "t"), "U01")) as stream:
            coming = asyncio.ensure_future(anext(stream))
            await logged(broker, "Sending SUBACK")
            await publish(broker, "t", "before")
            assert (await coming)[0].data == b"before"
            coming = asyncio.ensure_future(anext(stream))
            await asyncio.to_thread(broker.stop)
            begun = len(broker.lines)
            await asyncio.to_thread(broker.start)
            await logged(broker, "Sending SUBACK", begun)
            await publish(broker, "t", "after")
            assert (await coming)[0].data == b"after"
        assert brokers.counts(broker.url).connections == 2


async def test_a_stream_ends_when_the_broker_stays_away(broker):
    few = BrokerLimits(first_pause_s=0.01, longest_pause_s=0.02, tries=3)
    async with opened(limits=few) as brokers:
        async with aclosing(brokers.watch(to_read(broker, "t"), "U01")) as stream:
            coming = asyncio.ensure_future(anext(stream))
            await logged(broker, "Sending SUBACK")
            await asyncio.to_thread(broker.stop)
            with pytest.raises(LinkError, match="nothing answers at its address"):
                await coming
        await asyncio.to_thread(broker.start)
        await brokers.publish(to_write(broker, qos=1), b"1", "U01")


async def test_many_units_come_in_over_one_connection(broker):
    """300 units are read, watched and written; the broker logs one connection."""
    topics = [f"rooms/{number}/count" for number in range(MANY)]
    begun = len(broker.lines)
    async with opened(limits=BrokerLimits()) as brokers:

        async def first_of(topic):
            async with aclosing(brokers.watch(to_read(broker, topic), topic)) as stream:
                return (await anext(stream))[0].data

        watched = [asyncio.ensure_future(first_of(topic)) for topic in topics]
        await logged(broker, rf"{topics[-1]} \(QoS 0\)")
        await asyncio.gather(
            *(
                brokers.publish(to_write(broker, topic, qos=1, retain=True), topic.encode(), topic)
                for topic in topics
            )
        )
        assert await asyncio.gather(*watched) == [topic.encode() for topic in topics]
        read = await asyncio.gather(
            *(brokers.read(to_read(broker, topic), topic) for topic in topics)
        )
        assert read == [topic.encode() for topic in topics]
    accepted = sum("New client connected" in line for line in broker.lines[begun:])
    assert accepted == 1


async def test_the_broker_itself_counts_one_client(broker):
    async with opened(limits=BrokerLimits()) as brokers:
        own = brokers.announcements(broker.url, "$SYS/broker/clients/connected")
        async with aclosing(own) as said:
            async for _, count in said:
                if count == b"1":
                    break
        assert brokers.counts(broker.url).connected


async def test_units_are_found_by_what_they_announced(broker):
    for number in range(3):
        about = json.dumps({"serial": f"s-{number}"})
        await publish(broker, f"found/{number}/about", about, retain=True)
    async with opened() as brokers:
        heard = {}
        async with aclosing(brokers.announcements(broker.url, "found/+/about")) as announced:
            async for topic, payload in announced:
                heard[topic] = json.loads(payload)["serial"]
                if len(heard) == 3:
                    await publish(broker, "found/late/about", '{"serial": "late"}')
                if "found/late/about" in heard:
                    break
    assert heard == {
        **{f"found/{number}/about": f"s-{number}" for number in range(3)},
        "found/late/about": "late",
    }


@pytest.mark.parametrize("heard", ["", "a#", "#/a", "a/b+", "$share/g/a", "a\0", "a" * 2000])
async def test_a_bad_filter_goes_nowhere(broker, heard):
    async with opened() as brokers:
        with pytest.raises(PlanError, match="can't be reached by its broker"):
            await anext(brokers.announcements(broker.url, heard))
        assert brokers.counts(broker.url).connections == 0


async def test_nothing_of_the_visit_stays_at_the_broker(broker):
    async with opened() as brokers:
        await brokers.publish(to_write(broker, qos=1), b"1", "U01")
    goodbye = await logged(broker, "Received DISCONNECT from wd")
    assert goodbye
    client = next(line for line in broker.lines if "connected from" in line)
    assert "c1" in client  # a clean start
    assert not any("Will message" in line for line in broker.lines)


async def test_after_the_end_nothing_is_opened(broker):
    async with opened() as brokers:
        pass
    with pytest.raises(LinkError, match="closed"):
        await brokers.read(to_read(broker), "U01")


async def test_who_still_watches_at_the_end_is_told(broker):
    brokers = Brokers(limits=QUICK)
    async with aclosing(brokers.watch(to_read(broker, "t"), "U01")) as stream:
        coming = asyncio.ensure_future(anext(stream))
        await logged(broker, "Sending SUBACK")
        await brokers.close()
        with pytest.raises(LinkError, match="closed"):
            await coming
