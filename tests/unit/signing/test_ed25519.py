import pytest
from cryptography.hazmat.primitives.asymmetric.ed448 import Ed448PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from fleet.signing.ed25519 import fingerprint, new_key, public_key_from, public_pem, sign, verify


def test_a_public_key_goes_into_pem_and_back():
    key = new_key().public_key()
    read = public_key_from(public_pem(key))
    assert fingerprint(read) == fingerprint(key)


def test_only_the_keys_own_signature_over_the_same_bytes_is_taken():
    key, other = new_key(), new_key()
    signature = sign(key, b"these bytes")
    assert verify(key.public_key(), signature, b"these bytes")
    assert not verify(key.public_key(), signature, b"those bytes")
    assert not verify(other.public_key(), signature, b"these bytes")
    assert not verify(key.public_key(), signature[:-1], b"these bytes")


def test_a_key_of_another_kind_is_none():
    pem = Ed448PrivateKey.generate().public_key()
    assert (
        public_key_from(pem.public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)) is None
    )


@pytest.mark.parametrize(
    "pem", [b"", b"no key", b"-----BEGIN PUBLIC KEY-----\nAAAA\n-----END PUBLIC KEY-----\n"]
)
def test_what_is_no_key_is_none(pem):
    assert public_key_from(pem) is None
