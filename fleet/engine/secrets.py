"""What lets us into units, at hand in the engine's loop.

Opening the store may wait for a person who types a passphrase, so it is done in a thread of its own, and
only once a unit asks for a secret. What was fetched is at hand for the rest of the visit.
"""

import asyncio
from collections.abc import Sequence

from fleet.link.credential_store import CredentialStore
from fleet.model.credentials import Credential


class Secrets:
    """A `CredentialSource` for links that never waits."""

    def __init__(self, store: CredentialStore | None = None) -> None:
        """Start with nothing at hand; without a store, secrets last for this visit."""
        self._store = store
        self._at_hand: dict[str, Credential] = {}
        self._used = False

    def credential_for(self, key: str) -> Credential | None:
        """Return what is at hand under a key, or None."""
        return self._at_hand.get(key)

    async def fetch(self, keys: Sequence[str]) -> bool:
        """Fetch what is kept under these keys; say whether there was anything that wasn't at hand.

        Raises:
            InventoryError, PlanError: the store can't be opened.
        """
        found = False
        for key in dict.fromkeys(keys):
            if key in self._at_hand or self._store is None:
                continue
            self._used = True
            kept = await asyncio.to_thread(self._store.credential_for, key)
            if kept is not None:
                self._at_hand[key] = kept
                found = True
        return found

    async def keep(self, key: str, credential: Credential) -> None:
        """Keep a secret, and have it at hand.

        Raises:
            InventoryError, PlanError: the store can't take it; then it is at hand all the same.
        """
        self._at_hand[key] = credential
        if self._store is not None:
            self._used = True
            await asyncio.to_thread(self._store.keep, key, credential)

    async def forget(self, key: str) -> None:
        """Forget a secret, here and in the store.

        Raises:
            InventoryError, PlanError: the store can't be opened.
        """
        self._at_hand.pop(key, None)
        if self._store is not None:
            await asyncio.to_thread(self._store.forget, key)

    async def shared(self) -> tuple[tuple[str, ...], ...]:
        """Return groups of keys that have one secret; () while nobody had to open the store."""
        if self._store is None or not self._used:
            return ()
        return await asyncio.to_thread(self._store.shared)
