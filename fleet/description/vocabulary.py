"""The types that a client looks for, and the units that we hold their values in.

The vocabulary is our own. Names of properties are the unit's; these IRIs are what counts.
"""

import re
from collections.abc import Mapping

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
SAMPLE_TIME = PRES + "SampleTime"
REPORT_NUMBER = PRES + "ReportNumber"
TARGET_RANGE = PRES + "TargetRange"
RADIAL_SPEED = PRES + "RadialSpeed"
TARGET_ID = PRES + "TargetId"
ANY_OCCUPANCY = PRES + "AnyOccupancy"
AREA_OCCUPANCY = PRES + "AreaOccupancy"
TARGET_COUNT = PRES + "TargetCount"
BREATHING_RATE = PRES + "BreathingRate"
QUALITY = PRES + "Quality"

CONCURRENCY = PRES + "concurrency"
"""The form's own term: `if-match` says that a write needs the tag of what it replaces."""

OUR_UNITS: Mapping[str, str] = {
    MAX_RANGE: "mm",
    COORDINATE_RESOLUTION: "mm",
    MAX_DISTANCE: "mm",
    MOUNTING_HEIGHT: "mm",
    SENSOR_X: "mm",
    SENSOR_Y: "mm",
    TARGET_RANGE: "mm",
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
}
"""The unit that we hold a typed value in; a type that isn't here is a count, a word or a flag."""

FRACTIONAL = frozenset({FRAME_RATE})
"""Types whose values needn't be whole: a frame rate of 12.5 Hz is one."""

_WORD_START = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")


def label_of(type_iri: str) -> str:
    """Return a type of ours in words: `…#HoldTime` is "hold time"."""
    return _WORD_START.sub(" ", type_iri.removeprefix(PRES)).lower()
