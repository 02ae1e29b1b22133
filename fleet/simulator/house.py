"""Reading a house's folder: `plan.json`, what an installer knows, and `truth.json`, what is so."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import msgspec

from fleet.model.errors import PlanError
from fleet.model.house import HousePlan
from fleet.model.plans import plan_from
from fleet.simulator.figures import figures_of
from fleet.simulator.rules import rectangle_of
from fleet.simulator.truth import TrueUnit, Truth

FORMAT = "walkdown-truth/1"


def load_house(folder: Path) -> tuple[HousePlan, Truth]:
    """Read both files of a house's folder.

    Raises:
        PlanError: a file is missing, is no JSON, or a member of it is wrong; the file and the member
            are named.
    """
    plan = plan_from(_document(folder / "plan.json"), subject=str(folder / "plan.json"))
    where = str(folder / "truth.json")
    try:
        truth = msgspec.convert(_document(folder / "truth.json"), Truth)
    except msgspec.ValidationError as reason:
        raise _wrong(where, str(reason)) from reason
    for complaint in complaints_about(plan, truth):
        raise _wrong(where, complaint)
    return plan, truth


def complaints_about(plan: HousePlan, truth: Truth) -> Iterable[str]:
    """Say each thing in a truth that points to nothing in its plan or can't be."""
    if truth.format != FORMAT:
        yield f"its format is {truth.format!r}, and this program reads {FORMAT!r}"
    rooms = {room.key for room in plan.rooms}
    floors = {floor.key for floor in plan.floors}
    for member, key in _rooms_named(truth):
        if key not in rooms:
            yield f"{member} is {key!r}, which is no room of the plan"
    for member, key in _floors_named(truth):
        if key not in floors:
            yield f"{member} is {key!r}, which is no floor of the plan"
    for index, unit in enumerate(truth.units):
        yield from _area_complaints(f"units[{index}].areas", unit)


def _rooms_named(truth: Truth) -> Iterable[tuple[str, str]]:
    for index, unit in enumerate(truth.units):
        yield f"units[{index}].room", unit.room
    for index, leak in enumerate(truth.leaky_walls):
        yield f"leaky_walls[{index}].seen_from", leak.seen_from
    for index, sitter in enumerate(truth.sitters):
        yield f"sitters[{index}].room", sitter.room


def _floors_named(truth: Truth) -> Iterable[tuple[str, str]]:
    for name in ("leaky_walls", "mirrors", "fans"):
        for index, thing in enumerate(getattr(truth, name)):
            yield f"{name}[{index}].floor", thing.floor


def _area_complaints(member: str, unit: TrueUnit) -> Iterable[str]:
    most = figures_of(unit.module_type).most_areas
    if len(unit.areas) > most:
        yield f"{member} holds {len(unit.areas)} areas, and its module holds {most}"
    for number, area in enumerate(unit.areas):
        if rectangle_of(area.outline_mm) is None:
            yield f"{member}[{number}].outline_mm is no upright rectangle"


def _document(path: Path) -> Mapping[str, Any]:
    try:
        document = msgspec.json.decode(path.read_bytes())
    except OSError as reason:
        raise _wrong(str(path), f"it can't be read ({reason.strerror})") from reason
    except (msgspec.DecodeError, RecursionError) as reason:
        raise _wrong(str(path), f"it is no JSON ({reason})") from reason
    if not isinstance(document, dict):
        raise _wrong(str(path), "it holds no JSON object")
    return document


def _wrong(subject: str, reason: str) -> PlanError:
    return PlanError(
        f"the house can't be simulated: {reason}.",
        subject=subject,
        stands="Nothing was started.",
        next_step="Mend the file and start again.",
    )
