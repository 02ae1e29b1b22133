"""Canonical JSON, signatures and digests against what their standards print."""

import hashlib
import json
import struct

import pytest
import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from fleet.signing.canonical import canonical_bytes
from fleet.signing.ed25519 import sign, verify

# RFC 8785, appendix B: the bits of a double and the text that they have in canonical JSON.
NUMBERS = {
    "0000000000000000": "0",
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "8000000000000001": "-5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "ffefffffffffffff": "-1.7976931348623157e+308",
    "4340000000000000": "9007199254740992",
    "c340000000000000": "-9007199254740992",
    "4430000000000000": "295147905179352830000",
    "44b52d02c7e14af5": "9.999999999999997e+22",
    "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef4e": "999999999999999700000",
    "444b1ae4d6e2ef4f": "999999999999999900000",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332",
    "41b3de4355555554": "333333333.33333325",
    "41b3de4355555555": "333333333.3333333",
    "41b3de4355555556": "333333333.3333334",
    "41b3de4355555557": "333333333.33333343",
    "becbf647612f3696": "-0.0000033333333333333333",
    "43143ff3c1cb0959": "1424953923781206.2",
}

# RFC 8785, section 3.2.2 (the input) and 3.2.4 (its canonical bytes).
EXAMPLE = r"""{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}"""
EXAMPLE_CANONICAL = (
    '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
    '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
)

# RFC 8785, section 3.2.3, without its Hebrew letter, which NFC takes apart.
SORTED = ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600"]

# RFC 8032, section 7.1, tests 1 to 3: secret key, public key, message, signature.
ED25519 = (
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        (
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46b"
            "d25bf5f0595bbe24655141438e7a100b"
        ),
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        (
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c"
            "387b2eaeb4302aeeb00d291612bb0c00"
        ),
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        (
            "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc659"
            "4a7c15e9716ed28dc027beceea1ec40a"
        ),
    ),
)


@pytest.mark.parametrize(("bits", "text"), NUMBERS.items())
def test_a_number_is_written_as_the_appendix_prints_it(bits, text):
    (number,) = struct.unpack(">d", bytes.fromhex(bits))

    assert rfc8785.dumps(number) == text.encode()


@pytest.mark.parametrize("bits", ["7fffffffffffffff", "7ff0000000000000"])
def test_what_is_no_number_is_refused(bits):
    (number,) = struct.unpack(">d", bytes.fromhex(bits))

    with pytest.raises(rfc8785.FloatDomainError):
        rfc8785.dumps(number)


def test_the_example_of_the_standard_has_the_bytes_it_prints():
    assert rfc8785.dumps(json.loads(EXAMPLE)) == EXAMPLE_CANONICAL.encode()


def test_names_are_sorted_by_their_utf_16():
    written = canonical_bytes(dict.fromkeys(reversed(SORTED), 1))

    assert list(json.loads(written)) == SORTED


@pytest.mark.parametrize(("secret", "public", "message", "signature"), ED25519)
def test_a_signature_is_the_one_the_standard_prints(secret, public, message, signature):
    key = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret))
    data = bytes.fromhex(message)

    assert key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw).hex() == public
    assert sign(key, data).hex() == signature
    assert verify(key.public_key(), bytes.fromhex(signature), data)
    assert not verify(key.public_key(), bytes.fromhex(signature), data + b"\0")


def test_the_digest_of_abc_is_the_one_the_standard_prints():
    # FIPS 180-4, example of SHA-256 for the one-block message "abc".
    assert hashlib.sha256(b"abc").hexdigest() == (
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )
