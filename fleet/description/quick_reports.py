"""Plain reports, read by a decoder that is made for one unit.

Most units send their numbers in our own units, so nothing has to be converted. Of those a decoder with the
unit's own names reads a report at once, ranges and lengths included. It answers only where a report is
plainly right; every other one is for the careful reader in `frames`, which finds the words for it.
"""

import re
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Annotated, Any

import msgspec

from fleet.description.report_members import NOWHERE, Number
from fleet.model.reports import Report, Target

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MILLISECOND = timedelta(milliseconds=1)
_ODD = re.compile(r'["\\\x00-\x1f]')  # the decoder takes no such names
_Moment = Annotated[datetime, msgspec.Meta(tz=True)]

QuickReader = Callable[[bytes | str], Report | None]


def quick_reader(
    time: str, number: Number, targets: str, most: int, members: dict[str, Number]
) -> QuickReader | None:
    """Return what reads a unit's plain reports; None where some number has to be converted.

    Args:
        time: the unit's name of the sample time.
        number: the report number.
        targets: the unit's name of the list.
        most: how many targets there may be.
        members: numbers of a target: "x", "y", "range", "speed", "slot".
    """
    numbers = (number, *members.values())
    names = [name for name in (time, targets, *(one.name for one in numbers)) if name != NOWHERE]
    told_apart = len({time, number.name, targets}) == len((time, number.name, targets))
    if any(one.convert or one.words for one in numbers) or not told_apart:
        return None
    if any(_ODD.search(name) for name in names):
        return None
    entry = _entry(members)
    listing = Annotated[list[entry], msgspec.Meta(max_length=most)]  # type: ignore[valid-type]  # mypy knows no type made at run time; the decoder needs it as one
    whole = msgspec.defstruct(
        "Whole",
        [("targets", listing), ("time", _Moment | None, None), *_fields({"number": number})],
        namespace=_absent({"number": number}),
        rename={"targets": targets, "time": time, "number": number.name},
        gc=False,
    )
    decode = msgspec.json.Decoder(whole).decode

    def read(data: bytes | str) -> Report | None:
        try:
            held: Any = decode(data)
        except (msgspec.MsgspecError, UnicodeError, RecursionError):
            return None
        found = [
            Target(one.x, one.y, one.range, one.speed, one.slot)
            for one in held.targets
            if one.range is not None or not (one.x is None or one.y is None)
        ]
        if len(found) < len(held.targets):
            return None
        if held.time is None:
            return Report(None, held.number, tuple(found))
        sample_ms = (held.time - _EPOCH) // _MILLISECOND
        return None if sample_ms < 0 else Report(sample_ms, held.number, tuple(found))

    return read


def _entry(members: Mapping[str, Number]) -> type[msgspec.Struct]:
    return msgspec.defstruct(
        "Entry",
        _fields(members),
        namespace=_absent(members),
        rename={key: one.name for key, one in members.items()},
        gc=False,
    )


def _fields(members: Mapping[str, Number]) -> list[tuple[str, Any, None]]:
    """Return the numbers that the unit describes, each within its bounds or absent."""
    return [
        (key, Annotated[int, msgspec.Meta(ge=one.lowest, le=one.highest)] | None, None)
        for key, one in members.items()
        if one.is_described
    ]


def _absent(members: Mapping[str, Number]) -> dict[str, Any]:
    return {key: None for key, one in members.items() if not one.is_described}
