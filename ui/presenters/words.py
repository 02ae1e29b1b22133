"""Figures in a person's words: ages, lengths, values of sheets, items of sheets."""

import re

from fleet.model.errors import PlanError
from fleet.model.sheets import Value, outline_from_text

OLD_AFTER_S = 2.0
MINUS = "−"
LONGEST_WORD = 16

_BREAK = "\u200b"
_LONG_WORD = re.compile(rf"\S{{{LONGEST_WORD + 1},}}")

_MINUTE_S = 60
_HOUR_S = 3_600
_DAY_S = 86_400
_UNITS = {"_s": "s", "_percent": "%", "_dbm": "dBm", "_ppm": "ppm", "_ms": "ms"}
_PARTS = {"build": "Build", "module": "Module", "hardware": "Hardware", "mount": "Mount"}


def age_words(age_s: float | None) -> str:
    """Say how old something is: "0.1 s", "12 s", "3 min", "2 h", "4 d", or "never"."""
    if age_s is None:
        return "never"
    if age_s < 10:  # noqa: PLR2004 - below ten seconds a tenth still tells something
        return f"{max(age_s, 0):.1f} s"
    if age_s < _MINUTE_S:
        return f"{age_s:.0f} s"
    if age_s < _HOUR_S:
        return f"{age_s // _MINUTE_S:.0f} min"
    if age_s < _DAY_S:
        return f"{age_s // _HOUR_S:.0f} h"
    return f"{age_s // _DAY_S:.0f} d"


def is_old(age_s: float | None) -> bool:
    """Say whether a value of that age has to look old."""
    return age_s is None or age_s > OLD_AFTER_S


def length_words(length_mm: int) -> str:
    """Say a length in metres: "1.75 m"."""
    return f"{_metres(length_mm)} m"


def value_words(key: str, value: Value | None) -> str:
    """Say an item's value: "30 s", "1.75 m", "on"; "none" where the sheet doesn't say."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "on" if value else "off"
    if isinstance(value, int):
        return _figure(key, value)
    if key.endswith(".outline"):
        return _outline(value)
    return value


def sentence(text: str) -> str:
    """Return words with a capital at their beginning and a full stop at their end."""
    said = text.strip().removesuffix(".")
    return f"{said[0].upper()}{said[1:]}." if said else ""


def unit_hint(key: str) -> str:
    """Say in which unit an item's value is typed: " in mm"; "" where it has none, or is a word."""
    units = {"_mm": "mm", "_mdeg": "thousandths of a degree", **_UNITS}
    return next((f" in {unit}" for ending, unit in units.items() if key.endswith(ending)), "")


def item_words(key: str) -> str:
    """Say an item of a sheet: "Hold time", "Area sofa, outline", "Build version"."""
    part, _, rest = key.partition(".")
    if part == "setting":
        return _plain(rest).capitalize()
    if part == "areas" and "." in rest:
        area, _, member = rest.rpartition(".")
        return f"Area {area}, {member}"
    return f"{_PARTS.get(part, part)} {_plain(rest)}".strip()


def breakable(text: str) -> str:
    """Return a text whose long words may go over a line's end: addresses, and what a hostile unit says."""
    return _LONG_WORD.sub(lambda word: _BREAK.join(_pieces(word.group())), text)


def count_words(count: int, one: str, many: str = "") -> str:
    """Say a count: "1 room", "2 rooms"."""
    return f"{count} {one}" if count == 1 else f"{count} {many or one + 's'}"


def _pieces(word: str) -> list[str]:
    return [word[at : at + LONGEST_WORD] for at in range(0, len(word), LONGEST_WORD)]


def _figure(key: str, value: int) -> str:
    if key.endswith("_mm"):
        return length_words(value)
    if key.endswith("_mdeg"):
        return f"{value / 1000:.1f}°".replace("-", MINUS)
    for ending, unit in _UNITS.items():
        if key.endswith(ending):
            return f"{_signed(value)} {unit}"
    return _signed(value)


def _outline(text: str) -> str:
    try:
        corners = outline_from_text(text)
    except PlanError:
        return text
    if not corners:
        return "no corners"
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    size = f"{_metres(max(xs) - min(xs))} × {_metres(max(ys) - min(ys))} m"
    return f"{size} from {_metres(min(xs))}, {_metres(min(ys))}"


def _metres(length_mm: int) -> str:
    return f"{length_mm / 1000:.2f}".replace("-", MINUS)


def _signed(value: int) -> str:
    return str(value).replace("-", MINUS)


def _plain(name: str) -> str:
    for ending in ("_mm", "_mdeg", *_UNITS):
        name = name.removesuffix(ending)
    return name.replace("_", " ")
