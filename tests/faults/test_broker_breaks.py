"""Brokers that break off, refuse, or are of an older kind; and ends in the middle of everything.

Whoever asked is told what is known and what is in doubt, and nothing is left open.
"""

import asyncio
import time

import aiomqtt
import pytest

from fleet.link.mqtt import Brokers
from fleet.link.mqtt_limits import BrokerLimits
from fleet.model.errors import LinkError, UnitError
from tests.faults.scripted_broker import (
    ACCEPTED,
    PATIENT,
    PUBLISH,
    Visitor,
    first_of,
    message,
    older,
    to_read,
    to_write,
    told,
    until,
    visiting,
)
from tests.peers import mosquitto


async def fill(brokers, broker):
    """Publish until the operating system takes no more."""
    while True:
        await brokers.publish(to_write(broker, qos=0), bytes(1 << 18), "U01")


@pytest.mark.parametrize("answer", ["breaks off", "is silent"])
async def test_a_publication_without_a_receipt_is_in_doubt(answer):
    async def doubt(visitor):
        await visitor.let_in()
        await visitor.packet(PUBLISH)
        if answer == "is silent":
            await visitor.until_gone()

    async with visiting(doubt) as (brokers, broker):
        with pytest.raises(LinkError, match="gave no receipt") as said:
            await brokers.publish(to_write(broker), b"1", "U01")
    assert "may or may not" in said.value.stands
    assert "Read it again" in said.value.next_step


async def test_a_broker_that_reads_nothing_leaves_a_publication_in_doubt():
    async def deaf(visitor):
        await visitor.let_in()
        visitor.writer.transport.pause_reading()
        await asyncio.Event().wait()

    async with visiting(deaf) as (brokers, broker):
        with pytest.raises(LinkError, match="gave no receipt"):
            await fill(brokers, broker)


async def test_a_broker_that_always_breaks_off_later_is_not_called_on_without_pause():
    async def let_in_and_leave(visitor):
        await visitor.let_in()
        await visitor.subscribed()

    limits = BrokerLimits(first_pause_s=0.2, longest_pause_s=60)
    async with visiting(let_in_and_leave, limits) as (brokers, broker):
        watching = asyncio.ensure_future(first_of(brokers, broker))
        await until(lambda: broker.visits == 3)
        begun = time.monotonic()
        await until(lambda: broker.visits == 4)
        # The third pause is 0.4 s at least; seeing it takes a while.
        assert time.monotonic() - begun > 0.15
        watching.cancel()
        await asyncio.gather(watching, return_exceptions=True)


async def test_a_subscription_that_nobody_answers_is_said():
    async def mute(visitor):
        await visitor.let_in()
        await visitor.until_gone()

    async with visiting(mute) as (brokers, broker):
        with pytest.raises(LinkError, match="stopped answering"):
            await brokers.read(to_read(broker), "U01")


async def test_a_break_while_subscribing_is_said_at_once():
    async def leave(visitor):
        await visitor.let_in()

    async with visiting(leave, PATIENT) as (brokers, broker):
        with pytest.raises(LinkError, match="stopped answering"):
            await brokers.read(to_read(broker), "U01")


async def test_a_subscription_that_is_refused_is_said():
    async def refuse(visitor):
        await visitor.let_in()
        await visitor.subscribed(0x87)
        await visitor.until_gone()

    async with visiting(refuse) as (brokers, broker):
        with pytest.raises(UnitError, match="doesn't let us listen to 't'"):
            await brokers.read(to_read(broker), "U01")


async def test_a_broker_that_sends_us_away_is_come_back_to():
    async def send_away(visitor):
        await visitor.let_in()
        await visitor.subscribed()
        if broker.visits < 3:
            await visitor.send(b"\xe0\x02\x8b\x00")  # DISCONNECT: the server is shutting down
        else:
            await visitor.send(message(b"t", b"sound"))
        await visitor.until_gone()

    async with visiting(send_away, PATIENT) as (brokers, broker):
        assert await first_of(brokers, broker) == b"sound"
        assert brokers.counts(broker.url).connections == 3


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (0x80, "reason 128"),
        (0x85, "doesn't take our name"),
        (0x88, "serves nobody at present"),
        (0x8A, "has banned us"),
        (0x9D, "another broker"),
    ],
)
async def test_a_refusal_is_said_in_words(code, words):
    async def refuse(visitor):
        await visitor.packet(0x10)
        await visitor.send(b"\x20\x03\x00" + bytes([code]) + b"\x00")

    async with visiting(refuse) as (brokers, broker):
        with pytest.raises(LinkError, match=words):
            await brokers.read(to_read(broker), "U01")
        assert broker.visits == 1


async def test_hundreds_who_wait_make_no_storm():
    """A broker that always breaks off: 300 streams cost one series of tries, not 300."""

    async def shut(visitor):
        await visitor.packet(0x10)

    limits = BrokerLimits(first_pause_s=0.05, longest_pause_s=0.1, tries=4)
    async with visiting(shut, limits) as (brokers, broker):
        ended = await asyncio.gather(
            *(first_of(brokers, broker) for _ in range(300)), return_exceptions=True
        )
        assert all(isinstance(each, LinkError) for each in ended)
        assert broker.visits == 2  # one in each version of the protocol
    told("300 streams to a broker that breaks off: 2 connections")


@pytest.mark.parametrize("refusal", [b"\x20\x02\x00\x01", b"\x20\x03\x00\x84\x00", b""])
async def test_an_older_broker_is_spoken_to_in_the_older_version(tmp_path, refusal):
    with mosquitto.running(tmp_path) as real:
        mosquitto.publish(real, "t", "7", retain=True)
        brokers = Brokers(limits=PATIENT)
        async with older(real.port, refusal) as front:
            try:
                assert await brokers.read(to_read(front), "U01") == b"7"
                watching = asyncio.ensure_future(first_of(brokers, front))
                begun = len(real.lines)
                await asyncio.to_thread(real.wait_for, "Sending SUBACK", begun)
                await brokers.publish(to_write(front), b"8", "U01")
                assert await watching == b"8"
                assert brokers.counts(front.url).version == "MQTT 3.1.1"
            finally:
                await brokers.close()


async def test_a_connection_is_closed_whole_when_its_opener_is_cancelled():
    async with visiting(Visitor.until_gone, PATIENT) as (brokers, broker):
        opening = asyncio.ensure_future(brokers.read(to_read(broker), "U01"))
        await until(lambda: broker.visits)
        opening.cancel()
        with pytest.raises(asyncio.CancelledError):
            await opening


@pytest.mark.parametrize("answer", ["comes", "fails"])
async def test_an_end_is_no_answer_though_both_come_in_one_turn(answer):
    """A task that is told to end just as its broker answers, or breaks off, ends."""

    async def mute(visitor):
        await visitor.let_in()
        await visitor.until_gone()

    async with visiting(mute, PATIENT) as (brokers, broker):
        reading = asyncio.ensure_future(brokers.read(to_read(broker), "U01"))
        await until(lambda: brokers.counts(broker.url).connected)
        client = brokers._brokers[broker.url]._client
        await until(lambda: client._pending_subscribes)
        (pending,) = client._pending_subscribes.values()
        if answer == "comes":
            pending.set_result([0])
        else:
            pending.set_exception(aiomqtt.MqttError("gone"))
        reading.cancel()
        with pytest.raises(asyncio.CancelledError):
            await reading


async def test_a_second_acceptance_changes_nothing():
    async def twice(visitor):
        await visitor.let_in()
        await visitor.send(ACCEPTED)
        await visitor.subscribed()
        await visitor.send(message(b"t", b"sound"))
        await visitor.until_gone()

    async with visiting(twice) as (brokers, broker):
        assert await first_of(brokers, broker) == b"sound"
