"""The vault's two primitives against what their standards print, and a vault opened by its documented form.

M beside a value: written down from memory of the document named, not copied from it.
"""

import struct

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

from fleet.link import vault

# RFC 9106, section 5.3 (M): Argon2id, 32 KiB, 3 passes, 4 lanes, tag of 32 bytes, version 0x13.
ARGON2ID_TAG = "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"

# The Galois/Counter Mode of Operation (McGrew, Viega), appendix B, AES-256 (M):
# key, nonce, associated data, plaintext, ciphertext, tag.
GCM = {
    "test case 13": ("00" * 32, "00" * 12, "", "", "", "530f8afbc74536b9a963b4f1c4cb738b"),
    "test case 14": (
        "00" * 32,
        "00" * 12,
        "",
        "00" * 16,
        "cea7403d4d606b6e074ec5d3baf39d18",
        "d0d1c8a799996bf0265b98b5d48ab919",
    ),
    "test case 16": (
        "feffe9928665731c6d6a8f9467308308" * 2,
        "cafebabefacedbaddecaf888",
        "feedfacedeadbeeffeedfacedeadbeefabaddad2",
        (
            "d9313225f88406e5a55909c5aff5269a86a7a9531534f7da2e4c303d8a318a72"
            "1c3c0c95956809532fcf0e2449a6b525b16aedf5aa0de657ba637b39"
        ),
        (
            "522dc1f099567d07f47f37a32a84427d643a8cdcbfe5c0c97598a2bd2555d1aa"
            "8cb08e48590dbb3da7b08b1056828838c5f61e6393ba7a0abcc9f662"
        ),
        "76fc6ece0f4e1768cddf8853bb2d551b",
    ),
}


def test_the_passphrase_is_stretched_as_the_standard_prints_it():
    stretching = Argon2id(
        salt=b"\x02" * 16,
        length=32,
        iterations=3,
        lanes=4,
        memory_cost=32,
        ad=b"\x04" * 12,
        secret=b"\x03" * 8,
    )
    assert stretching.derive(b"\x01" * 32).hex() == ARGON2ID_TAG


@pytest.mark.parametrize("case", GCM.values(), ids=GCM.keys())
def test_what_is_sealed_is_what_the_standard_prints(case):
    key, nonce, data, plain, sealed, tag = map(bytes.fromhex, case)
    assert AESGCM(key).encrypt(nonce, plain, data) == sealed + tag
    assert AESGCM(key).decrypt(nonce, sealed + tag, data) == plain


def test_the_amounts_are_the_second_that_the_standard_recommends():
    # RFC 9106, section 4 (M): t = 3, p = 4, m = 2^16 (64 MiB), salt of 128 bits, tag of 256 bits.
    assert (vault.PASSES, vault.LANES, vault.MEMORY_KIB) == (3, 4, 2**16)
    assert (vault.SALT_BYTES * 8, vault.KEY_BYTES * 8) == (128, 256)


def test_a_vault_opens_by_its_documented_form_alone():
    sealed = vault.seal(vault.derive(b"a long word", vault.new_salt()), b"what is kept")

    magic, version, salt, nonce = struct.unpack(">8sH16s12s", sealed[:38])
    assert (magic, version) == (b"WDVAULT\n", 1)
    stretching = Argon2id(salt=salt, length=32, iterations=3, lanes=4, memory_cost=65536)
    key = stretching.derive(b"a long word")
    plain = AESGCM(key).decrypt(nonce, sealed[38:], sealed[:38])
    assert plain == b"what is kept".ljust(1024)
