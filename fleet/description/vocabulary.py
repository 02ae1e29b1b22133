"""The types that a client looks for, and the units that we hold their values in.

The vocabulary is our own. Names of properties are the unit's; these IRIs are what counts.
"""

import re
from collections.abc import Mapping

from fleet.description.texts import plain_text

PRES = "https://walkdown.example/presence#"

PRESENCE_UNIT = PRES + "PresenceUnit"

# Affordances
IDENTITY = PRES + "Identity"
FIRMWARE_BUILD = PRES + "FirmwareBuild"
CAPABILITIES = PRES + "Capabilities"
SETTINGS = PRES + "Settings"
AREA_SET = PRES + "AreaSet"
TARGET_FRAME = PRES + "TargetFrame"
OCCUPANCY = PRES + "Occupancy"
BREATHING = PRES + "Breathing"
ILLUMINANCE = PRES + "Illuminance"
TEMPERATURE = PRES + "Temperature"
SIGNAL_STRENGTH = PRES + "SignalStrength"
SUPPLY_VOLTAGE = PRES + "SupplyVoltage"
HUMIDITY = PRES + "Humidity"
MOTION = PRES + "Motion"  # a passive-infrared input: a flag
FIRMWARE_INSTALLATION = PRES + "FirmwareInstallation"
IDENTIFY = PRES + "Identify"
RESTART = PRES + "Restart"
STAGE_FIRMWARE = PRES + "StageFirmware"
INSTALL_FIRMWARE = PRES + "InstallFirmware"
FACTORY_RESET = PRES + "FactoryReset"
FAULT = PRES + "Fault"

# Fields of Identity
SERIAL_NUMBER = PRES + "SerialNumber"
HARDWARE_REVISION = PRES + "HardwareRevision"
MODULE_TYPE = PRES + "ModuleType"
MODULE_FIRMWARE = PRES + "ModuleFirmware"
VENDOR_ID = PRES + "VendorId"
CLASS_ID = PRES + "ClassId"
MAC_ADDRESS = PRES + "MacAddress"

# Fields of FirmwareBuild and of the firmware actions
FIRMWARE_VERSION = PRES + "FirmwareVersion"
BUILD_ID = PRES + "BuildId"
IMAGE_DIGEST = PRES + "ImageDigest"
MANIFEST_SEQUENCE = PRES + "ManifestSequence"
BOOT_SLOT = PRES + "BootSlot"
BUILD_CONFIRMED = PRES + "BuildConfirmed"
ALLOW_DOWNGRADE = PRES + "AllowDowngrade"
INSTALL_STATE = PRES + "InstallState"
FAILURE_REASON = PRES + "FailureReason"
CONFIRM_SERIAL = PRES + "ConfirmSerial"
KEEP_NETWORK = PRES + "KeepNetwork"

# Fields of Capabilities
MAX_RANGE = PRES + "MaxRange"
HORIZONTAL_FIELD_OF_VIEW = PRES + "HorizontalFieldOfView"
MAX_TARGETS = PRES + "MaxTargets"
MAX_AREAS = PRES + "MaxAreas"
AREA_SHAPES = PRES + "AreaShapes"
MAX_VERTICES = PRES + "MaxVertices"
COORDINATE_RESOLUTION = PRES + "CoordinateResolution"
FRAME_RATE = PRES + "FrameRate"
STATIC_PRESENCE = PRES + "StaticPresence"
VITAL_SIGNS = PRES + "VitalSigns"

# Fields of Settings
MAX_DISTANCE = PRES + "MaxDistance"
HOLD_TIME = PRES + "HoldTime"
SENSITIVITY = PRES + "Sensitivity"
MOUNTING_HEIGHT = PRES + "MountingHeight"
INDICATOR_LIGHT = PRES + "IndicatorLight"

# Fields of AreaSet and of the reports
REVISION = PRES + "Revision"
AREA_ID = PRES + "AreaId"
AREA_LABEL = PRES + "AreaLabel"
AREA_KIND = PRES + "AreaKind"
SENSOR_X = PRES + "SensorX"
SENSOR_Y = PRES + "SensorY"
AREA_X_START = PRES + "AreaXStart"
AREA_X_END = PRES + "AreaXEnd"
AREA_Y_START = PRES + "AreaYStart"
AREA_Y_END = PRES + "AreaYEnd"
SAMPLE_TIME = PRES + "SampleTime"
REPORT_NUMBER = PRES + "ReportNumber"
TARGET_RANGE = PRES + "TargetRange"
RADIAL_SPEED = PRES + "RadialSpeed"
TARGET_ID = PRES + "TargetId"
TARGET_ANGLE = PRES + "TargetAngle"  # from the unit's y to its right
ANY_OCCUPANCY = PRES + "AnyOccupancy"
AREA_OCCUPANCY = PRES + "AreaOccupancy"
TARGET_COUNT = PRES + "TargetCount"
BREATHING_RATE = PRES + "BreathingRate"
QUALITY = PRES + "Quality"

CONCURRENCY = PRES + "concurrency"
"""The form's own term: `if-match` says that a write needs the tag of what it replaces."""

POLL_EVERY = PRES + "pollEvery"
"""The form's own term: how often, ms, a unit that is polled wants to be asked."""

FACTOR = PRES + "factor"
"""A schema's own term: what a number is multiplied by to be in the schema's `unit`."""

WORDS = PRES + "words"
"""A schema's own term: the unit's words or numbers, as text, each with what it means to us."""

ABSENT = PRES + "absent"
"""The own term of a list entry's schema: members with values that mean that no entry is there."""

PARTS = PRES + "parts"
"""A property's own term: which other properties it is put together from, and where each goes."""

AREA_EDGES = (AREA_X_START, AREA_X_END, AREA_Y_START, AREA_Y_END)
"""The types of an area that is four numbers."""

OUR_UNITS: Mapping[str, str] = {
    MAX_RANGE: "mm",
    COORDINATE_RESOLUTION: "mm",
    MAX_DISTANCE: "mm",
    MOUNTING_HEIGHT: "mm",
    SENSOR_X: "mm",
    SENSOR_Y: "mm",
    TARGET_RANGE: "mm",
    TARGET_ANGLE: "mdeg",
    AREA_X_START: "mm",
    AREA_X_END: "mm",
    AREA_Y_START: "mm",
    AREA_Y_END: "mm",
    RADIAL_SPEED: "mm/s",
    HOLD_TIME: "s",
    SENSITIVITY: "%",
    HORIZONTAL_FIELD_OF_VIEW: "deg",
    FRAME_RATE: "Hz",
    BREATHING_RATE: "/min",
    QUALITY: "ppm",
    ILLUMINANCE: "lux",
    TEMPERATURE: "m°C",
    SIGNAL_STRENGTH: "dBm",
    SUPPLY_VOLTAGE: "mV",
    HUMIDITY: "‰",
}
"""The unit that we hold a typed value in; a type that isn't here is a count, a word or a flag."""

FRACTIONAL = frozenset({FRAME_RATE})
"""Types whose values needn't be whole: a frame rate of 12.5 Hz is one."""

_WORD_START = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")


def label_of(type_iri: str) -> str:
    """Return a type of ours in words, safe to show: `…#HoldTime` is "hold time"."""
    return plain_text(_WORD_START.sub(" ", type_iri.removeprefix(PRES)).lower())
