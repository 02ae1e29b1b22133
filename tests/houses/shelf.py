"""The demo house's firmware shelf: its approved builds, and a newer one that nobody approved yet.

`resources/houses/marlpit/shelf/` holds what `write_shelf` makes: run this module to write it again. It is
signed with a key that anybody can make again, so that its signature proves nothing but that it is whole.
"""

import hashlib
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fleet.model.firmware import Image
from fleet.shelf.adding import add_image, sign_shelf
from fleet.simulator.truth import TrueBuild, TrueUnit
from tests.houses.house import NOTE, House, image_octets, true_build
from tests.houses.marlpit import marlpit

SIGNER = Ed25519PrivateKey.from_private_bytes(hashlib.sha256(b"invented shelf").digest())
NEWER = "2.2.0"


def write_shelf(folder: Path, house: House) -> str:
    """Lay out the house's shelf in a new folder and sign it; return the key's fingerprint."""
    with tempfile.TemporaryDirectory() as sources:
        for image, octets in _images(house):
            source = Path(sources, image.file)
            source.write_bytes(octets)
            add_image(folder, source, image)
    return sign_shelf(folder, SIGNER)


def _images(house: House) -> Iterator[tuple[Image, bytes]]:
    """Yield an image of the approved version for each kind of module, and a newer one for one."""
    of_a_kind = {unit.module_type: unit for unit in reversed(house.truth.units)}
    units = sorted(of_a_kind.values(), key=lambda unit: unit.serial)
    for unit in units:
        versions = house.versions
        build = true_build(unit.hardware_revision, unit.module_type, versions, 0)
        yield _image(unit, build, NOTE), _octets(unit, versions[0])
    first = house.truth.units[0]
    octets = _octets(first, NEWER)
    digest = hashlib.sha256(octets).hexdigest()
    newer = TrueBuild(NEWER, f"{digest[:4]}-45", 45, digest)
    yield _image(first, newer, f"Not approved yet. {NOTE}"), octets


def _octets(unit: TrueUnit, version: str) -> bytes:
    return image_octets(version, unit.hardware_revision, unit.module_type)


def _image(unit: TrueUnit, build: TrueBuild, notes: str) -> Image:
    return Image(
        version=build.version,
        build_id=build.build_id,
        sequence=build.sequence,
        vendor_id=unit.vendor_id,
        class_id=unit.class_id,
        hardware_revisions=(unit.hardware_revision,),
        module_types=(unit.module_type.value,),
        module_firmwares=(unit.module_firmware,),
        sha256="",
        size_bytes=0,
        file=f"{unit.module_type}-{build.version}.bin",
        notes=notes,
    )


if __name__ == "__main__":
    shipped = Path(__file__).resolve().parents[2] / "resources" / "houses" / "marlpit" / "shelf"
    shutil.rmtree(shipped, ignore_errors=True)
    write_shelf(shipped, marlpit())
