"""The vault's form: what lets us into units, sealed under a passphrase. Bytes in, bytes out.

A vault of version 1 is, one after another, numbers big-endian:

    8 bytes   WDVAULT and a line feed
    2 bytes   the version
    16 bytes  salt
    12 bytes  nonce
    the rest  AES-256-GCM ciphertext, its tag of 16 bytes last

1. The key is Argon2id of the passphrase and the salt with 64 MiB, 3 passes and 4 lanes: the second
   recommended option of RFC 9106 §4. The version stands for these figures, so no file can ask for
   more memory than that.
2. All that stands before the ciphertext is authenticated with it.
3. The salt is drawn when a vault is made, the nonce at every writing (NIST SP 800-38D §8.2.2 allows
   2³² of them under one key).
4. A wrong passphrase and a damaged vault fail in the same way, and are said as one. What can be told
   apart honestly is: no vault at all, a newer version, too large.
5. What is sealed is filled up to whole KiB, so that a vault's length tells little of what is in it.
"""

import os
import struct
from dataclasses import dataclass, field

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

MAGIC = b"WDVAULT\n"
VERSION = 1
MEMORY_KIB = 64 << 10
PASSES = 3
LANES = 4
KEY_BYTES = 32
SALT_BYTES = 16
NONCE_BYTES = 12
TAG_BYTES = 16
FILL_BYTES = 1 << 10
MOST_BYTES = 1 << 20
"""No vault is larger: some thousand units' secrets fit in."""

_HEAD = struct.Struct(f">{len(MAGIC)}sH{SALT_BYTES}s{NONCE_BYTES}s")


class UnfitVaultError(ValueError):
    """Bytes are no vault that this version reads; says why, in words."""


@dataclass(frozen=True, slots=True)
class VaultKey:
    """A key and the salt that it was derived with; the passphrase itself isn't kept."""

    salt: bytes
    secret: bytes = field(repr=False)


def new_salt() -> bytes:
    """Return the salt of a vault that is to be made."""
    return os.urandom(SALT_BYTES)


def derive(passphrase: bytes, salt: bytes) -> VaultKey:
    """Derive a vault's key from its passphrase; takes about 0.1 s and 64 MiB."""
    stretching = Argon2id(
        salt=salt, length=KEY_BYTES, iterations=PASSES, lanes=LANES, memory_cost=MEMORY_KIB
    )
    return VaultKey(salt, stretching.derive(passphrase))


def seal(key: VaultKey, plain: bytes) -> bytes | None:
    """Return a whole vault that holds `plain`; None where it would be larger than a vault may be.

    It raises nothing, as an error would carry along what was to be sealed.
    """
    nonce = os.urandom(NONCE_BYTES)
    head = _HEAD.pack(MAGIC, VERSION, key.salt, nonce)
    filled = plain.ljust(-(-len(plain) // FILL_BYTES) * FILL_BYTES)
    if len(head) + len(filled) + TAG_BYTES > MOST_BYTES:
        return None
    return head + AESGCM(key.secret).encrypt(nonce, filled, head)


def unseal(key: VaultKey, sealed: bytes) -> bytes | None:
    """Return what a vault holds, blanks after it; None where key and vault don't go together.

    Raises:
        UnfitVaultError: the bytes are no vault that this version reads.
    """
    _, nonce = salt_and_nonce(sealed)
    head = sealed[: _HEAD.size]
    try:
        return AESGCM(key.secret).decrypt(nonce, sealed[_HEAD.size :], head)
    except InvalidTag:
        return None


def salt_and_nonce(sealed: bytes) -> tuple[bytes, bytes]:
    """Read a vault's head.

    Raises:
        UnfitVaultError: the bytes are no vault that this version reads.
    """
    if len(sealed) > MOST_BYTES:
        raise UnfitVaultError(f"it is larger than a vault may be ({MOST_BYTES >> 10} KiB)")
    if not sealed.startswith(MAGIC) or len(sealed) < _HEAD.size + TAG_BYTES:
        raise UnfitVaultError("it is no vault, or it is cut off")
    _, version, salt, nonce = _HEAD.unpack_from(sealed)
    if version != VERSION:
        raise UnfitVaultError(f"it is of version {version}, and this program reads {VERSION}")
    return salt, nonce
