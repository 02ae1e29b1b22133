"""The settings that a simulated unit offers: sheet key, the unit's own name, type and bounds."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fleet.model.sheets import Value
from fleet.simulator.figures import ModuleFigures

MAX_DISTANCE = "max_distance_mm"
HOLD_TIME = "hold_time_s"
SENSITIVITY = "sensitivity_percent"
LEAST_HOLD_S = 1


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting: its key on a sheet (after "setting."), the unit's name for it, its schema."""

    key: str
    name: str
    schema: Mapping[str, Any]


def offered(figures: ModuleFigures, values: Mapping[str, Value]) -> tuple[Setting, ...]:
    """Return the settings of a unit: those that its truth has, in the order of the typed ones."""
    known = _known(figures)
    typed = [setting for setting in known if setting.key in values]
    keys = {setting.key for setting in known}
    own = [Setting(key, key, _by_value(value)) for key, value in values.items() if key not in keys]
    return (*typed, *own)


def with_defaults(figures: ModuleFigures, values: Mapping[str, Value]) -> dict[str, Value]:
    """Fill in the three settings that every unit has."""
    return {MAX_DISTANCE: figures.range_mm, HOLD_TIME: 30, SENSITIVITY: 60, **values}


def factory_values(figures: ModuleFigures, values: Mapping[str, Value]) -> dict[str, Value]:
    """Return what a unit's settings are when it has been wiped: the same ones, at their defaults."""
    known = with_defaults(figures, {"mounting_height_mm": 2000, "indicator_light": True})
    return {key: known.get(key, type(value)()) for key, value in values.items()}


def written(settings: tuple[Setting, ...], values: Mapping[str, Value]) -> dict[str, Value]:
    """Return the values under the unit's own names."""
    return {setting.name: values[setting.key] for setting in settings}


def taken(settings: tuple[Setting, ...], value: Mapping[str, Any]) -> dict[str, Value]:
    """Return a written value, which has passed its schema, under sheet keys."""
    return {setting.key: _whole(value[setting.name]) for setting in settings}


def _whole(value: Value | float) -> Value:
    return int(value) if isinstance(value, float) else value


def _known(figures: ModuleFigures) -> tuple[Setting, ...]:
    return (
        Setting(
            MAX_DISTANCE,
            "farthest",
            _integer("MaxDistance", "qunit:MilliM", 500, figures.range_mm) | {"multipleOf": 10},
        ),
        Setting(HOLD_TIME, "hold", _integer("HoldTime", "qunit:SEC", LEAST_HOLD_S, 3600)),
        Setting(SENSITIVITY, "keenness", _integer("Sensitivity", "qunit:PERCENT", 0, 100)),
        Setting(
            "mounting_height_mm", "fixed_at", _integer("MountingHeight", "qunit:MilliM", 0, 4000)
        ),
        Setting("indicator_light", "lamp", {"@type": "pres:IndicatorLight", "type": "boolean"}),
    )


def _integer(kind: str, unit: str, least: int, most: int) -> dict[str, Any]:
    return {
        "@type": f"pres:{kind}",
        "type": "integer",
        "unit": unit,
        "minimum": least,
        "maximum": most,
    }


def _by_value(value: Value) -> dict[str, Any]:
    if isinstance(value, bool):
        return {"type": "boolean"}
    if isinstance(value, int):
        return {"type": "integer"}
    return {"type": "string", "maxLength": 64}
