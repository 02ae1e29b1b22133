"""Findings as a file for scripts, `resources/schemas/findings.schema.json`."""

from collections.abc import Iterable, Mapping
from typing import Any

from fleet.model.findings import Finding


def findings_document(
    findings: Iterable[Finding], room_names: Mapping[str, str]
) -> list[dict[str, Any]]:
    """Return findings as JSON values, in their order.

    Args:
        findings: what was found.
        room_names: what people call each room, by its key.
    """
    return [
        {
            "room": room_names.get(finding.room, finding.room),
            "unit": finding.unit,
            "kind": finding.kind.value,
            "evidence": dict(finding.evidence),
        }
        for finding in findings
    ]
