"""Properties that are put together from others: read, watched and written part by part.

1. What is put together and how stands in `fleet.description.assembly` and `gathering`; here the parts are
   fetched.
2. Reading asks for every part. One that the unit refuses is left out; one that can't be reached ends it.
3. Watching watches all parts at once. What conditions say (a count) is asked for as well, since a stream
   sends changes only. Such an answer never says that nobody is there, for a broker may have kept it for
   years; it only lets places stand that come by themselves.
4. A part without which no report can be made ends the watch when its own ends; any other may fail.
5. Writing reads what stands, holds every value against its part's schema before the first byte goes
   out, and writes only what differs, one part after another, each read back. A unit may take a moment
   until it says the new value, so the read-back is repeated for some seconds.
6. Whatever goes wrong after the first byte, `PartialWriteError` says which parts stand, which don't, and
   which are in doubt. Writing the same value again goes on with what is missing.
"""

import asyncio
from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from typing import Any, Protocol

from fleet.description.assembly import names_needed, put_together, same, taken_apart
from fleet.description.checking import check_value
from fleet.description.documents import Json
from fleet.description.things import Affordance, Thing
from fleet.description.write_order import in_order
from fleet.link.arrivals import Arrival, ReadValue
from fleet.link.assembled_watch import Watch
from fleet.model.errors import LinkError, PlanError, UnitError, WalkdownError

PAUSES_S = (0.0, 0.25, 0.5, 1.0, 2.0)
"""Before each read-back, s: scattered units say a new value within two of their intervals or so."""


class PartsLink(Protocol):
    """What of a unit's link is needed here.

    Attributes:
        thing: the unit's description.
        subject: how it is named in messages.
    """

    thing: Thing
    subject: str

    async def read(self, affordance: Affordance) -> ReadValue:
        """Read a property."""
        ...

    async def write(self, affordance: Affordance, value: Any, etag: str | None) -> None:
        """Write a property."""
        ...

    def observe(
        self, affordance: Affordance, last_event_id: str = ""
    ) -> AsyncIterator[list[Arrival]]:
        """Watch a property."""
        ...


class PartialWriteError(LinkError, UnitError):
    """A write of several parts came to its end in the middle; whoever handles either family handles it.

    Attributes:
        written: parts that stand as wanted, by their own names.
        unwritten: parts that don't.
        doubtful: parts of which nobody knows until the unit is read.
    """

    def __init__(
        self,
        reason: str,
        *,
        subject: str,
        written: Sequence[str],
        unwritten: Sequence[str],
        doubtful: Sequence[str] = (),
    ) -> None:
        """Word what stands."""
        self.written = tuple(written)
        self.unwritten = tuple(unwritten)
        self.doubtful = tuple(doubtful)
        named = {"Written": written, "not written": unwritten, "in doubt": doubtful}
        stands = "; ".join(f"{word}: {', '.join(names) or 'none'}" for word, names in named.items())
        super().__init__(
            f"{_how_far(written, doubtful)}: {reason}",
            subject=subject,
            stands=f"{stands}.",
            next_step="Read it again; writing it again goes on with what is missing.",
        )


def _how_far(written: Sequence[str], doubtful: Sequence[str]) -> str:
    if written:
        return "only some of it is known to be written"
    return "nobody knows yet whether it was written" if doubtful else "it wasn't written"


async def read_assembled(link: PartsLink, affordance: Affordance) -> ReadValue:
    """Read every part and put the value together; it has no tag.

    Raises:
        LinkError: the unit can't be reached.
        UnitError, PlanError: not one part can be read.
    """
    found, refused = await _read_parts(link, names_needed(affordance))
    if refused and not found:
        raise next(iter(refused.values()))
    return ReadValue(put_together(affordance, found), None)


async def watch_assembled(
    link: PartsLink, affordance: Affordance, now_s: Callable[[], float]
) -> AsyncIterator[list[Arrival]]:
    """Watch all parts; yields what could be put together, with the age of each part.

    Args:
        link: the way to the unit.
        affordance: the property with parts.
        now_s: monotonic seconds.

    Raises:
        LinkError: a part that is needed can't be reached any more.
        UnitError: the unit refused to let a part be watched that is needed.
    """
    watch = Watch(link, affordance, now_s)
    try:
        async for arrivals in watch.arrivals():
            yield arrivals
    finally:
        await watch.close()


async def write_assembled(
    link: PartsLink, affordance: Affordance, value: Json, pauses_s: Sequence[float] = PAUSES_S
) -> None:
    """Write what differs of a value, part by part, each read back.

    Args:
        link: the way to the unit.
        affordance: the property with parts.
        value: the whole, in the unit's own members and units.
        pauses_s: before each try to read a part back, s.

    Raises:
        PlanError: the value can't be written, or a part not be read; nothing was sent.
        PartialWriteError: something went wrong on the way; it says what stands.
        LinkError, UnitError: what stands can't be read; nothing was sent.
    """
    standing = await _standing(link, affordance, value)
    writes = in_order(affordance, standing, taken_apart(affordance, value, standing))
    for name, wanted in writes:
        _hold_writable(link, name, wanted)
    names = [name for name, _ in writes]
    for done, (name, wanted) in enumerate(writes):
        reason, doubtful = await _write_part(link, name, standing[name], wanted, pauses_s)
        if reason:
            raise PartialWriteError(
                reason,
                subject=link.subject,
                written=names[:done],
                unwritten=names[done + doubtful :],
                doubtful=[name] if doubtful else (),
            )


async def _standing(link: PartsLink, affordance: Affordance, value: Json) -> Mapping[str, Json]:
    """Return what the parts hold.

    Raises:
        LinkError: the unit can't be reached.
        UnitError: a part that is to be written can't be read, so nobody could say what was changed.
    """
    found, refused = await _read_parts(link, [part.name for part in affordance.parts])
    for name in taken_apart(affordance, value, found):
        if name in refused:
            raise refused[name]
    return found


def _hold_writable(link: PartsLink, name: str, wanted: Json) -> None:
    part = link.thing.properties[name]
    if part.form("writeproperty") is None:
        raise PlanError(
            f"its {name} can't be written.", subject=link.subject, stands="Nothing was sent."
        )
    check_value(part, wanted, link.subject)


async def _write_part(
    link: PartsLink, name: str, standing: Json, wanted: Json, pauses_s: Sequence[float]
) -> tuple[str, bool]:
    """Write one part and read it back; return why it doesn't stand ("" if it does), and whether it may."""
    part = link.thing.properties[name]
    trouble = ""
    try:
        await link.write(part, wanted, await _tag(link, part, standing))
    except UnitError as reason:
        trouble, pauses_s = reason.what, pauses_s[:1]
    except LinkError as reason:
        trouble = reason.what
    stands, found = await _read_back(link, part, wanted, pauses_s)
    if stands:
        return "", False
    if stands is None:
        return f"{name}: {trouble or found}", True
    return f"{name}: {trouble or f'the unit took {wanted} and still says {found}.'}", False


async def _tag(link: PartsLink, part: Affordance, standing: Json) -> str | None:
    """Return the tag that the unit wants with the write, None where it wants none."""
    form = part.form("writeproperty")
    if form is None or not form.if_match:
        return None
    read = await link.read(part)
    if not same(read.value, standing):
        raise UnitError("somebody else changed it meanwhile.", subject=link.subject)
    return read.etag


async def _read_back(
    link: PartsLink, part: Affordance, wanted: Json, pauses_s: Sequence[float]
) -> tuple[bool | None, str]:
    """Return whether a value stands, None where nobody can say, and what was found."""
    outcome: tuple[bool | None, str] = (None, "it wasn't read back.")
    for pause_s in pauses_s:
        await asyncio.sleep(pause_s)
        try:
            found = (await link.read(part)).value
        except (LinkError, UnitError) as reason:
            outcome = (None, reason.what)
            continue
        if same(found, wanted):
            return True, ""
        outcome = (False, str(found))
    return outcome


async def _read_parts(
    link: PartsLink, names: Sequence[str]
) -> tuple[dict[str, Json], dict[str, WalkdownError]]:
    """Read parts, as many at once as the link lets; what it can't reach ends all of it."""
    found: dict[str, Json] = {}
    refused: dict[str, WalkdownError] = {}

    async def read(name: str) -> None:
        try:
            found[name] = (await link.read(link.thing.properties[name])).value
        except (UnitError, PlanError) as reason:  # refused, or described without a way to read it
            refused[name] = reason

    try:
        async with asyncio.TaskGroup() as group:
            for name in names:
                group.create_task(read(name))
    except ExceptionGroup as several:
        raise several.exceptions[0] from several
    return found, refused
