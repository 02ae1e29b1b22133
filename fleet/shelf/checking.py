"""Checking a shelf through: everything that is wrong with it, a sentence each, and never a traceback."""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TypeVar

from fleet.model.errors import PlanError
from fleet.model.firmware import Image
from fleet.shelf.files import checked_folder
from fleet.shelf.manifest import MANIFEST, images_from
from fleet.shelf.opening import checked_signature, read_image, read_manifest, untrusted

Got = TypeVar("Got")


@dataclass(frozen=True, slots=True)
class ShelfReport:
    """What a look through a shelf showed.

    Attributes:
        images: what its manifest names; none where that can't be used.
        fingerprint: of the key that signed it; "" where no signature matches.
        findings: a sentence for each thing that is wrong.
    """

    images: tuple[Image, ...]
    fingerprint: str
    findings: tuple[str, ...]


def check_shelf(path: Path, trusted: Collection[str]) -> ShelfReport:
    """Look through a shelf: manifest, signature, trust, and each image's size and digest.

    Args:
        path: its folder.
        trusted: fingerprints of the keys that somebody here trusts.

    Raises:
        PlanError: there is no such folder, or no manifest in it.
    """
    folder = checked_folder(path)
    raw = read_manifest(folder)
    findings: list[str] = []
    key = _found(findings, partial(checked_signature, folder, raw)) or ""
    if key and key not in trusted:
        findings.append(_said(untrusted(key, folder)))
    images = _found(findings, partial(images_from, raw, subject=str(folder / MANIFEST))) or ()
    for image in images:
        _found(findings, partial(read_image, folder, image))
    return ShelfReport(images, key, tuple(findings))


def _found(findings: list[str], look: Callable[[], Got]) -> Got | None:
    try:
        return look()
    except PlanError as reason:
        findings.append(_said(reason))
        return None


def _said(reason: PlanError) -> str:
    return f"{reason.subject}: {reason.what}"
