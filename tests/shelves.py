"""What tests of the firmware shelf share: an invented maker, its images, and shelves of them."""

import hashlib
from dataclasses import replace
from datetime import date
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fleet.model.firmware import Image
from fleet.shelf.adding import add_image, sign_shelf

VENDOR = "5b0c9d52-1f6a-4a53-9a0e-2f7f5a1f0c11"
CLASS = "c7a1d0de-77c2-4f7a-8f0b-6a5f6d1e9b22"
OTHER_ID = "0e8f6c1a-2f7b-4d55-8d0a-93f1f4c0aa33"

TOLD = Image(
    version="2.1.3",
    build_id="b-213",
    sequence=30,
    vendor_id=VENDOR,
    class_id=CLASS,
    hardware_revisions=("R3", "R4"),
    module_types=("tracking", "static"),
    module_firmwares=("5.0", "5.1"),
    sha256="",
    size_bytes=0,
    file="",
    notes="Invented for tests.",
    support_ends=date(2029, 6, 30),
)
SIGNER = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))


# openssl-pkeyutl(1), OpenSSL 3.0: -rawin signs or verifies the raw input, as Ed25519 (RFC 8032 §5.1) asks.
OPENSSL = "openssl pkeyutl -verify -pubin -inkey shelf.pem -rawin -in shelf.json -sigfile shelf.sig"


def octets_of(image: Image) -> bytes:
    """Octets of an invented image, other ones for each sequence."""
    return b"an invented image " + str(image.sequence).encode() * 200


def image(**changes) -> Image:
    """An image as a manifest has it, with the digest and size of its invented octets."""
    told = replace(TOLD, **changes)
    octets = octets_of(told)
    whole = {"sha256": hashlib.sha256(octets).hexdigest(), "size_bytes": len(octets)}
    whole["file"] = f"image-{told.sequence}.bin"
    return replace(told, **(whole | changes))


IMAGE = image()
OLDER = image(version="2.0.4", build_id="b-204", sequence=20, support_ends=date(2026, 10, 1))
OLDEST = image(version="1.8.0", build_id="b-180", sequence=10, support_ends=None)


def shelf_of(folder: Path, *images: Image) -> Path:
    """Lay out a shelf of images, not yet signed."""
    sources = folder / "sources"
    sources.mkdir(parents=True, exist_ok=True)
    for one in images:
        source = sources / one.file
        source.write_bytes(octets_of(one))
        add_image(folder / "shelf", source, one)
    return folder / "shelf"


def signed_shelf(folder: Path, *images: Image) -> tuple[Path, str]:
    """Lay out a signed shelf; return it and the fingerprint of its key."""
    shelf = shelf_of(folder, *(images or (OLDEST, OLDER, IMAGE)))
    return shelf, sign_shelf(shelf, SIGNER)
