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
from fleet.simulator.truth import Truth

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
    for index, unit in enumerate(truth.units):
        if unit.room not in rooms:
            yield f"units[{index}].room is {unit.room!r}, which is no room of the plan"
        held, most = len(unit.areas), figures_of(unit.module_type).most_areas
        if held > most:
            yield f"units[{index}].areas holds {held} areas, and its module holds {most}"
        for number, area in enumerate(unit.areas):
            if rectangle_of(area.outline_mm) is None:
                yield f"units[{index}].areas[{number}].outline_mm is no upright rectangle"
    for index, leak in enumerate(truth.leaky_walls):
        if leak.seen_from not in rooms:
            yield f"leaky_walls[{index}].seen_from is {leak.seen_from!r}, which is no room"
    for index, sitter in enumerate(truth.sitters):
        if sitter.room not in rooms:
            yield f"sitters[{index}].room is {sitter.room!r}, which is no room of the plan"
    for name in ("leaky_walls", "mirrors", "fans"):
        for index, thing in enumerate(getattr(truth, name)):
            if thing.floor not in floors:
                yield f"{name}[{index}].floor is {thing.floor!r}, which is no floor of the plan"


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
