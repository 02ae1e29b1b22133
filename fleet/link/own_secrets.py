"""Which of the secrets that are kept may be sent to one unit.

1. A secret is kept under a unit's id, or under the origin of its address. The id speaks first.
2. Over plain http nothing proves an id. What could be read there (a password, a token, a key) is sent
   only where it is kept for that very origin; what is kept under an id serves for a digest, which
   doesn't tell the password, and for https.
3. An id that is written like an origin is no key: whoever said it could have what is kept for another
   address.
"""

from collections.abc import Sequence

from fleet.description.origins import origin_of, scheme_of
from fleet.description.security import SecurityOption
from fleet.link.ways_in import secret_kinds, unfitness
from fleet.model.credentials import Credential, CredentialSource

_PROVEN = frozenset({"https", "wss"})  # whoever answers there is held to a certificate


class OwnSecrets:
    """What is kept for one unit.

    Attributes:
        keys: what a secret for it may be kept under: its id, where it has said one, and last its origin.
    """

    def __init__(self, source: CredentialSource | None, origin: str) -> None:
        """Know its origin, and no id yet."""
        self.keys: tuple[str, ...] = (origin,)
        self._source = source

    def take_id(self, said: str) -> None:
        """Take up the id that the unit's description gives, "" for none."""
        if said and not is_origin(said):
            self.keys = (said, self.keys[-1])

    def all(self) -> tuple[Credential, ...]:
        """Return all that is kept for it, whether it may be sent or not."""
        return tuple(self._kept(self.keys).values())

    def credential_for(self, kinds: Sequence[str]) -> Credential | None:
        """Return what may be sent in all of these ways (basic, digest, bearer, apikey)."""
        keys = self.keys[-1:] if self._is_readable(kinds) else self.keys
        return next(iter(self._kept(keys).values()), None)

    def key_for(self, kinds: Sequence[str]) -> str:
        """Return what a secret has to be kept under so that it may be sent in these ways."""
        return self.keys[-1] if self._is_readable(kinds) else self.keys[0]

    def held_back(self, kinds: Sequence[str]) -> str:
        """Return where a secret is kept for it, if none may be sent in these ways; "" for nowhere."""
        if self.credential_for(kinds) is not None:
            return ""
        return next(iter(self._kept(self.keys[:-1])), "")

    def unfitness(self, option: SecurityOption) -> int:
        """Rank a way in: 0 fits what may be sent there, 1 what is held back, more would hardly do."""
        here = self.credential_for(secret_kinds((option,)))
        anywhere = next(iter(self.all()), None)
        return min(2 * unfitness(option, here), 2 * unfitness(option, anywhere) + 1)

    def _is_readable(self, kinds: Sequence[str]) -> bool:
        """Say whether a secret that is sent in one of these ways could be read on the way."""
        return scheme_of(self.keys[-1]) not in _PROVEN and bool(set(kinds) - {"digest"})

    def _kept(self, keys: Sequence[str]) -> dict[str, Credential]:
        """Return what is kept under these keys, in their order."""
        if self._source is None:
            return {}
        found = {key: self._source.credential_for(key) for key in keys}
        return {key: one for key, one in found.items() if one is not None}


def is_origin(text: str) -> bool:
    """Say whether a text is an origin as secrets are kept under it: scheme, host and port."""
    try:
        return origin_of(text) == text
    except ValueError:
        return False
