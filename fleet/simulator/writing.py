"""Bytes of reports and events, written by hand: a fast house asks for thousands a second."""

from collections.abc import Sequence

from fleet.simulator.radar import Target


def report_text(time: str, number: int, targets: Sequence[Target], *, distance_only: bool) -> str:
    """Write a target report as JSON; a target's id is its place in the report, no identity."""
    if distance_only:
        listed = ",".join(f'{{"range":{t.range_mm},"speed":{t.speed_mm_s}}}' for t in targets)
    else:
        listed = ",".join(
            f'{{"slot":{slot},"x":{t.x_mm},"y":{t.y_mm},"speed":{t.speed_mm_s}}}'
            for slot, t in enumerate(targets)
        )
    return f'{{"time":"{time}","number":{number},"targets":[{listed}]}}'


def event_bytes(name: str, event_id: str, data: str) -> bytes:
    """Write one event of a stream; the data is one line of JSON."""
    return f"event: {name}\nid: {event_id}\ndata: {data}\n\n".encode()


def chunk_bytes(payload: bytes) -> bytes:
    """Wrap a payload as one chunk of HTTP/1.1 chunked transfer (RFC 9112 section 7.1)."""
    return b"%x\r\n%b\r\n" % (len(payload), payload)
