"""Units that keep us out: the error that says so, and what was refused at this visit."""

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass

from fleet.model.credentials import Credential
from fleet.model.errors import UnitError


class LockedError(UnitError):
    """A unit lets nobody do this without a secret, or refused the one that it was given.

    Attributes:
        key: what a secret for it is kept under.
        kinds: the ways in that it offers and that can be served: basic, digest, bearer, apikey.
        refused: a secret was given and the unit refused it.
    """

    def __init__(
        self, what: str, *, subject: str, key: str, kinds: tuple[str, ...], refused: bool
    ) -> None:
        """Word it; `what` says what happened."""
        self.key, self.kinds, self.refused = key, kinds, refused
        super().__init__(
            what,
            subject=subject,
            stands="It isn't tried again by itself." if refused else "",
            next_step="Type another one." if refused else "Type it, and the unit is met again.",
        )


@dataclass(frozen=True, slots=True)
class _Refusal:
    """A secret that a unit refused; `request` names the one that it doesn't do, "" is all of them."""

    keys: frozenset[str]
    credential: Credential
    request: str


class Refusals:
    """Secrets that units refused at this visit, and units that locked themselves."""

    def __init__(self) -> None:
        """Start with none."""
        self._refused: list[_Refusal] = []
        self._locks: list[frozenset[str]] = []

    def forget(self, key: str) -> None:
        """Let the secret under a key be tried again: a person's act."""
        self._refused = [one for one in self._refused if key not in one.keys]
        self._locks = [keys for keys in self._locks if key not in keys]

    def refuse(self, keys: Sequence[str], credential: Credential, request: str = "") -> None:
        """Remember that a secret was refused, for everything or for one request."""
        if not self.is_refused(keys, credential, request):
            self._refused.append(_Refusal(frozenset(keys), credential, request))

    def is_refused(self, keys: Sequence[str], credential: Credential, request: str = "") -> bool:
        """Say whether this very secret was refused, for everything or for this request."""
        return any(
            one.credential == credential
            and one.request in {"", request}
            and not one.keys.isdisjoint(keys)
            for one in self._refused
        )

    def lock(self, keys: Sequence[str], seconds: int) -> None:
        """Remember for so long that a unit is locked."""
        locked = frozenset(keys)
        self._locks.append(locked)
        asyncio.get_running_loop().call_later(seconds, self._unlock, locked)

    def is_locked(self, keys: Sequence[str]) -> bool:
        """Say whether a unit is locked now."""
        return any(not locked.isdisjoint(keys) for locked in self._locks)

    def _unlock(self, locked: frozenset[str]) -> None:
        self._locks = [keys for keys in self._locks if keys is not locked]
