"""What a shelf's manifest says is what was told of its images; and no byte of it can change unseen."""

import hashlib
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.model.errors import PlanError
from fleet.model.firmware import Image
from fleet.shelf.manifest import images_from, manifest_bytes
from fleet.signing.ed25519 import sign, verify
from tests.shelves import IMAGE, OLDER, SIGNER

words = st.from_regex(r"[!-~]([ -~]{0,20}[!-~])?", fullmatch=True)
word_lists = st.lists(words, max_size=3, unique=True).map(tuple)
uuids = st.uuids().map(str)


@st.composite
def images(draw):
    number = draw(st.integers(0, 2**53 - 1))
    return Image(
        version=draw(words),
        build_id=draw(words),
        sequence=number,
        vendor_id=draw(uuids),
        class_id=draw(uuids),
        hardware_revisions=draw(word_lists.filter(bool)),
        module_types=("static",),
        module_firmwares=draw(word_lists),
        sha256=hashlib.sha256(str(number).encode()).hexdigest(),
        size_bytes=draw(st.integers(1, 64 << 20)),
        file=f"image-{number}.bin",
        notes=draw(words),
        support_ends=draw(st.none() | st.dates(date(1000, 1, 1))),
    )


@given(st.lists(images(), max_size=4, unique_by=lambda image: image.sequence))
def test_what_is_written_is_read_again(told):
    assert images_from(manifest_bytes(told, subject="shelf"), subject="shelf") == tuple(told)


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused_with_a_sentence(raw):
    with pytest.raises(PlanError) as caught:
        images_from(raw, subject="shelf")
    assert caught.value.stands
    assert caught.value.next_step


@given(st.data())
def test_one_bit_of_a_manifest_changed_is_seen(data):
    raw = manifest_bytes((OLDER, IMAGE), subject="shelf")
    signature = sign(SIGNER, raw)
    changed = bytearray(raw)
    changed[data.draw(st.integers(0, len(raw) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    assert verify(SIGNER.public_key(), signature, raw)
    assert not verify(SIGNER.public_key(), signature, bytes(changed))
