"""Certificates of units, trusted on first use.

A unit's certificate is signed by nobody we know, so it is taken as it is when the unit is first met, and
kept. From then on the same must be shown; another is shouted about, and only a person lets it in.

1. A certificate is kept under the description's id and under its origin. The id speaks first: a unit that
   got another address shows the certificate that its id is known by.
2. No secret goes out before the certificate was held against what is kept.
3. A unit that was met with a certificate and now speaks without one is refused likewise.
4. What a person accepts is what was shown (a certificate, or none), not whichever comes next.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Protocol

from fleet.model.clock import Clock, to_rfc3339
from fleet.model.errors import LinkError, PlanError
from fleet.model.meeting import Pin

_UNKNOWN = datetime(1970, 1, 1, tzinfo=UTC)  # no clock was at hand
_GROUP = 4


class PinBook(Protocol):
    """Where certificates are kept."""

    def pin_for(self, key: str) -> Pin | None:
        """Return what is kept under a key, or None."""

    def keep(self, pin: Pin) -> None:
        """Keep a pin in place of what stood under its key."""


class CertificateChangedError(LinkError):
    """A unit shows another certificate than it is known by, or none any more.

    Attributes:
        key: what the certificate is kept under; what a person accepts the new one by.
        known: fingerprint that it is known by, hex.
        shown: fingerprint that it shows now, hex; "" for none.
    """

    def __init__(self, pin: Pin, shown: str, subject: str) -> None:
        """Word it."""
        self.key, self.known, self.shown = pin.key, pin.sha256, shown
        since = "" if pin.first_seen_at == _UNKNOWN else f" since {to_rfc3339(pin.first_seen_at)}"
        now = f"IT SHOWS ANOTHER: {in_groups(shown)}" if shown else "IT SHOWS NONE ANY MORE"
        super().__init__(
            f"THIS MAY BE ANOTHER UNIT. It is known by the certificate"
            f" {in_groups(pin.sha256)}{since}. {now}.",
            subject=subject,
            stands="Nothing was sent to it, no password either.",
            next_step="Find out at the unit whether it was reset or replaced; only then accept it.",
        )


@dataclass(frozen=True, slots=True)
class _Shown:
    """A certificate that was refused, and all that it would be kept under."""

    sha256: str
    keys: tuple[str, ...]


class VisitPins:
    """Certificates kept for this visit alone."""

    def __init__(self) -> None:
        """Start with none."""
        self._pins: dict[str, Pin] = {}

    def pin_for(self, key: str) -> Pin | None:
        """Return what is kept under a key, or None."""
        return self._pins.get(key)

    def keep(self, pin: Pin) -> None:
        """Keep a pin in place of what stood under its key."""
        self._pins[pin.key] = pin


class Pinning:
    """Holds certificates against what is kept, and keeps those that are new."""

    def __init__(self, book: PinBook, clock: Clock | None = None) -> None:
        """Hold against a book; without a clock a new pin has no date."""
        self._book = book
        self._clock = clock
        self._shown: dict[str, _Shown] = {}

    def hold(self, keys: Sequence[str], sha256: str, subject: str) -> Pin:
        """Hold a certificate against what is kept under these keys, the one that speaks first leading.

        Args:
            keys: the description's id, if it has one, and its origin.
            sha256: of the certificate shown, hex.
            subject: the unit, for the error.

        Returns:
            What is kept now.

        Raises:
            CertificateChangedError: another one is known.
        """
        known = next((pin for key in keys if (pin := self._book.pin_for(key)) and pin.sha256), None)
        if known is None:
            return self._keep(keys, sha256)
        if known.sha256 == sha256:
            self._keep_elsewhere(keys, known)
            return known
        raise self.changed(known, sha256, subject, keys)

    def hold_plain(self, keys: Sequence[str], subject: str) -> None:
        """Hold a unit that shows no certificate against what is kept.

        Raises:
            CertificateChangedError: it is known by one.
        """
        for key in keys:
            pin = self._book.pin_for(key)
            if pin is not None and pin.sha256:
                raise self.changed(pin, "", subject, keys)

    def changed(
        self, pin: Pin, sha256: str, subject: str, keys: Sequence[str] = ()
    ) -> CertificateChangedError:
        """Return the error for a certificate that isn't the known one, and remember what was shown."""
        shown = _Shown(sha256, tuple(dict.fromkeys((pin.key, *keys))))
        self._shown.update(dict.fromkeys(shown.keys, shown))
        return CertificateChangedError(pin, sha256, subject)

    def accept(self, key: str) -> None:
        """Keep the certificate that was refused under a key: a person's act.

        Raises:
            PlanError: none was refused there at this visit.
        """
        shown = self._shown.pop(key, None)
        if shown is None:
            raise PlanError(
                "no changed certificate was shown there at this visit.",
                subject=key,
                stands="Nothing was accepted.",
                next_step="Meet the unit again.",
            )
        self._keep(shown.keys, shown.sha256)

    def _keep(self, keys: Sequence[str], sha256: str) -> Pin:
        now = self._clock.now() if self._clock else _UNKNOWN
        pins = [Pin(key, sha256, now) for key in keys]
        for pin in pins:
            self._book.keep(pin)
        return pins[0]

    def _keep_elsewhere(self, keys: Sequence[str], known: Pin) -> None:
        for key in keys:
            kept = self._book.pin_for(key)
            if kept is None or kept.sha256 != known.sha256:
                self._book.keep(Pin(key, known.sha256, known.first_seen_at))


def in_groups(sha256: str) -> str:
    """Return a fingerprint in groups of four, so that two can be compared aloud."""
    return " ".join(sha256[start : start + _GROUP] for start in range(0, len(sha256), _GROUP))
