"""Reading the one file that a record's PDF carries, without a PDF library.

A PDF keeps an attached file as a stream object whose dictionary says /Type /EmbeddedFile
(ISO 32000-1, 7.11.4); a stream can't hide in another one, so it is found by its dictionary alone.
"""

import re
import zlib

_STREAM_HEAD = re.compile(
    rb"<<[^\x00]{0,400}?/Type\s*/EmbeddedFile(?![A-Za-z])[^\x00]{0,400}?>>\s*stream\r?\n", re.DOTALL
)


def attached_file(pdf: bytes, most_bytes: int) -> bytes:
    """Return the one file attached to a PDF.

    Args:
        pdf: the whole file.
        most_bytes: refuse to unpack more.

    Raises:
        ValueError: no file or several are attached, or it can't be unpacked; says which.
    """
    heads = list(_STREAM_HEAD.finditer(pdf))
    if len(heads) != 1:
        raise ValueError(f"it carries {len(heads)} attached files, not one")
    if b"/FlateDecode" not in heads[0].group():
        raise ValueError("its attached file is packed in a way that is not read here")
    unpacking = zlib.decompressobj()
    try:
        data = unpacking.decompress(pdf[heads[0].end() :], most_bytes)
    except zlib.error as reason:
        raise ValueError("its attached file is damaged") from reason
    if not unpacking.eof:
        raise ValueError("its attached file is cut off or too large")
    return data
