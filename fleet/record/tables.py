"""Tables of a record for a spreadsheet: RFC 4180, with text that a spreadsheet would run made safe."""

import csv
import io
from collections.abc import Mapping
from typing import Any

UNIT_COLUMNS = (
    "label", "serial", "room", "planned_module", "module", "module_firmware", "hardware",
    "build_version", "build_id", "read_at", "left_at",
)  # fmt: skip
_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def units_csv(document: Mapping[str, Any]) -> bytes:
    """Return a record's register of units as CSV, UTF-8, one line a unit and one column a setting.

    Settings are those found at the last reading; a cell is empty where a unit doesn't say.
    """
    units = document["register"]
    settings = sorted(
        {key for unit in units for key in unit["found"] if key.startswith("setting.")}
    )
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([*UNIT_COLUMNS, *settings])
    for unit in units:
        cells = [unit.get(name, "") for name in UNIT_COLUMNS]
        cells += [unit["found"].get(key, "") for key in settings]
        writer.writerow([_cell(cell) for cell in cells])
    return text.getvalue().encode("utf-8")


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    text = str(value)
    return f"'{text}" if text.startswith(_STARTS_A_FORMULA) else text
