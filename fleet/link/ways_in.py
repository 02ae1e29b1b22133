"""The ways into a unit: which can be served, where a secret goes, and how to say it.

A description is a stranger's: it may name the header, query parameter or cookie of a key, but none that
steers the exchange itself.
"""

import base64
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from urllib.parse import quote, urlsplit

from fleet.description.requests import Request
from fleet.description.security import SecurityOption, SecurityScheme
from fleet.description.texts import plain_text
from fleet.model.credentials import Credential
from fleet.model.errors import PlanError

WITH_NAME = frozenset({"basic", "digest"})
_WITHOUT_NAME = frozenset({"bearer", "apikey"})
_OPEN = frozenset({"nosec", "auto"})
_NAME = re.compile(r"[!#$%&'*+.^_`|~0-9A-Za-z-]{1,64}")
_COOKIE = re.compile(r"[\x21\x23-\x2b\x2d-\x3a\x3c-\x5b\x5d-\x7e]*")  # RFC 6265 §4.1.1
_STEERING = frozenset(
    [
        *("host", "connection", "content-length", "content-type", "content-encoding", "te"),
        *("transfer-encoding", "upgrade", "trailer", "expect", "accept", "accept-encoding"),
        *("cookie", "if-match", "last-event-id", "range"),
    ]
)
_WORDS: Mapping[str, str] = {
    "basic": "password",
    "digest": "digest password",
    "bearer": "token",
    "apikey": "key",
}


def closed_schemes(option: SecurityOption) -> tuple[SecurityScheme, ...]:
    """Return the schemes of an option that ask for a secret."""
    return tuple(scheme for scheme in option if scheme.kind not in _OPEN)


def secret_kinds(options: Sequence[SecurityOption]) -> tuple[str, ...]:
    """Return the kinds of secret that the options which can be served ask for, each once."""
    served = [closed_schemes(option) for option in options if is_served(option)]
    return tuple(dict.fromkeys(scheme.kind for schemes in served for scheme in schemes))


def is_served(option: SecurityOption) -> bool:
    """Say whether all of an option's schemes can be served here."""
    return all(_is_served(scheme) for scheme in closed_schemes(option))


def unfitness(option: SecurityOption, credential: Credential | None) -> int:
    """Rank an option by what is kept: 0 fits, 1 would do, 2 can't be."""
    return max((kind_unfitness(one.kind, credential) for one in closed_schemes(option)), default=0)


def kind_unfitness(kind: str, credential: Credential | None) -> int:
    """Rank one kind of secret likewise: a name goes with a password, not with a token or a key."""
    if credential is None:
        return 2
    return int(bool(credential.user) != (kind in WITH_NAME))


def with_secret(
    request: Request, credential: Credential, scheme: SecurityScheme, subject: str
) -> Request:
    """Return a request with a password, a token or a key in it; digest is another module's.

    Raises:
        PlanError: the secret has characters that can't go there.
    """
    hold_sendable(credential, subject)
    if scheme.kind == "basic":
        pair = f"{credential.user}:{credential.secret}".encode()
        return with_header(request, "Authorization", "Basic " + base64.b64encode(pair).decode())
    if scheme.where == "header":
        bearer = scheme.kind == "bearer"
        name = scheme.parameter or "Authorization"
        return with_header(request, name, "Bearer " * bearer + credential.secret)
    if scheme.where == "cookie":
        if not _COOKIE.fullmatch(credential.secret):
            raise _unsendable(subject)
        return with_header(request, "Cookie", f"{scheme.parameter}={credential.secret}")
    joint = "&" if urlsplit(request.url).query else "?"
    pair_sent = f"{quote(scheme.parameter, safe='')}={quote(credential.secret, safe='')}"
    return replace(request, url=f"{request.url}{joint}{pair_sent}")


def with_header(request: Request, name: str, value: str) -> Request:
    """Return a request with one more header."""
    return replace(request, headers={**request.headers, name: value})


def hold_sendable(credential: Credential, subject: str) -> None:
    """Refuse a secret that would end a header, and a name that would end within the password.

    Raises:
        PlanError: that is so.
    """
    if not (credential.secret + credential.user).isprintable() or ":" in credential.user:
        raise _unsendable(subject)


def way_in(options: Sequence[SecurityOption], *, secure: bool) -> str:
    """Return how a unit lets people in, in words: "open", "password over http", "token over https"."""
    closed = [closed_schemes(option) for option in options if option]
    if not closed or not all(closed):
        return "open"
    served = [schemes for schemes in closed if is_served(schemes)]
    kinds = dict.fromkeys(scheme.kind for scheme in (served or closed)[0])
    words = " and ".join(_WORDS.get(kind, plain_text(kind)) for kind in kinds)
    return f"{words} over {'https' if secure else 'http'}"


def _is_served(scheme: SecurityScheme) -> bool:
    if scheme.kind not in _WITHOUT_NAME:
        return scheme.kind in WITH_NAME
    named = bool(_NAME.fullmatch(scheme.parameter))
    if scheme.where == "header":
        bare = scheme.kind == "bearer" and not scheme.parameter
        return bare or (named and scheme.parameter.lower() not in _STEERING)
    return named and scheme.where in {"query", "cookie"}


def _unsendable(subject: str) -> PlanError:
    return PlanError(
        "what is kept for it has characters that can't be sent in the way it asks for.",
        subject=subject,
        stands="Nothing was sent.",
        next_step="Type it again.",
    )
