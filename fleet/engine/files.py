"""Files that the engine reads: plans, checklists and schemas. Bad ones get a reason in words."""

import json
from functools import cache
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator

from fleet.jobs.checklists import Checklist, checklist_from
from fleet.model.errors import PlanError
from fleet.model.house import HousePlan, RoomKind
from fleet.model.plans import plan_from
from fleet.shipped import resources

LARGEST_PLAN_BYTES = 8 << 20


def read_plan(path: Path) -> HousePlan:
    """Read a plan file, or the `plan.json` of a house's folder.

    Raises:
        PlanError: there is none, it is no JSON, or it doesn't hold together.
    """
    path = path / "plan.json" if path.is_dir() else path
    document = _read_json(path)
    for error in Draft202012Validator(schema("plan")).iter_errors(document):
        place = "/".join(str(part) for part in error.absolute_path) or "the whole file"
        raise PlanError(
            f"{place}: {error.message[:200]}.",
            subject=str(path),
            stands="Nothing was taken over from it.",
            next_step="Mend the file and add it again.",
        )
    return plan_from(document, subject=str(path))


@cache
def checklist_for(kind: RoomKind) -> Checklist:
    """Return the shipped checklist of a kind of room."""
    path = resources() / "checklists" / f"{kind.value}.json"
    return checklist_from(_read_json(path), subject=str(path))


@cache
def schema(name: str) -> dict[str, Any]:
    """Return a shipped JSON Schema, for example "plan" or "td-1.1"."""
    return _read_json(resources() / "schemas" / f"{name}.schema.json")


def _read_json(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > LARGEST_PLAN_BYTES:
            raise PlanError("the file is larger than 8 MiB.", subject=str(path))
        return dict(json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError, RecursionError) as reason:
        raise PlanError(
            f"the file can't be read: {reason}.",
            subject=str(path),
            next_step="Check the path and that it is JSON.",
        ) from reason
