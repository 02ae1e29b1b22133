"""The vault on disk: opened by a passphrase that is asked for once, and replaced whole or not at all.

1. Nobody is asked before something has to be opened or made. After that the key is held, not the
   passphrase; a passphrase that didn't open the vault is not asked for again until `lock`.
2. A new vault is written beside the old one (mode 0600), forced to the disk, and takes its name in one
   step. Whoever is cut off on the way leaves the old vault, and beside it at most a sealed rest that
   the next writing clears away.
3. Every look reads the file anew, so that what another program kept meanwhile isn't lost. Two that
   write in the same instant are not held apart: the later one wins.
4. Nothing that is raised here holds a secret: not in its text, nor in what it was raised from.
"""

import contextlib
import json
import os
import sys
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

from fleet.link.vault import (
    MOST_BYTES,
    UnfitVaultError,
    VaultKey,
    derive,
    new_salt,
    salt_and_nonce,
    seal,
    unseal,
)
from fleet.model.credentials import Credential
from fleet.model.errors import InventoryError

VAULT_NAME = "credentials.vault"
TRIES = 3
_HALF = ".half-"

AskPassphrase = Callable[[], bytes]


class VaultLockedError(InventoryError):
    """The vault stays shut: no passphrase was given, or none that opens it."""


class VaultFile:
    """Credentials in a vault file."""

    def __init__(self, path: Path, ask_passphrase: AskPassphrase) -> None:
        """Ask nobody yet.

        Args:
            path: the file; made when something is first kept.
            ask_passphrase: asks a person; b"" for no answer.
        """
        self._path = path
        self._ask = ask_passphrase
        self._key: VaultKey | None = None
        self._refused = ""

    def lock(self) -> None:
        """Forget the key; the passphrase is asked for again when it is next needed."""
        self._key, self._refused = None, ""

    def get(self, key: str) -> Credential | None:
        """Return what is kept under a key, or None.

        Raises:
            InventoryError: the vault can't be read or opened.
        """
        return self._read().get(key)

    def keys(self) -> tuple[str, ...]:
        """Return all keys, sorted.

        Raises:
            InventoryError: as for `get`.
        """
        return tuple(sorted(self._read()))

    def put(self, key: str, credential: Credential) -> None:
        """Keep something under a key, instead of what was there.

        Raises:
            InventoryError: the vault can't be read, opened or written; it is as it was.
        """
        self._write({**self._read(), key: credential})

    def drop(self, key: str) -> bool:
        """Forget what is kept under a key; say whether there was anything.

        Raises:
            InventoryError: as for `put`.
        """
        kept = dict(self._read())
        if kept.pop(key, None) is None:
            return False
        self._write(kept)
        return True

    def _read(self) -> Mapping[str, Credential]:
        try:
            sealed = _bytes_of(self._path)
        except OSError as reason:
            raise self._unusable(f"it can't be read: {reason.strerror}") from reason
        return {} if sealed is None else self._opened(sealed)

    def _opened(self, sealed: bytes) -> Mapping[str, Credential]:
        try:
            salt, _ = salt_and_nonce(sealed)
        except UnfitVaultError as reason:
            raise self._unusable(str(reason)) from reason
        if self._key is None or self._key.salt != salt:
            self._key = self._asked_for(sealed, salt)
        plain = _Unshown(unseal(self._key, sealed))
        if plain.said is None:
            raise self._unusable("it is damaged: the key that opened it before doesn't any more")
        kept = from_json(plain.said)
        if kept is None:
            raise self._unusable("what is sealed in it was not written by this program")
        return kept

    def _asked_for(self, sealed: bytes, salt: bytes) -> VaultKey:
        """Ask until a passphrase opens the vault, or the same one is given twice, or thrice at most."""
        tried: list[VaultKey] = []
        while not self._refused:
            key = self._derived(salt)
            if unseal(key, sealed) is not None:
                return key
            tried.append(key)
            if len(tried) == TRIES or key in tried[:-1]:
                self._refused = "the passphrase is wrong, or the vault is damaged"
        raise self._locked()

    def _derived(self, salt: bytes) -> VaultKey:
        """Ask, and stretch what is answered; the passphrase gets no name that a traceback could show."""
        answer = _Unshown(self._ask())
        if not answer.said:
            self._refused = "no passphrase was given"
            raise self._locked()
        return derive(answer.said, salt)

    def _write(self, kept: Mapping[str, Credential]) -> None:
        if self._key is None:
            if self._refused:
                raise self._locked()
            self._key = self._derived(new_salt())
        sealed = seal(self._key, to_json(kept))
        if sealed is None:
            raise self._unusable(f"it would grow beyond {MOST_BYTES >> 10} KiB")
        try:
            replace_file(self._path, sealed)
        except OSError as reason:
            raise self._unusable(f"it can't be written: {reason.strerror}") from reason

    def _locked(self) -> VaultLockedError:
        return VaultLockedError(
            f"{self._refused}.",
            subject=str(self._path),
            stands="It stays shut and is as it was; no secret was used.",
            next_step="Start again with the right passphrase, or move the file away to begin anew.",
        )

    def _unusable(self, reason: str) -> InventoryError:
        return InventoryError(
            f"{reason}.",
            subject=str(self._path),
            stands="It is as it was, and no secret was used.",
            next_step="Mend that, or move the file away and type the units' passwords in again.",
        )


class _Unshown:
    """Bytes that no representation shows: what a traceback tells of a frame's names is that it has them."""

    __slots__ = ("said",)

    def __init__(self, said: bytes | None) -> None:
        self.said = said


def to_json(kept: Mapping[str, Credential]) -> bytes:
    """Write credentials as JSON in ASCII, which holds every string there is, half characters too."""
    members = {key: {"secret": one.secret, "user": one.user} for key, one in kept.items()}
    return json.dumps(members).encode("ascii")


def from_json(plain: bytes) -> dict[str, Credential] | None:
    """Read what `to_json` wrote; None for anything else, as an error would carry the text along."""
    try:
        return {
            str(key): Credential(str(one["secret"]), str(one["user"]))
            for key, one in json.loads(plain).items()
        }
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def replace_file(path: Path, data: bytes) -> None:
    """Put a whole file (mode 0600) in the place of an older one, in one step.

    Raises:
        OSError: it can't be written; the older one stands.
    """
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    prefix = f".{path.name}{_HALF}"
    for rest in path.parent.glob(f"{prefix}*"):
        rest.unlink(missing_ok=True)
    # 0600 from its first moment.
    descriptor, name = tempfile.mkstemp(prefix=prefix, dir=path.parent)
    try:
        try:
            _write_all(descriptor, data)
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
        os.replace(name, path)  # noqa: PTH105 - one module's calls, so that a test can cut each of them off
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)  # noqa: PTH108 - as above
        raise
    _sync_folder(path.parent)


def _write_all(descriptor: int, data: bytes) -> None:
    while data:
        data = data[os.write(descriptor, data) :]


def _sync_folder(folder: Path) -> None:
    """Force a new name to the disk where a folder can be opened for that."""
    if sys.platform == "win32":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _bytes_of(path: Path) -> bytes | None:
    """Return a file's bytes, one more than a vault may have at most; None where there is no file."""
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        return None
