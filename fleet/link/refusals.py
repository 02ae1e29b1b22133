"""Units that keep us out: the error that says so, and what was refused at this visit."""

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass

from fleet.model.credentials import Credential
from fleet.model.errors import UnitError


class LockedError(UnitError):
    """A unit lets nobody do this without a secret, or refused the one that it was given.

    Attributes:
        key: what a secret for it has to be kept under.
        kinds: the ways in that it offers and that can be served: basic, digest, bearer, apikey.
        refused: a secret was given and the unit refused it.
        kept_under: where one is kept for it that isn't sent to this address unasked; "" for none.
        keys: all that a secret for it may be kept under.
    """

    def __init__(
        self,
        what: str,
        *,
        subject: str,
        key: str,
        kinds: tuple[str, ...],
        refused: bool,
        kept_under: str = "",
        keys: tuple[str, ...] = (),
    ) -> None:
        """Word it; `what` says what happened."""
        self.key, self.kinds, self.refused = key, kinds, refused
        self.kept_under, self.keys = kept_under, keys or (key,)
        super().__init__(
            what,
            subject=subject,
            stands="It isn't tried again by itself." if refused else "",
            next_step=_next_step(key, refused=refused, kept_under=kept_under),
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


def _next_step(key: str, *, refused: bool, kept_under: str) -> str:
    if refused:
        return f"Type another one; it is kept for {key} (`walkdown secret keep`)."
    if kept_under:
        return (
            "Make sure that it is the unit: have it show itself, or read its label. Then send the kept one "
            f"there, or type it; it is kept for {key} (`walkdown secret send` and `keep`)."
        )
    return f"Type it, and the unit is met again; it is kept for {key} (`walkdown secret keep`)."
