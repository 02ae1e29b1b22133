"""Signatures: Ed25519 (RFC 8032) by `cryptography`, and how a key is named."""

import hashlib

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat, load_pem_public_key

SIGNATURE_BYTES = 64


def new_key() -> Ed25519PrivateKey:
    """Make a new signing key."""
    return Ed25519PrivateKey.generate()


def sign(private_key: Ed25519PrivateKey, data: bytes) -> bytes:
    """Return the 64 bytes of the signature over data."""
    return private_key.sign(data)


def verify(public_key: Ed25519PublicKey, signature: bytes, data: bytes) -> bool:
    """Say whether a signature over data was made with the key's other half."""
    try:
        public_key.verify(signature, data)
    except InvalidSignature:
        return False
    return True


def public_pem(public_key: Ed25519PublicKey) -> bytes:
    """Return a public key as SubjectPublicKeyInfo in PEM, which openssl reads."""
    return public_key.public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)


def fingerprint(public_key: Ed25519PublicKey) -> str:
    """Return the SHA-256 of the key's SubjectPublicKeyInfo, hex in groups of four."""
    der = public_key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    text = hashlib.sha256(der).hexdigest()
    return " ".join(text[start : start + 4] for start in range(0, len(text), 4))


def public_key_from(pem: bytes) -> Ed25519PublicKey | None:
    """Read a public key in PEM; None for anything that isn't one of the kind Ed25519."""
    try:
        key = load_pem_public_key(pem)
    except (ValueError, UnsupportedAlgorithm):
        return None
    return key if isinstance(key, Ed25519PublicKey) else None
