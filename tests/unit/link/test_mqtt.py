"""The parts that stand between a broker and its listeners, each by itself."""

import socket

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paho.mqtt.client import topic_matches_sub

from fleet.description.forms import Form
from fleet.link import mqtt_words as words
from fleet.link.mqtt import Brokers
from fleet.link.mqtt_framing import BoundedSocket
from fleet.link.mqtt_inbox import Inbox
from fleet.link.mqtt_limits import BrokerLimits
from fleet.link.mqtt_opening import broker_address, fingerprint_of
from fleet.link.mqtt_topics import Listeners, hold_filter, is_match
from fleet.model.errors import LinkError, PlanError
from tests.faults.scripted_broker import head_of
from tests.peers.mosquitto import free_port

LIMIT = 300
SMALL = BrokerLimits(waiting=3, waiting_bytes=100)


def inbox(heard="t", *, retained=False, limit_bytes=50):
    return Inbox(heard, SMALL, qos=0, retained=retained, limit_bytes=limit_bytes)


def next_packet(bounded):
    """Read a packet as the protocol's client does: a byte, the length byte by byte, the rest."""
    kind, length, place = bounded.recv(1)[0], 0, 0
    while True:
        byte = bounded.recv(1)[0]
        length += (byte & 0x7F) << place
        place += 7
        if byte < 0x80:
            break
    body = b""
    while len(body) < length:
        body += bounded.recv(length - len(body))
    return kind, body, bounded.clipped


packets = st.lists(
    st.tuples(st.integers(0, 255), st.integers(0, 3 * LIMIT), st.integers(0, 255)), max_size=12
)


@given(packets)
def test_every_packet_comes_whole_or_clipped_and_the_next_is_not_touched(sent):
    """Whatever the lengths: the beginning of each packet up to the limit, in order, and a sound end."""
    near, far = socket.socketpair()
    bounded = BoundedSocket(near, LIMIT)
    with far:
        for kind, length, filling in sent:
            far.sendall(head_of(kind, length) + bytes([filling]) * length)
    got = [next_packet(bounded) for _ in sent]
    end = bounded.recv(1)
    bounded.close()
    assert end == b""
    assert got == [
        (kind, bytes([filling]) * min(length, LIMIT), length > LIMIT)
        for kind, length, filling in sent
    ]


@given(st.binary(max_size=200), st.lists(st.integers(1, 60), max_size=30))
def test_any_bytes_end_in_an_error_or_an_end(sent, sizes):
    near, far = socket.socketpair()
    bounded = BoundedSocket(near, LIMIT)
    with far:
        far.sendall(sent)
    came = b""
    try:
        for size in sizes:
            came += bounded.recv(size)
    except ConnectionError:
        assert len(sent) >= 5  # a head whose length has no end
    finally:
        bounded.close()
    assert len(came) <= len(sent)


def test_a_length_without_an_end_is_no_packet():
    near, far = socket.socketpair()
    bounded = BoundedSocket(near, LIMIT)
    with far:
        far.sendall(b"\x30\xff\xff\xff\xff\x01")
    with pytest.raises(ConnectionError, match="has no end"):
        bounded.recv(1)
    bounded.close()


def test_nothing_there_is_no_end_and_half_a_head_is_waited_for():
    near, far = socket.socketpair()
    near.setblocking(False)
    bounded = BoundedSocket(near, LIMIT)
    far.sendall(b"\x30")
    with pytest.raises(BlockingIOError):
        bounded.recv(1)
    far.sendall(b"\x02ab\x40")
    assert next_packet(bounded) == (0x30, b"ab", False)
    assert bounded.pending() == 1
    with pytest.raises(BlockingIOError):
        bounded.recv(1)
    far.close()
    bounded.close()
    assert bounded.fileno() == -1


def test_what_is_thrown_away_leaves_room_for_others():
    near, far = socket.socketpair()
    near.setblocking(False)
    bounded = BoundedSocket(near, LIMIT)
    far.sendall(head_of(0x30, LIMIT + 5) + bytes(LIMIT))
    assert next_packet(bounded) == (0x30, bytes(LIMIT), True)
    with pytest.raises(BlockingIOError):
        bounded.recv(1)
    far.sendall(b"12345\x40\x00")
    assert next_packet(bounded) == (0x40, b"", False)
    far.close()
    bounded.close()


async def test_a_slow_listener_loses_the_oldest():
    box = inbox()
    for number in range(5):
        box.put("t", b"%d" % number)
    assert await box.take() == [("t", b"2"), ("t", b"3"), ("t", b"4")]
    assert box.dropped == 2


async def test_waiting_is_bounded_in_bytes_as_well():
    box = inbox()
    for number in range(3):
        box.put("t", b"%d" % number + bytes(48))
    assert [payload[:1] for _, payload in await box.take()] == [b"1", b"2"]
    assert box.dropped == 1


async def test_a_long_message_is_counted_and_wakes_its_listener():
    box = inbox()
    box.put("t", bytes(51))
    box.put("t", b"", clipped=True)
    assert await box.take() == []
    assert (box.oversize, box.dropped) == (2, 0)


async def test_what_was_kept_goes_only_to_those_who_want_it():
    listeners, stream, reader = Listeners(), inbox(), inbox(retained=True)
    listeners.add(stream)
    listeners.add(reader)
    listeners.add(reader)  # once is enough
    listeners.deliver("t", b"old", retained=True, clipped=False)
    listeners.deliver("t", b"new", retained=False, clipped=False)
    listeners.deliver("other", b"x", retained=False, clipped=False)
    listeners.deliver(None, b"x", retained=False, clipped=False)
    assert await stream.take() == [("t", b"new")]
    assert await reader.take() == [("t", b"old"), ("t", b"new")]
    assert (listeners.messages, listeners.unsound) == (4, 1)


async def test_the_last_of_a_filter_is_told_from_the_others_and_counts_stay():
    listeners, one, two = Listeners(), inbox("a/+"), inbox("a/+")
    listeners.add(one)
    listeners.add(two)
    for _ in range(5):
        listeners.deliver("a/b", b"1", retained=False, clipped=False)
    listeners.deliver("a/b", bytes(99), retained=False, clipped=False)
    assert listeners.remove(one) is False
    assert listeners.remove(one) is False
    assert listeners.remove(two) is True
    assert (listeners.slow, listeners.oversize) == (4, 2)


levels = st.text("ab$", max_size=2)
topics = st.lists(levels, min_size=1, max_size=4).map("/".join).filter(bool)
filters = st.lists(levels | st.just("+"), min_size=1, max_size=3).flatmap(
    lambda parts: st.sampled_from(["/".join(parts), "/".join([*parts, "#"])])
)


@given(filters.filter(bool), topics)
def test_a_filter_matches_what_another_client_says_it_matches(heard, topic):
    """The oracle is paho's own matching, which the program doesn't use."""
    assert is_match(heard, topic) == topic_matches_sub(heard, topic)


@pytest.mark.parametrize("heard", ["a", "+", "#", "a/+/c", "a/#", "/", "$SYS/x", "Küche/+"])
def test_a_sound_filter_is_held(heard):
    assert hold_filter(heard) == heard


@pytest.mark.parametrize(
    ("url", "origin"),
    [
        ("mqtt://Broker.local", "mqtt://broker.local:1883"),
        ("mqtts://192.0.2.9/under/here", "mqtts://192.0.2.9:8883"),
        ("mqtt://user@[2001:db8::1]:99", "mqtt://[2001:db8::1]:99"),
    ],
)
def test_a_broker_is_known_by_its_origin(url, origin):
    assert broker_address(url).origin == origin


@pytest.mark.parametrize("url", ["", "http://192.0.2.9", "mqtt://", "mqtt:///x", "192.0.2.9:1883"])
async def test_what_is_no_address_of_a_broker_is_said(url):
    brokers = Brokers()
    with pytest.raises(PlanError, match="can't be reached by its broker"):
        await brokers.read(Form("readproperty", url, "SUBSCRIBE", filter="t"), "U01")


async def test_nothing_at_the_address_is_said():
    form = Form("readproperty", f"mqtt://127.0.0.1:{free_port()}", "SUBSCRIBE", filter="t")
    brokers = Brokers()
    with pytest.raises(LinkError, match="nothing answers at its address") as told:
        await brokers.read(form, "U01")
    assert told.value.subject == "U01"
    assert brokers.counts(form.url).version == ""
    await brokers.close()


def test_a_socket_without_tls_has_no_fingerprint():
    near, far = socket.socketpair()
    with near, far:
        assert fingerprint_of(near) == ""


def test_each_who_asked_is_told_by_an_error_of_its_own():
    trouble = words.not_accepted("mqtt://192.0.2.9:1883", 0x89)
    one, two = trouble("U01"), trouble("U02")
    assert one is not two
    assert "U02: its broker mqtt://192.0.2.9:1883 can't be used: it is busy." in str(two)
