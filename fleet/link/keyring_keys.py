"""Credentials in the system's keyring, one entry a key.

A keyring can't be asked what it holds, so the keys (no secrets) stand in a file of the data folder. A
key is written there before its entry is made and taken out after its entry is gone: cut off between
the two, the file names a key too many, never one too few. An entry belongs to the system's user: two
data folders that keep something under one key share the entry.
"""

import json
from pathlib import Path

import keyring
from keyring.errors import KeyringError, PasswordDeleteError

from fleet.link.vault_file import from_json, replace_file, to_json
from fleet.model.credentials import Credential
from fleet.model.errors import InventoryError

SERVICE = "walkdown units"
KEYS_NAME = "credential-keys.json"
MOST_BYTES = 4 << 20

_FAILURES = (KeyringError, OSError, RuntimeError)


class KeyringKeys:
    """The keys of a data folder, and their entries in the keyring."""

    def __init__(self, folder: Path) -> None:
        """Look at nothing yet."""
        self._path = folder / KEYS_NAME

    def lock(self) -> None:
        """Do nothing: the system decides how long its keyring stays open."""

    def get(self, key: str) -> Credential | None:
        """Return what is kept under a key, or None.

        Raises:
            InventoryError: the keyring refused.
        """
        return self._entry(key) if key in self._keys() else None

    def keys(self) -> tuple[str, ...]:
        """Return the keys that have an entry, sorted.

        Raises:
            InventoryError: the keyring or the file of keys can't be read.
        """
        return tuple(key for key in sorted(self._keys()) if self._entry(key) is not None)

    def put(self, key: str, credential: Credential) -> None:
        """Keep something under a key, instead of what was there.

        Raises:
            InventoryError: the keyring refused, or the file of keys can't be written.
        """
        self._write_keys(self._keys() | {key})
        self._raise_if(_set_entry(key, credential))

    def drop(self, key: str) -> bool:
        """Forget what is kept under a key; say whether there was anything.

        Raises:
            InventoryError: as for `put`.
        """
        there = self.get(key) is not None
        if there:
            self._raise_if(_delete_entry(key))
        self._write_keys(self._keys() - {key})
        return there

    def _entry(self, key: str) -> Credential | None:
        entry, refusal = _get_entry(key)
        self._raise_if(refusal)
        return entry

    def _keys(self) -> frozenset[str]:
        try:
            with self._path.open("rb") as file:
                keys = json.loads(file.read(MOST_BYTES))
            if isinstance(keys, list) and all(isinstance(key, str) for key in keys):
                return frozenset(keys)
        except FileNotFoundError:
            return frozenset()
        except (OSError, ValueError, RecursionError) as reason:
            raise self._unusable("the list of keys can't be read") from reason
        raise self._unusable("the list of keys is damaged")

    def _write_keys(self, keys: frozenset[str]) -> None:
        try:
            replace_file(self._path, json.dumps(sorted(keys)).encode("ascii"))
        except OSError as reason:
            raise self._unusable(
                f"the list of keys can't be written: {reason.strerror}"
            ) from reason

    def _raise_if(self, refusal: str) -> None:
        if refusal:
            raise InventoryError(
                f"the system's keyring refused ({refusal}).",
                stands="What it keeps is as it was, and no secret was used.",
                next_step="Unlock it, then try again.",
            )

    def _unusable(self, reason: str) -> InventoryError:
        return InventoryError(
            f"{reason}.",
            subject=str(self._path),
            stands="What the keyring holds is as it was.",
            next_step="Move the file away and type the units' passwords in again.",
        )


# A keyring's own errors, and the frames that they come from, may hold the secret. So these three give
# the kind of an error as a word, and what is raised is raised where it no longer hangs on to them.


def _get_entry(key: str) -> tuple[Credential | None, str]:
    try:
        text = keyring.get_password(SERVICE, key)
    except _FAILURES as reason:
        return None, type(reason).__name__
    kept = None if text is None else from_json(text.encode("ascii", "replace"))
    return (kept or {}).get(key), ""


def _set_entry(key: str, credential: Credential) -> str:
    try:
        keyring.set_password(SERVICE, key, to_json({key: credential}).decode("ascii"))
    except _FAILURES as reason:
        return type(reason).__name__
    return ""


def _delete_entry(key: str) -> str:
    try:
        keyring.delete_password(SERVICE, key)
    except PasswordDeleteError:
        return ""  # somebody took it out meanwhile
    except _FAILURES as reason:
        return type(reason).__name__
    return ""
