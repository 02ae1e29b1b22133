"""What each kind of module can do in the simulated house. All figures are our own invention."""

from dataclasses import dataclass

from fleet.model.house import ModuleType

TICK_S = 0.1
"""House seconds between two reports: 10 Hz."""

TICKS_A_SECOND = 10
HALF_SECOND_TICKS = 5

RESTART_TICKS = 3 * TICKS_A_SECOND
FAILED_BOOT_TICKS = 2 * RESTART_TICKS
"""How long a unit is away that starts, fails, and starts its old image."""

VERIFY_TICKS = 10
STAGED_TICKS = 5
APPLY_TICKS = 4 * TICKS_A_SECOND
CONFIRM_TICKS = 2 * TICKS_A_SECOND
PROGRESS_EVERY_TICKS = 5

MOST_IMAGE_BYTES = 16 * 1024 * 1024
READ_BYTES = 16 * 1024
FETCH_IDLE_S = 10.0
"""Wall seconds without an octet after which a unit gives up fetching."""

LOST_AFTERWARDS_PPM = 200_000
"""Share of the reports that a unit loses which runs an image with that fault."""


@dataclass(frozen=True, slots=True)
class ModuleFigures:
    """What a module can do.

    Attributes:
        range_mm: farthest slant range.
        half_angle_mdeg: half the horizontal field of view.
        most_targets, most_areas: how many it holds.
        distance_only: it says how far, not where.
        loses_sitter_s: longest time for which it loses somebody who sits still, where the truth
            doesn't say.
        breathing: it reports the breathing of one person.
    """

    range_mm: int
    half_angle_mdeg: int
    most_targets: int
    most_areas: int
    distance_only: bool
    loses_sitter_s: int
    breathing: bool


_FIGURES = {
    ModuleType.TRACKING: ModuleFigures(
        range_mm=7000,
        half_angle_mdeg=55000,
        most_targets=4,
        most_areas=5,
        distance_only=False,
        loses_sitter_s=6,
        breathing=False,
    ),
    ModuleType.STATIC: ModuleFigures(
        range_mm=9000,
        half_angle_mdeg=45000,
        most_targets=1,
        most_areas=0,
        distance_only=True,
        loses_sitter_s=2,
        breathing=False,
    ),
    ModuleType.VITAL: ModuleFigures(
        range_mm=2000,
        half_angle_mdeg=45000,
        most_targets=1,
        most_areas=0,
        distance_only=True,
        loses_sitter_s=0,
        breathing=True,
    ),
}


def figures_of(module_type: ModuleType) -> ModuleFigures:
    """Return what a kind of module can do."""
    return _FIGURES[module_type]
