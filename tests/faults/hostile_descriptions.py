"""Descriptions that are refused as they stand, for the reader and for a visit."""

import json

from tests.unit.description.samples import document


def raw(**parts):
    return json.dumps(document(**parts)).encode()


HOSTILE_BYTES = {
    "10 MB": b'{"a": "' + b"x" * 10_000_000 + b'"}',
    "1,000 levels deep": b'{"a":' * 1000 + b"1" + b"}" * 1000,
    "100,000 levels deep": b"[" * 100_000 + b"]" * 100_000,
    "no number": b'{"minimum": NaN}',
    "a name twice": b'{"id": "a", "id": "b"}',
    "many names, the last one twice": (
        b"{" + b",".join(b'"%d":0' % n for n in range(20_000)) + b',"19999":0}'
    ),
    "a huge integer": b'{"a": ' + b"9" * 200_000 + b"}",
    "a huge exponent": b'{"a": 1e99999}',
    "100,000 affordances": raw(properties={f"p{n}": {} for n in range(100_000)}),
    "half a character": b'{"a": "\\ud83d"}',
    "bad UTF-8": b'{"a": "\xff\xfe"}',
    "NUL": b"\0" * 1000,
    "nothing": b"",
    "a page of HTML": b"<html><body>",
    "an array": b"[]",
    "another kind of thing": raw(**{"@type": "pres:Kettle"}),
    "types that are numbers": raw(**{"@type": [1, 2, 3]}),
    "an expanding entity": b'<!DOCTYPE a [<!ENTITY b "bbbb">]><a>&b;&b;</a>',
}
