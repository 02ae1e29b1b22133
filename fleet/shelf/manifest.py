"""The manifest of a shelf, `shelf.json`: which images there are, and what each is for.

1. On the disk it is the canonical form (RFC 8785) of a document that its schema allows
   (`resources/schemas/shelf.schema.json`), byte for byte; so the signature over the file is the signature
   over the document, and openssl can check it.
2. Nothing in it is skipped: a member that isn't known, or one that stands twice, makes it unusable.
3. Two images never lay claim to one file, one digest, or to one sequence or version of the same units.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from itertools import product
from typing import Any

import msgspec
from jsonschema import Draft202012Validator, ValidationError

from fleet.model.errors import PlanError, RecordError
from fleet.model.firmware import Image
from fleet.shipped import resources
from fleet.signing.canonical import canonical_bytes

FORMAT = "walkdown.shelf.1"
MANIFEST, SIGNATURE, KEY = "shelf.json", "shelf.sig", "shelf.pem"
OWN_NAMES = frozenset({MANIFEST, SIGNATURE, KEY})
MOST_IMAGES = 1_000
LARGEST_IMAGE_BYTES = 64 << 20
"""More than any unit of this kind has room for (common practice, no source)."""
LARGEST_MANIFEST_BYTES = 4 << 20
MOST_SAID = 200


def images_from(raw: bytes, *, subject: str) -> tuple[Image, ...]:
    """Read a manifest from its bytes.

    Args:
        raw: the file as it lies.
        subject: the file's name, for messages.

    Raises:
        PlanError: it is no such manifest, isn't in canonical form, or lays claim to one thing twice.
    """
    document = _document(raw, subject)
    if len(document.get("images", ())) > MOST_IMAGES:
        raise unusable(f"it names more than {MOST_IMAGES:,} images", subject)
    for error in _validator().iter_errors(document):
        place = "/".join(str(part) for part in error.absolute_path) or "the whole file"
        raise unusable(f"at {place}: {_wrong(error)}", subject)
    if _canonical(document, subject) != raw:
        raise unusable("it isn't written in canonical form (RFC 8785), so it was edited", subject)
    images = _converted(document, subject)
    for complaint in complaints_about(images):
        raise unusable(complaint, subject)
    return images


def manifest_bytes(images: Iterable[Image], *, subject: str) -> bytes:
    """Write a manifest, ready to be signed.

    Raises:
        PlanError: an image isn't what a manifest allows; nothing was written.
    """
    document = {"format": FORMAT, "images": [_as_member(image) for image in images]}
    raw = _canonical(document, subject)
    images_from(raw, subject=subject)
    return raw


def complaints_about(images: Iterable[Image]) -> Iterator[str]:
    """Say each thing that two images lay claim to."""
    seen: dict[tuple[str, ...], Image] = {}
    for image in images:
        if image.file.lower() in OWN_NAMES:
            yield f"an image can't lie in {image.file}, which is the shelf's own"
        for claim, words in _claims(image):
            first = seen.setdefault(claim, image)
            if first is not image:
                yield f"{first.version} and {image.version} both lay claim to {words}"
                break


def _claims(image: Image) -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield each thing that an image lays claim to, and its words."""
    # A stick's file system may not tell capitals from small letters.
    yield ("file", image.file.lower()), f"the file {image.file}"
    yield ("digest", image.sha256), "one digest"
    for revision, module in product(image.hardware_revisions, image.module_types):
        units = (image.vendor_id, image.class_id, revision, module)
        words = f"on hardware {revision} with a {module} module"
        yield ("sequence", str(image.sequence), *units), f"the sequence {image.sequence} {words}"
        yield ("version", image.version, *units), f"the version {image.version} {words}"


def _document(raw: bytes, subject: str) -> Mapping[str, Any]:
    if len(raw) > LARGEST_MANIFEST_BYTES:
        raise unusable(f"it is larger than {LARGEST_MANIFEST_BYTES >> 20} MiB", subject)
    try:
        document = json.loads(raw.decode("utf-8"), object_pairs_hook=_once, parse_float=_refuse)
    except RecursionError as reason:
        raise unusable("it is nested too deep", subject) from reason
    except ValueError as reason:
        raise unusable(
            f"it is no JSON of a manifest: {printable(str(reason))}", subject
        ) from reason
    if not isinstance(document, dict) or not isinstance(document.get("images", []), list):
        raise unusable("it is no manifest: an object with a list of images is expected", subject)
    return document


def _wrong(error: ValidationError) -> str:
    if error.validator != "pattern":
        return printable(error.message)
    schema = error.schema
    wanted = str(schema["description"]).rstrip(".") if isinstance(schema, Mapping) else "otherwise"
    return f"{printable(repr(error.instance))} isn't allowed; it is to be: {wanted}"


def _once(members: list[tuple[str, Any]]) -> dict[str, Any]:
    document = dict(members)
    if len(document) != len(members):
        raise ValueError("a member stands twice")
    return document


def _refuse(text: str) -> None:
    raise ValueError(f"{text} is no whole number")


def _canonical(document: Mapping[str, Any], subject: str) -> bytes:
    try:
        return canonical_bytes(document, "manifest")
    except RecordError as reason:
        raise unusable(printable(reason.what).rstrip("."), subject) from reason


def _converted(document: Mapping[str, Any], subject: str) -> tuple[Image, ...]:
    try:
        return msgspec.convert(document["images"], tuple[Image, ...])
    except msgspec.ValidationError as reason:
        raise unusable(f"it names what isn't there: {printable(str(reason))}", subject) from reason


def _as_member(image: Image) -> dict[str, Any]:
    member: dict[str, Any] = msgspec.to_builtins(image)
    return {key: value for key, value in member.items() if value is not None}


@cache
def _validator() -> Draft202012Validator:
    path = resources() / "schemas" / "shelf.schema.json"
    return Draft202012Validator(json.loads(path.read_text(encoding="utf-8")))


def printable(text: str, most: int = MOST_SAID) -> str:
    """Keep what a forged manifest says from moving a reader's cursor or filling their screen."""
    cut = text if len(text) <= most else f"{text[:most]} …"
    return "".join(letter if letter.isprintable() else "?" for letter in cut)


def unusable(reason: str, subject: str) -> PlanError:
    """Return the error of a shelf that can't be used."""
    return PlanError(
        f"{reason}.",
        subject=subject,
        stands="Nothing of the shelf is used, and no unit was written to.",
        next_step="Get the shelf from its maker again, or mend it and sign it again.",
    )
