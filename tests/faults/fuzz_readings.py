"""A unit whose values are any: read it, and write to it, as a visit does."""

import random
from collections.abc import Coroutine, Mapping
from contextlib import suppress
from datetime import UTC, datetime
from typing import Any

from fleet.description.limits import MAX_DEPTH, MAX_SAID_CHARS, MAX_TEXT_CHARS
from fleet.description.requests import write_request
from fleet.description.things import Affordance, Thing, read_thing
from fleet.engine.reading import read_unit
from fleet.engine.unit_values import read_part, with_items
from fleet.link.arrivals import ReadValue
from fleet.model.clock import HouseClock
from fleet.model.errors import UnitError, WalkdownError
from fleet.model.units import Reading
from tests.faults import fuzz_inputs
from tests.faults.fuzz_rules import UNIT, hold_numbers, hold_request, hold_shown
from tests.unit.description.samples import URL

_CLOCK = HouseClock(datetime(2026, 11, 25, tzinfo=UTC), 0.0, lambda: 0.0)


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
    thing = UNIT if chance.random() < 0.9 else _changed_unit(chance)
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
        return UNIT


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
