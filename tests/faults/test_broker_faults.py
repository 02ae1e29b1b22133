"""Brokers that are broken or hostile, and units that misbehave behind a sound one.

In each case the visit goes on: whoever asked is told within the limits, memory stays bounded, and what
comes after the nonsense still arrives.
"""

import asyncio
import random
import time
import tracemalloc
from contextlib import aclosing

import pytest

from fleet.description.forms import Form
from fleet.link.mqtt import Brokers
from fleet.link.mqtt_limits import BrokerLimits
from fleet.link.refusals import LockedError
from fleet.model.errors import LinkError, UnitError
from tests.faults.scripted_broker import (
    PATIENT,
    PUBLISH,
    SHORT,
    Visitor,
    first_of,
    head_of,
    message,
    older,
    to_read,
    told,
    until,
    visiting,
)
from tests.peers import mosquitto

MIB = 1 << 20
LARGEST_PACKET = (1 << 28) - 1  # MQTT 3.1.1 and 5.0, §2.1.4: four bytes of seven bits


async def test_a_broker_that_says_nothing_is_given_up():
    async with visiting(Visitor.until_gone) as (brokers, broker):
        with pytest.raises(LinkError, match="it said nothing in time"):
            await brokers.read(to_read(broker), "U01")


async def test_a_broker_that_drips_is_given_up():
    async def drip(visitor):
        for _ in range(1000):
            await visitor.send(b"\xf0\x7f" if not _ else b"x")
            await asyncio.sleep(0.02)  # the script of the fault itself

    async with visiting(drip) as (brokers, broker):
        with pytest.raises(LinkError, match="can't be used"):
            await brokers.read(to_read(broker), "U01")


async def test_a_broker_that_never_shakes_hands_is_given_up():
    async with visiting(Visitor.until_gone) as (brokers, broker):
        form = Form("readproperty", broker.url.replace("mqtt", "mqtts"), "SUBSCRIBE", filter="t")
        with pytest.raises(LinkError, match="it said nothing in time"):
            await brokers.read(form, "U01")


async def test_a_broker_that_speaks_no_tls_is_said():
    async def plain(visitor):
        await visitor.send(b"nothing of the kind\n" * 10)

    async with visiting(plain) as (brokers, broker):
        form = Form("readproperty", broker.url.replace("mqtt", "mqtts"), "SUBSCRIBE", filter="t")
        with pytest.raises(LinkError, match="nothing that speaks TLS"):
            await brokers.read(form, "U01")


def test_a_silent_unit_is_given_up_within_twenty_seconds():
    limits = BrokerLimits()
    assert limits.ready_s + limits.answer_s + limits.value_s < 20


async def test_others_go_on_while_one_broker_is_silent(tmp_path):
    with mosquitto.running(tmp_path) as sound:
        mosquitto.publish(sound, "t", "9", retain=True)
        async with visiting(Visitor.until_gone, PATIENT) as (brokers, silent):
            waiting = asyncio.ensure_future(brokers.read(to_read(silent), "U02"))
            assert await brokers.read(to_read(sound), "U01") == b"9"
            assert not waiting.done()
            waiting.cancel()
            await asyncio.gather(waiting, return_exceptions=True)


def garbage():
    """Answers to CONNECT that are none."""
    draw = random.Random(5)
    yield from (
        b"HTTP/1.1 400 Bad Request\r\nContent-Length: 0\r\n\r\n",
        b"\x00" * 64,
        b"\xff" * 64,
        b"\x20\x00",
        b"\x20\x01\x00",
        b"\x20\x03\x00\x00\x7f",
        b"\x20\xff\xff\xff\xff\x7f",
        b"\x20\xff\xff\xff\x7f" + b"\x00" * 64,
        b"\x90\x03\x00\x01\x00",
        b"\x40\x02\x00\x01",
        b"\xd0\x01\x00",
        b"\xe0\x02\x8b\x00",
        b"",
    )
    for _ in range(300):
        yield draw.randbytes(draw.randrange(1, 200))
        yield b"\x20" + draw.randbytes(draw.randrange(1, 40))


async def test_garbage_for_an_answer_is_a_broken_broker():
    tried = list(garbage())
    answers = iter(tried)

    async def babble(visitor):
        await visitor.send(next(answers, b""))

    async with visiting(babble) as (brokers, broker):
        while broker.visits < len(tried):
            with pytest.raises((LinkError, LockedError)) as said:
                await brokers.read(to_read(broker), "U01")
            assert said.value.subject == "U01"
    told(f"{len(tried)} answers of garbage tried")


async def test_garbage_in_the_middle_ends_one_connection_and_the_stream_goes_on():
    draw = random.Random(6)
    broken = [draw.randbytes(draw.randrange(1, 400)) for _ in range(50)]
    for _ in range(350):  # a sound head and nonsense within
        body = draw.randbytes(draw.randrange(30))
        broken.append(head_of(draw.randrange(256), len(body)) + body)
    left = iter(broken)

    async def babble(visitor):
        await visitor.let_in()
        await visitor.subscribed()
        rest = next(left, None)
        if rest is not None:
            await visitor.send(rest)
            return
        await visitor.send(message(b"t", b"sound"))
        await visitor.until_gone()

    async with visiting(babble, PATIENT) as (brokers, broker):
        async with aclosing(brokers.watch(to_read(broker), "U01")) as stream:
            async for came in stream:
                if came[-1].data == b"sound":
                    break
        assert broker.visits == len(broken) + 1
    told(f"{len(broken)} interruptions by garbage tried")


async def test_a_gibibyte_for_one_unit_costs_that_message_alone():
    """Four messages of the largest size that the protocol has, from a broker that knows no bounds."""
    pieces = LARGEST_PACKET // MIB

    async def pour(visitor):
        await visitor.let_in()
        await visitor.subscribed()
        for _ in range(4):
            await visitor.send(head_of(PUBLISH, LARGEST_PACKET) + b"\x00\x01t\x00")
            for _ in range(pieces):
                await visitor.send(bytes(MIB))
            await visitor.send(bytes(LARGEST_PACKET - 4 - pieces * MIB))
        await visitor.send(message(b"t", b"sound"))
        await visitor.until_gone()

    async with visiting(pour, PATIENT) as (brokers, broker):
        tracemalloc.start()
        try:
            assert await first_of(brokers, broker) == b"sound"
            peak = tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
        counts = brokers.counts(broker.url)
    assert (counts.oversize, counts.messages, counts.connections) == (4, 5, 1)
    assert peak < 12 * MIB  # the pouring side's own pieces are among them
    told(f"1 GiB in four messages: at most {peak >> 10} KiB held on both sides")


async def test_a_value_that_is_too_long_is_said():
    async def answer(visitor):
        await visitor.let_in()
        await visitor.subscribed()
        await visitor.send(message(b"t", bytes(MIB), retain=True))
        await visitor.until_gone()

    async with visiting(answer) as (brokers, broker):
        with pytest.raises(UnitError, match="longer than 256 KiB"):
            await brokers.read(to_read(broker), "U01")


async def test_a_long_value_behind_an_older_broker_hurts_no_other_unit(tmp_path):
    with mosquitto.running(tmp_path) as real:
        mosquitto.publish(real, "long", bytes(MIB), retain=True)
        mosquitto.publish(real, "t", "7", retain=True)
        brokers = Brokers(limits=SHORT)
        async with older(real.port) as front:
            try:
                with pytest.raises(UnitError, match="longer than 256 KiB"):
                    await brokers.read(to_read(front, "long"), "U02")
                assert await brokers.read(to_read(front), "U01") == b"7"
                assert brokers.counts(front.url).connections == 1
            finally:
                await brokers.close()


async def test_a_long_value_is_kept_back_by_a_broker_that_was_told_our_bound(tmp_path):
    with mosquitto.running(tmp_path) as real:
        mosquitto.publish(real, "long", bytes(MIB), retain=True)
        mosquitto.publish(real, "t", "7", retain=True)
        brokers = Brokers(limits=SHORT)
        try:
            with pytest.raises(LinkError, match="keeps no value"):
                await brokers.read(to_read(real, "long"), "U02")
            assert await brokers.read(to_read(real), "U01") == b"7"
        finally:
            await brokers.close()


async def test_a_topic_that_is_no_text_is_counted_and_the_rest_comes():
    async def odd(visitor):
        await visitor.let_in()
        await visitor.subscribed()
        await visitor.send(message(b"\xff\xfe\x00", b"1") + message(b"t", b"sound"))
        await visitor.until_gone()

    async with visiting(odd) as (brokers, broker):
        assert await first_of(brokers, broker) == b"sound"
        assert brokers.counts(broker.url).unsound == 1


async def test_a_flood_is_bounded_and_counted():
    """What 1 kHz would bring in six seconds at once, to a listener that looks away meanwhile."""
    many = 6_000
    poured = asyncio.Event()

    async def flood(visitor):
        await visitor.let_in()
        await visitor.subscribed()
        await visitor.send(message(b"t", b"begin"))
        for number in range(many):
            await visitor.send(message(b"t", b"%d" % number + b" " * 1000))
        poured.set()
        await visitor.until_gone()

    async with visiting(flood, PATIENT) as (brokers, broker):
        tracemalloc.start()
        try:
            async with aclosing(brokers.watch(to_read(broker), "U01")) as stream:
                came = len(await anext(stream))
                await poured.wait()
                await until(lambda: brokers.counts(broker.url).messages > many)
                last = await anext(stream)
                came += len(last)
                counts = brokers.counts(broker.url)
            peak = tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
    assert last[-1].data.split()[0] == b"%d" % (many - 1)
    assert came + counts.slow == many + 1
    assert len(last) <= PATIENT.waiting
    assert peak < 12 * MIB
    told(f"{many} messages: {counts.slow} dropped and counted, at most {peak >> 10} KiB held")


async def test_a_kilohertz_for_three_seconds_comes_through_whole():
    async def hurry(visitor):
        await visitor.let_in()
        await visitor.subscribed()
        loop = asyncio.get_running_loop()
        begun = loop.time()
        for number in range(3000):
            await visitor.send(message(b"t", b"%d" % number))
            if number % 10 == 9:
                await asyncio.sleep(begun + number / 1000 - loop.time())  # the sender's own pace
        await visitor.until_gone()

    async with visiting(hurry, PATIENT) as (brokers, broker):
        came = []
        used = time.process_time()
        async with aclosing(brokers.watch(to_read(broker), "U01")) as stream:
            while len(came) < 3000:
                came += await anext(stream)
        used = time.process_time() - used
        assert brokers.counts(broker.url).slow == 0
    assert [arrival.data for arrival in came] == [b"%d" % number for number in range(3000)]
    told(f"3,000 messages in 3 s: {used:.2f} s of processor, both sides together")
