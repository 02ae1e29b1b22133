"""The order of builds: where the one that a unit runs stands against the approved one, and why.

Looked for in this order (the sixth is `fleet.jobs.drift`'s to say):

1. *Unknown build*: it was never read, or doesn't say its build.
2. *Wrong hardware*: its hardware or its module isn't the one that was planned; that is settled first,
   for another build is for it.
3. *Nothing approved* for its hardware and module.
4. *Behind*, *current* or *ahead*, by the approved build's own list of versions before it; else by the
   manifest's sequence, which orders builds of one class; else by the order of versions, where both are
   written by Semantic Versioning. How many builds behind is counted in that list, or among images of a
   shelf; where neither knows, it is behind by a number that isn't known.
5. *Unknown build* again: nothing of that orders it, or it goes by the approved version and is another
   image.
6. *Support ended*: it runs what it should, and its maker mends that no more. A unit that is behind stays
   behind, with the end of support among its reasons.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from fleet.jobs.builds import listed_behind
from fleet.jobs.install_rules import fits, runs
from fleet.jobs.versions import compared
from fleet.model.all_sites import SiteUnit
from fleet.model.firmware import Image
from fleet.model.house import ApprovedBuild
from fleet.model.sheets import Sheet


class DriftWord(StrEnum):
    """How a unit's build stands."""

    CURRENT = "current"
    BEHIND = "behind"
    AHEAD = "ahead"
    UNKNOWN_BUILD = "unknown build"
    WRONG_HARDWARE = "wrong hardware"
    SUPPORT_ENDED = "support ended"
    NOTHING_APPROVED = "nothing approved"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a build stands in the order of builds.

    Attributes:
        word: how it stands.
        reason: why, in words.
        behind: how many builds behind; None where it isn't behind, or by how many isn't known.
    """

    word: DriftWord
    reason: str
    behind: int | None = None


def place_of(unit: SiteUnit, approved: ApprovedBuild | None, images: Sequence[Image]) -> Place:
    """Say where a unit's build stands.

    Args:
        unit: as it was read last.
        approved: the build for the hardware and module that it answers with; None where there is none.
        images: of the shelves at hand, to count builds between two.
    """
    version = _text(unit.found, "build.version")
    if unit.read_at is None:
        return Place(DriftWord.UNKNOWN_BUILD, "it was never read")
    if not version:
        return Place(DriftWord.UNKNOWN_BUILD, "it doesn't say which build it runs")
    if wrong := _wrong_hardware(unit):
        return Place(DriftWord.WRONG_HARDWARE, wrong)
    if approved is None:
        return Place(DriftWord.NOTHING_APPROVED, _nothing_approved(unit))
    return _in_list(unit.found, version, approved) or _ordered(
        unit.found, version, approved, images
    )


def _wrong_hardware(unit: SiteUnit) -> str:
    revision = _text(unit.found, "hardware.revision")
    module = _text(unit.found, "module.type")
    if revision and unit.hardware_revision and revision != unit.hardware_revision:
        return f"answers as hardware {revision}, and {unit.hardware_revision} was planned"
    if module and module != unit.module_type:
        return f"answers as a {module} module, and a {unit.module_type} one was planned"
    return ""


def _nothing_approved(unit: SiteUnit) -> str:
    revision = _text(unit.found, "hardware.revision") or "not known"
    module = _text(unit.found, "module.type") or "not known"
    return f"no build is approved for hardware {revision} with a module {module}"


def _in_list(found: Sheet, version: str, approved: ApprovedBuild) -> Place | None:
    """Look a version up among the approved one and those before it."""
    behind = listed_behind(version, approved)
    if behind is None:
        return None
    if behind:
        return _behind(version, approved, behind)
    digest, approved_digest = _text(found, "build.image_digest"), approved.image_digest
    if digest and approved_digest and digest.lower() != approved_digest.lower():
        reason = f"calls itself {version}, and its image is not the approved one"
        return Place(DriftWord.UNKNOWN_BUILD, reason)
    return Place(DriftWord.CURRENT, f"runs the approved {version}")


def _ordered(found: Sheet, version: str, approved: ApprovedBuild, images: Sequence[Image]) -> Place:
    """Order a version that no list knows: by sequence, else by the order of versions."""
    sequence = found.get("build.sequence")
    if isinstance(sequence, int) and not isinstance(sequence, bool):
        order: int | None = (sequence > approved.sequence) - (sequence < approved.sequence)
        by = f"by its sequence {sequence} against {approved.sequence}"
    else:
        order, by = compared(version, approved.version), "by the order of versions"
    if order == 1:
        return Place(
            DriftWord.AHEAD, f"runs {version}, ahead of the approved {approved.version} {by}"
        )
    if order == -1:
        return _behind(version, approved, _counted(found, approved, images))
    reason = f"runs {version}, and nothing orders that against the approved {approved.version}"
    return Place(DriftWord.UNKNOWN_BUILD, reason)


def _behind(version: str, approved: ApprovedBuild, behind: int | None) -> Place:
    if behind is None:
        count = "by how many builds isn't known"
    else:
        count = f"{behind} build{'' if behind == 1 else 's'}"
    reason = f"runs {version}, behind the approved {approved.version}: {count}"
    return Place(DriftWord.BEHIND, reason, behind)


def _counted(found: Sheet, approved: ApprovedBuild, images: Sequence[Image]) -> int | None:
    """Count the builds after the unit's up to the approved one, where a shelf holds both."""
    own = [image for image in images if fits(image, found)]
    running = next((image for image in own if runs(image, found)), None)
    if running is None or not any(image.sequence == approved.sequence for image in own):
        return None
    between = {
        image.sequence
        for image in own
        if image.class_id == running.class_id
        and running.sequence < image.sequence <= approved.sequence
    }
    return len(between) or None


def _text(sheet: Sheet, key: str) -> str:
    return str(sheet.get(key, ""))
