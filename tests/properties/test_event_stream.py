"""However a stream is cut, it says the same; whatever comes, the decoder doesn't break."""

from hypothesis import given
from hypothesis import strategies as st

from fleet.description.event_stream import EventStreamDecoder
from fleet.description.limits import MAX_EVENT_BYTES

PIECES = st.sampled_from(
    [
        b"data: a",
        b"data",
        b"data:",
        b"id: 7",
        b"id",
        b"event: e",
        b": c",
        b"retry: 9",
        b"\n",
        b"\n",
        b"\r",
        b"\r\n",
        b"\xef\xbb\xbf",
        b"\xff",
        b"\0",
        b"x",
    ]
)
STREAMS = st.lists(PIECES, max_size=40).map(b"".join) | st.binary(max_size=200)


def cut(stream: bytes, places: list[int]) -> list[bytes]:
    ends = sorted(place % (len(stream) + 1) for place in places)
    return [stream[a:b] for a, b in zip([0, *ends], [*ends, len(stream)], strict=True)]


@given(STREAMS, st.lists(st.integers(0, 10_000), max_size=30))
def test_any_cutting_gives_the_same_events(stream, places):
    whole, parts = EventStreamDecoder(), EventStreamDecoder()
    events = [event for chunk in cut(stream, places) for event in parts.feed(chunk)]
    assert events == whole.feed(stream)
    assert (parts.last_event_id, parts.retry_ms) == (whole.last_event_id, whole.retry_ms)


@given(st.lists(st.binary(max_size=300), max_size=20))
def test_what_is_kept_never_grows_past_what_came(chunks):
    decoder = EventStreamDecoder()
    for chunk in chunks:
        decoder.feed(chunk)
    assert len(decoder._rest) <= min(MAX_EVENT_BYTES, sum(map(len, chunks)))


def by_the_letter(stream: bytes) -> list[tuple[str, bytes, str]]:
    """The standard's own steps, a line at a time, as slow as they are written there."""
    text = stream.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    events, data, name, last_id = [], [], "", ""
    for line in text.split(b"\n")[:-1]:
        field, _, value = line.partition(b":")
        value = value[1:] if value.startswith(b" ") else value
        if not line:
            if data:
                events.append((name or "message", b"\n".join(data), last_id))
            data, name = [], ""
        elif field == b"data":
            data.append(value)
        elif field == b"event":
            name = value.decode("utf-8", "replace")
        elif field == b"id" and b"\0" not in value:
            last_id = value.decode("utf-8", "replace")
    return events


@given(STREAMS)
def test_splitting_on_blank_lines_says_what_the_steps_of_the_standard_say(stream):
    events = EventStreamDecoder().feed(stream)
    assert [(event.name, event.data, event.id) for event in events] == by_the_letter(stream)
