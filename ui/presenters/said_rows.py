"""Everything that a unit says: its reports, what it reads, what it can do and what is odd about it.

Nothing is left out. A share that can't be counted is never shown as none, and each value that is put
together from parts shows how old its oldest part is.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.model.snapshot import LiveUnit
from fleet.model.units import Reading
from ui.presenters.words import (
    MINUS,
    age_words,
    count_words,
    is_old,
    item_words,
    length_words,
    value_words,
)

NOT_COUNTED = "can't be counted: no numbers, or too few yet"
_PPM_A_PERCENT = 10_000
_SPELT = {"mm": "mm", "mdeg": "mdeg", "deg": "°", "ms": "ms", "s": "s", "hz": "Hz", "percent": "%"}
_SAID_IN = {"m°C": ("°C", 1), "mV": ("V", 2)}
"""Thousandths that units say, as people say them, with the decimals that tell something."""
_FINE_MM = 100
"""Below this a length is said in millimetres: metres with two places would lose it."""


@dataclass(frozen=True, slots=True)
class SaidRow:
    """A line: what it is, what the unit says of it, and whether that has to look old.

    `name` is "" for a sentence that stands alone.
    """

    name: str
    value: str
    old: bool = False


@dataclass(frozen=True, slots=True)
class SaidGroup:
    """Lines under a heading; `look` where somebody should."""

    title: str
    rows: tuple[SaidRow, ...]
    look: bool = False


def said_groups(reading: Reading | None, live: LiveUnit | None) -> tuple[SaidGroup, ...]:
    """Return all that a unit says, what changes first.

    Args:
        reading: what was read of it last; None while it never was.
        live: what it reports; None while nothing came.
    """
    groups = (
        SaidGroup("Reports", _reports(live)),
        SaidGroup("Presence", _presence(reading, live)),
        SaidGroup("Readings", _readings(reading, live)),
        SaidGroup("Parts of a report", _parts(live)),
        SaidGroup("Reports that couldn't be used", _odd(live), look=True),
        SaidGroup("Odd about its description", _complaints(reading), look=True),
        SaidGroup("The way in", _access(reading)),
        SaidGroup("It can", _capabilities(reading)),
        SaidGroup("Build, settings and areas", _sheet(reading)),
    )
    return tuple(group for group in groups if group.rows)


def _reports(live: LiveUnit | None) -> tuple[SaidRow, ...]:
    if live is None:
        return (SaidRow("Reports", "none came", old=True),)
    rows = [
        SaidRow("Way", live.way or "not known"),
        SaidRow("Link", str(live.link)),
        SaidRow("Age", age_words(live.report_age_s), is_old(live.report_age_s)),
        SaidRow("Rate", f"{live.reports_per_s:.1f} a second"),
        SaidRow("Came", str(live.reports)),
        SaidRow("Lost", lost_words(live.lost_ppm)),
    ]
    if live.parts_age_s:
        part, age_s = max(live.parts_age_s.items(), key=lambda each: each[1])
        rows.append(SaidRow("Oldest part", f"{age_words(age_s)}, {part}", is_old(age_s)))
    return tuple(rows)


def lost_words(lost_ppm: int | None) -> str:
    """Say the share of reports that didn't come; where it can't be counted, that."""
    if lost_ppm is None:
        return NOT_COUNTED
    return f"{lost_ppm / _PPM_A_PERCENT:.1f} %"


def _presence(reading: Reading | None, live: LiveUnit | None) -> tuple[SaidRow, ...]:
    if live is None:
        return ()
    old = is_old(live.report_age_s)
    rows = []
    if live.occupied is not None:
        rows.append(SaidRow("Somebody there", _yes(live.occupied), old))
    rows += [
        SaidRow(_area_name(reading, key), "occupied" if taken else "empty", old)
        for key, taken in live.areas_occupied.items()
    ]
    if live.targets_mm or live.sensor_targets_mm:
        count = max(len(live.targets_mm), len(live.sensor_targets_mm))
        rows.append(SaidRow("Places", count_words(count, "target"), old))
    if live.ranges_mm:
        rows.append(SaidRow("Distances", ", ".join(map(length_words, live.ranges_mm)), old))
    return tuple(rows) or (SaidRow("", "It says nothing of presence by itself."),)


def _readings(reading: Reading | None, live: LiveUnit | None) -> tuple[SaidRow, ...]:
    """What it reports now stands before what was only read once."""
    now = dict(live.readings) if live is not None else {}
    old = live is not None and is_old(live.report_age_s)
    rows = [SaidRow(_plain(name), _said(value), old) for name, value in now.items()]
    if reading is None:
        return tuple(rows)
    if reading.signal_dbm is not None:
        rows.append(SaidRow("Signal", f"{reading.signal_dbm} dBm".replace("-", MINUS)))
    rows += [
        SaidRow(_plain(name), _said(value))
        for name, value in reading.other.items()
        if name not in now
    ]
    return tuple(rows)


def _said(value: str) -> str:
    """Return a reading as people say it: "36657 m°C" is 36.7 °C."""
    figure, _, unit = value.partition(" ")
    if unit in _SAID_IN and figure.lstrip("-").isdecimal():
        unit, decimals = _SAID_IN[unit]
        figure = f"{int(figure) / 1000:.{decimals}f}"
    said = f"{figure} {unit}".strip()
    return said.replace("-", MINUS, 1) if said[:1] == "-" else said


def _parts(live: LiveUnit | None) -> tuple[SaidRow, ...]:
    ages_s: Mapping[str, float] = live.parts_age_s if live is not None else {}
    ordered = sorted(ages_s.items(), key=lambda each: -each[1])
    return tuple(SaidRow(part, age_words(age_s), is_old(age_s)) for part, age_s in ordered)


def _odd(live: LiveUnit | None) -> tuple[SaidRow, ...]:
    odd = live.odd if live is not None else {}
    return tuple(SaidRow(reason, f"{count} ×") for reason, count in odd.items())


def _complaints(reading: Reading | None) -> tuple[SaidRow, ...]:
    if reading is None:
        return ()
    missing = [SaidRow("It doesn't say", what) for what in reading.missing]
    return (*missing, *(SaidRow("", _plain(complaint)) for complaint in reading.complaints))


def _access(reading: Reading | None) -> tuple[SaidRow, ...]:
    if reading is None:
        return (SaidRow("", "It was not read yet."),)
    return (
        SaidRow("Lets in", reading.access or "not known yet"),
        SaidRow("Calls itself", reading.title),
        SaidRow("Serial", reading.serial),
        SaidRow("Address", reading.url),
        SaidRow("Read", f"{reading.read_at:%d %b %H:%M:%S} UTC"),
    )


def _capabilities(reading: Reading | None) -> tuple[SaidRow, ...]:
    able = reading.capabilities if reading is not None else {}
    return tuple(SaidRow(_name(key), _value(key, value)) for key, value in able.items())


def _sheet(reading: Reading | None) -> tuple[SaidRow, ...]:
    if reading is None:
        return ()
    rows = [SaidRow(item_words(key), value_words(key, v)) for key, v in reading.sheet.items()]
    if reading.area_revision is not None:
        rows.append(SaidRow("Area set, revision", str(reading.area_revision)))
    return tuple(rows)


def _area_name(reading: Reading | None, key: str) -> str:
    """An area by the name that the unit's own sheet gives it, else by its number."""
    name = reading.sheet.get(f"areas.{key}.label") if reading is not None else None
    return f"Area {name or key}"


def _name(key: str) -> str:
    stem, _, unit = key.rpartition("_")
    return _plain(stem if stem and unit in _SPELT else key)


def _value(key: str, value: object) -> str:
    if isinstance(value, bool):
        return _yes(value)
    if not isinstance(value, int | float):
        return str(value)
    unit = key.rpartition("_")[2]
    if unit == "mm" and abs(value) >= _FINE_MM:
        return length_words(round(value))
    if unit == "mdeg":
        value, unit = value / 1000, "deg"
    space = "" if unit == "deg" else " "
    return f"{value:g}{space}{_SPELT.get(unit, '')}".strip().replace("-", MINUS)


def _yes(value: object) -> str:
    return "yes" if value else "no"


def _plain(name: str) -> str:
    words = name.replace("_", " ").strip()
    return f"{words[:1].upper()}{words[1:]}"
