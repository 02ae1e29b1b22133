"""Reports that are meant to do harm: counted, dropped and said, while the unit beside it goes on."""

import asyncio
import json
import sys
import time

import pytest

from fleet.description import vocabulary as pres
from fleet.description.event_stream import EventStreamDecoder
from fleet.description.frames import Complaint, ReportReader
from fleet.description.limits import MAX_EVENT_BYTES
from fleet.description.things import read_thing
from fleet.model.errors import UnitError
from tests.faults.hostile_house import (
    HOSTILE,
    event,
    house,
    nothing_more,
    says,
    sound_unit,
    streams,
)
from tests.unit.description.samples import URL, example

BOUND_S = 5.0
"""Far more than any of these takes, far less than an attack would make of them."""

FRAME = read_thing(example("tracking"), URL).property_of(pres.TARGET_FRAME)
TARGET = '{"x": 1, "y": 2}'

NONSENSE = {
    "a target 100 m off": '{"targets": [{"x": 100001, "y": 2}]}',
    "a speed of 200 m/s": '{"targets": [{"x": 1, "y": 2, "speed": 200000}]}',
    "not a number": '{"targets": [{"x": NaN, "y": 2}]}',
    "more than a number holds": '{"targets": [{"x": 1e400, "y": 2}]}',
    "an integer of 26 digits": '{"targets": [{"x": 99999999999999999999999999, "y": 2}]}',
    "a number as text": '{"targets": [{"x": "1", "y": 2}]}',
    "yes for a number": '{"targets": [{"x": true, "y": 2}]}',
    "no place": '{"targets": [{"x": 1}]}',
    "a target that is a list": '{"targets": [[1, 2]]}',
    "targets that are one": '{"targets": {"x": 1, "y": 2}}',
    "no targets": "{}",
    "100 targets": '{"targets": [' + ", ".join([TARGET] * 100) + "]}",
    "10,000 targets": '{"targets": [' + ", ".join([TARGET] * 10_000) + "]}",
    "a negative report number": '{"number": -1, "targets": []}',
    "a report number of 20 digits": '{"number": 99999999999999999999, "targets": []}',
    "a time that is none": '{"time": "yesterday", "targets": []}',
    "the year 10,000": '{"time": "10000-01-01T00:00:00Z", "targets": []}',
    "50,000 levels": "[" * 50_000,
    "an array": "[]",
    "nothing": "",
    "no JSON": "<html>",
    "bad UTF-8": b'{"targets": "\xff\xfe"}',
    "NUL": b"\0" * 100,
}


@pytest.mark.parametrize("sent", NONSENSE.values(), ids=NONSENSE.keys())
def test_a_report_of_nonsense_is_a_complaint(sent):
    complaint = ReportReader(FRAME).read(sent)
    assert isinstance(complaint, Complaint)
    assert complaint.reason


async def test_nonsense_on_a_stream_is_counted_by_its_kind_and_the_stream_goes_on(tmp_path):
    sound_one = event({"number": 1, "targets": []})
    sent = [one if isinstance(one, bytes) else one.encode() for one in NONSENSE.values()]
    # What is longer than an event may be ends the stream, which the next test shows.
    sent = [one for one in sent if len(one) < MAX_EVENT_BYTES]

    async def bad_then_good():
        for one in sent:
            yield b"data: " + one + b"\n\n" + sound_one
        async for alive in nothing_more():
            yield alive

    answers = sound_unit(HOSTILE, frame=streams(bad_then_good))
    async with house(tmp_path, answers) as opened:
        await opened.meet_hostile()
        record = opened.fleet.records[HOSTILE]
        await opened.wait_for(lambda: record.reports == len(sent))
        await opened.sound_goes_on()
        odd = dict(record.odd)
    sys.stdout.write(f"{len(sent)} kinds of nonsense on one stream, counted as {odd}\n")
    assert sum(odd.values()) == len(sent) == len(NONSENSE) - 1
    assert opened.foreign == []


@pytest.mark.parametrize("piece", [b"x" * 65536, event(NONSENSE["10,000 targets"])])
async def test_a_stream_of_one_endless_event_is_given_up_and_said(tmp_path, piece):
    async def endless():
        while True:
            yield piece
            await asyncio.sleep(0)

    async with house(tmp_path, sound_unit(HOSTILE, frame=streams(endless))) as opened:
        await opened.meet_hostile()
        record = opened.fleet.records[HOSTILE]
        await opened.wait_for(lambda: record.odd)
        await opened.sound_goes_on()
    assert any("without an end of the event" in reason for reason in record.odd)
    assert record.reports == 0


async def test_a_thousand_reports_a_second_are_taken_and_nobody_else_starves(tmp_path):
    async def flood():
        begun_s, number = time.monotonic(), 0
        while True:
            due = int((time.monotonic() - begun_s) * 1000)
            yield b"".join(
                event({"number": n, "targets": [{"x": 1, "y": 2}]}) for n in range(number, due)
            )
            number = max(number, due)
            await asyncio.sleep(0.01)

    async with house(tmp_path, sound_unit(HOSTILE, frame=streams(flood))) as opened:
        await opened.meet_hostile()
        record = opened.fleet.records[HOSTILE]
        await opened.wait_for(lambda: record.reports)
        begun_s, before, flooded = time.monotonic(), opened.sound.reports, record.reports
        await opened.wait_for(lambda: record.reports >= flooded + 2000)
        took_s = time.monotonic() - begun_s
        came = opened.sound.reports - before
    said = f"2000 reports taken in {took_s:.1f} s; {came} of the unit beside it meanwhile\n"
    sys.stdout.write(said)
    assert record.lost_ppm == 0
    assert came >= 0.5 * took_s / 0.02


async def test_time_that_goes_backwards_stays_a_report_and_order_is_that_of_receipt(tmp_path):
    times = [
        "2026-11-25T12:00:00Z",
        "1970-01-01T00:00:00Z",
        "2199-01-01T00:00:00Z",
        "2026-11-25T12:00:01Z",
    ]

    async def back_and_forth():
        for number, moment in enumerate(times):
            yield event({"time": moment, "number": number, "targets": []})
        async for alive in nothing_more():
            yield alive

    seen = []
    async with house(tmp_path, sound_unit(HOSTILE, frame=streams(back_and_forth))) as opened:
        opened.fleet.listen(lambda serial, at_s, report: seen.append((serial, at_s, report)))
        await opened.meet_hostile()
        record = opened.fleet.records[HOSTILE]
        await opened.wait_for(lambda: record.reports == len(times))
    theirs = [(at_s, report) for serial, at_s, report in seen if serial == HOSTILE]
    assert [report.number for _, report in theirs] == [0, 1, 2, 3]
    assert [at_s for at_s, _ in theirs] == sorted(at_s for at_s, _ in theirs)
    assert theirs[1][1].sample_time_ms == 0


async def test_a_stream_that_redirects_is_not_followed(tmp_path):
    def answers(foreign):
        return sound_unit(HOSTILE, frame=says("", status=307, Location=f"{foreign}/frame"))

    async with house(tmp_path, answers) as opened:
        await opened.meet_hostile()
        record = opened.fleet.records[HOSTILE]
        await opened.wait_for(lambda: record.odd)
        await opened.sound_goes_on()
    assert opened.foreign == []


def drip(decoder: EventStreamDecoder) -> None:
    for _ in range(MAX_EVENT_BYTES + 1):
        decoder.feed(b"x")


def test_a_stream_that_drips_byte_by_byte_costs_bounded_time():
    begun_s = time.process_time()
    with pytest.raises(UnitError):
        drip(EventStreamDecoder())
    assert time.process_time() - begun_s < BOUND_S


def test_ten_thousand_targets_cost_bounded_time():
    reader = ReportReader(FRAME)
    sent = json.dumps({"targets": [{"x": 1, "y": 2}] * 3000})
    begun_s = time.process_time()
    for _ in range(100):
        assert isinstance(reader.read(sent), Complaint)
    assert time.process_time() - begun_s < BOUND_S
