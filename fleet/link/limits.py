"""How long, how much and how many: the bounds of every exchange with a unit."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limits:
    """The bounds of a visit; tests use shorter ones.

    A unit that never answers, or that drips, must be given up within 20 s: a description gets 15, any other
    answer 10, and a stream of reports that says nothing whole for 10 is closed.

    Attributes:
        connect_s: until a connection stands.
        silence_s: between two arrivals of bytes of a plain answer.
        whole_s: for a whole plain answer, and until a stream begins.
        describe_s: for a description, every try with a password included.
        stream_silence_s: without one whole report on a stream of reports.
        seldom_silence_s: the same on any other stream; occupancy comes once a minute.
        long_poll_s: how long a long poll may stay open; longer only means that nothing is new.
        poll_ms: between two reads of a property that is polled, where the unit doesn't say.
        long_poll_gap_ms: between two answers of a long poll; a unit that answers at once isn't flooded.
        patience_s: how long a unit that doesn't answer counts among the units talked to at once.
        units_at_once: how many units are talked to at once.
        largest_answer_bytes: the longest plain answer.
        upload_silence_s: while an image goes out, without a piece of it leaving or the unit saying that
            more has come.
        upload_answer_s: likewise, once the last piece has left: it may lie in buffers on the way.
    """

    connect_s: float = 3.0
    silence_s: float = 5.0
    whole_s: float = 10.0
    describe_s: float = 15.0
    stream_silence_s: float = 10.0
    seldom_silence_s: float = 90.0
    long_poll_s: float = 40.0
    poll_ms: int = 1000
    long_poll_gap_ms: int = 50
    patience_s: float = 2.0
    units_at_once: int = 32
    largest_answer_bytes: int = 1 << 20
    upload_silence_s: float = 20.0
    upload_answer_s: float = 60.0
