"""Reading the one file that a record's PDF carries, without a PDF library.

A PDF keeps an attached file as a stream object whose dictionary says /Type /EmbeddedFile
(ISO 32000-1, 7.11.4); a stream can't hide in another one, so it is found by its dictionary alone.
"""

import re
import zlib

_KIND = re.compile(rb"/Type\s{0,4}/EmbeddedFile(?![A-Za-z])")
_DATA = re.compile(rb">>\s{0,4}stream\r?\n")
_LONGEST_HEAD = 400
"""Bytes looked at on each side of the kind, so that no file makes the search long."""


def attached_file(pdf: bytes, most_bytes: int) -> bytes:
    """Return the one file attached to a PDF.

    Args:
        pdf: the whole file.
        most_bytes: refuse to unpack more.

    Raises:
        ValueError: the PDF is cut off, carries no file or several, or can't be unpacked; says which.
    """
    if not pdf.rstrip().endswith(b"%%EOF"):
        raise ValueError("it is cut off, or is no PDF")
    kinds = list(_KIND.finditer(pdf))
    if len(kinds) != 1:
        raise ValueError(f"it carries {len(kinds)} attached files, not one")
    start = _data_start(pdf, kinds[0])
    unpacking = zlib.decompressobj()
    try:
        data = unpacking.decompress(pdf[start:], most_bytes)
    except zlib.error as reason:
        raise ValueError("its attached file is damaged") from reason
    if not unpacking.eof:
        raise ValueError("its attached file is cut off or too large")
    return data


def _data_start(pdf: bytes, kind: re.Match[bytes]) -> int:
    data = _DATA.search(pdf, kind.end(), kind.end() + _LONGEST_HEAD)
    if data is None:
        raise ValueError("its attached file is damaged")
    if b"/FlateDecode" not in pdf[max(0, kind.start() - _LONGEST_HEAD) : data.end()]:
        raise ValueError("its attached file is packed in a way that is not read here")
    return data.end()
