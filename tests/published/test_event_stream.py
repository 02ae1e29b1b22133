"""The event stream rows of WHATWG HTML, section 9.2 (server-sent events), as the standard has them."""

import pytest

from fleet.description.event_stream import EventStreamDecoder

# Each row: the stream, the data of the events that it makes, the last event id at its end.
# Source: HTML Living Standard, §9.2.6 "Interpreting an event stream", its examples and its steps.
ROWS = [
    # The stock ticker of the section's first example.
    (b"data: YHOO\ndata: +2\ndata: 10\n\n", [b"YHOO\n+2\n10"], ""),
    # "The following stream contains four blocks": a comment, an id, a bare id, a second blank.
    (
        b": test stream\n\ndata: first event\nid: 1\n\ndata:second event\nid\n\ndata:  third event",
        [b"first event", b"second event"],
        "",
    ),
    (b"data: first event\nid: 1\n\ndata: next\n\n", [b"first event", b"next"], "1"),
    # "The following stream fires two events": an empty one, one of a single newline; the rest is cut.
    (b"data\n\ndata\ndata\n\ndata:", [b"", b"\n"], ""),
    # "The following stream fires two identical events": one blank after the colon is dropped.
    (b"data:test\n\ndata: test\n\n", [b"test", b"test"], ""),
    # Only one blank is.
    (b"data:  third event\n\n", [b" third event"], ""),
    # "If the field value does not contain U+0000 NULL, then set the last event ID buffer".
    (b"id: 1\ndata: a\n\nid: 2\x003\ndata: b\n\n", [b"a", b"b"], "1"),
    # An id without data fires nothing and still counts (dispatch, steps 1 and 2).
    (b"id: 9\n\n", [], "9"),
    # One leading byte order mark is ignored; a second one is part of a field name nobody knows.
    (b"\xef\xbb\xbfdata: a\n\n", [b"a"], ""),
    (b"\xef\xbb\xbf\xef\xbb\xbfdata: a\n\n", [], ""),
    # CR, LF and CR LF end a line.
    (b"data: a\rdata: b\r\ndata: c\n\r\n", [b"a\nb\nc"], ""),
    # Field names are case-sensitive, unknown ones ignored.
    (b"Data: a\nfoo: b\n\n", [], ""),
]


@pytest.mark.parametrize(("stream", "data", "last_id"), ROWS)
def test_the_standards_own_streams_make_its_events(stream, data, last_id):
    decoder = EventStreamDecoder()
    assert [event.data for event in decoder.feed(stream)] == data
    assert decoder.last_event_id == last_id


def test_retry_counts_only_as_digits():
    # §9.2.6: "If the field value consists of only ASCII digits … Otherwise, ignore the field."
    decoder = EventStreamDecoder()
    decoder.feed(b"retry: 1000\n\nretry:1000x\n\n")
    assert decoder.retry_ms == 1000


def test_an_event_is_named_by_its_last_event_field_and_else_message():
    # §9.2.6, the stream of "add" and "remove" events; dispatch, step 6: the default is "message".
    events = EventStreamDecoder().feed(
        b"event: add\ndata: 73857293\n\nevent: remove\ndata: 2153\n\ndata: x\n\nevent\ndata: y\n\n"
    )
    assert [event.name for event in events] == ["add", "remove", "message", "message"]
