"""What holds whatever comes: a reader answers with a value or with one of our errors, and nothing that it
answers leads away from the unit, splits a request, or does anything but be read where it is shown.
"""

import random
from contextlib import suppress
from typing import Any
from urllib.parse import urlsplit

from fleet.description.assembly import names_needed, put_together, taken_apart
from fleet.description.event_stream import EventStreamDecoder
from fleet.description.everything import everything_said
from fleet.description.frames import Complaint, OccupancyReader, ReportReader
from fleet.description.limits import MAX_SAID_CHARS
from fleet.description.publications import publication
from fleet.description.requests import (
    Request,
    invoke_request,
    observe_request,
    read_request,
    status_request,
    write_request,
)
from fleet.description.things import Affordance, Thing, read_thing
from fleet.description.values import fields, with_fields
from fleet.description.vocabulary import HOLD_TIME, OCCUPANCY, TARGET_FRAME
from fleet.model.errors import WalkdownError
from fleet.model.reports import OccupancyReport, Report
from tests.faults import fuzz_inputs
from tests.unit.description.samples import URL, example, td_schema

OWN_HOST = "192.0.2.7:8080"
UNIT = read_thing(example("tracking"), URL)
REPORTS = ReportReader(UNIT.property_of(TARGET_FRAME))
OCCUPANCIES = OccupancyReader(UNIT.property_of(OCCUPANCY))
_TD_SCHEMA = td_schema()


def hold_description(raw: bytes, chance: random.Random) -> None:
    """Read a description and ask everything of it that a visit would."""
    schema = _TD_SCHEMA if chance.random() < 0.02 else None
    try:
        thing = read_thing(raw, URL, td_schema=schema, require_unit=False)
    except WalkdownError:
        return
    everything = [*thing.properties.values(), *thing.actions.values(), *thing.events.values()]
    said = fuzz_inputs.value(chance)
    for affordance in everything[:8] if schema is None else everything:
        hold_affordance(thing, affordance, said)
    hold_shown([thing.title, thing.id, *thing.complaints, *(one.name for one in everything)])


def hold_affordance(thing: Thing, affordance: Affordance, said: Any) -> None:
    """Every address of an affordance is the unit's own; values go through it or are refused."""
    for form in affordance.forms:
        hold_address(form.url)
    for asked in (
        lambda: read_request(thing, affordance, {"a": "//evil.example/", "b": "\r\n@evil.example"}),
        lambda: write_request(thing, affordance, said, '"1"'),
        lambda: invoke_request(thing, affordance, said),
        lambda: observe_request(thing, affordance, "7\r\nX: y"),
        lambda: status_request(thing, Request("POST", URL), str(said)),
        lambda: publication(thing, affordance, said),
    ):
        with suppress(WalkdownError):
            sent = asked()
            assert isinstance(sent, Request), f"something would be published: {sent}"
            hold_request(sent)
    fields(affordance.schema, said)
    hold_shown([*everything_said(affordance, said).values()], MAX_SAID_CHARS)
    with suppress(WalkdownError):
        with_fields(affordance, said, {HOLD_TIME: 30})
    hold_parts(affordance, said)
    hold_report(
        ReportReader(affordance), OccupancyReader(affordance), b'{"list": [{"x": 1, "y": 2}]}'
    )


def hold_parts(affordance: Affordance, said: Any) -> None:
    """What is put together from parts is taken apart again, or refused."""
    values = dict.fromkeys(names_needed(affordance), said)
    whole = put_together(affordance, values)
    with suppress(WalkdownError):
        taken_apart(affordance, whole, values)
    with suppress(WalkdownError):
        taken_apart(affordance, said, {})


def hold_request(request: Request) -> None:
    """A request goes to the unit and can't be split in two."""
    hold_address(request.url)
    written = (request.method, request.url, *request.headers, *request.headers.values())
    assert not any(character in text for text in written for character in "\r\n\0")


def hold_address(url: str) -> None:
    """An address is the unit's own; no broker was named, so none is in it."""
    parts = urlsplit(url)
    assert parts.scheme in {"http", "ws"}, f"a scheme of another kind: {url[:200]!r}"
    assert parts.netloc == OWN_HOST, f"it leads away: {url[:200]!r}"


def hold_shown(texts: list[str], most: int = 400) -> None:
    """What a person sees is short, one line, and can't do anything but be read."""
    for text in texts:
        assert len(text) <= most, f"too long to show: {text[:80]!r}"
        assert not set(text) & set("<>\r\n\0\x1b\u202e\u2066"), f"unsafe to show: {text!r}"


def hold_numbers(values: list[Any]) -> None:
    """Integers are those that JSON and SQLite carry exactly."""
    for value in values:
        assert not isinstance(value, int) or abs(value) < 2**53, f"too large to keep: {value:.6g}"


def hold_report(reports: ReportReader, occupancies: OccupancyReader, raw: bytes) -> None:
    """A report is a report or a complaint."""
    assert isinstance(reports.read(raw), Report | Complaint)
    assert isinstance(occupancies.read(raw), OccupancyReport | Complaint)


def hold_stream(raw: bytes, chance: random.Random) -> None:
    """A stream, however it is cut, gives events or is given up; its id goes into a header unharmed."""
    decoder = EventStreamDecoder(limit_bytes=4096)
    with suppress(WalkdownError):
        for chunk in fuzz_inputs.cuts(raw, chance):
            for event in decoder.feed(chunk):
                hold_report(REPORTS, OCCUPANCIES, event.data)
    assert len(decoder._rest) <= 4096
    hold_request(observe_request(UNIT, UNIT.property_of(TARGET_FRAME), decoder.last_event_id))
