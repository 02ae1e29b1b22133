"""A unit may say anything and an author write anything: nothing leaves, and each mistake has a line."""

import copy
import json
from urllib.parse import urlsplit

import pytest
from hypothesis import example as once
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from fleet.description.filling import fill
from fleet.description.located import FileMistakeError, read_located
from fleet.description.profile_check import check_profile
from fleet.description.profile_parts import Origin
from fleet.description.profiles import read_profile
from fleet.description.requests import read_request
from fleet.description.things import read_thing
from fleet.model.errors import UnitError
from tests.unit.description.profile_samples import SOUND, broker_profile, profile
from tests.unit.description.samples import ROOT, td_schema

SHIPPED = [path.read_bytes() for path in sorted((ROOT / "resources" / "profiles").glob("*.json"))]
PROFILES = [profile(), broker_profile(), *(read_profile(raw, "p.json") for raw in SHIPPED)]
SCHEMA = Draft202012Validator(
    json.loads((ROOT / "resources/schemas/profile.schema.json").read_text(encoding="utf-8"))
)
TD_SCHEMA = td_schema()
EVIL = [
    "..",
    ".",
    "../..",
    "%2e%2e",
    "//evil.example",
    "http://evil.example/",
    "@evil.example",
    ":99@evil.example",
    "evil.example#",
    "?x=1&y",
    "\\\\evil.example",
    "{?x}",
    "{+x}",
    "{{HOST}}",
    "+",
    "#",
    "a/#",
    "$SYS",
    "a\0b",
    "\r\nHost: evil.example",
    '"}, "base": "http://evil.example',
    "\u202e",
    "１２",
]
SAID = (
    st.sampled_from(EVIL)
    | st.text(max_size=30)
    | st.integers()
    | st.floats()
    | st.booleans()
    | st.none()
    | st.lists(st.text(max_size=3), max_size=2)
)
NUMBERS = st.integers(0, 9999) | SAID


@st.composite
def filled_profiles(draw):
    """A profile with what a unit says for each placeholder; the address is the real one."""
    held = draw(st.sampled_from(PROFILES))
    values = {}
    for name, source in held.placeholders.items():
        if source.origin is Origin.ADDRESS:
            values[name] = "192.0.2.7" if source.key == "host" else 8080
        else:
            values[name] = draw(NUMBERS if source.value_type == "integer" else SAID)
    return held, values


@given(filled_profiles())
def test_whatever_a_unit_says_nothing_goes_anywhere_else(drawn):
    held, values = drawn
    url = f"{held.scheme}://192.0.2.7:8080/"
    try:
        raw = fill(held, values)
    except UnitError:
        return
    unit = read_thing(raw, url)
    usual = read_thing(fill(held, {**values, **plain(held)}), url)
    for kind in ("properties", "actions"):
        for name, affordance in getattr(usual, kind).items():
            said = getattr(unit, kind)[name]
            assert len(said.forms) <= len(affordance.forms)
            for form in said.forms:
                assert urlsplit(form.url).netloc == "192.0.2.7:8080"
                assert form.moved_from is None
                assert not {"+", "#"} & {*form.topic, *form.filter}
                # As deep as its author meant it to be, so neither out of its folder nor into another.
                depths = {
                    (f.url.count("/"), f.topic.count("/"), f.filter.count("/"))
                    for f in affordance.forms
                }
                assert (
                    form.url.count("/"),
                    form.topic.count("/"),
                    form.filter.count("/"),
                ) in depths
            if said.form("readproperty") and said.form("readproperty").url.startswith("http"):
                assert urlsplit(read_request(unit, said).url).netloc == "192.0.2.7:8080"


def plain(held):
    words = {"integer": 7, "boolean": True, "text": "word"}
    return {
        name: words[source.value_type]
        for name, source in held.placeholders.items()
        if source.origin is not Origin.ADDRESS
    }


@given(st.sampled_from(PROFILES[:2]), SAID, SAID)
def test_a_host_and_a_port_are_nothing_else(held, host, port):
    values = {**plain(held), "HOST": host, "PORT": port}
    try:
        document = json.loads(fill(held, values))
    except UnitError:
        return
    base = urlsplit(document["base"])
    assert (base.scheme, base.path, base.query, base.fragment) == (held.scheme, "/", "", "")
    assert base.username is None
    assert 1 <= base.port <= 65535


SMALL_JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.text(max_size=8)
    | st.sampled_from(EVIL),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3)
    ),
    max_leaves=6,
)
TEXTS = [SOUND, *(raw.decode() for raw in SHIPPED)]


@st.composite
def bent_texts(draw):
    """A profile with pieces of its text cut, doubled or replaced."""
    text = draw(st.sampled_from(TEXTS))
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.integers(0, len(text)))
        end = at + draw(st.integers(0, 40))
        piece = draw(
            st.sampled_from(["", text[at:end] * 2, ",", "}", '"', "{{X}}", "\n", "null", "\ud800"])
        )
        text = text[:at] + piece + text[end:]
    return text.encode("utf-8", "replace" if draw(st.booleans()) else "surrogatepass")


@st.composite
def bent_values(draw):
    """A profile in which some members are others, still JSON."""
    document = json.loads(draw(st.sampled_from(TEXTS)))
    for _ in range(draw(st.integers(1, 3))):
        held = document
        while isinstance(held, dict | list) and held:
            keys = [*held] if isinstance(held, dict) else range(len(held))
            key = draw(st.sampled_from(keys))
            if draw(st.integers(0, 3)) == 0 or not isinstance(held[key], dict | list):
                bend(draw, held, key)
                break
            held = held[key]
    return document


def bend(draw, held, key):
    way = draw(st.sampled_from(["other", "gone", "more"]))
    if way == "other":
        held[key] = draw(SMALL_JSON)
    elif way == "gone":
        del held[key]
    elif isinstance(held, dict):
        held[draw(st.text(max_size=6) | st.sampled_from(["tm:ref", "{{X}}", "href"]))] = draw(
            SMALL_JSON
        )
    else:
        held.append(copy.deepcopy(held[key]))


def hold(raw):
    checked = check_profile(raw, "p.json", TD_SCHEMA)
    last = raw.count(b"\n") + 1
    for mistake in checked.mistakes:
        assert 1 <= mistake.line <= last
        assert mistake.sentence.endswith((".", "…."))
    assert checked.mistakes or checked.thing is not None
    return checked


@given(bent_texts())
@once(b"")
@once(b"\xff\n")
@once(b'{"a":' * 5000)
def test_a_check_of_a_bent_file_ends_with_sentences_and_lines_within_it(raw):
    hold(raw)


@given(bent_values())
def test_a_check_of_other_values_ends_with_sentences_and_lines_within_it(document):
    hold(json.dumps(document, indent=1).encode())


@given(bent_values())
def test_what_is_sound_passes_the_shipped_schema_as_well(document):
    try:
        read_profile(json.dumps(document).encode(), "p.json")
    except FileMistakeError:
        return
    assert SCHEMA.is_valid(document)


@given(
    st.dictionaries(st.text(max_size=5), SMALL_JSON, max_size=4), st.sampled_from([None, 1, "\t"])
)
def test_a_member_stands_in_the_line_that_is_told(document, indent):
    text = json.dumps(document, indent=indent)
    try:
        located = read_located(text.encode(), "f")
    except FileMistakeError:
        pytest.fail("sound JSON was refused")
    assert located.value == document
    lines = text.split("\n")
    for path, line in located.lines.items():
        if path and isinstance(path[-1], str):
            assert json.dumps(path[-1]) in lines[line - 1]
