"""Our invented container: what is a header, and what is just octets."""

import hashlib

import pytest

from fleet.simulator.images import MOST_HEADER_BYTES, header_of
from fleet.simulator.spool import NoSpaceError, Spool
from tests.unit.simulator.firmware_images import make_image
from tests.unit.simulator.small_house import TRACKING


def test_a_header_is_the_first_line_and_the_body_follows():
    image = make_image(b"body\nof two lines")
    header, begin = header_of(image)
    assert (header.version, header.sequence, header.class_id) == ("1.3.0", 13, TRACKING.class_id)
    assert image[begin:] == b"body\nof two lines"
    assert header.seal == hashlib.sha256(image[begin:]).hexdigest()


@pytest.mark.parametrize(
    "octets",
    [
        b"",
        b"\n",
        b"\x7fELF\n\x00",
        b'{"walkdown_image": 1',
        b'{"walkdown_image": 2}\n',
        b'{"version": "1"}\n',
        b'{"walkdown_image": 1, "sequence": "one"}\n',
        b"[" * 4000 + b"\n",
        b'{"walkdown_image": 1}'.ljust(MOST_HEADER_BYTES) + b"\n",
    ],
)
def test_octets_that_begin_otherwise_have_no_header(octets):
    assert header_of(octets) is None


def test_a_spool_keeps_what_was_written_piece_by_piece_and_its_digests():
    spool = Spool()
    for piece in (b"abc", b"", b"def"):
        spool.write(piece)
        assert spool.start() == b"abcdef"[: spool.size]
    assert spool.digest() == hashlib.sha256(b"abcdef").hexdigest()
    assert spool.digest(3) == hashlib.sha256(b"def").hexdigest()
    spool.close()


def test_a_spoilt_spool_keeps_one_octet_wrong():
    spool = Spool(spoilt=True)
    spool.write(b"abc")
    spool.write(b"def")
    assert spool.start() == b"`bcdef"
    spool.close()


def test_a_spool_that_is_full_keeps_what_it_has(monkeypatch):
    monkeypatch.setattr("fleet.simulator.spool.MOST_IMAGE_BYTES", 5)
    spool = Spool()
    spool.write(b"abc")
    with pytest.raises(NoSpaceError):
        spool.write(b"def")
    assert spool.start() == b"abc"
    spool.close()
