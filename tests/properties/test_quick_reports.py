"""What the quick reader of plain reports says is what the careful one says, or nothing."""

import json

from hypothesis import given
from hypothesis import strategies as st

from fleet.description.frames import ReportReader
from fleet.description.things import read_thing
from fleet.description.vocabulary import TARGET_FRAME
from tests.architecture.source_rules import ROOT

FOLDER = ROOT / "tests" / "data" / "descriptions"
READERS = [
    ReportReader(thing.property_of(TARGET_FRAME))
    for name in ("tracking", "static", "vital")
    if (thing := read_thing((FOLDER / f"{name}.td.json").read_bytes(), "http://192.0.2.1/td"))
]
numbers = st.one_of(
    st.integers(-(2**70), 2**70),
    st.integers(-7000, 7000),
    st.floats(allow_nan=False),
    st.booleans(),
    st.none(),
    st.text(max_size=3),
)
entries = st.one_of(
    st.dictionaries(
        st.sampled_from(["id", "x", "y", "range", "speed", "odd"]), numbers, max_size=6
    ),
    numbers,
)
times = st.one_of(
    st.datetimes().map(lambda at: f"{at.isoformat()}Z"),
    st.datetimes().map(lambda at: f"{at.isoformat()}+23:59"),
    st.datetimes().map(str),
    st.sampled_from(
        [
            "1990-12-31T23:59:60Z",
            "2026-11-25t12:00:00z",
            "2026-11-25T24:00:00Z",
            "2026-11-25T12Z",
            "",
        ]
    ),
    numbers,
)
reports = st.fixed_dictionaries(
    {},
    optional={"time": times, "number": numbers, "targets": st.lists(entries, max_size=5) | numbers},
)


@given(st.sampled_from(READERS), reports)
def test_the_quick_reader_never_says_anything_else(reader, report):
    data = json.dumps(report).encode()
    assert reader.read(data) == reader.read_with_care(data)


@given(st.sampled_from(READERS), st.binary(max_size=80))
def test_nor_of_bytes(reader, data):
    assert reader.read(data) == reader.read_with_care(data)


def test_plain_reports_are_read_the_quick_way():
    plain = (
        b'{"time": "2026-11-25T12:00:00.25Z", "number": 4, "targets": [{"id": 1, "x": -5, "y": 2}]}'
    )
    assert READERS[0]._quick(plain) == READERS[0].read_with_care(plain)
    assert READERS[0]._quick(b'{"targets": [{"x": 1.5, "y": 2}]}') is None


def test_a_unit_whose_names_the_decoder_does_not_take_is_read_with_care():
    raw = (FOLDER / "tracking.td.json").read_text(encoding="utf-8")
    document = json.loads(raw)
    members = document["properties"]["targets"]["properties"]
    members['the "number"'] = members.pop("number")
    thing = read_thing(json.dumps(document).encode(), "http://192.0.2.1/td")
    reader = ReportReader(thing.property_of(TARGET_FRAME))
    assert reader._quick is None
    assert reader.read(json.dumps({'the "number"': 7, "targets": []})).number == 7
