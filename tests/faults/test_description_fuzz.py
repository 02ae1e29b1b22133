"""A hundred thousand broken inputs: each is read or refused with a sentence of ours, soon, in little
memory, and nothing that is read leads away from the unit.

`python -m tests.faults.fuzz_once` is the same for ten million.
"""

import json
import random
import sys
import tracemalloc

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet.description.event_stream import EventStreamDecoder
from fleet.description.limits import MAX_DOCUMENT_BYTES, MAX_EVENT_BYTES
from fleet.description.things import read_thing
from fleet.model.errors import UnitError
from tests.faults import fuzz_once, fuzz_words
from tests.faults.fuzz_rules import hold_description
from tests.faults.fuzz_targets import TARGETS, try_input
from tests.unit.description.samples import URL, document

SEEDED = 98_500
DRAWN = 1_500
MOST_BYTES = 24 << 20
"""What reading one input may hold at a time: a hundred times the largest document that is read at all."""


def test_nothing_breaks_a_reader_or_leads_away_in_98_500_seeded_inputs():
    done = fuzz_once.run(0, SEEDED, None)
    sys.stdout.write("\n".join(done.lines()) + "\n")
    assert done.failures == []
    assert done.tried == sum(done.by_target.values()) == SEEDED
    assert done.by_target.keys() == TARGETS.keys()


WORDS, NAMES = st.sampled_from(fuzz_words.WORDS), st.sampled_from(fuzz_words.NAMES)
LEAVES = WORDS | st.sampled_from(fuzz_words.NUMBERS) | st.text(max_size=6) | st.floats()
ANYTHING = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=3),
    max_leaves=8,
)
FORMS = st.lists(
    st.fixed_dictionaries(
        {"href": WORDS | st.text(max_size=20)},
        optional={
            "op": st.lists(WORDS, max_size=3) | WORDS,
            "subprotocol": WORDS,
            "contentType": WORDS,
            "htv:methodName": WORDS,
            "security": WORDS,
            "mqv:topic": WORDS,
            "pres:pollEvery": LEAVES,
        },
    ),
    max_size=3,
)
SCHEMAS = st.recursive(
    st.dictionaries(NAMES, LEAVES, max_size=4),
    lambda inner: st.fixed_dictionaries(
        {"@type": WORDS},
        optional={
            "properties": st.dictionaries(NAMES, inner, max_size=3),
            "items": inner,
            "oneOf": st.lists(inner, max_size=3),
            "unit": WORDS,
            "enum": st.lists(LEAVES, max_size=3),
            "required": st.lists(NAMES, max_size=2),
        },
    ),
    max_leaves=6,
)
PROPERTIES = st.builds(lambda schema, forms: {**schema, "forms": forms}, SCHEMAS, FORMS)
DOCUMENTS = st.builds(
    lambda properties, parts: document(**parts, properties=properties),
    st.dictionaries(NAMES, PROPERTIES, min_size=1, max_size=3),
    st.fixed_dictionaries(
        {},
        optional={
            "base": WORDS,
            "title": WORDS,
            "security": ANYTHING,
            "securityDefinitions": st.dictionaries(NAMES, ANYTHING, max_size=3),
            "actions": st.dictionaries(NAMES, ANYTHING, max_size=2),
            "events": ANYTHING,
        },
    ),
)


@settings(max_examples=DRAWN, suppress_health_check=[HealthCheck.too_slow])
@given(DOCUMENTS | ANYTHING, st.integers(0, 2**32))
def test_nothing_breaks_the_description_reader_in_1_500_drawn_descriptions(drawn, seed):
    hold_description(json.dumps(drawn).encode(), random.Random(seed))


def test_a_failure_names_the_input_that_makes_it_again():
    def broken(chance):
        raise KeyError(chance.random())

    before = dict(TARGETS)
    TARGETS["report"] = broken
    try:
        first, again = try_input("report", 7), try_input("report", 7)
    finally:
        TARGETS.update(before)
    assert first.broke == again.broke
    assert first.broke.startswith("report 7: KeyError: ")


def peak_bytes(work) -> int:
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_memory_stays_small_over_many_broken_inputs():
    peak = peak_bytes(lambda: fuzz_once.run(SEEDED, 2_000, None))
    sys.stdout.write(f"2000 inputs: at most {peak >> 10} KiB held\n")
    assert peak < MOST_BYTES


LARGEST = {
    "numbers": b'{"a":[' + b"1," * (MAX_DOCUMENT_BYTES // 2 - 10) + b"1]}",
    "empty objects": b'{"a":[' + b"{}," * (MAX_DOCUMENT_BYTES // 3 - 10) + b"{}]}",
    "names": b"{" + b",".join(b'"%d":[]' % n for n in range(25_000)) + b"}",
    "nothing closed": b'{"a":[' * (MAX_DOCUMENT_BYTES // 6 - 1),
    "far too long": b'{"a": "' + b"x" * 10_000_000 + b'"}',
}


@pytest.mark.parametrize("sent", LARGEST.values(), ids=LARGEST.keys())
def test_the_largest_documents_cost_bounded_memory(sent):
    def read():
        with pytest.raises(UnitError):
            read_thing(sent, URL)

    assert peak_bytes(read) < MOST_BYTES


STREAMS = {
    "no line ever ends": b"x" * 4096,
    "data without an end of the event": b"data: x\n" * 512,
    "ends of lines of one kind": b"data: x\r" * 512,
    "comments for ever": b": alive\n" * 512,
    "events for ever": b"data: x\n\n" * 455,
    "names for ever": b"event: x\nid: 7\nretry: 1\n\n" * 150,
}


@pytest.mark.parametrize("chunk", STREAMS.values(), ids=STREAMS.keys())
def test_a_stream_of_a_megabyte_is_held_a_few_events_at_a_time(chunk):
    decoder = EventStreamDecoder()

    def feed():
        for _ in range(256):
            try:
                decoder.feed(chunk)
            except UnitError:
                break

    assert peak_bytes(feed) < 16 * MAX_EVENT_BYTES
