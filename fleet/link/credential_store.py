"""What lets us into units, kept between visits: in the system's keyring, or in a vault file.

1. A key is a description's id, the origin of an address, or the fingerprint of a certificate: never a
   unit's name. What the unit could read is never used from under an id (`fleet.link.own_secrets`), so one
   unit may have its secret under several.
2. Where a vault file lies in the data folder it goes first, so that a keyring that appears later hides
   nothing; otherwise a keyring that can be trusted with secrets, and else a vault.
3. Nobody is asked for a passphrase before a secret is needed or kept, and then once a run.
4. No secret leaves but in a `Credential`, which doesn't show it. Groups that share one are given by
   their keys alone, and two keys needn't be two units.
"""

import threading
from collections import defaultdict
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Protocol

import keyring

from fleet.link.keyring_keys import KeyringKeys
from fleet.link.own_secrets import proves
from fleet.link.vault_file import VAULT_NAME, AskPassphrase, VaultFile
from fleet.model.credentials import Credential
from fleet.model.errors import PlanError

LEAST_PRIORITY = 1
"""Backends of `keyring` below this store nothing, or store it in the open."""

MOST_KEY_CHARS = 2048
MOST_SECRET_CHARS = 4096


class Keeping(Protocol):
    """A place that keeps credentials by key. Each method raises InventoryError where it can't."""

    def get(self, key: str) -> Credential | None:
        """Return what is kept under a key, or None."""

    def put(self, key: str, credential: Credential) -> None:
        """Keep something under a key, instead of what was there."""

    def drop(self, key: str) -> bool:
        """Forget what is kept under a key; say whether there was anything."""

    def keys(self) -> tuple[str, ...]:
        """Return all keys, sorted."""

    def lock(self) -> None:
        """Forget whatever opens it."""


class CredentialStore:
    """Credentials by key; a `CredentialSource`. Every method may wait for a person or for the disk.

    Each method raises `InventoryError` where keyring or vault can't be read, opened or written, and
    `PlanError` where nobody can be asked for the passphrase. Threads may share it: one is served
    after another.
    """

    def __init__(self, keeping: Keeping) -> None:
        """Keep in a place; `open_store` picks one."""
        self._keeping = keeping
        self._turn = threading.RLock()

    def credential_for(self, key: str) -> Credential | None:
        """Return what is kept under a key (a description's id, or its origin), or None."""
        with self._turn:
            return self._keeping.get(key)

    def keep(self, key: str, credential: Credential) -> None:
        """Keep something under a key, instead of what was there.

        Raises:
            PlanError: the key or the secret is empty or too long; nothing was kept.
        """
        _refuse_unfit(key, credential)
        with self._turn:
            self._keeping.put(key, credential)

    def forget(self, key: str) -> bool:
        """Forget what is kept under a key; say whether there was anything."""
        with self._turn:
            return self._keeping.drop(key)

    def keys(self) -> tuple[str, ...]:
        """Return the keys under which something is kept, sorted."""
        with self._turn:
            return self._keeping.keys()

    def shared(self) -> tuple[tuple[str, ...], ...]:
        """Return each group of keys that have one secret, never the secret; see `units_sharing`."""
        by_secret: defaultdict[Credential, list[str]] = defaultdict(list)
        for key in self.keys():
            kept = self.credential_for(key)
            if kept is not None:
                by_secret[Credential(kept.secret)].append(key)
        return tuple(tuple(group) for group in by_secret.values() if len(group) > 1)

    def lock(self) -> None:
        """Forget whatever opens the store; a person is asked again when a secret is next needed."""
        with self._turn:
            self._keeping.lock()


def units_sharing(group: Sequence[str], names: Mapping[str, str]) -> tuple[str, ...]:
    """Return which units a group of keys with one secret stands for, each once.

    An address that belongs to no unit that is known may be that of any of them, now or earlier, so it
    counts as a unit only where the group has nothing but such addresses.

    Args:
        group: of `CredentialStore.shared`.
        names: key → unit, for units that are known; others go by their keys.
    """
    known = [names.get(key, key) for key in group if key in names or not proves(key)]
    return tuple(dict.fromkeys(known or group))


def open_store(folder: Path, ask_passphrase: AskPassphrase) -> CredentialStore:
    """Open the store of a data folder; nothing is read, and nobody asked, before it is used.

    Args:
        folder: the data folder.
        ask_passphrase: asks a person for the vault's passphrase; b"" for no answer.
    """
    path = folder / VAULT_NAME
    if not path.exists() and keyring_usable():
        return CredentialStore(KeyringKeys(folder))
    return CredentialStore(VaultFile(path, ask_passphrase))


def keyring_usable() -> bool:
    """Say whether this machine has a keyring that can be trusted with secrets."""
    return keyring.get_keyring().priority >= LEAST_PRIORITY


def _refuse_unfit(key: str, credential: Credential) -> None:
    if not 0 < len(key) <= MOST_KEY_CHARS:
        raise _unfit("the key that a secret is kept under", MOST_KEY_CHARS)
    if not 0 < len(credential.secret) <= MOST_SECRET_CHARS:
        raise _unfit("a secret", MOST_SECRET_CHARS)
    if len(credential.user) > MOST_SECRET_CHARS:
        raise _unfit("the name that goes with a password", MOST_SECRET_CHARS)


def _unfit(what: str, most_chars: int) -> PlanError:
    return PlanError(
        f"{what} is empty or longer than {most_chars} characters.",
        stands="Nothing was kept.",
        next_step="Give another one.",
    )
