"""A unit's Thing Description (W3C TD 1.1) in the presence vocabulary: only what it really offers."""

import uuid
from collections.abc import Mapping, Sequence
from typing import Any

from fleet.simulator import names
from fleet.simulator.describe_acts import actions_of, events_of
from fleet.simulator.describe_values import (
    ABILITIES_SCHEMA,
    BREATHING_SCHEMA,
    IMAGE_SCHEMA,
    PLAIN_SCHEMAS,
    RENEWAL_SCHEMA,
    area_set_schema,
    nameplate_schema,
    presence_schema,
    report_schema,
    scattered_area_schema,
    settings_schema,
)
from fleet.simulator.scattered import area_parts, scalar_schemas, settings_parts
from fleet.simulator.truth import TrueUnit
from fleet.simulator.unit import SimulatedUnit

CONTEXT = [
    "https://www.w3.org/2022/wot/td/v1.1",
    {
        "@language": "en",
        "pres": "https://walkdown.example/presence#",
        "qunit": "http://qudt.org/vocab/unit/",
    },
]
_NAMESPACE = uuid.UUID("6f1ed0f0-6f0b-5a51-9a55-2c6d6ad3a9b4")
_PROBLEMS = [{"success": False, "contentType": "application/problem+json", "schema": "problem"}]
_PROBLEM = {
    "type": "object",
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
    },
    "required": ["title", "status"],
}

Schema = Mapping[str, Any]


def description_of(unit: SimulatedUnit, base: str) -> dict[str, Any]:
    """Describe a unit whose addresses lie under `base`, which ends with a slash."""
    return {
        "@context": CONTEXT,
        "@type": ["pres:PresenceUnit"],
        "id": description_id(unit.truth),
        "title": f"Presence unit {unit.truth.serial}",
        "description": "A simulated unit of an invented house.",
        "version": {"instance": unit.installer.slots.build.version},
        "base": base,
        "securityDefinitions": {"open": {"scheme": "nosec"}},
        "security": "open",
        "schemaDefinitions": {"problem": _PROBLEM},
        "properties": _properties(unit),
        "actions": actions_of(_PROBLEMS),
        "events": events_of(),
    }


def description_id(truth: TrueUnit) -> str:
    """Return the id of a unit's description, made from its hardware address and serial."""
    return f"urn:uuid:{uuid.uuid5(_NAMESPACE, f'{truth.mac} {truth.serial}')}"


def writable_schemas(unit: SimulatedUnit) -> Mapping[str, Schema]:
    """Return what may be written whole, with the schema that a write has to pass."""
    if unit.truth.scattered:
        return {}
    writable: dict[str, Schema] = {names.TUNING: settings_schema(unit.settings)}
    if unit.figures.most_areas:
        writable[names.FLOOR_AREAS] = area_set_schema(unit.figures)
    return writable


def single_schemas(unit: SimulatedUnit) -> Mapping[str, Schema]:
    """Return the single values of a scattered unit, each of which may be written; none of another."""
    return scalar_schemas(unit.settings, unit.figures) if unit.truth.scattered else {}


def assembled_schemas(unit: SimulatedUnit) -> dict[str, Schema]:
    """Return what a scattered unit puts together from its single values; it is only read."""
    if not unit.truth.scattered:
        return {}
    tuning = settings_schema(unit.settings) | {"pres:parts": settings_parts(unit.settings)}
    if not unit.figures.most_areas:
        return {names.TUNING: tuning}
    areas = scattered_area_schema(unit.figures) | {"pres:parts": area_parts(unit.figures)}
    return {names.TUNING: tuning, names.FLOOR_AREAS: areas}


def watched_schemas(unit: SimulatedUnit) -> Mapping[str, Schema]:
    """Return what is only read and watched."""
    watched: dict[str, Schema] = {
        names.ECHOES: report_schema(unit.figures),
        names.PRESENCE: presence_schema(unit.figures),
        names.RENEWAL: RENEWAL_SCHEMA,
        **PLAIN_SCHEMAS,
    }
    return watched | ({names.BREATHING: BREATHING_SCHEMA} if unit.figures.breathing else {})


def fixed_schemas(unit: SimulatedUnit) -> dict[str, Schema]:
    """Return what is only read."""
    return {
        names.NAMEPLATE: nameplate_schema(unit.truth),
        names.IMAGE: IMAGE_SCHEMA,
        names.ABILITIES: ABILITIES_SCHEMA,
    }


def _properties(unit: SimulatedUnit) -> dict[str, Any]:
    fixed = {
        name: {**schema, "readOnly": True, "forms": [_read(name)]}
        for name, schema in (fixed_schemas(unit) | assembled_schemas(unit)).items()
    }
    single = {
        name: {**schema, "forms": [_read(name), _write(name)]}
        for name, schema in single_schemas(unit).items()
    }
    written = {
        name: {
            **schema,
            "observable": True,
            "forms": [_read(name), _observe(name), _write_tagged(name)],
        }
        for name, schema in writable_schemas(unit).items()
    }
    watched = {
        name: {
            **schema,
            "readOnly": True,
            "observable": True,
            "forms": [_read(name), _observe(name)],
        }
        for name, schema in watched_schemas(unit).items()
    }
    return {**fixed, **single, **written, **watched}


def _read(name: str) -> Schema:
    return {"op": "readproperty", "href": names.PROPERTY_PATH + name, "htv:methodName": "GET"}


def _observe(name: str) -> Schema:
    operations: Sequence[str] = ["observeproperty", "unobserveproperty"]
    return {"op": operations, "href": names.PROPERTY_PATH + name, "subprotocol": "sse"}


def _write(name: str) -> Schema:
    return {
        "op": "writeproperty",
        "href": names.PROPERTY_PATH + name,
        "htv:methodName": "PUT",
        "additionalResponses": _PROBLEMS,
    }


def _write_tagged(name: str) -> Schema:
    return {**_write(name), "pres:concurrency": "if-match"}
