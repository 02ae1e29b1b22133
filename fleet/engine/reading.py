"""Reading a unit: everything that it says of itself, as far as it goes, with the time of reading."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TypeGuard

from fleet.description.documents import Json
from fleet.description.everything import everything_said, said_besides
from fleet.description.schemas import is_number
from fleet.description.stated import readable
from fleet.description.texts import plain_number, plain_text
from fleet.description.things import Affordance, Thing
from fleet.description.values import fields
from fleet.description.vocabulary import (
    AREA_SET,
    AREA_SHAPES,
    BREATHING,
    BUILD_ID,
    CAPABILITIES,
    CLASS_ID,
    COORDINATE_RESOLUTION,
    FIRMWARE_BUILD,
    FIRMWARE_INSTALLATION,
    FIRMWARE_VERSION,
    FRAME_RATE,
    HARDWARE_REVISION,
    HORIZONTAL_FIELD_OF_VIEW,
    IDENTITY,
    IMAGE_DIGEST,
    MANIFEST_SEQUENCE,
    MAX_AREAS,
    MAX_RANGE,
    MAX_TARGETS,
    MAX_VERTICES,
    MODULE_FIRMWARE,
    MODULE_TYPE,
    OCCUPANCY,
    SERIAL_NUMBER,
    SETTINGS,
    SIGNAL_STRENGTH,
    STATIC_PRESENCE,
    TARGET_FRAME,
    VENDOR_ID,
    VITAL_SIGNS,
    label_of,
)
from fleet.engine.area_values import revision_from, said_besides_areas
from fleet.engine.unit_values import items_of
from fleet.link.refusals import LockedError
from fleet.link.unit_link import UnitLink, access_in_words
from fleet.model.clock import Clock
from fleet.model.errors import UnitError
from fleet.model.sheets import Sheet, Value
from fleet.model.units import Reading

IDENTITY_KEYS = {
    HARDWARE_REVISION: "hardware.revision",
    MODULE_TYPE: "module.type",
    MODULE_FIRMWARE: "module.firmware",
    VENDOR_ID: "hardware.vendor_id",
    CLASS_ID: "hardware.class_id",
}
BUILD_KEYS = {
    FIRMWARE_VERSION: "build.version",
    BUILD_ID: "build.id",
    MANIFEST_SEQUENCE: "build.sequence",
    IMAGE_DIGEST: "build.image_digest",
}
CAPABILITY_NAMES = {
    MAX_RANGE: "max_range_mm",
    HORIZONTAL_FIELD_OF_VIEW: "horizontal_field_of_view_deg",
    MAX_TARGETS: "max_targets",
    MAX_AREAS: "max_areas",
    AREA_SHAPES: "area_shapes",
    MAX_VERTICES: "max_vertices",
    COORDINATE_RESOLUTION: "coordinate_resolution_mm",
    FRAME_RATE: "frame_rate_hz",
    STATIC_PRESENCE: "static_presence",
    VITAL_SIGNS: "vital_signs",
}
EXPECTED = (IDENTITY, FIRMWARE_BUILD, CAPABILITIES, SETTINGS, AREA_SET, TARGET_FRAME)
EXPECTED_KEYS = ("hardware.revision", "module.type", "build.version")
STRONGEST_DBM = 200  # no receiver is told of more; what says so is no signal strength
WATCHED = frozenset({TARGET_FRAME, OCCUPANCY, FIRMWARE_INSTALLATION})
OF_THE_SHEET = frozenset({IDENTITY, FIRMWARE_BUILD, CAPABILITIES, SETTINGS, AREA_SET})


@dataclass(slots=True)
class _Gathered:
    """What has been read so far."""

    sheet: dict[str, Value] = field(default_factory=dict)
    capabilities: dict[str, int | str | bool | float] = field(default_factory=dict)
    other: dict[str, str] = field(default_factory=dict)
    missing: list[str] = field(default_factory=list)
    serial: str = ""
    area_revision: int | None = None
    signal_dbm: int | None = None


async def read_unit(link: UnitLink, url: str, clock: Clock) -> Reading:
    """Read every property that isn't a stream; what can't be read is said, and the rest stands.

    Args:
        link: the way to the unit.
        url: where its description lies.
        clock: gives the time of reading.

    Raises:
        LinkError: the unit can't be reached.
        LockedError: it wants a password.
        UnitError: it doesn't say its serial, so nothing can be kept of it.
    """
    gathered = _Gathered()
    for type_iri in EXPECTED:
        if link.thing.property_of(type_iri) is None:
            gathered.missing.append(label_of(type_iri))
    for affordance in _readable(link.thing, WATCHED | {BREATHING}):
        try:
            value = (await link.read(affordance)).value
        except LockedError:
            raise
        except UnitError as reason:
            gathered.missing.append(f"{affordance.name}: {reason.what}")
            continue
        _gather(gathered, affordance, value)
    if not gathered.serial:
        raise UnitError(
            "it doesn't say its serial.",
            subject=url,
            stands="Nothing was kept of it.",
            next_step="A unit is known by its serial alone: have the maker put that right.",
        )
    gathered.missing += [key for key in EXPECTED_KEYS if key not in gathered.sheet]
    return Reading(
        serial=gathered.serial,
        url=url,
        title=link.thing.title,
        sheet=dict(sorted(gathered.sheet.items())),
        read_at=clock.now(),
        capabilities=gathered.capabilities,
        area_revision=gathered.area_revision,
        signal_dbm=gathered.signal_dbm,
        other=gathered.other,
        missing=tuple(gathered.missing),
        complaints=link.thing.complaints,
        access=access_in_words(link),
    )


async def read_rest(link: UnitLink) -> dict[str, str]:
    """Read what isn't watched and stands in no sheet: temperature, inputs, voltage, whatever there is.

    Breathing is among it: it is shown, and kept nowhere.

    Returns:
        By the unit's own names, values with their units in words.

    Raises:
        LinkError: the unit can't be reached.
    """
    said: dict[str, str] = {}
    for affordance in _readable(link.thing, WATCHED | OF_THE_SHEET):
        try:
            said |= everything_said(affordance, (await link.read(affordance)).value)
        except UnitError as reason:
            said[affordance.name] = f"can't be read: {reason.what}"
    return said


def _readable(thing: Thing, left_out: frozenset[str]) -> Iterator[Affordance]:
    """Yield every property that can be read, isn't a part of another one and is of none of these types."""
    parts = {part.name for whole in thing.properties.values() for part in whole.parts}
    for affordance in thing.properties.values():
        of_its_own = not affordance.types & left_out and affordance.name not in parts
        if of_its_own and readable(affordance):
            yield affordance


def _gather(gathered: _Gathered, affordance: Affordance, value: Json) -> None:
    """Put a value where it belongs; whatever of it belongs nowhere is kept in words."""
    types = affordance.types
    kept: Mapping[str, Json] = {}
    if IDENTITY in types:
        kept = _plain_ones(fields(affordance.schema, value), {*IDENTITY_KEYS, SERIAL_NUMBER})
        gathered.serial = plain_text(str(kept.get(SERIAL_NUMBER, "")))
        gathered.sheet.update(_as_items(kept, IDENTITY_KEYS))
    elif FIRMWARE_BUILD in types:
        kept = _plain_ones(fields(affordance.schema, value), BUILD_KEYS)
        gathered.sheet.update(_as_items(kept, BUILD_KEYS))
    elif CAPABILITIES in types:
        kept = fields(affordance.schema, value)
        gathered.capabilities |= _capabilities(kept)
    elif SETTINGS in types:
        said = fields(affordance.schema, value)
        kept = {key: one for key, one in said.items() if isinstance(one, bool | int | float | str)}
        gathered.sheet.update(items_of("settings", affordance, value))
    elif AREA_SET in types:
        gathered.sheet.update(items_of("areas", affordance, value))
        gathered.area_revision = revision_from(affordance.schema, value)
        gathered.other |= said_besides_areas(affordance, value)
        return
    elif SIGNAL_STRENGTH in types and _is_signal(value):
        gathered.signal_dbm = round(value)
        return
    gathered.other |= said_besides(affordance, value, kept)


def _plain_ones(read: Mapping[str, Json], types: Collection[str]) -> dict[str, Json]:
    """Return the fields of some types that are whole numbers, words or flags."""
    return {key: one for key, one in read.items() if key in types and isinstance(one, int | str)}


def _as_items(read: Mapping[str, Json], keys: Mapping[str, str]) -> Sheet:
    return {
        keys[type_iri]: said if isinstance(said, bool) else _plain(said)
        for type_iri, said in read.items()
        if type_iri in keys and isinstance(said, int | str)
    }


def _plain(said: int | str) -> int | str:
    return plain_text(said) if isinstance(said, str) else plain_number(said)


def _is_signal(value: Json) -> TypeGuard[int | float]:
    return is_number(value) and isinstance(value, int | float) and abs(value) <= STRONGEST_DBM


def _capabilities(read: Mapping[str, Json]) -> dict[str, int | str | bool | float]:
    can: dict[str, int | str | bool | float] = {}
    for type_iri, said in read.items():
        name = CAPABILITY_NAMES.get(type_iri, label_of(type_iri))
        if isinstance(said, list):
            can[name] = plain_text(", ".join(str(word) for word in said))
        elif isinstance(said, bool | float):
            can[name] = said
        elif isinstance(said, int | str):
            can[name] = _plain(said)
    return can
