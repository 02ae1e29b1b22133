"""The checklist items of each room kind, read from the shipped checklists."""

import json

from fleet.shipped import resources


def checklist_items() -> dict[str, tuple[str, ...]]:
    """Return room kind → keys of its checklist's items, in order."""
    kinds: dict[str, tuple[str, ...]] = {}
    for file in sorted((resources() / "checklists").glob("*.json")):
        document = json.loads(file.read_text(encoding="utf-8"))
        kinds[document["kind"]] = tuple(item["key"] for item in document["items"])
    return kinds
