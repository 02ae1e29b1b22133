"""How templates and origins are said: in words, and as the JSON of `walkdown template --json`."""

from collections.abc import Sequence
from typing import Any

from fleet.cli.saying import table
from fleet.jobs.templates import template_document
from fleet.model.clock import to_rfc3339
from fleet.model.sheets import Value
from fleet.model.templates import KeptTemplate, OriginRow


def kept_document(kept: KeptTemplate) -> dict[str, Any]:
    """Return a kept template as the documented JSON of the verb."""
    return {
        "template": template_document(kept.template),
        "by": kept.by,
        "at": to_rfc3339(kept.at),
        "why": kept.why,
    }


def kept_in_words(kept: KeptTemplate) -> tuple[str, ...]:
    """Say a kept template as one row."""
    template = kept.template
    settings = sum(len(rule.values) for rule in template.settings)
    added = sum(len(rule.add) for rule in template.checklist)
    left_out = sum(len(rule.leave_out) for rule in template.checklist)
    return (
        f"{template.level} {template.subject}".strip(),
        f"{settings} settings",
        f"{added} items added, {left_out} left out",
        f"set by {kept.by}, {to_rfc3339(kept.at)}: {kept.why}",
    )


def origin_document(row: OriginRow) -> dict[str, Any]:
    """Return where one value comes from as the documented JSON of the verb."""
    return {
        "item": row.key,
        "value": row.value,
        "level": row.level.value,
        "origin": row.origin,
        "why": row.why,
        "instead_of": [{"value": value, "origin": origin} for value, origin in row.shadowed],
    }


def origins_in_words(rows: Sequence[OriginRow]) -> str:
    """Say where values come from, a row each; what they stand in for is set below them."""
    lines: list[tuple[str, ...]] = []
    for row in rows:
        why = f" ({row.why})" if row.why and row.why not in row.origin else ""
        lines.append((row.key, _said(row.value), f"{row.origin}{why}"))
        lines += [("", _said(value), f"  instead of: {origin}") for value, origin in row.shadowed]
    return table(lines) if lines else "nothing is planned for it"


def _said(value: Value | None) -> str:
    if isinstance(value, bool):
        return "on" if value else "off"
    return "taken out of the plan" if value is None else str(value)
