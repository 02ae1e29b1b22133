"""What speaks against installing an image on a unit, found before a byte goes out.

The rules, in the order in which they are tried (RFC 9124 asks for 1 to 3 and 7; the numbers are ours):

1. The unit's vendor and class are the image's. A unit that doesn't say them is installed on by a person's
   word alone: neither plan nor manifest knows which unit it is.
2. Its hardware revision is one that the image is for.
3. Its module is one that the image goes with.
4. It doesn't run this very image already.
5. Build, hardware, module and the module's firmware aren't known not to go together.
6. They are known to go together; otherwise somebody has to say so, with a reason.
7. The image's sequence is higher than that of the build that runs. Where the unit doesn't say one, the
   order of versions decides, and where they have none, it is not known. Going back is a person's
   decision.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from fleet.jobs.matching_builds import Ground, MatchKey, MatchSaid, key_for, known_match
from fleet.jobs.versions import compared
from fleet.model.firmware import Image
from fleet.model.house import Match, MatchWord
from fleet.model.sheets import Sheet

VENDOR_KEY, CLASS_KEY = "hardware.vendor_id", "hardware.class_id"
VENDOR_SAID, CLASS_SAID = "vendor id", "class id"
"""Where readings of earlier versions of this program have them, among all else that a unit said."""


class RefusalKind(StrEnum):
    """Why an image isn't installed on a unit."""

    VENDOR = "another maker's"
    CLASS = "another class of units"
    HARDWARE = "other hardware"
    MODULE = "another module"
    SAME_BUILD = "runs it already"
    BLOCKED = "blocked"
    UNSAID = "doesn't say what it is"
    UNKNOWN = "unknown"
    SEQUENCE = "lower sequence"
    ORDER_UNKNOWN = "order not known"


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why an image isn't installed on a unit, and the same in a sentence."""

    kind: RefusalKind
    said: str


def check_install(
    image: Image,
    sheet: Sheet,
    other: Mapping[str, str],
    matches: Iterable[Match],
    said: Mapping[MatchKey, MatchSaid],
    *,
    allow_downgrade: bool = False,
) -> Refusal | None:
    """Say what speaks against installing an image on a unit; None where nothing does.

    Args:
        image: from the manifest of a shelf that was checked.
        sheet: the unit's, as found.
        other: all else that the unit said, by `Reading.other`; its ids may stand there.
        matches: what the plan knows.
        said: people's last words on matches.
        allow_downgrade: whether a person decided that an older build goes on.
    """
    ids = (_vendor(image, sheet, other), _class(image, sheet, other))
    wrong = [refusal for refusal in ids if refusal and refusal.kind is not RefusalKind.UNSAID]
    return (
        next(iter(wrong), None)
        or _hardware(image, sheet)
        or _same_build(image, sheet)
        or _match(image, sheet, matches, said, unsaid=ids[0] or ids[1])
        or (None if allow_downgrade else _order(image, sheet))
    )


def runs(image: Image, sheet: Sheet) -> bool:
    """Say whether a unit runs this very image, by its digest, or else by version and the build's name."""
    digest = str(sheet.get("build.image_digest", "")).lower()
    if digest:
        return digest == image.sha256
    build = (sheet.get("build.version"), sheet.get("build.id", ""))
    return build == (image.version, image.build_id) and _sequence(sheet) in (None, image.sequence)


def fits(image: Image, sheet: Sheet) -> bool:
    """Say whether an image is for a unit's hardware and module."""
    return _hardware(image, sheet) is None


def _vendor(image: Image, sheet: Sheet, other: Mapping[str, str]) -> Refusal | None:
    return _id_refusal(
        _id(sheet, other, VENDOR_KEY, VENDOR_SAID), image.vendor_id, RefusalKind.VENDOR, "vendor"
    )


def _class(image: Image, sheet: Sheet, other: Mapping[str, str]) -> Refusal | None:
    return _id_refusal(
        _id(sheet, other, CLASS_KEY, CLASS_SAID), image.class_id, RefusalKind.CLASS, "class"
    )


def _id(sheet: Sheet, other: Mapping[str, str], key: str, label: str) -> str:
    return str(sheet.get(key) or other.get(label, "")).strip().lower()


def _id_refusal(found: str, wanted: str, kind: RefusalKind, what: str) -> Refusal | None:
    if found == wanted.lower():
        return None
    if not found:
        said = f"the unit doesn't say its {what} id, and the image is for {wanted}"
        return Refusal(RefusalKind.UNSAID, said)
    return Refusal(kind, f"the image is for {what} {wanted}, and the unit's is {found}")


def _hardware(image: Image, sheet: Sheet) -> Refusal | None:
    revision, module = str(sheet.get("hardware.revision", "")), str(sheet.get("module.type", ""))
    if revision not in image.hardware_revisions:
        said = (
            f"the image is for hardware {' or '.join(image.hardware_revisions)}, and the unit's is "
        )
        return Refusal(RefusalKind.HARDWARE, said + (revision or "not known"))
    if module not in image.module_types:
        said = f"the image goes with a {' or '.join(image.module_types)} module, and the unit's is "
        return Refusal(RefusalKind.MODULE, said + (module or "not known"))
    return None


def _same_build(image: Image, sheet: Sheet) -> Refusal | None:
    if not runs(image, sheet):
        return None
    return Refusal(RefusalKind.SAME_BUILD, f"the unit runs {image.version} already")


def _match(
    image: Image,
    sheet: Sheet,
    matches: Iterable[Match],
    said: Mapping[MatchKey, MatchSaid],
    *,
    unsaid: Refusal | None,
) -> Refusal | None:
    key = key_for(sheet, image.version)
    known = known_match(key, image, matches, said)
    if known.match is MatchWord.BLOCKED:
        return Refusal(RefusalKind.BLOCKED, f"{key} is blocked: {known.because}")
    if known.match is MatchWord.UNKNOWN:
        sentence = f"nobody has vouched for {key}: somebody has to, with a reason"
        return Refusal(RefusalKind.UNKNOWN, sentence)
    return None if known.ground is Ground.PERSON else unsaid


def _order(image: Image, sheet: Sheet) -> Refusal | None:
    running, version = _sequence(sheet), str(sheet.get("build.version", ""))
    if running is None:
        return _order_of_versions(image, version)
    if image.sequence > running:
        return None
    if image.sequence == running:
        sentence = f"the unit runs another image of the same sequence, {running}"
    else:
        sentence = f"the image's sequence {image.sequence} is lower than the unit's, {running}"
    return Refusal(RefusalKind.SEQUENCE, f"{sentence}: going back is a person's decision")


def _order_of_versions(image: Image, version: str) -> Refusal | None:
    order = compared(image.version, version)
    if order == 1:
        return None
    if order is None:
        sentence = (
            f"whether {image.version} is newer than {version or 'what the unit runs'} isn't known"
        )
        return Refusal(RefusalKind.ORDER_UNKNOWN, f"{sentence}: a person has to decide")
    sentence = f"{image.version} is no newer than {version}: going back is a person's decision"
    return Refusal(RefusalKind.SEQUENCE, sentence)


def _sequence(sheet: Sheet) -> int | None:
    said = sheet.get("build.sequence")
    return said if isinstance(said, int) and not isinstance(said, bool) else None
