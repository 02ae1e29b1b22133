"""What goes wrong at a broker, in words for a person.

A broker stands between us and the unit: that it answers says nothing of the unit behind it, and that it
took a message doesn't say that the unit did. The sentences keep the two apart.
"""

from collections.abc import Callable

from fleet.link.mqtt_client import Version
from fleet.link.pinning import CertificateChangedError
from fleet.link.refusals import LockedError
from fleet.model.errors import LinkError, PlanError, UnitError, WalkdownError

Trouble = Callable[[str], WalkdownError]
"""Why a broker can't be used; called with the subject, it makes a fresh error for each who asked."""

VERSION_WORDS = {Version.V5: "MQTT 5", Version.V311: "MQTT 3.1.1"}

_DOUBT = "What was published may or may not have come to the unit."
_KIB = 1024
# Reasons of a CONNACK: those of MQTT 3.1.1 §3.2.2.3 below 6, those of MQTT 5.0 §3.2.2.2 from 0x80 on.
_WRONG_VERSION = frozenset({1, 0x84})
_WRONG_SECRET = frozenset({4, 5, 0x86, 0x87, 0x8C})
_REASONS = {
    2: "it doesn't take our name for the connection",
    3: "it serves nobody at present",
    0x85: "it doesn't take our name for the connection",
    0x88: "it serves nobody at present",
    0x89: "it is busy",
    0x8A: "it has banned us",
    0x95: "it finds our packets too large",
    0x97: "it has no room for us",
    0x9C: "it sends us to another broker, where nobody sent us",
    0x9D: "it sends us to another broker, where nobody sent us",
    0x9F: "we came too often",
}


def is_wrong_version(code: int | None) -> bool:
    """Say whether a broker refused because it doesn't speak the version."""
    return code in _WRONG_VERSION


def is_wrong_secret(code: int | None) -> bool:
    """Say whether a broker refused for want of the right name and password."""
    return code in _WRONG_SECRET


def gone(origin: str, why: str) -> Trouble:
    """Word a broker that can't be reached, or is none.

    Args:
        origin: the broker.
        why: what was seen, as the end of a sentence.
    """
    return lambda subject: LinkError(
        f"its broker {origin} can't be used: {why}.",
        subject=subject,
        stands="Nothing was sent to it.",
        next_step="Check that the broker runs and that this machine is on its network.",
    )


def not_accepted(origin: str, code: int | None) -> Trouble:
    """Word a refusal that isn't about secrets."""
    if code is None:
        return gone(origin, "it broke off instead of answering")
    return gone(origin, _REASONS.get(code, f"it refused us with reason {code}"))


def locked(origin: str, *, refused: bool) -> Trouble:
    """Word a broker that wants a name and a password, or refused those that it was given."""
    what = (
        "refused this name and password"
        if refused
        else "lets nobody in without a name and a password"
    )
    return lambda subject: LockedError(
        f"its broker {origin} {what}.",
        subject=subject,
        key=origin,
        kinds=("basic",),
        refused=refused,
    )


def changed(origin: str, hold: Callable[[str], object]) -> Trouble:
    """Word a broker that shows another certificate than it is known by.

    Args:
        origin: the broker.
        hold: holds the certificate that was shown once more; called with the subject.
    """

    def error(subject: str) -> WalkdownError:
        try:
            hold(f"{subject} (its broker {origin})")
        except CertificateChangedError as known_by_another:
            return known_by_another
        return gone(origin, "its new certificate was accepted only now, so try again")(subject)

    return error


def closed(subject: str) -> LinkError:
    """Word a use after the end of the visit."""
    return LinkError(
        "the connections to brokers are closed.", subject=subject, stands="Nothing was sent."
    )


def may_not_listen(subject: str, heard: str, origin: str) -> UnitError:
    """Word a subscription that the broker refused."""
    return UnitError(
        f"its broker {origin} doesn't let us listen to {heard!r}.",
        subject=subject,
        stands="The value counts as unread.",
        next_step="Allow this name to read the topic at the broker, or give another name and password.",
    )


def may_not_publish(subject: str, topic: str, origin: str, code: int) -> UnitError:
    """Word a publication that the broker refused in its receipt (MQTT 5 alone)."""
    return UnitError(
        f"its broker {origin} refused what was published to {topic!r} (reason {code}).",
        subject=subject,
        stands="Nothing came to the unit.",
        next_step="Allow this name to write the topic at the broker, or give another name and password.",
    )


def in_doubt(subject: str, origin: str) -> LinkError:
    """Word a publication without a receipt."""
    return LinkError(
        f"its broker {origin} gave no receipt for what was published.",
        subject=subject,
        stands=_DOUBT,
        next_step="Read it again.",
    )


def not_sent(subject: str, origin: str) -> LinkError:
    """Word a publication that found the connection gone."""
    return LinkError(
        f"the connection to its broker {origin} broke before anything was published.",
        subject=subject,
        stands="Nothing was sent to it.",
        next_step="Try again.",
    )


def no_answer(subject: str, origin: str) -> LinkError:
    """Word a broker that let us in and then answers nothing."""
    return LinkError(
        f"its broker {origin} stopped answering.",
        subject=subject,
        stands="The value counts as unread.",
        next_step="Check that the broker runs, then read it again.",
    )


def silent(subject: str, heard: str, value_s: float) -> LinkError:
    """Word a unit of which the broker has nothing."""
    return LinkError(
        f"its broker answers, but keeps no value under {heard!r}, and none came within {value_s:g} s.",
        subject=subject,
        stands="The value counts as unread: a broker that answers says nothing of the unit behind it.",
        next_step="Check the unit's power and network, and that it uses this broker and topic.",
    )


def too_long(subject: str, heard: str, limit_bytes: int) -> UnitError:
    """Word a value that is too long to be read."""
    return UnitError(
        f"what it publishes under {heard!r} is longer than {limit_bytes // _KIB} KiB.",
        subject=subject,
        stands="The value was dropped.",
    )


def too_long_to_send(subject: str, topic: str, limit_bytes: int) -> PlanError:
    """Word a value that is too long to be written."""
    return PlanError(
        f"what is to be published to {topic!r} is longer than {limit_bytes // _KIB} KiB.",
        subject=subject,
        stands="Nothing was sent.",
    )


def no_topic(subject: str, why: str) -> PlanError:
    """Word a topic that is none."""
    return PlanError(
        f"it can't be reached by its broker: {why}.", subject=subject, stands="Nothing was sent."
    )
