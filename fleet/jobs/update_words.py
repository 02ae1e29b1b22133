"""Sentences about an update: what it disrupts, how long its maker mends it, what stands and what to do.

ETSI EN 303 645 V2.1.1, provisions 5.3-12 (say when an update disrupts) and 5.3-13 (show the support
period).
"""

from collections.abc import Mapping
from datetime import date

from fleet.jobs.comparing import agree
from fleet.model.firmware import Image
from fleet.model.sheets import Sheet, Value

HELD = ("setting.", "areas.")
"""Beginnings of the keys that an update has to leave as they were found."""


def disruption(*, at_once: int) -> str:
    """Say what an update disrupts."""
    units = (
        "one unit at a time is"
        if at_once == 1
        else f"up to {at_once} units, of different rooms, are"
    )
    return (
        f"While it goes on, {units} away for about a minute each: nothing is sensed there, lights that "
        "follow it may go out or stay as they are, and people there should be told."
    )


def support(image: Image, today: date) -> str:
    """Say how long an image's maker mends it."""
    if image.support_ends is None:
        return f"How long {image.version} is mended its maker doesn't say."
    if image.support_ends < today:
        return f"{image.version} is mended no longer: that ended on {image.support_ends}."
    return f"{image.version} is mended until {image.support_ends}."


def held_items(sheet: Sheet) -> dict[str, Value]:
    """Return the items that an update has to leave as they were found."""
    return {key: value for key, value in sheet.items() if key.startswith(HELD)}


def moved_items(as_found: Sheet, now: Sheet) -> Mapping[str, tuple[Value | None, Value | None]]:
    """Return what isn't as it was found: key → value then, value now; None for none.

    A setting that only the new build has is no change; an area that wasn't there before is one.
    """
    before, after = held_items(as_found), held_items(now)
    after = {
        key: value for key, value in after.items() if key in before or key.startswith("areas.")
    }
    return {
        key: (before.get(key), after.get(key))
        for key in sorted({*before, *after})
        if not agree(key, before.get(key), after.get(key))
    }


def read_back(as_found: Sheet, put_back: int) -> str:
    """Say what was read back as found, and how many items had been lost and were put back."""
    held = held_items(as_found)
    settings = sum(key.startswith("setting.") for key in held)
    areas = len({key.split(".")[1] for key in held if key.startswith("areas.")})
    said = f"{_counted(settings, 'setting')} and {_counted(areas, 'area')} read back as found"
    return f"{said}, {_counted(put_back, 'item')} of them put back" if put_back else said


def not_as_found(moved: Mapping[str, tuple[Value | None, Value | None]]) -> str:
    """Say what isn't as it was found."""
    parts = [
        f"{key} was {_said(before)} and is {_said(now)}" for key, (before, now) in moved.items()
    ]
    return "; ".join(parts)


def runs_now(image: Image) -> str:
    """Say that a unit runs an image."""
    return f"runs {image.version} (sequence {image.sequence}), confirmed"


def old_build(why: str, version: str) -> str:
    """Say that a unit stayed on its old build."""
    return (
        f"{why}. It runs its old build {version}, settings and areas as found: it works as before. "
        "Look into the reason, then update it again."
    )


def lost(why: str) -> str:
    """Say that a unit has to be looked after, and how."""
    return (
        f"{why}. Nothing more is sent to it. Switch its power off and on and wait two minutes: it should "
        "come back with one of both builds. Then resume, and it is read first; if it stays away, fit "
        "another unit."
    )


def _said(value: Value | None) -> str:
    return "none" if value is None else str(value)


def _counted(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
