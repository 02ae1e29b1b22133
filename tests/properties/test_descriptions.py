"""A stranger may send anything: the reader refuses it or reads it, and nothing points elsewhere."""

import copy
import json
from contextlib import suppress
from urllib.parse import urlsplit

from hypothesis import example as once
from hypothesis import given
from hypothesis import strategies as st

from fleet.description.checking import check_value
from fleet.description.documents import parse_json
from fleet.description.frames import Complaint, OccupancyReader, ReportReader
from fleet.description.requests import read_request
from fleet.description.texts import plain_text
from fleet.description.things import Thing, read_thing
from fleet.description.units import scale_of
from fleet.description.values import fields, with_fields
from fleet.description.vocabulary import MAX_DISTANCE, OCCUPANCY, PRES, TARGET_FRAME
from fleet.model.errors import PlanError, UnitError
from fleet.model.reports import OccupancyReport, Report
from tests.unit.description.samples import URL, example

SCALARS = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=20)
    | st.sampled_from(
        [
            "x",
            "http://evil.example/x",
            "ws://evil.example/x",
            "wss://192.0.2.7:8080/x",
            "mqtt://evil.example/x",
            "//h/",
            "x{?a}",
            "integer",
            "object",
            "pres:HoldTime",
            "oneOf",
            "qunit:M",
            "readproperty",
            "sse",
            "{",
            "(a+)+$",
            "\u202e",
        ]
    )
)
KEYS = st.text(max_size=8) | st.sampled_from(
    [
        "forms",
        "href",
        "op",
        "@type",
        "type",
        "properties",
        "items",
        "oneOf",
        "required",
        "enum",
        "multipleOf",
        "unit",
        "security",
        "base",
        "@context",
        "uriVariables",
        "contentType",
        "htv:methodName",
        "subprotocol",
        "input",
        "actions",
        "events",
        "securityDefinitions",
    ]
)
ANYTHING = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=5),
    max_leaves=25,
)
TRACKING = json.loads(example("tracking"))
OWN_ORIGINS = {("http", "192.0.2.7:8080"), ("ws", "192.0.2.7:8080")}
UNIT = read_thing(example("tracking"), URL)
REPORTS = ReportReader(UNIT.property_of(TARGET_FRAME))
OCCUPANCIES = OccupancyReader(UNIT.property_of(OCCUPANCY))


def places_in(value, path=()):
    yield path
    inner = (
        value.items()
        if isinstance(value, dict)
        else (enumerate(value) if isinstance(value, list) else ())
    )
    for key, entry in inner:
        yield from places_in(entry, (*path, key))


PLACES = [path for path in places_in(TRACKING) if path]


def changed(path, value):
    document = copy.deepcopy(TRACKING)
    parent = document
    for step in path[:-1]:
        parent = parent[step]
    parent[path[-1]] = value
    return document


def read(document) -> Thing | None:
    try:
        return read_thing(json.dumps(document).encode(), URL, require_unit=False)
    except UnitError:
        return None


def hold(thing: Thing | None) -> None:
    """Every request of a thing goes to its own origin; using its schemas raises our errors only."""
    if thing is None:
        return
    everything = [*thing.properties.values(), *thing.actions.values(), *thing.events.values()]
    for affordance in everything:
        for form in affordance.forms:
            assert urlsplit(form.url)[:2] in OWN_ORIGINS
        if affordance.form("readproperty"):
            request = read_request(thing, affordance, {"a": "//evil.example/"})
            assert request.url.startswith("http://192.0.2.7:8080/")
        ReportReader(affordance).read(b'{"targets": [{"x": 1, "y": 2}]}')
        fields(affordance.schema, {"x": 1})
        with suppress(PlanError):
            check_value(affordance, {"x": [1, "a"], "holdTime": 3}, "U")


@given(ANYTHING)
def test_any_json_is_read_or_refused_and_nothing_leads_away(document):
    hold(read(document))


@given(st.sampled_from(PLACES), ANYTHING)
def test_a_good_description_with_anything_in_one_place_is_read_or_refused(path, value):
    hold(read(changed(path, value)))


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(raw):
    with suppress(UnitError):
        value = parse_json(raw, subject="unit")
        assert parse_json(json.dumps(value).encode(), subject="unit") == value


REPORT = st.fixed_dictionaries(
    {},
    optional={
        "time": SCALARS,
        "number": SCALARS,
        "any": SCALARS,
        "targets": st.lists(
            st.dictionaries(st.sampled_from(["x", "y", "id", "speed"]), SCALARS) | SCALARS,
            max_size=4,
        )
        | SCALARS,
        "areas": st.lists(
            st.dictionaries(st.sampled_from(["id", "occupied", "count"]), SCALARS) | SCALARS,
            max_size=4,
        )
        | SCALARS,
    },
)


@given((REPORT | ANYTHING).map(json.dumps).map(str.encode) | st.binary(max_size=200))
@once(b"\xff")
def test_any_report_is_a_report_or_a_complaint(sent):
    assert isinstance(REPORTS.read(sent), Report | Complaint)
    assert isinstance(OCCUPANCIES.read(sent), OccupancyReport | Complaint)


@given(st.integers(0, 20_000), st.sampled_from(["mm", "cm", "m", "in", "ft"]))
def test_a_length_that_a_unit_holds_exactly_comes_back_as_it_went(length_mm, sign):
    scale = scale_of(MAX_DISTANCE, sign)
    assert scale.to_ours(scale.to_theirs(length_mm, None, whole=False)) == length_mm


@given(st.integers(500, 6000), st.integers(0, 3600))
def test_what_is_put_in_by_type_is_found_by_type(distance_mm, hold_s):
    settings = UNIT.property_of(PRES + "Settings")
    changes = {MAX_DISTANCE: distance_mm, PRES + "HoldTime": hold_s}
    assert fields(settings.schema, with_fields(settings, {}, changes)) == changes


@given(st.text(max_size=500))
def test_safe_text_is_short_and_stays_as_it_is(text):
    shown = plain_text(text, 40)
    assert len(shown) <= 40
    assert plain_text(shown, 40) == shown
    assert not set("<>\n\r\0\u202e\u2066") & set(shown)
