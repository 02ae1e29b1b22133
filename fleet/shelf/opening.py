"""Opening a shelf: signed by a key that somebody here trusts, or not at all.

1. Nothing of a shelf is read but its manifest's bytes before their signature was checked with a trusted
   key.
2. An image is read when it is wanted: once, whole, within the size that its manifest says. Its digest
   is taken over the bytes that were read, and those bytes are what is sent. They lie in memory, out of
   the reach of whoever holds the stick.
3. Each later use reads the file again and compares: an image that was exchanged after the check is
   refused, though the bytes held are good, for somebody is at the shelf. A file that is gone (the stick
   was pulled out) is no exchange, and the bytes held are used.
"""

import hashlib
from collections.abc import Collection
from dataclasses import dataclass, field
from pathlib import Path

from fleet.model.errors import PlanError
from fleet.model.firmware import Image
from fleet.shelf.files import checked_folder, read_plain
from fleet.shelf.manifest import (
    KEY,
    LARGEST_MANIFEST_BYTES,
    MANIFEST,
    SIGNATURE,
    images_from,
    printable,
    unusable,
)
from fleet.signing.ed25519 import SIGNATURE_BYTES, fingerprint, public_key_from, verify

LARGEST_KEY_BYTES = 4_000


@dataclass(slots=True)
class Shelf:
    """A shelf whose manifest was checked.

    Attributes:
        path: its folder.
        images: what it holds, by its manifest; their files are checked when they are wanted.
        fingerprint: of the key that signed it.
    """

    path: Path
    images: tuple[Image, ...]
    fingerprint: str
    _held: dict[str, bytes] = field(default_factory=dict, init=False, repr=False)

    def image_bytes(self, image: Image) -> bytes:
        """Return an image's bytes, checked, the same at every call; the last image asked for is held.

        Raises:
            PlanError: the image isn't one of this shelf's, its file isn't what the manifest says, or it
                was exchanged since it was first checked.
        """
        if image not in self.images:
            raise unusable(f"{image.version} is no image of this shelf", str(self.path))
        held = self._held.get(image.sha256)
        if held is None:
            held = read_image(self.path, image)
            self._held = {image.sha256: held}
        else:
            _refuse_exchanged(self.path, image, held)
        return held

    def image_of(self, version: str, hardware_revision: str, module_type: str) -> Image | None:
        """Return the image of a version for some units, as the manifest writes the version."""
        for image in self.images:
            fits = hardware_revision in image.hardware_revisions
            if image.version == version and fits and module_type in image.module_types:
                return image
        return None


def open_shelf(path: Path, trusted: Collection[str]) -> Shelf:
    """Open a shelf.

    Args:
        path: its folder.
        trusted: fingerprints of the keys that somebody here trusts.

    Raises:
        PlanError: there is no shelf, its signature doesn't match, nobody here trusts the key, or its
            manifest can't be used.
    """
    folder = checked_folder(path)
    raw = read_manifest(folder)
    key = checked_signature(folder, raw)
    if key not in trusted:
        raise untrusted(key, folder)
    return Shelf(folder, images_from(raw, subject=str(folder / MANIFEST)), key)


def read_manifest(folder: Path) -> bytes:
    """Return the bytes of a shelf's manifest.

    Raises:
        PlanError: there is none, or it can't be read.
    """
    try:
        return read_plain(folder, MANIFEST, LARGEST_MANIFEST_BYTES)
    except FileNotFoundError as reason:
        raise PlanError(
            f"there is no {MANIFEST} in it.",
            subject=str(folder),
            stands="Nothing was read or changed.",
            next_step="Check the path, or begin a shelf: walkdown shelf add IMAGE ... SHELF.",
        ) from reason


def checked_signature(folder: Path, raw: bytes) -> str:
    """Return the fingerprint of the key that signed a manifest.

    Raises:
        PlanError: it isn't signed, or the signature doesn't match it.
    """
    try:
        pem = read_plain(folder, KEY, LARGEST_KEY_BYTES)
        signature = read_plain(folder, SIGNATURE, SIGNATURE_BYTES)
    except FileNotFoundError as reason:
        raise unusable("the shelf isn't signed", str(folder)) from reason
    key = public_key_from(pem)
    if key is None:
        raise unusable("it holds no public key of the kind Ed25519", str(folder / KEY))
    if len(signature) != SIGNATURE_BYTES or not verify(key, signature, raw):
        reason_said = f"it is not the signature of this {MANIFEST} by the key in {KEY}"
        raise unusable(reason_said, str(folder / SIGNATURE))
    return fingerprint(key)


def read_image(folder: Path, image: Image) -> bytes:
    """Read an image whole and check it against its manifest.

    Raises:
        PlanError: it is missing, shorter, longer or other than the manifest says.
    """
    path = folder / image.file
    try:
        octets = read_plain(folder, image.file, image.size_bytes)
    except FileNotFoundError as reason:
        raise unusable(f"the file of {printable(image.version)} is missing", str(path)) from reason
    if len(octets) < image.size_bytes:
        said = f"it is cut off: {len(octets):,} of {image.size_bytes:,} bytes are there"
        raise unusable(said, str(path))
    if len(octets) > image.size_bytes:
        raise unusable(
            f"it is longer than the {image.size_bytes:,} bytes of its manifest", str(path)
        )
    if hashlib.sha256(octets).hexdigest() != image.sha256:
        raise unusable(
            f"it is not the image that was signed as {printable(image.version)}: its digest differs",
            str(path),
        )
    return octets


def _refuse_exchanged(folder: Path, image: Image, held: bytes) -> None:
    try:
        same = read_plain(folder, image.file, image.size_bytes) == held
    except FileNotFoundError:
        return
    if not same:
        said = "the image was exchanged after it was checked"
        raise unusable(said, str(folder / image.file))


def untrusted(key: str, folder: Path) -> PlanError:
    """Return the error of a shelf that is signed by somebody whom nobody here trusts."""
    return PlanError(
        f"it is signed with the key {key}, which nobody here trusts.",
        subject=str(folder),
        stands="Nothing of the shelf is used, and no unit was written to.",
        next_step="Ask its maker for the fingerprint by another way; if it is the same: "
        f'walkdown shelf trust "{key}" --why ...',
    )
