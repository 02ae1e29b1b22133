"""Which of the secrets that are kept may be sent to one unit.

1. A secret is kept under a unit's id, its certificate, or the origin of its address. The first of them that
   has one speaks.
2. A description's id proves nothing: anybody may claim it. What is kept under it serves for a digest alone,
   which doesn't tell the password.
3. What the unit could read (a password, a token, a key) is sent where it is kept for that very origin, or,
   over https, for the very certificate that is shown: that one can't be claimed without its private key,
   and goes with the unit to another address.
4. An id that is written like an origin or a certificate is no key: whoever said it could have what is kept
   for another unit.
"""

from collections.abc import Sequence

from fleet.description.origins import origin_of
from fleet.description.security import SecurityOption
from fleet.link.ways_in import secret_kinds, unfitness
from fleet.model.credentials import Credential, CredentialSource

_CERTIFICATE = "sha-256:"


class OwnSecrets:
    """What is kept for one unit.

    Attributes:
        origin: of its address.
        id: what its description says, "" for none, or for one that is no key.
        certificate: the key of the certificate that it was held to, "" for none.
    """

    def __init__(self, source: CredentialSource | None, origin: str) -> None:
        """Know its origin, and nothing else yet."""
        self.origin, self.id, self.certificate = origin, "", ""
        self._source = source

    @property
    def keys(self) -> tuple[str, ...]:
        """All that a secret for it may be kept under: its id, its certificate, and last its origin."""
        return tuple(key for key in (self.id, *self._proven) if key)

    @property
    def _proven(self) -> tuple[str, ...]:
        return tuple(key for key in (self.certificate, self.origin) if key)

    def take_id(self, said: str) -> None:
        """Take up the id that the unit's description gives, "" for none."""
        if not proves(said):
            self.id = said

    def take_certificate(self, sha256: str) -> None:
        """Take up the certificate that the unit was held to, by its fingerprint, hex."""
        self.certificate = f"{_CERTIFICATE}{sha256}"

    def all(self) -> tuple[Credential, ...]:
        """Return all that is kept for it, whether it may be sent or not."""
        return tuple(self._kept(self.keys).values())

    def credential_for(self, kinds: Sequence[str]) -> Credential | None:
        """Return what may be sent in all of these ways (basic, digest, bearer, apikey)."""
        keys = self._proven if _are_readable(kinds) else self.keys
        return next(iter(self._kept(keys).values()), None)

    def key_for(self, kinds: Sequence[str]) -> str:
        """Return what a secret has to be kept under so that it may be sent in these ways."""
        return (self._proven if _are_readable(kinds) else self.keys)[0]

    def held_back(self, kinds: Sequence[str]) -> str:
        """Return where a secret is kept for it, if none may be sent in these ways; "" for nowhere."""
        if self.credential_for(kinds) is not None:
            return ""
        return next(iter(self._kept((self.id,) if self.id else ())), "")

    def unfitness(self, option: SecurityOption) -> int:
        """Rank a way in: 0 fits what may be sent there, 1 what is held back, more would hardly do."""
        here = self.credential_for(secret_kinds((option,)))
        anywhere = next(iter(self.all()), None)
        return min(2 * unfitness(option, here), 2 * unfitness(option, anywhere) + 1)

    def _kept(self, keys: Sequence[str]) -> dict[str, Credential]:
        """Return what is kept under these keys, in their order."""
        if self._source is None:
            return {}
        found = {key: self._source.credential_for(key) for key in keys}
        return {key: one for key, one in found.items() if one is not None}


def _are_readable(kinds: Sequence[str]) -> bool:
    """Say whether whoever is sent a secret in one of these ways has it then."""
    return bool(set(kinds) - {"digest"})


def proves(key: str) -> bool:
    """Say whether a key is an origin or a certificate: what nobody has by claiming it."""
    return is_origin(key) or key.startswith(_CERTIFICATE)


def is_origin(text: str) -> bool:
    """Say whether a text is an origin as secrets are kept under it: scheme, host and port."""
    try:
        return origin_of(text) == text
    except ValueError:
        return False
