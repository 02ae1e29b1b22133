"""How units are met on a network: interfaces, addresses added by hand, expected against found."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class Interface:
    """A way of this machine onto a network.

    Attributes:
        name: what the system calls it, for example "eth0".
        address: the address that units are listened for on; an IPv6 link-local one carries its scope.
        network: the network behind it, for example "192.0.2.0/24".
        loopback: it leads to this machine alone.
    """

    name: str
    address: str
    network: str
    loopback: bool = False


class Meeting(StrEnum):
    """How far a unit of the schedule, or one that nobody scheduled, was met at this visit."""

    MET = "met"
    LOCKED = "wants a password"
    HEARD = "heard, not read"
    GONE = "gone"
    NOT_HEARD = "not heard"
    UNEXPECTED = "not on the schedule"
    DOUBLE = "says another unit's serial"


@dataclass(frozen=True, slots=True)
class Expected:
    """One line of the list expected against found.

    Attributes:
        label, room: of the schedule; "" for a unit that isn't on it.
        serial: "" where none is known.
        address: where it was met or heard, "" for nowhere.
        state: how far it was met.
        said: a sentence where there is something to say.
    """

    label: str
    room: str
    serial: str
    address: str
    state: Meeting
    said: str = ""


@dataclass(frozen=True, slots=True)
class LockedUnit:
    """A unit that lets nobody read it without a secret.

    Attributes:
        key: what the secret has to be kept under: the unit's id, or the origin of its address where the
            secret could be read on the way there.
        address: where the unit's description lies.
        title: what it calls itself.
        kinds: the ways in that its description offers and that can be served: basic, digest, bearer,
            apikey.
        refused: a secret was given and the unit refused it.
        kept_under: the id that one is kept under which isn't sent to this address unasked; "" for none.
    """

    key: str
    address: str
    title: str
    kinds: tuple[str, ...]
    refused: bool = False
    kept_under: str = ""


@dataclass(frozen=True, slots=True)
class ChangedCertificate:
    """A unit, or a broker, that shows another certificate than the one trusted, or none any more.

    Attributes:
        key: what the trusted one is kept under; the new one is accepted by it.
        address: where it was met.
        known, shown: fingerprints, hex: trusted until now, shown now ("" for none).
        said: the same in sentences: what stands, what to do next.
    """

    key: str
    address: str
    known: str
    shown: str
    said: str


@dataclass(frozen=True, slots=True)
class AddressResult:
    """What came of one line of a pasted list of addresses: a serial, or what was wrong in words."""

    line: str
    serial: str = ""
    said: str = ""


class Obstacle(StrEnum):
    """Why no unit is heard, as far as it can be told by trying."""

    NO_NETWORK = "this machine is on no network"
    WRONG_INTERFACE = "the units are behind another interface"
    OWN_FIREWALL = "this machine's firewall drops what units say"
    MULTICAST_BLOCKED = "the network doesn't pass multicast on"
    ISOLATED = "the network keeps its guests apart"
    NO_UNITS = "the network works, and no unit says anything on it"
    NONE = "units are heard"


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """Why nothing is heard, by test.

    Attributes:
        obstacle: which of the causes.
        reason: a sentence with the figures that show it.
        next_step: what to do.
        tried: what was tried and what came of it, a line each.
    """

    obstacle: Obstacle
    reason: str
    next_step: str
    tried: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pin:
    """A certificate that was trusted on first use.

    Attributes:
        key: whose: the description's id, or its origin where it has none.
        sha256: of the certificate in DER, hex.
        first_seen_at: house time UTC.
    """

    key: str
    sha256: str
    first_seen_at: datetime
