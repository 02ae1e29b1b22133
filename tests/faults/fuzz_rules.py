"""What holds whatever comes: a reader answers with a value or with one of our errors, soon, and nothing
that it answers leads away from the unit.

`TARGETS` names each reader with the function that makes input number n for it and holds it to that.
"""

import random
import time
from collections.abc import Callable, Coroutine, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlsplit

from fleet.description.assembly import names_needed, put_together, taken_apart
from fleet.description.event_stream import EventStreamDecoder
from fleet.description.everything import everything_said
from fleet.description.frames import Complaint, OccupancyReader, ReportReader
from fleet.description.limits import MAX_DEPTH, MAX_SAID_CHARS, MAX_TEXT_CHARS
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
from fleet.engine.reading import read_unit
from fleet.engine.unit_values import read_part, with_items
from fleet.link.unit_link import ReadValue
from fleet.model.clock import HouseClock
from fleet.model.errors import UnitError, WalkdownError
from fleet.model.reports import OccupancyReport, Report
from fleet.model.units import Reading
from tests.faults import fuzz_inputs
from tests.unit.description.samples import URL, example, td_schema

OWN_HOST = "192.0.2.7:8080"
LONGEST_S = 5.0
"""CPU time of one input: a hundred times what the slowest takes, and far below what an attack makes."""

_UNIT = read_thing(example("tracking"), URL)
_REPORTS = ReportReader(_UNIT.property_of(TARGET_FRAME))
_OCCUPANCIES = OccupancyReader(_UNIT.property_of(OCCUPANCY))
_CLOCK = HouseClock(datetime(2026, 11, 25, tzinfo=UTC), 0.0, lambda: 0.0)
_TD_SCHEMA = td_schema()


@dataclass(frozen=True, slots=True)
class Tried:
    """What one input came to: how long it took, CPU s, and what broke, "" for nothing."""

    took_s: float
    broke: str = ""


def try_input(target: str, seed: int) -> Tried:
    """Give a reader the input of a number, and look at what comes of it."""
    begun_s = time.process_time()
    try:
        TARGETS[target](random.Random(seed))
    except Exception as broken:  # noqa: BLE001 - finding any is what this is for; the caller reports it
        return Tried(
            time.process_time() - begun_s, f"{target} {seed}: {type(broken).__name__}: {broken}"
        )
    took_s = time.process_time() - begun_s
    return Tried(took_s, f"{target} {seed}: took {took_s:.1f} s" if took_s > LONGEST_S else "")


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
                hold_report(_REPORTS, _OCCUPANCIES, event.data)
    assert len(decoder._rest) <= 4096
    hold_request(observe_request(_UNIT, _UNIT.property_of(TARGET_FRAME), decoder.last_event_id))


class _SaysAnything:
    """A link to a unit whose values are any."""

    def __init__(self, thing: Thing, chance: random.Random) -> None:
        self.thing, self.subject = thing, thing.subject
        self._chance = chance

    def access(self, _forms: object) -> str:
        """Let everybody in."""
        return "open"

    def need_property(self, type_iri: str) -> Affordance:
        """Return the unit's property of a type, as a link does."""
        found = self.thing.property_of(type_iri)
        if found is None:
            raise UnitError("it has none.", subject=self.subject)
        return found

    async def read(self, affordance: Affordance) -> ReadValue:
        """Answer with a changed example of what the schema asks for, or with anything."""
        return ReadValue(_like(affordance.schema, self._chance), None)


def hold_reading(chance: random.Random) -> None:
    """A unit that answers anything is read, or refused with a sentence; so is writing to it."""
    thing = _UNIT if chance.random() < 0.9 else _changed_unit(chance)
    link = _SaysAnything(thing, chance)
    with suppress(WalkdownError):
        read = _finished(read_unit(link, URL, _CLOCK))
        assert isinstance(read, Reading)
        hold_shown([read.serial, *_texts(read.capabilities)])
        hold_shown([*read.other.values()], MAX_SAID_CHARS)
        hold_shown([*read.other], MAX_DEPTH * MAX_TEXT_CHARS)
        hold_shown(_texts(read.sheet))
        hold_numbers([*read.sheet.values(), *read.capabilities.values()])
        hold_numbers([read.area_revision, read.signal_dbm])
    for part, key in (("settings", "setting.hold_time_s"), ("areas", "areas.1.label")):
        with suppress(WalkdownError):
            current = _finished(read_part(link, part))
            value = with_items(part, current, {key: chance.choice((30, "x", None))})
            hold_request(write_request(thing, current.affordance, value, '"1"'))


def _changed_unit(chance: random.Random) -> Thing:
    try:
        return read_thing(fuzz_inputs.rich_description(chance), URL, require_unit=False)
    except WalkdownError:
        return _UNIT


def _texts(said: Mapping[str, Any]) -> list[str]:
    return [*said, *(entry for entry in said.values() if isinstance(entry, str))]


def _finished(running: Coroutine[Any, Any, Any]) -> Any:
    """Run what waits for nothing; a loop for each of a million would cost more than the work does."""
    try:
        running.send(None)
    except StopIteration as done:
        return done.value
    running.close()
    raise AssertionError("it waited for something")


def _like(schema: Mapping[str, Any], chance: random.Random) -> Any:
    """Return a value as a schema describes it, here and there another."""
    if chance.random() < 0.08:
        return fuzz_inputs.value(chance)
    if schema.get("properties"):
        return {name: _like(member, chance) for name, member in schema["properties"].items()}
    if schema.get("items"):
        return [_like(schema["items"], chance) for _ in range(chance.randint(0, 3))]
    if schema.get("oneOf"):
        return _like(chance.choice(schema["oneOf"]), chance)
    return chance.choice(schema.get("enum") or [schema.get("const", 7), "s-1", 1200, True])


def _try_description(chance: random.Random) -> None:
    hold_description(fuzz_inputs.description(chance), chance)


def _try_stream(chance: random.Random) -> None:
    hold_stream(fuzz_inputs.stream(chance), chance)


def _try_report(chance: random.Random) -> None:
    hold_report(_REPORTS, _OCCUPANCIES, fuzz_inputs.report(chance))


TARGETS: Mapping[str, Callable[[random.Random], None]] = {
    "description": _try_description,
    "stream": _try_stream,
    "report": _try_report,
    "reading": hold_reading,
}
SHARES: Mapping[str, int] = {"description": 1, "stream": 9, "report": 9, "reading": 1}
"""How the inputs of a run are dealt out: cheap readers take more."""
DEALT = tuple(target for target, share in SHARES.items() for _ in range(share))


def target_of(number: int) -> str:
    """Return which reader input number n of a run is for."""
    return DEALT[number % len(DEALT)]
