"""The schemas of a simulated unit's values, with the types by which a client finds its way."""

from collections.abc import Mapping, Sequence
from typing import Any

from fleet.model.firmware import InstallState
from fleet.model.house import ModuleType
from fleet.model.sheets import AreaKind
from fleet.simulator import names
from fleet.simulator.figures import ModuleFigures
from fleet.simulator.orders import REASONS
from fleet.simulator.scattered import NO_AREA
from fleet.simulator.settings import Setting
from fleet.simulator.truth import TrueUnit

Schema = dict[str, Any]

MILLION = 1_000_000


def typed(kind: str, json_type: str, **more: Any) -> Schema:  # noqa: ANN401 - any JSON
    """Return a schema of a type of the vocabulary."""
    return {"@type": f"pres:{kind}", "type": json_type, **more}


def _object(kind: str, members: Mapping[str, Schema], required: Sequence[str]) -> Schema:
    return {
        "@type": f"pres:{kind}",
        "type": "object",
        "properties": dict(members),
        "required": list(required),
    }


def nameplate_schema(truth: TrueUnit) -> Schema:
    """Return the schema of the identity, with what this unit says of itself."""
    members = {
        "serial_no": typed("SerialNumber", "string"),
        "board": typed("HardwareRevision", "string"),
        "module": typed("ModuleType", "string", enum=[kind.value for kind in ModuleType]),
        "module_build": typed("ModuleFirmware", "string"),
    }
    if truth.vendor_id:
        members["vendor"] = typed("VendorId", "string")
    if truth.class_id:
        members["class"] = typed("ClassId", "string")
    if truth.mac:
        members["mac"] = typed("MacAddress", "string")
    return _object("Identity", members, ["serial_no", "board", "module"])


IMAGE_SCHEMA = _object(
    "FirmwareBuild",
    {
        "release": typed("FirmwareVersion", "string"),
        "build": typed("BuildId", "string"),
        "digest": typed("ImageDigest", "string"),
        "sequence": typed("ManifestSequence", "integer", minimum=0),
        "slot": typed("BootSlot", "string", enum=["a", "b"]),
        "confirmed": typed("BuildConfirmed", "boolean"),
    },
    ["release"],
)

ABILITIES_SCHEMA = _object(
    "Capabilities",
    {
        "reach": typed("MaxRange", "integer", unit="qunit:MilliM", minimum=0),
        "view_width": typed(
            "HorizontalFieldOfView", "integer", unit="qunit:DEG", minimum=1, maximum=360
        ),
        "most_targets": typed("MaxTargets", "integer", minimum=0),
        "most_areas": typed("MaxAreas", "integer", minimum=0),
        "shapes": typed(
            "AreaShapes", "array", items={"type": "string", "enum": ["rectangle", "polygon"]}
        ),
        "step": typed("CoordinateResolution", "integer", unit="qunit:MilliM", minimum=1),
        "rate": typed("FrameRate", "number", unit="qunit:HZ"),
        "sees_still": typed("StaticPresence", "boolean"),
        "sees_breathing": typed("VitalSigns", "boolean"),
    },
    ["reach", "view_width", "most_targets", "most_areas", "shapes", "step"],
)

RENEWAL_SCHEMA = _object(
    "FirmwareInstallation",
    {
        "stage": typed("InstallState", "string", enum=[state.value for state in InstallState]),
        "digest": typed("ImageDigest", "string"),
        "bytesDone": {"type": "integer", "minimum": 0},
        "bytesTotal": {"type": "integer", "minimum": 0},
        "why": typed("FailureReason", "string", enum=list(REASONS)),
    },
    ["stage"],
)

_TIME = typed("SampleTime", "string", format="date-time")

BREATHING_SCHEMA = _object(
    "Breathing",
    {
        "time": _TIME,
        "rate": typed(
            "BreathingRate", "integer", minimum=0, maximum=60, description="absent while unsure"
        ),
        "quality": typed("Quality", "integer", minimum=0, maximum=MILLION, description="ppm"),
    },
    ["time", "quality"],
)

PLAIN_SCHEMAS: dict[str, Schema] = {
    names.LIGHT: typed("Illuminance", "integer", unit="qunit:LUX", minimum=0),
    names.BOARD_TEMPERATURE: typed("Temperature", "integer", unit="qunit:MilliDEG_C"),
    names.WIFI_LEVEL: typed("SignalStrength", "integer", unit="qunit:DeciB_M"),
    names.SUPPLY: typed("SupplyVoltage", "integer", unit="qunit:MilliV"),
}


def settings_schema(settings: Sequence[Setting]) -> Schema:
    """Return the schema of the settings; a write gives all of them."""
    members = {setting.name: dict(setting.schema) for setting in settings}
    return _object("Settings", members, list(members)) | {"additionalProperties": False}


def area_set_schema(figures: ModuleFigures) -> Schema:
    """Return the schema of the area set: upright rectangles within the module's range."""
    reach = figures.range_mm
    corner = {
        "type": "object",
        "properties": {
            "x": typed("SensorX", "integer", unit="qunit:MilliM", minimum=-reach, maximum=reach),
            "y": typed("SensorY", "integer", unit="qunit:MilliM", minimum=0, maximum=reach),
        },
        "required": ["x", "y"],
    }
    area = {
        "type": "object",
        "properties": {
            names.AREA_ID: typed("AreaId", "string", minLength=1, maxLength=32),
            names.AREA_LABEL: typed("AreaLabel", "string", maxLength=48),
            names.AREA_KIND: typed("AreaKind", "string", enum=[kind.value for kind in AreaKind]),
            "shape": {"type": "string", "const": "rectangle"},
            "min": corner,
            "max": corner,
        },
        "required": [names.AREA_ID, names.AREA_KIND, "shape", "min", "max"],
    }
    members = {
        "revision": typed("Revision", "integer", minimum=0, readOnly=True),
        names.AREAS: {"type": "array", "maxItems": figures.most_areas, "items": area},
    }
    return _object("AreaSet", members, [names.AREAS])


def scattered_area_schema(figures: ModuleFigures) -> Schema:
    """Return the schema of an area set that is put together from single values."""
    area = {"type": "object", "pres:absent": dict(NO_AREA)}
    areas = {"type": "array", "maxItems": figures.most_areas, "items": area}
    return _object("AreaSet", {names.AREAS: areas}, [names.AREAS])


def report_schema(figures: ModuleFigures) -> Schema:
    """Return the schema of a target report, with places or distances alone."""
    speed = typed("RadialSpeed", "integer", unit="qunit:MilliM-PER-SEC")
    if figures.distance_only:
        members = {"range": typed("TargetRange", "integer", unit="qunit:MilliM", minimum=0)}
    else:
        members = {
            "slot": typed("TargetId", "integer", minimum=0),
            "x": typed("SensorX", "integer", unit="qunit:MilliM"),
            "y": typed("SensorY", "integer", unit="qunit:MilliM"),
        }
    target = {
        "type": "object",
        "properties": {**members, "speed": speed},
        "required": ["range"] if figures.distance_only else ["x", "y"],
    }
    return _object(
        "TargetFrame",
        {
            "time": _TIME,
            "number": typed("ReportNumber", "integer", minimum=0),
            "targets": {"type": "array", "maxItems": figures.most_targets, "items": target},
        },
        ["time", "number", "targets"],
    )


def presence_schema(figures: ModuleFigures) -> Schema:
    """Return the schema of occupancy, with areas where the module has any."""
    members = {"time": _TIME, "any": typed("AnyOccupancy", "boolean")}
    if figures.most_areas:
        item = {
            "type": "object",
            "properties": {
                names.AREA_ID: typed("AreaId", "string"),
                "occupied": typed("AreaOccupancy", "boolean"),
                "count": typed("TargetCount", "integer", minimum=0),
            },
            "required": [names.AREA_ID, "occupied"],
        }
        members[names.AREAS] = {"type": "array", "items": item}
    return _object("Occupancy", members, ["time", "any"])
