from itertools import pairwise

import pytest

from fleet.description.event_stream import EventStreamDecoder, StreamEvent
from fleet.model.errors import UnitError


def test_an_event_across_chunks_keeps_name_data_and_id():
    decoder = EventStreamDecoder()
    assert decoder.feed(b"id: 7\nevent: frame\nda") == []
    assert decoder.feed(b"ta: {}\n") == []
    assert decoder.feed(b"\ndata: b\n\n") == [
        StreamEvent("frame", b"{}", "7"),
        StreamEvent("message", b"b", "7"),
    ]


def test_usual_events_are_read_alike_alone_together_and_cut_anywhere():
    sent = (
        b"id: 7\ndata: {}\n\nevent: frame\ndata:  b\n\nevent: frame\nid: 8\ndata: c\n\ndata: d\n\n"
    )
    events = [
        StreamEvent("message", b"{}", "7"),
        StreamEvent("frame", b" b", "7"),
        StreamEvent("frame", b"c", "8"),
        StreamEvent("message", b"d", "8"),
    ]
    ends = [at + 2 for at in range(len(sent)) if sent[at : at + 2] == b"\n\n"]
    for cuts in (
        ends,
        [len(sent)],
        *([at, len(sent)] for at in range(len(sent))),
        range(len(sent) + 1),
    ):
        decoder, begins = EventStreamDecoder(), (0, *cuts)
        decoder.feed(b": opened\n\n")
        chunks = [sent[begin:end] for begin, end in pairwise(begins)]
        assert [event for chunk in chunks for event in decoder.feed(chunk)] == events
        assert decoder.last_event_id == "8"


def test_the_last_id_of_the_connection_before_goes_on_holding():
    decoder = EventStreamDecoder("41")
    assert decoder.feed(b"data: a\n\n") == [StreamEvent("message", b"a", "41")]


def test_the_time_to_wait_before_connecting_again_is_kept():
    decoder = EventStreamDecoder()
    decoder.feed(b"retry: 2500\n\n")
    decoder.feed(b"retry: 99999999999999999999\n\nretry: -3\n\nretry\n\n")
    assert decoder.retry_ms == 2500


def test_a_carriage_return_and_line_feed_in_two_chunks_are_one_line_end():
    decoder = EventStreamDecoder()
    assert decoder.feed(b"data: a\r") == []
    assert decoder.feed(b"") == []
    assert decoder.feed(b"\ndata: b\r") == []
    assert decoder.feed(b"\r") == [StreamEvent("message", b"a\nb", "")]


def test_an_event_that_never_ends_is_given_up():
    decoder = EventStreamDecoder(limit_bytes=100, subject="Landing")
    with pytest.raises(UnitError, match=r"Landing: .* without an end of the event"):
        [decoder.feed(b"data: 1234\n") for _ in range(20)]
    assert decoder.feed(b"\n\n") == []


def test_a_long_event_that_comes_at_once_is_given_up_too():
    with pytest.raises(UnitError, match="without an end"):
        EventStreamDecoder(limit_bytes=100).feed(b"data: " + b"x" * 200 + b"\n\n")


def test_comments_that_only_keep_the_connection_open_never_reach_the_limit():
    decoder = EventStreamDecoder(limit_bytes=100)
    for _ in range(1000):
        assert decoder.feed(b": still here\n") == []
    assert decoder.feed(b"data: a\n\n") == [StreamEvent("message", b"a", "")]


def test_a_byte_order_mark_that_comes_byte_by_byte_is_skipped():
    decoder = EventStreamDecoder()
    chunks = [b"\xef", b"\xbb", b"\xbf", b"data: a\n\n"]
    assert [decoder.feed(chunk) for chunk in chunks] == [
        [],
        [],
        [],
        [StreamEvent("message", b"a", "")],
    ]
