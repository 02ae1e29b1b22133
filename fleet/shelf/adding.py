"""Putting images on a shelf, and signing it.

Every change of the manifest takes the signature away first, so that a shelf is never signed for what
nobody signed; and a shelf is signed only when each of its images is what its manifest says.
"""

import hashlib
from dataclasses import replace
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fleet.model.errors import PlanError
from fleet.model.firmware import Image
from fleet.shelf.files import PLAIN_NAME, checked_folder, read_plain, unwritten, write_whole
from fleet.shelf.manifest import (
    KEY,
    LARGEST_IMAGE_BYTES,
    LARGEST_MANIFEST_BYTES,
    MANIFEST,
    SIGNATURE,
    images_from,
    manifest_bytes,
)
from fleet.shelf.opening import read_image, read_manifest
from fleet.signing.ed25519 import fingerprint, public_pem, sign


def add_image(folder: Path, source: Path, told: Image) -> Image:
    """Copy an image onto a shelf and write it into the manifest; a signature of the shelf is taken away.

    Args:
        folder: the shelf; made where it is missing.
        source: the image's file; its name is kept.
        told: what is known of the image; digest, size and file name are filled in from the file.

    Returns:
        The image as the manifest has it now.

    Raises:
        PlanError: the image can't be read or is too large, what is told of it isn't what a manifest
            allows, or another file of that name lies there.
    """
    octets = _octets_of(source)
    digest = hashlib.sha256(octets).hexdigest()
    image = replace(told, sha256=digest, size_bytes=len(octets), file=source.name)
    raw = _manifest_with(_images_on(folder), image, folder / MANIFEST)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as reason:
        raise unwritten(folder, reason) from reason
    if not _is_there(folder, source.name, octets):
        write_whole(folder, source.name, octets)
    _take_away(folder, SIGNATURE)
    write_whole(folder, MANIFEST, raw)
    return image


def sign_shelf(folder: Path, private_key: Ed25519PrivateKey) -> str:
    """Sign a shelf's manifest after checking each image; return the key's fingerprint.

    Raises:
        PlanError: the manifest or an image isn't sound, or the shelf can't be written to; it isn't
        signed.
    """
    raw = read_manifest(checked_folder(folder))
    for image in images_from(raw, subject=str(folder / MANIFEST)):
        read_image(folder, image)
    public_key = private_key.public_key()
    _take_away(folder, SIGNATURE)
    write_whole(folder, KEY, public_pem(public_key))
    write_whole(folder, SIGNATURE, sign(private_key, raw))
    return fingerprint(public_key)


def _images_on(folder: Path) -> tuple[Image, ...]:
    try:
        raw = read_plain(folder, MANIFEST, LARGEST_MANIFEST_BYTES)
    except FileNotFoundError:
        return ()
    return images_from(raw, subject=str(folder / MANIFEST))


def _manifest_with(images: tuple[Image, ...], image: Image, path: Path) -> bytes:
    try:
        return manifest_bytes((*images, image), subject=str(path))
    except PlanError as reason:
        next_step = "Correct what was said of the image and add it again."
        raise _unadded(reason.what.rstrip("."), path, next_step) from reason


def _octets_of(source: Path) -> bytes:
    try:
        with source.open("rb") as file:
            octets = file.read(LARGEST_IMAGE_BYTES + 1)
    except OSError as reason:
        said = f"the image can't be read: {reason.strerror or reason}"
        raise _unadded(said, source, "Check the path, and that you may read it.") from reason
    if not octets or len(octets) > LARGEST_IMAGE_BYTES:
        said = "it is empty" if not octets else f"it is larger than {LARGEST_IMAGE_BYTES >> 20} MiB"
        raise _unadded(said, source, "Check that it is the image that you mean.")
    if not PLAIN_NAME.fullmatch(source.name):
        said = "a shelf holds names of ASCII letters, digits, dots, hyphens and underscores alone"
        raise _unadded(said, source, "Give the file such a name and add it again.")
    return octets


def _is_there(folder: Path, name: str, octets: bytes) -> bool:
    try:
        lies_there = read_plain(folder, name, LARGEST_IMAGE_BYTES)
    except FileNotFoundError:
        return False
    if lies_there == octets:
        return True
    said = "another file of that name lies on the shelf, and nothing is written over"
    raise _unadded(said, folder / name, "Give the image another name and add it again.")


def _take_away(folder: Path, name: str) -> None:
    try:
        (folder / name).unlink(missing_ok=True)
    except OSError as reason:
        raise unwritten(folder, reason) from reason


def _unadded(said: str, path: Path, next_step: str) -> PlanError:
    return PlanError(
        f"{said}.", subject=str(path), stands="The shelf is as it was.", next_step=next_step
    )
