"""Fingerprints of certificates, in groups that two people can read to each other."""

import re
from dataclasses import dataclass

from fleet.description.origins import origin_of
from fleet.model.snapshot import HouseState

_DIGEST = re.compile(r"(?<![0-9A-Fa-f])(?:[0-9A-Fa-f]{2}[: ]?){31}[0-9A-Fa-f]{2}(?![0-9A-Fa-f])")
_ADDRESS = re.compile(r"(?:https?|mqtts?|wss?)://[^\s\"'<>“”]+")
_GROUP, _GROUPS_A_LINE = 4, 4
NONE_SHOWN = "None: it speaks without one now."


@dataclass(frozen=True, slots=True)
class ChangedCertificate:
    """A trouble that says a unit shows another certificate than the one trusted.

    Attributes:
        key: what the trusted one is kept under, "" where the trouble doesn't say.
        text: the trouble.
    """

    key: str
    text: str


def grouped(sha256: str) -> str:
    """Return a digest in groups of four signs, four groups a line, in capitals."""
    signs = re.sub(r"[^0-9A-Fa-f]", "", sha256).upper()
    groups = [signs[at : at + _GROUP] for at in range(0, len(signs), _GROUP)]
    lines = [groups[at : at + _GROUPS_A_LINE] for at in range(0, len(groups), _GROUPS_A_LINE)]
    return "\n".join(" ".join(line) for line in lines)


def fingerprints_in(text: str) -> tuple[str, ...]:
    """Return the SHA-256 digests that a text names, in its order, each once."""
    found = [re.sub(r"[: ]", "", each).lower() for each in _DIGEST.findall(text)]
    return tuple(dict.fromkeys(found))


def without_fingerprints(text: str) -> str:
    """Return a text whose digests are cut to their first group: they stand beside it in full."""
    cut = _DIGEST.sub(lambda found: f"{grouped(found.group())[:_GROUP]}…", text)
    return cut.replace("….", "…")


def changed_certificates(house: HouseState) -> tuple[ChangedCertificate, ...]:
    """Return the troubles that name a certificate: the one trusted, and the one shown now if any is."""
    addresses = {line.said: line.address for line in house.expected}
    return tuple(
        found
        for text in house.troubles
        if (found := changed_certificate(text, addresses.get(text, ""))) is not None
    )


def changed_certificate(text: str, address: str = "") -> ChangedCertificate | None:
    """Return what a trouble says of a certificate, or None where it says nothing of one.

    Args:
        text: the trouble.
        address: where the unit is; "" for the first address that the trouble names.
    """
    if not fingerprints_in(text):
        return None
    named = _ADDRESS.search(text)
    where = address or (named.group().rstrip(".,:;)") if named else "")
    return ChangedCertificate(_key_of(where), text)


def _key_of(address: str) -> str:
    """A certificate is kept under the unit's origin as well as under its id."""
    try:
        return origin_of(address)
    except ValueError:
        return ""
