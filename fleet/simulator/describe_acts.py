"""What a simulated unit describes of its actions and its event."""

from collections.abc import Mapping, Sequence
from typing import Any

from fleet.simulator import names

Schema = Mapping[str, Any]

IDENTIFY_INPUT: Schema = {
    "type": "object",
    "properties": {
        "seconds": {"type": "integer", "minimum": 1, "maximum": 60, "unit": "qunit:SEC"}
    },
    "required": ["seconds"],
}

_DIGEST: Schema = {"@type": "pres:ImageDigest", "type": "string", "pattern": "^[0-9a-f]{64}$"}

KEPT_OUTPUT: Schema = {
    "type": "object",
    "properties": {"digest": _DIGEST, "size": {"type": "integer", "minimum": 0}},
    "required": ["digest", "size"],
}

RENEW_INPUT: Schema = {
    "type": "object",
    "properties": {
        "digest": _DIGEST,
        "size": {"type": "integer", "minimum": 1},
        "url": {
            "type": "string",
            "format": "uri",
            "pattern": "^http://",
            "maxLength": 2048,
            "description": "absent: install the staged image",
        },
        "release": {"@type": "pres:FirmwareVersion", "type": "string", "maxLength": 64},
        "build": {"@type": "pres:BuildId", "type": "string", "maxLength": 64},
        "sequence": {"@type": "pres:ManifestSequence", "type": "integer", "minimum": 0},
        "backwards": {"@type": "pres:AllowDowngrade", "type": "boolean", "default": False},
    },
    "required": ["digest", "size", "release"],
}

WIPE_INPUT: Schema = {
    "type": "object",
    "properties": {
        # the vocabulary has a type of its own for it; the published example calls it a serial
        "serial_no": {"@type": ["pres:ConfirmSerial", "pres:SerialNumber"], "type": "string"},
        "stay_online": {"@type": "pres:KeepNetwork", "type": "boolean", "default": True},
    },
    "required": ["serial_no"],
}


def actions_of(problems: Sequence[Schema]) -> dict[str, Any]:
    """Describe the actions of a unit, whose errors are `problems`."""
    return {
        names.IDENTIFY: {
            "@type": "pres:Identify",
            "title": "Blink",
            "synchronous": True,
            "safe": True,
            "idempotent": True,
            "input": IDENTIFY_INPUT,
            "forms": [_invoke(names.IDENTIFY, problems)],
        },
        names.RESTART: {
            "@type": "pres:Restart",
            "synchronous": False,
            "forms": [_invoke(names.RESTART, problems)],
        },
        names.TAKE_IMAGE: {
            "@type": "pres:StageFirmware",
            "title": "Take an image",
            "synchronous": True,
            "idempotent": True,
            "output": KEPT_OUTPUT,
            "forms": [_upload(problems)],
        },
        names.RENEW: {
            "@type": "pres:InstallFirmware",
            "title": "Install an image",
            "synchronous": False,
            "input": RENEW_INPUT,
            "forms": [_invoke(names.RENEW, problems)],
        },
        names.WIPE: {
            "@type": "pres:FactoryReset",
            "title": "Forget everything",
            "synchronous": False,
            "input": WIPE_INPUT,
            "forms": [_invoke(names.WIPE, problems)],
        },
    }


def events_of() -> dict[str, Any]:
    """Describe the one event: something is wrong."""
    members = {
        "time": {"@type": "pres:SampleTime", "type": "string", "format": "date-time"},
        "code": {"type": "string"},
        "detail": {"type": "string"},
    }
    operations = ["subscribeevent", "unsubscribeevent"]
    href = names.EVENT_PATH + names.TROUBLE
    return {
        names.TROUBLE: {
            "@type": "pres:Fault",
            "data": {"type": "object", "properties": members, "required": ["code"]},
            "forms": [{"op": operations, "href": href, "subprotocol": "sse"}],
        }
    }


def _invoke(name: str, problems: Sequence[Schema]) -> Schema:
    return {
        "op": "invokeaction",
        "href": names.ACTION_PATH + name,
        "htv:methodName": "POST",
        "additionalResponses": list(problems),
    }


def _upload(problems: Sequence[Schema]) -> Schema:
    return {
        **_invoke(names.TAKE_IMAGE, problems),
        "contentType": "application/octet-stream",
        "response": {"contentType": "application/json"},
    }
