"""Plain reports, read by a decoder that is made for one unit.

Most units send their numbers in our own units, so nothing has to be converted. Of those a decoder with the
unit's own names reads a report at once, ranges and lengths included. It answers only where a report is
plainly right; every other one is for the careful reader in `frames`, which finds the words for it.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import fields
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Annotated, Any, TypeAlias

import msgspec

from fleet.description.report_members import NOWHERE, Number
from fleet.model.reports import Report, Target

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MILLISECOND = timedelta(milliseconds=1)
_ODD = re.compile(r'["\\\x00-\x1f]')  # the decoder takes no such names
_ABSENT = dict.fromkeys(field.name for field in fields(Target))
_MOST_MODELS = 64
_Moment = Annotated[datetime, msgspec.Meta(tz=True)]
_Bounded: TypeAlias = tuple[str, str, int, int]  # our name, the unit's name, lowest, highest

QuickReader = Callable[[bytes | str], Report | None]


def quick_reader(
    time: str, number: Number, targets: str, most: int, members: Mapping[str, Number]
) -> QuickReader | None:
    """Return what reads a unit's plain reports; None where some number has to be converted.

    Args:
        time: the unit's name of the sample time.
        number: the report number.
        targets: the unit's name of the list.
        most: how many targets there may be.
        members: numbers of a target, each by its name in `Target`.
    """
    if any(one.convert or one.words for one in (number, *members.values())):
        return None
    outer = (time, targets, number.name)
    inner = [one.name for one in members.values() if one.is_described]
    if any(len(set(names)) < len(names) for names in (outer, inner)):
        return None  # one member that is two things at once
    if any(_ODD.search(name) for name in (*outer, *inner) if name != NOWHERE):
        return None
    return _reader(time, targets, most, _bounded({"number": number}), _bounded(members))


# To make a decoder takes as long as to read dozens of reports, and the units of one model share it.
@lru_cache(_MOST_MODELS)
def _reader(
    time: str,
    targets: str,
    most: int,
    number: tuple[_Bounded, ...],
    members: tuple[_Bounded, ...],
) -> QuickReader:
    entry = msgspec.defstruct(
        "Entry", _fields(members), namespace=_ABSENT, rename=_names(members), gc=False
    )
    listing = Annotated[list[entry], msgspec.Meta(max_length=most)]  # type: ignore[valid-type]  # `entry` is made from the description just now, which mypy can't follow
    whole = msgspec.defstruct(
        "Whole",
        [("targets", listing), ("time", _Moment | None, None), *_fields(number)],
        namespace={"number": None, "sample_time_ms": property(_sample_time_ms)},
        rename={"targets": targets, "time": time, **_names(number)},
        gc=False,
    )
    decode = msgspec.json.Decoder(whole).decode
    convert = msgspec.convert

    def read(data: bytes | str) -> Report | None:
        try:
            # Attributes to attributes, in C: making each target in Python would cost twice as much.
            report = convert(decode(data), Report, from_attributes=True)
        except (msgspec.MsgspecError, UnicodeError, RecursionError):
            return None
        for one in report.targets:
            if one.range_mm is None and (one.x_mm is None or one.y_mm is None):
                return None
        return None if (report.sample_time_ms or 0) < 0 else report

    return read


def _sample_time_ms(whole: Any) -> int | None:
    return None if whole.time is None else (whole.time - _EPOCH) // _MILLISECOND


def _bounded(members: Mapping[str, Number]) -> tuple[_Bounded, ...]:
    """Return the numbers that the unit describes."""
    return tuple(
        (ours, one.name, one.lowest, one.highest)
        for ours, one in members.items()
        if one.is_described
    )


def _fields(members: tuple[_Bounded, ...]) -> list[tuple[str, Any, None]]:
    """Return each number within its bounds, or absent."""
    return [
        (ours, Annotated[int, msgspec.Meta(ge=lowest, le=highest)] | None, None)
        for ours, _, lowest, highest in members
    ]


def _names(members: tuple[_Bounded, ...]) -> dict[str, str]:
    return {ours: name for ours, name, _, _ in members}
