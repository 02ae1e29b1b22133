"""Whether a build goes with a unit: allowed, blocked or unknown, who says so, and on what grounds.

A match is known for a hardware revision, a module type, the module's own firmware and a version, all four
(`MatchKey`). Three speak of it, in this order:

1. The plan, where it blocks: nothing else undoes that; whoever knows better changes the plan.
2. A person, by a word in the journal with a name and a reason; the last word on a key counts. Such a
   word is of the kinds of unit and of no site, so it holds on every site of the inventory.
3. The plan, where it allows.
4. The maker, by the manifest of a shelf: what an image was tried with is allowed.

Where nobody speaks, or the unit doesn't say its module's firmware, it is unknown, and unknown is not
allowed.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from fleet.jobs.builds import match_of
from fleet.model.firmware import Image
from fleet.model.house import Match, MatchWord, ModuleType
from fleet.model.journal import JournalRow
from fleet.model.sheets import Sheet

MATCH_SAID = "match-said"
"""What the journal calls a person's word on a match."""


@dataclass(frozen=True, slots=True)
class MatchKey:
    """What a match is known for."""

    hardware_revision: str
    module_type: str
    module_firmware: str
    version: str

    def __str__(self) -> str:
        """Say it for a person."""
        firmware = self.module_firmware or "not known"
        return (
            f"{self.version} on hardware {self.hardware_revision} "
            f"with a {self.module_type} module, its firmware {firmware}"
        )


@dataclass(frozen=True, slots=True)
class MatchSaid:
    """A person's word on a match.

    Attributes:
        key: of which build and units.
        match: allowed, blocked, or unknown again.
        by, why: who said so, and for what reason.
        at: when.
    """

    key: MatchKey
    match: MatchWord
    by: str
    why: str
    at: datetime


class Ground(StrEnum):
    """On what grounds a match is known."""

    PLAN = "the plan"
    PERSON = "a person's word"
    MAKER = "its maker tried it"
    NOBODY = "nobody has vouched for it"


@dataclass(frozen=True, slots=True)
class KnownMatch:
    """What is known of a match.

    Attributes:
        match: allowed, blocked or unknown.
        ground: who says so.
        because: the same in words, with the person's reason where a person spoke.
    """

    match: MatchWord
    ground: Ground
    because: str


UNKNOWN = KnownMatch(MatchWord.UNKNOWN, Ground.NOBODY, Ground.NOBODY.value)


def key_for(sheet: Sheet, version: str) -> MatchKey:
    """Return what the match of a version with a unit is known for, from the unit's sheet."""
    return MatchKey(
        str(sheet.get("hardware.revision", "")),
        str(sheet.get("module.type", "")),
        str(sheet.get("module.firmware", "")),
        version,
    )


def known_match(
    key: MatchKey,
    image: Image | None,
    matches: Iterable[Match],
    said: Mapping[MatchKey, MatchSaid],
) -> KnownMatch:
    """Return what is known of a match.

    Args:
        key: of which build and units.
        image: the build on a shelf; None where it lies on none.
        matches: what the plan knows.
        said: the last word on each key, as `said_in` gives it.
    """
    if not (key.hardware_revision and key.module_type and key.module_firmware):
        return UNKNOWN
    planned = match_of(
        key.hardware_revision, key.module_type, key.module_firmware, key.version, matches
    )
    if planned is MatchWord.BLOCKED:
        return KnownMatch(planned, Ground.PLAN, "the plan blocks it")
    if key in said:
        word = said[key]
        because = f"{word.by} said so on {word.at:%Y-%m-%d}: {word.why}"
        return KnownMatch(word.match, Ground.PERSON, because)
    if planned is MatchWord.ALLOWED:
        return KnownMatch(planned, Ground.PLAN, "the plan allows it")
    if image is not None and _tried(image, key):
        return KnownMatch(MatchWord.ALLOWED, Ground.MAKER, Ground.MAKER.value)
    return UNKNOWN


def matches_with(matches: Iterable[Match], said: Mapping[MatchKey, MatchSaid]) -> tuple[Match, ...]:
    """Return what the plan and people know together; of several that speak of a key, the first counts."""
    known = tuple(matches)
    blocked = (match for match in known if match.match is MatchWord.BLOCKED)
    words = (
        Match(
            key.hardware_revision,
            ModuleType(key.module_type),
            key.module_firmware,
            key.version,
            word.match,
        )
        for key, word in said.items()
        if key.module_type in set(ModuleType)
    )
    return (*blocked, *words, *known)


def said_in(rows: Iterable[JournalRow]) -> dict[MatchKey, MatchSaid]:
    """Return the last word on each key, from rows of the journal, oldest first."""
    words = (_said_of(row) for row in rows if row.what == MATCH_SAID)
    return {word.key: word for word in words}


def detail_of(key: MatchKey, match: MatchWord, *, by: str, why: str) -> dict[str, str]:
    """Return the detail of the journal's row for a person's word."""
    return {
        "hardware_revision": key.hardware_revision,
        "module_type": key.module_type,
        "module_firmware": key.module_firmware,
        "version": key.version,
        "match": match.value,
        "by": by,
        "why": why,
    }


def _said_of(row: JournalRow) -> MatchSaid:
    names = ("hardware_revision", "module_type", "module_firmware", "version")
    key = MatchKey(*(str(row.detail[name]) for name in names))
    match = MatchWord(row.detail["match"])
    return MatchSaid(key, match, str(row.detail["by"]), str(row.detail["why"]), row.at)


def _tried(image: Image, key: MatchKey) -> bool:
    return (
        image.version == key.version
        and key.hardware_revision in image.hardware_revisions
        and key.module_type in image.module_types
        and key.module_firmware in image.module_firmwares
    )
