"""Which verdicts lapse when a unit or its module is exchanged, and what has to be shown again.

1. A verdict lapses where it rested on what was taken away: with the unit all that was shown of it, with the
   module what its radar showed. Its link and its label are of the unit, and outlast a module.
2. What was shown after the new module was first read rests on the new one, and stands.
3. Of the lap, the unit's own column of the matrix goes, its fit and its ghosts, and that its room was
   walked. The columns, fits and ghosts of all other units stay.
4. What reading alone answers (found, build, settings, areas) is answered anew by reading; it can't lapse.
5. A sign-off rests on all of that. The earlier one stays written down, and counts no longer.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from fleet.model.clock import from_rfc3339
from fleet.model.findings import ItemResult, Outcome, RoomResult
from fleet.model.house import Room, Signature, SoakNote
from fleet.numerics.outlines import bounds_mm

ON_THE_WALK = ("right-unit", "mount", "bleed-through", "ghosts")
ON_REPORTS = ("walk", "still", "soak")
LABEL_ITEM = "label-readable"

LAP_MIN, STILL_MIN, SOAK_MIN = 1, 15, 12 * 60
"""As long as the trials themselves take: a room's minute of the lap, 15 min still, 12 h empty."""

CROSSINGS_MIN, PHOTO_MIN, LABEL_MIN, SIGN_MIN, APPLY_MIN = 15, 2, 1, 5, 2
"""Common practice, no source: 29 prompted crossings, a photograph, a look, a talk, a write."""

NEXT_DOOR_MM = 600
"""Rooms whose outlines are no farther apart share a wall; common practice, no source."""


class LapseKind(StrEnum):
    """What it is that lapses."""

    FIT = "lap fit"
    SEEN = "bleed-through column"
    GHOSTS = "ghosts"
    WALK = "walk of the room"
    SOAK = "soak"
    LINK = "link"
    ITEM = "checklist item"
    TICK = "tick"
    AS_LEFT = "as left"
    SIGN_OFF = "sign-off"


@dataclass(frozen=True, slots=True)
class Lapse:
    """One verdict that no longer counts.

    Attributes:
        kind: what it is.
        subject: which one: a room's key, an item's key, a date; "" where the kind says it all.
        said: the same as a sentence.
    """

    kind: LapseKind
    subject: str
    said: str


@dataclass(frozen=True, slots=True)
class Redo:
    """One thing to be done again.

    Attributes:
        what: a trial or an act by name.
        room: key of the room.
        minutes: how long a person is busy with it, or (a soak) how long the room stays empty.
        why: what it is for; says where the minutes are common practice.
    """

    what: str
    room: str
    minutes: int
    why: str


@dataclass(frozen=True, slots=True)
class SwapEvidence:
    """What had been shown of a unit and its room.

    Attributes:
        rooms: all of the site.
        walked_at: room key → when the lap walked it, RFC 3339.
        seen_ppm: room key → share of the unit's reports that showed somebody there.
        fit: how well its view fitted the walked points, in words; "" where that wasn't worked out.
        ghost_ppm: share of its reports beyond the walls; None for none.
        lost_ppm: share of its numbered reports that were missing; None where nobody counted.
        soaks: soaks of earlier visits, with when each visit ended.
        result: the room's checklist as it stood.
        ticked_at: item → when a person ticked it.
        signatures: who accepted the room, this visit or before, oldest first.
        left_at: when the unit was last left with a sheet.
        since: when the new module was first read; None where nothing was shown with it.
    """

    rooms: Sequence[Room] = ()
    walked_at: Mapping[str, str] = field(default_factory=dict)
    seen_ppm: Mapping[str, int] = field(default_factory=dict)
    fit: str = ""
    ghost_ppm: int | None = None
    lost_ppm: int | None = None
    soaks: Sequence[tuple[SoakNote, datetime]] = ()
    result: RoomResult | None = None
    ticked_at: Mapping[str, datetime] = field(default_factory=dict)
    signatures: Sequence[Signature] = ()
    left_at: datetime | None = None
    since: datetime | None = None


def lapses_of(
    label: str, room: Room, evidence: SwapEvidence, *, whole_unit: bool
) -> tuple[Lapse, ...]:
    """List exactly the verdicts that rested on what was taken away.

    Args:
        label: of the unit.
        room: the one that it belongs in.
        evidence: what had been shown.
        whole_unit: the unit itself was exchanged, not its module alone.
    """
    return (
        *_of_the_lap(label, room, evidence),
        *_of_reports(label, evidence, whole_unit=whole_unit),
        *_of_the_checklist(room, evidence, whole_unit=whole_unit),
        *_of_people(label, room, evidence),
    )


def redo_for(room: Room, evidence: SwapEvidence, lapses: Sequence[Lapse]) -> tuple[Redo, ...]:
    """List what has to be done again because of what lapses, in the order in which it is done."""
    kinds = {lapse.kind for lapse in lapses}
    subjects = {lapse.subject for lapse in lapses if lapse.kind in (LapseKind.ITEM, LapseKind.TICK)}
    found = []
    if kinds & {LapseKind.WALK, LapseKind.FIT, LapseKind.SEEN}:
        found.append(Redo("walk", room.key, LAP_MIN, "the lap: it hangs here, and which way up"))
        found += [
            Redo("bleed-through", other.key, LAP_MIN, "the lap next door")
            for other in _next_door(room, evidence.rooms)
            if other.key in evidence.walked_at
        ]
    for key, what, minutes, why in _AGAIN:
        if key in subjects or (key == "soak" and LapseKind.SOAK in kinds):
            found.append(Redo(what, room.key, minutes, why))
    photos = sorted(subjects - {key for key, *_ in _AGAIN} - set(ON_THE_WALK))
    found += [Redo(key, room.key, PHOTO_MIN, "a photograph; common practice") for key in photos]
    if LapseKind.SIGN_OFF in kinds:
        found.append(Redo("sign-off", room.key, SIGN_MIN, "a named person; common practice"))
    return tuple(found)


_AGAIN = (
    ("walk", "walk trial", CROSSINGS_MIN, "29 crossings; the minutes are common practice"),
    ("still", "still trial", STILL_MIN, "sitting, lying, typing"),
    ("soak", "soak", SOAK_MIN, "confirmed empty; nobody has to stay"),
    (LABEL_ITEM, "label", LABEL_MIN, "the label on the new unit; common practice"),
)


def _of_the_lap(label: str, room: Room, evidence: SwapEvidence) -> Iterable[Lapse]:
    at = evidence.walked_at.get(room.key, "")
    if _stands(from_rfc3339(at) if at else None, evidence.since):
        return
    if evidence.fit:
        said = f"{label}: its fit on the lap ({evidence.fit})"
        yield Lapse(LapseKind.FIT, room.key, said)
    names = {one.key: one.name for one in evidence.rooms}
    for key, seen_ppm in evidence.seen_ppm.items():
        name = names.get(key, key)
        said = f"{label}: that it saw a walker in {name} {seen_ppm / 10_000:.0f} % of the time"
        yield Lapse(LapseKind.SEEN, key, said)
    if evidence.ghost_ppm is not None:
        said = (
            f"{label}: what it saw beyond the walls, {evidence.ghost_ppm / 10_000:.0f} % of reports"
        )
        yield Lapse(LapseKind.GHOSTS, room.key, said)
    if at:
        yield Lapse(LapseKind.WALK, room.key, f"{room.name}: the lap's walk of it at {at}")


def _of_reports(label: str, evidence: SwapEvidence, *, whole_unit: bool) -> Iterable[Lapse]:
    for note, left_at in evidence.soaks:
        if not _stands(left_at, evidence.since):
            hours = f"{note.empty_s / 3600:g} h empty, false episodes: {note.episodes}"
            yield Lapse(
                LapseKind.SOAK, _day(left_at), f"{label}: its soak of {_day(left_at)} ({hours})"
            )
    if whole_unit and evidence.lost_ppm is not None:
        said = (
            f"{label}: that {evidence.lost_ppm / 10_000:.0f} % of its numbered reports were missing"
        )
        yield Lapse(LapseKind.LINK, "", said)


def _of_the_checklist(room: Room, evidence: SwapEvidence, *, whole_unit: bool) -> Iterable[Lapse]:
    walked = evidence.walked_at.get(room.key, "")
    fresh_walk = _stands(from_rfc3339(walked) if walked else None, evidence.since)
    for item in evidence.result.items if evidence.result else ():
        if item.outcome is Outcome.NOT_TESTED:
            continue
        if (item.key in ON_THE_WALK and not fresh_walk) or (
            item.key in ON_REPORTS and (item.key != "soak" or _a_soak_lapses(evidence))
        ):
            yield _item(room, item)
        elif whole_unit and _is_of_the_unit(item) and item.key in evidence.ticked_at:
            yield Lapse(LapseKind.TICK, item.key, f"{room.name}: {item.key} ({item.reason})")


def _is_of_the_unit(item: ItemResult) -> bool:
    return item.evidence == "photo" or item.key == LABEL_ITEM


def _of_people(label: str, room: Room, evidence: SwapEvidence) -> Iterable[Lapse]:
    if evidence.left_at is not None and not _stands(evidence.left_at, evidence.since):
        said = f"{label}: the sheet that it was left with on {_day(evidence.left_at)}"
        yield Lapse(LapseKind.AS_LEFT, "", said)
    for signature in evidence.signatures:
        if not _stands(signature.signed_at, evidence.since):
            day = _day(signature.signed_at)
            said = f"{room.name}: the sign-off by {signature.name}, {signature.role}, of {day}"
            yield Lapse(LapseKind.SIGN_OFF, room.key, said)


def _item(room: Room, item: ItemResult) -> Lapse:
    return Lapse(
        LapseKind.ITEM, item.key, f"{room.name}: {item.key}, {item.outcome} ({item.reason})"
    )


def _a_soak_lapses(evidence: SwapEvidence) -> bool:
    return any(not _stands(left_at, evidence.since) for _, left_at in evidence.soaks)


def _stands(shown_at: datetime | None, since: datetime | None) -> bool:
    """Say whether something was shown with the new module already."""
    return shown_at is not None and since is not None and shown_at >= since


def _day(moment: datetime) -> str:
    return moment.date().isoformat()


def _next_door(room: Room, rooms: Sequence[Room]) -> list[Room]:
    """Return the rooms of the floor that lie beside a room, by the boxes around their outlines."""
    left, low, right, high = bounds_mm(room.outline_mm)
    found = []
    for other in rooms:
        if other.key == room.key or other.floor != room.floor:
            continue
        x0, y0, x1, y1 = bounds_mm(other.outline_mm)
        apart_mm = max(x0 - right, left - x1, y0 - high, low - y1)
        if apart_mm <= NEXT_DOOR_MM:
            found.append(other)
    return found
