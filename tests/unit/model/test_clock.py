from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.model.clock import HouseClock, from_rfc3339, to_rfc3339

STARTED = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)


class Wall:
    """A wall clock that a test turns by hand."""

    def __init__(self, reading_s: float):
        self.reading_s = reading_s

    def __call__(self) -> float:
        return self.reading_s


def test_a_clock_starts_at_its_start():
    clock = HouseClock(STARTED, 100.0, Wall(100.0))
    assert clock.now() == STARTED
    assert clock.monotonic_s() == 0.0
    assert clock.speed == 1.0


def test_a_fast_clock_runs_its_speed_times_the_wall():
    wall = Wall(100.0)
    clock = HouseClock(STARTED, 100.0, wall, speed=20.0)
    wall.reading_s = 103.0
    assert clock.monotonic_s() == 60.0
    assert clock.now() == STARTED + timedelta(minutes=1)


def test_a_time_is_written_in_utc_with_milliseconds():
    east = timezone(timedelta(hours=2))
    assert to_rfc3339(datetime(2026, 3, 1, 11, 30, 0, 1999, east)) == "2026-03-01T09:30:00.001Z"


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        # RFC 3339 section 5.8, the examples.
        ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520000, UTC)),
        ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, 0, UTC)),
        ("1937-01-01T12:00:27.87+00:20", datetime(1937, 1, 1, 11, 40, 27, 870000, UTC)),
        # The same, with leap seconds, which no datetime can hold.
        ("1990-12-31T23:59:60Z", datetime(1990, 12, 31, 23, 59, 59, 0, UTC)),
        ("1990-12-31T15:59:60-08:00", datetime(1990, 12, 31, 23, 59, 59, 0, UTC)),
    ],
)
def test_the_examples_of_the_rfc_are_read(text, moment):
    assert from_rfc3339(text) == moment


@pytest.mark.parametrize("text", ["2026-03-01T09:30:00", "yesterday", "", "2026-03-01T09:61:00Z"])
def test_what_is_no_time_with_an_offset_is_refused(text):
    with pytest.raises(ValueError, match=r".+"):
        from_rfc3339(text)


@given(st.datetimes(timezones=st.just(UTC)))
def test_a_written_time_reads_back_to_the_millisecond(moment):
    assert timedelta(0) <= moment - from_rfc3339(to_rfc3339(moment)) < timedelta(milliseconds=1)
