"""The firm's signing key: made once, kept in the keyring or in an encrypted file."""

import os
from collections.abc import Callable
from pathlib import Path

import keyring
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    KeySerializationEncryption,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from keyring.errors import KeyringError

from fleet.model.errors import RecordError
from fleet.signing.ed25519 import new_key

SERVICE = "walkdown"
KEY_NAME = "signing-key"
KEY_FILE = "signing-key.pem"
LEAST_PRIORITY = 1
"""Backends of `keyring` below this store nothing, or store it in the open."""

AskPassphrase = Callable[[], bytes]


def load_or_make_key(folder: Path, ask_passphrase: AskPassphrase) -> Ed25519PrivateKey:
    """Return the firm's key, making it at the first call; never kept unencrypted on disk.

    A key file in the folder goes first, so that a keyring that appears later doesn't change who
    signs. Otherwise the key lives in the system's keyring where there is one, and else in a file
    (0600) encrypted with a passphrase.

    Args:
        folder: where the key file lies, or would.
        ask_passphrase: asks a person; called only for a key file.

    Raises:
        RecordError: the passphrase is empty or wrong, or keyring or file can't be used.
    """
    path = folder / KEY_FILE
    try:
        if path.exists():
            return _from_pem(path.read_bytes(), ask_passphrase(), str(path))
        if _keyring_usable():
            return _from_keyring()
        return _made_in_file(path, ask_passphrase())
    except OSError as reason:
        raise _unusable(f"the key file can't be used: {reason.strerror}", str(path)) from reason
    except KeyringError as reason:
        raise _unusable(f"the system's keyring refused: {reason}", "keyring") from reason


def _keyring_usable() -> bool:
    return keyring.get_keyring().priority >= LEAST_PRIORITY


def _from_keyring() -> Ed25519PrivateKey:
    kept = keyring.get_password(SERVICE, KEY_NAME)
    if kept is not None:
        return _from_pem(kept.encode("ascii", "replace"), None, "keyring")
    key = new_key()
    keyring.set_password(SERVICE, KEY_NAME, _to_pem(key, NoEncryption()).decode("ascii"))
    return key


def _made_in_file(path: Path, passphrase: bytes) -> Ed25519PrivateKey:
    if not passphrase:
        raise _unusable("a key isn't kept without a passphrase", str(path))
    key = new_key()
    path.parent.mkdir(parents=True, exist_ok=True)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(_to_pem(key, BestAvailableEncryption(passphrase)))
    return key


def _to_pem(key: Ed25519PrivateKey, encryption: KeySerializationEncryption) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, encryption)


def _from_pem(pem: bytes, passphrase: bytes | None, subject: str) -> Ed25519PrivateKey:
    try:
        key = load_pem_private_key(pem, passphrase)
    except (ValueError, TypeError) as reason:
        raise _unusable("the passphrase is wrong, or the key is damaged", subject) from reason
    if not isinstance(key, Ed25519PrivateKey):
        raise _unusable("the key is not of the kind Ed25519", subject)
    return key


def _unusable(reason: str, subject: str) -> RecordError:
    return RecordError(
        f"{reason}.",
        subject=subject,
        stands="Nothing was signed, and the key is as it was.",
        next_step="Mend that and sign again.",
    )
