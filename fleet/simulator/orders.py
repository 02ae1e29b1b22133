"""What an installation was asked for, how far it got, and what speaks against an image."""

from dataclasses import dataclass

from fleet.model.firmware import InstallState
from fleet.simulator.images import ImageHeader, header_of
from fleet.simulator.spool import Spool
from fleet.simulator.truth import TrueBuild, TrueUnit

DIGEST_MISMATCH = "digest-mismatch"
SIGNATURE = "signature"
INCOMPATIBLE = "incompatible"
DOWNGRADE = "downgrade"
NO_SPACE = "no-space"
FETCH = "fetch"
POWER_LOSS = "power-loss"
TIMEOUT = "timeout"
BOOT_FAILED = "boot-failed"

REASONS = {
    DIGEST_MISMATCH: "The image is not the one that was named: its size or digest differs.",
    SIGNATURE: "The image's seal doesn't fit, or it says something else of itself than the request.",
    INCOMPATIBLE: "The image is for another class of units or another board.",
    DOWNGRADE: "The image's sequence is lower than that of the image that runs.",
    NO_SPACE: "There is no room for the image.",
    FETCH: "The image didn't come, or not whole.",
    POWER_LOSS: "Power was lost, or the unit was restarted.",
    TIMEOUT: "For too long nothing came.",
    BOOT_FAILED: "The new image didn't start.",
}
"""Why an installation came to nothing, with the sentence for it."""


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be installed; "" and None where the request doesn't say.

    Attributes:
        digest: sha-256 of the whole image, hex.
        size: its octets.
        version, build_id, sequence: what it is.
        downgrade_allowed: take it though its sequence is lower.
        url: where to fetch it; "" for the staged image.
    """

    digest: str
    size: int
    version: str
    build_id: str = ""
    sequence: int | None = None
    downgrade_allowed: bool = False
    url: str = ""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far an installation got, as the unit says it.

    Attributes:
        state: the stage.
        octets_done, octets_total: of that stage; None where they say nothing.
        digest: of the image that it is about; "" while unknown.
        reason: why it came to nothing; "" while it goes on.
    """

    state: InstallState = InstallState.IDLE
    octets_done: int | None = None
    octets_total: int | None = None
    digest: str = ""
    reason: str = ""


IDLE = Progress()
"""Nothing was ever installed."""


def is_lower(sequence: int | None, order: Order, running: TrueBuild) -> bool:
    """Say whether a sequence is lower than what runs, and the request doesn't allow that."""
    if sequence is None or order.downgrade_allowed:
        return False
    return sequence < running.sequence


def reason_against(image: Spool, order: Order, truth: TrueUnit, running: TrueBuild) -> str:
    """Return why a kept image must not be installed in a unit; "" where nothing speaks against it."""
    if image.size != order.size or image.digest() != order.digest:
        return DIGEST_MISMATCH
    found = header_of(image.start())
    if found is None:
        return ""
    header, body_begin = found
    if header.seal and header.seal != image.digest(body_begin):
        return SIGNATURE
    if not _is_for(header, truth):
        return INCOMPATIBLE
    if _says_otherwise(header, order):
        return SIGNATURE
    return DOWNGRADE if is_lower(header.sequence, order, running) else ""


def build_in(image: Spool, order: Order, running: TrueBuild) -> TrueBuild:
    """Return what a unit runs once it has installed this image, which has been checked."""
    found = header_of(image.start())
    header = found[0] if found else ImageHeader(walkdown_image=1)
    said = (order.sequence, header.sequence, running.sequence)
    sequence = next(number for number in said if number is not None)
    return TrueBuild(order.version, order.build_id or header.build_id, sequence, order.digest)


def _is_for(header: ImageHeader, truth: TrueUnit) -> bool:
    if header.class_id and header.class_id != truth.class_id:
        return False
    boards = header.hardware_revisions
    return not boards or truth.hardware_revision in boards


def _says_otherwise(header: ImageHeader, order: Order) -> bool:
    said = (
        (header.version, order.version),
        (header.build_id, order.build_id),
        (header.sequence, order.sequence),
    )
    return any(one not in {"", None, other} and other not in {"", None} for one, other in said)
