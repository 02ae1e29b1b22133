"""Digest passwords, RFC 7616: the answer to a challenge, computed without input or output.

The client library has a middleware for this; ours is here because that one reads the first challenge
only (units that offer basic beside digest were never let in) and tries a refused password a second
time whenever the nonce changed, which brings a unit closer to locking itself.

1. Of several digest challenges the first that can be answered counts (§3.7).
2. SHA-256 and MD5, plain and -sess; `auth` where it is offered, `auth-int` where only that is, and the
   old form without qop (RFC 2617) where there is none.
"""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from fleet.link.challenges import Challenge
from fleet.model.credentials import Credential

_HASHES: Mapping[str, Callable[[bytes], str]] = {
    # MD5 is what older units speak; the description's reader says that it is weak.
    "md5": lambda data: hashlib.md5(data, usedforsecurity=False).hexdigest(),
    "sha-256": lambda data: hashlib.sha256(data).hexdigest(),
}
_SESSION = "-sess"


@dataclass(frozen=True, slots=True)
class Sent:
    """What of a request goes into the answer: its method, its path with query, and its body."""

    method: str
    target: str
    body: bytes = b""


def answerable(challenges: Sequence[Challenge]) -> Challenge | None:
    """Return the first digest challenge that can be answered, or None."""
    return next((one for one in challenges if one.kind == "digest" and _sound(one)), None)


def digest_answer(
    challenge: Challenge, credential: Credential, sent: Sent, *, count: int, client_nonce: str
) -> str:
    """Return the value of the Authorization header.

    Args:
        challenge: one that `answerable` returned.
        credential: name and password.
        sent: the request.
        count: how many requests were sent with this nonce, this one included.
        client_nonce: random text of ours.
    """
    said, quality = challenge.parameters, _quality(challenge)
    written = said.get("algorithm", "MD5")
    hashed = _HASHES[written.lower().removesuffix(_SESSION)]
    secret = hashed(f"{credential.user}:{said['realm']}:{credential.secret}".encode())
    if written.lower().endswith(_SESSION):
        secret = hashed(f"{secret}:{said['nonce']}:{client_nonce}".encode())
    asked = f"{sent.method}:{sent.target}"
    if quality == "auth-int":
        asked += ":" + hashed(sent.body)
    times = f"{count:08x}"
    middle = f"{times}:{client_nonce}:{quality}:" if quality else ""
    response = hashed(f"{secret}:{said['nonce']}:{middle}{hashed(asked.encode())}".encode())
    parts = {
        "username": _quoted(credential.user),
        "realm": _quoted(said["realm"]),
        "nonce": _quoted(said["nonce"]),
        "uri": _quoted(sent.target),
        "response": _quoted(response),
        "algorithm": written,
    }
    if "opaque" in said:
        parts["opaque"] = _quoted(said["opaque"])
    if quality:
        parts |= {"qop": quality, "nc": times, "cnonce": _quoted(client_nonce)}
    return "Digest " + ", ".join(f"{name}={value}" for name, value in parts.items())


def _sound(challenge: Challenge) -> bool:
    said = challenge.parameters
    known = said.get("algorithm", "MD5").lower().removesuffix(_SESSION) in _HASHES
    spoken = "qop" not in said or bool(_quality(challenge))
    printable = all(value.isprintable() for value in said.values())
    return known and spoken and printable and bool(said.get("nonce")) and "realm" in said


def _quality(challenge: Challenge) -> str:
    offered = [word.strip().lower() for word in challenge.parameters.get("qop", "").split(",")]
    return next((word for word in ("auth", "auth-int") if word in offered), "")


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
