"""What a simulated unit says of itself that nobody writes: identity, build, abilities."""

from collections.abc import Mapping
from typing import Any

from fleet.simulator import names
from fleet.simulator.figures import TICKS_A_SECOND, ModuleFigures, figures_of
from fleet.simulator.slots import Slots
from fleet.simulator.truth import TrueUnit


def fixed_values(truth: TrueUnit, slots: Slots) -> Mapping[str, Mapping[str, Any]]:
    """Return the values of the read-only properties of a unit."""
    return {
        names.NAMEPLATE: _nameplate(truth),
        names.IMAGE: _image(slots),
        names.ABILITIES: _abilities(figures_of(truth.module_type)),
    }


def _nameplate(truth: TrueUnit) -> Mapping[str, str]:
    value = {
        "serial_no": truth.serial,
        "board": truth.hardware_revision,
        "module": truth.module_type.value,
        "module_build": truth.module_firmware,
        "vendor": truth.vendor_id,
        "class": truth.class_id,
        "mac": truth.mac,
    }
    return {name: text for name, text in value.items() if text}


def _image(slots: Slots) -> Mapping[str, Any]:
    build = slots.build
    value = {
        "release": build.version,
        "build": build.build_id,
        "digest": build.image_digest,
        "sequence": build.sequence,
        "slot": slots.running,
        "confirmed": slots.confirmed,
    }
    return {name: part for name, part in value.items() if part != ""}


def _abilities(figures: ModuleFigures) -> Mapping[str, Any]:
    return {
        "reach": figures.range_mm,
        "view_width": 2 * figures.half_angle_mdeg // 1000,
        "most_targets": figures.most_targets,
        "most_areas": figures.most_areas,
        "shapes": ["rectangle"] if figures.most_areas else [],
        "step": 1 if not figures.distance_only else 10,
        "rate": TICKS_A_SECOND,
        "sees_still": figures.distance_only,
        "sees_breathing": figures.breathing,
    }
