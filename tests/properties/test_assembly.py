"""What holds for every scattered unit: nothing is lost, and no write passes an invalid area."""

import json
from collections.abc import Iterator
from itertools import pairwise, permutations

from hypothesis import example, given
from hypothesis import strategies as st

from fleet.description.assembly import put_together, same, taken_apart
from fleet.description.documents import Json
from fleet.description.edges import EDGES, is_reversed, is_valid, order_of_writes
from fleet.description.everything import everything_said, said_besides
from fleet.description.frames import Complaint, ReportReader
from fleet.description.gathering import MOST_APART_S, OLDEST_S, Gathering
from fleet.description.meanings import meaning_of
from fleet.description.parts import is_place
from fleet.description.report_members import x_and_y
from fleet.description.things import read_thing
from fleet.description.values import fields
from fleet.description.vocabulary import AREA_SET, HOLD_TIME, INDICATOR_LIGHT, MAX_DISTANCE
from fleet.description.write_order import in_order
from fleet.engine.area_values import said_besides_areas
from tests.unit.description.samples import URL, document, with_property
from tests.unit.description.samples import example as described
from tests.unit.description.scattered import BODIES, PLACES, scattered

UNIT = read_thing(json.dumps(scattered()).encode(), URL)
FRAME, SETTINGS, AREAS = (UNIT.properties[name] for name in ("frame", "settings", "places"))
READER = ReportReader(FRAME)


def spans(lowest: int = -20, highest: int = 20) -> st.SearchStrategy[tuple[int, int]]:
    return st.lists(st.integers(lowest, highest), min_size=2, max_size=2, unique=True).map(
        lambda pair: (min(pair), max(pair))
    )


RECTS = st.tuples(spans(), spans()).map(
    lambda axes: dict(zip(EDGES, (*axes[0], *axes[1]), strict=True))
)
NONE = dict.fromkeys(EDGES, 0)


def states(standing: dict, order: list) -> Iterator[dict]:
    for edge, value in order:
        standing = {**standing, edge: value}
        yield standing


@given(RECTS, RECTS)
@example(dict(zip(EDGES, (0, 1, 0, 1), strict=True)), dict(zip(EDGES, (1, 2, 1, 2), strict=True)))
def test_no_rectangle_on_the_way_is_invalid_and_no_edge_is_written_twice_or_in_vain(before, after):
    order = order_of_writes(before, after)
    passed = [*states(before, order)]
    assert ({**before} if not order else passed[-1]) == after
    assert all(map(is_valid, passed))
    assert sorted(edge for edge, _ in order) == sorted(e for e in EDGES if before[e] != after[e])
    for edge, value in order:
        assert value == after[edge]
    for state in passed:  # so each step is within the bounds that hold for the old and the new area
        assert all(state[edge] in {before[edge], after[edge]} for edge in EDGES)


@given(RECTS, RECTS)
def test_the_order_is_among_the_sound_ones_of_all_orders(before, after):
    changed = [(edge, after[edge]) for edge in EDGES if before[edge] != after[edge]]
    sound = [
        order for order in permutations(changed) if all(map(is_valid, states(before, [*order])))
    ]
    assert tuple(order_of_writes(before, after)) in sound


@given(RECTS, RECTS, st.integers(1, 8))
def test_a_least_gap_holds_on_the_way_if_it_holds_at_both_ends(before, after, gap):
    wide = [
        {e: rect[e] + (gap if e.endswith("end") else 0) for e in EDGES} for rect in (before, after)
    ]
    order = order_of_writes(*wide, least_gap=gap)
    assert all(is_valid(state, gap) for state in states(wide[0], order))


@given(RECTS, st.booleans())
def test_an_area_that_comes_or_goes_is_never_reversed(rect, comes):
    before, after = (NONE, rect) if comes else (rect, NONE)
    assert not any(map(is_reversed, states(before, order_of_writes(before, after))))


@given(st.tuples(*[st.integers(-9, 9)] * 4), RECTS)
def test_an_area_that_stands_wrong_is_put_right_and_not_made_worse(edges, after):
    before = dict(zip(EDGES, edges, strict=True))
    passed = [before, *states(before, order_of_writes(before, after))]
    assert passed[-1] == after
    wrong = [sum(rect[s] > rect[e] for s, e in (EDGES[:2], EDGES[2:])) for rect in passed]
    # Each axis is put right once and stays right; only one that stands at nothing may be crossed.
    assert all(later <= earlier for earlier, later in pairwise(wrong)) or any(
        before[s] == before[e] for s, e in (EDGES[:2], EDGES[2:])
    )


def numbers(parts, lowest=-600, highest=600):
    return st.fixed_dictionaries({part.name: st.integers(lowest, highest) for part in parts})


@given(numbers(AREAS.parts), numbers(AREAS.parts))
def test_taken_apart_and_put_together_again_is_the_same(standing, wanted):
    whole = put_together(AREAS, wanted)
    changes = taken_apart(AREAS, whole, standing)
    assert same(put_together(AREAS, standing | changes), whole)
    assert all(not same(standing[name], value) for name, value in changes.items())
    assert taken_apart(AREAS, whole, standing | changes) == {}


@given(st.lists(RECTS | st.just(NONE), min_size=PLACES, max_size=PLACES), numbers(AREAS.parts))
def test_all_writes_of_an_area_set_end_where_they_should(rects, standing):
    own = ("left", "right", "near", "far")
    wanted = {
        f"place{place}{name}": rect[edge]
        for place, rect in enumerate(rects, 1)
        for name, edge in zip(own, EDGES, strict=True)
    }
    changes = taken_apart(AREAS, put_together(AREAS, wanted), standing)
    writes = in_order(AREAS, standing, changes)
    assert sorted(writes) == sorted(changes.items())
    assert {**standing, **dict(writes)} == wanted


NAMES = [part.name for part in FRAME.parts] + ["bodies"]
ARRIVALS = st.lists(
    st.tuples(
        st.sampled_from(NAMES),
        st.integers(-600, 600) | st.none() | st.text(max_size=2) | st.booleans(),
        st.floats(0, 3, allow_nan=False),
    ),
    max_size=40,
)
LIKELY = st.lists(
    st.tuples(
        st.sampled_from([*NAMES, "bodies", "body1right", "body1away"]),
        st.integers(0, BODIES),
        st.floats(0, 1.5, allow_nan=False),
    ),
    max_size=60,
)


@given(ARRIVALS | LIKELY)
def test_no_report_is_made_of_halves_that_do_not_belong_together(arrivals):
    gathering, now_s = Gathering(FRAME), 0.0
    came: dict[str, tuple[Json, float]] = {}
    for name, value, after_s in arrivals:
        now_s += after_s
        came[name] = (value, now_s)
        if not gathering.take(name, value, now_s):
            continue
        whole = gathering.whole(now_s)
        ages_s = gathering.ages_s(now_s)
        assert set(ages_s) <= set(came)
        assert all(abs(ages_s[part] - (now_s - came[part][1])) < 1e-9 for part in ages_s)
        for body, entry in enumerate(whole["targets"], 1):
            if entry is None:
                continue
            right, away = came[f"body{body}right"], came[f"body{body}away"]
            assert (entry["right"], entry["away"]) == (right[0], away[0])
            assert abs(right[1] - away[1]) <= MOST_APART_S
            assert now_s - min(right[1], away[1]) <= OLDEST_S
            assert came["bodies"][0] >= body
        read = READER.read(json.dumps(whole))
        assert isinstance(read, Complaint) or read.number is None
        if not isinstance(read, Complaint) and not read.targets:
            assert came["bodies"][0] < 1  # empty means that nobody is there


SCALARS = (
    st.none()
    | st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.floats(-1e9, 1e9, allow_nan=False)
    | st.text(max_size=12)
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner, max_size=4)
    ),
    max_leaves=25,
)
SCHEMA = {
    "@type": "pres:Temperature",
    "type": "object",
    "unit": "qunit:DEG_C",
    "pres:factor": 0.5,
    "properties": {
        name: {"unit": "mV", "pres:factor": 0.25, "items": {"unit": "cm"}}
        for name in ("", "a", "0")
    },
}


def leaves(value: Json) -> int:
    if isinstance(value, dict | list) and value:
        inner = value.values() if isinstance(value, dict) else value
        return sum(map(leaves, inner))
    return 1


@given(VALUES, st.sampled_from([{}, SCHEMA]))
def test_every_single_value_that_a_unit_says_is_worded_once(value, schema):
    affordance = with_property(schema).properties["p"]
    said = everything_said(affordance, value)
    assert len(said) == leaves(value)
    assert all(path.startswith("p") for path in said)


MEMBERS = {
    "a": {"@type": "pres:HoldTime", "unit": "min"},
    "b": {"@type": "pres:HoldTime"},
    "c": {"@type": "pres:MaxDistance", "unit": "cm"},
    "d": {"unit": "V"},
    "e": {"@type": "pres:IndicatorLight", "pres:words": {"on": True}},
}


@given(
    st.dictionaries(st.sampled_from("abcdef"), SCALARS | st.just("on") | st.integers(0, 3)),
    st.sets(st.sampled_from([HOLD_TIME, MAX_DISTANCE, INDICATOR_LIGHT, "d", "f"])),
)
def test_what_is_not_kept_elsewhere_is_worded_and_nothing_is_both(value, kept_keys):
    affordance = with_property({"type": "object", "properties": MEMBERS}).properties["p"]
    found = fields(affordance.schema, value)
    kept = {key: held for key, held in found.items() if key in kept_keys}
    said = said_besides(affordance, value, kept)
    for name, held in value.items():
        ((key, ours),) = fields(affordance.schema, {name: held}).items()
        assert (f"p.{name}" in said) is not (key in kept and same(kept[key], ours))


SOUND_AREAS = st.fixed_dictionaries(
    {
        "id": st.text("abc", min_size=1, max_size=3),
        "kind": st.sampled_from(["watch", "ignore", "doorway"]),
        "label": st.text("xyz", max_size=3),
        "shape": st.just("rectangle"),
        "min": st.just({"x": 0, "y": 0}),
        "max": st.just({"x": 900, "y": 700}),
    }
)
EXTRAS = st.dictionaries(st.sampled_from(["note", "depth", "m n"]), VALUES, max_size=2)


@given(st.lists(st.tuples(SOUND_AREAS, EXTRAS) | SCALARS, max_size=4), EXTRAS, st.integers(0, 9))
def test_what_of_an_area_set_is_no_area_is_worded(entries, besides, revision):
    affordance = read_thing(described("tracking"), URL).property_of(AREA_SET)
    listed = [{**e[1], **e[0]} if isinstance(e, tuple) else e for e in entries]
    said = said_besides_areas(affordance, {**besides, "revision": revision, "areas": listed})
    extra, ids = sum(map(leaves, besides.values())), set()
    for entry in entries:
        if isinstance(entry, tuple):
            extra += sum(map(leaves, entry[1].values()))
            extra += 8 if entry[0]["id"] in ids else 0  # the second of an id: all its members
            ids.add(entry[0]["id"])
        elif entry is not None:
            extra += 1
    assert len(said) == extra


@given(
    st.dictionaries(st.sampled_from("abcdef"), SCALARS, min_size=1),
    st.sampled_from(["mV", "cm", "", "°C"]),
    st.sampled_from([None, 0.5, -2, 100]),
)
def test_a_number_is_worded_as_the_unit_means_it_and_nothing_else_is_changed(value, unit, factor):
    member = {"unit": unit} | ({} if factor is None else {"pres:factor": factor})
    schema = {"type": "object", "properties": dict.fromkeys("abcdef", member)}
    said = everything_said(with_property(schema).properties["p"], value)
    for name, held in value.items():
        words = said[f"p.{name}"]
        if isinstance(held, bool):
            assert words == str(held).lower()
        elif isinstance(held, int | float):
            number, _, sign = words.partition(" ")
            assert sign == unit
            assert float(number) == held * (factor or 1)


@given(
    st.integers(-(10**6), 10**6),
    st.sampled_from([0.1, 0.001, 1, 10, -1, 0.25]),
    st.sampled_from(["cm", "mm", "m"]),
)
def test_a_step_of_the_units_survives_the_way_there_and_back(theirs, factor, unit):
    schema = {"@type": "pres:SensorX", "type": "integer", "unit": unit, "pres:factor": factor}
    meaning = meaning_of("p", with_property(schema).properties["p"].schema)
    ours = meaning.ours(theirs)
    assert isinstance(ours, int)
    step_mm = abs(factor) * {"mm": 1, "cm": 10, "m": 1000}[unit]
    back = meaning.theirs(ours)
    assert back == theirs or step_mm < 1
    assert abs(meaning.ours(back) - ours) <= 1


@given(st.integers(0, 100_000), st.integers(-360_000, 360_000))
def test_a_place_by_range_and_angle_is_as_far_as_the_range_and_mirrors_with_the_angle(
    range_mm, angle_mdeg
):
    x_mm, y_mm = x_and_y(range_mm, angle_mdeg)
    assert abs((x_mm**2 + y_mm**2) ** 0.5 - range_mm) <= 0.71
    assert x_and_y(range_mm, -angle_mdeg) == (-x_mm, y_mm)
    assert x_and_y(range_mm, 180_000 - angle_mdeg) == (x_mm, -y_mm)


POINTERS = st.lists(
    st.sampled_from(["a", "b", "0", "1", "63", "64", "~0", "~1", "~", "", "01"]), max_size=10
).map(lambda steps: "".join(f"/{step}" for step in steps)) | st.text(max_size=6)
RAW_PARTS = st.lists(
    st.fixed_dictionaries(
        {
            "property": st.sampled_from(["s", "t", "p", "q", "ghost"]) | SCALARS,
            "at": POINTERS | SCALARS,
        },
        optional={
            "when": st.fixed_dictionaries({"property": st.sampled_from("stpq"), "atLeast": SCALARS})
        },
    )
    | SCALARS,
    max_size=8,
)


@given(RAW_PARTS, RAW_PARTS, SCALARS, SCALARS)
def test_any_parts_are_read_or_complained_about_and_what_is_read_can_be_put_together(
    first, second, s, t
):
    forms = {"forms": [{"href": "/x"}]}
    raw = document(
        properties={
            "s": {"unit": "cm", **forms},
            "t": forms,
            "p": {"@type": "pres:TargetFrame", "pres:parts": first},
            "q": {"pres:parts": second},
        }
    )
    unit = read_thing(json.dumps(raw).encode(), URL)
    for name, listed in (("p", first), ("q", second)):
        whole = unit.properties[name]
        left_out = len(listed) - len(whole.parts)
        said = [text for text in unit.complaints if text.startswith(f"{name}: a part was left out")]
        assert bool(said) == bool(left_out)
        value = put_together(whole, {"s": s, "t": t})
        assert taken_apart(whole, value, {"s": s, "t": t}) == {}
        assert all(len(part.at) <= 8 and part.name in {"s", "t"} for part in whole.parts)
        assert all(int(step) < 64 for part in whole.parts for step in part.at if is_place(step))
        ReportReader(whole).read(json.dumps(value))
