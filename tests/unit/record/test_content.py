"""What a record says, and what it never says."""

import dataclasses
import json

import pytest
from jsonschema import Draft202012Validator

from fleet.model.errors import RecordError
from fleet.model.findings import Finding, FindingKind
from fleet.record.content import record_document
from fleet.record.findings import findings_document
from fleet.record.tables import units_csv
from fleet.shipped import resources
from fleet.signing.canonical import canonical_bytes
from tests.unit.record.small_house import AT, FINDINGS, small_house


def document(house=None, *, speed=20.0):
    return record_document(
        house or small_house(),
        issued_at=AT,
        by="R. Invented",
        speed=speed,
        journal_head="ab" * 32,
        seed_note="1",
    )


def schema(name):
    path = resources() / "schemas" / f"{name}.schema.json"
    return Draft202012Validator(json.loads(path.read_text(encoding="utf-8")))


def test_a_record_follows_its_schema():
    assert list(schema("record").iter_errors(document())) == []


def test_a_demo_says_how_fast_its_clock_ran():
    assert document()["demo"] == {"clock": 20, "seed": "1"}
    assert document(speed=2.5)["demo"]["clock"] == "2.5"


def test_a_real_house_at_real_speed_says_nothing_of_a_demo():
    assert "demo" not in document(small_house(demo=False), speed=1.0)


def test_a_room_stands_with_its_signature_and_exceptions():
    bedroom, study, _ = document()["rooms"]

    assert bedroom["signature"] == {
        "name": "A. Invented",
        "role": "client",
        "signed_at": "2026-11-25T09:57:00.000Z",
        "exceptions": {"soak": "the house is lived in; soak follows"},
    }
    assert "signature" not in study


def test_a_room_said_to_be_accepted_without_its_signature_is_refused():
    house = dataclasses.replace(small_house(), signatures={})

    with pytest.raises(RecordError, match="signature itself is not at hand"):
        document(house)


def test_the_register_gives_settings_as_left_and_found_with_their_times():
    first, _, unread = document()["register"]

    assert first["found"]["setting.hold_time_s"] == 60
    assert first["as_left"]["setting.hold_time_s"] == 90
    assert first["read_at"] == "2026-11-25T09:40:00.000Z"
    assert "read_at" not in unread
    assert unread["missing"] == ["never read"]


def test_areas_are_those_found_and_of_a_unit_never_read_the_planned_ones():
    bedroom, study, store = document()["rooms"]

    assert [area["kind"] for area in bedroom["areas"]] == ["watch", "ignore", "doorway"]
    assert {area["frame"] for area in bedroom["areas"]} == {"unit"}
    assert study["areas"] == []
    assert [area["sheet"] for area in store["areas"]] == ["planned"]


def test_areas_that_cannot_be_read_are_said_to_be_missing():
    house = small_house()
    unit = house.units["inv-0001"]
    odd = dataclasses.replace(unit.found, sheet={"areas.a1.outline": "no corners"})
    units = {**house.units, "inv-0001": dataclasses.replace(unit, found=odd)}

    said = document(dataclasses.replace(house, units=units))

    assert said["rooms"][0]["areas"] == []
    assert "is no outline" in said["register"][0]["missing"][0]


def test_what_a_unit_says_of_breathing_is_not_in_the_record():
    assert "breath" not in canonical_bytes({**document(), "cautions": []}).decode()


def test_text_is_in_one_normal_form():
    decomposed = "Chambre d'e\u0301te\u0301"

    assert document(small_house(bedroom=decomposed))["rooms"][0]["name"] == "Chambre d'été"


@pytest.mark.parametrize(
    ("member", "named"),
    [
        ({"a": [{"b": 0.5}]}, r"record\.a\[0\]\.b is float"),
        ({"a": 1.0}, r"record\.a is float"),
        ({"a": None}, r"record\.a is NoneType"),
        ({"a": 2**53}, r"record\.a is larger"),
        ({"a": "\ud800"}, r"record\.a holds half a character"),
        ({"é": 1, "e\u0301": 2}, r"two members named 'é'"),
        ({"a": {1: 2}}, r"record\.a has a member named 1"),
    ],
)
def test_what_a_record_cannot_hold_is_refused_by_its_name(member, named):
    with pytest.raises(RecordError, match=named):
        canonical_bytes(member)


def test_findings_name_rooms_as_people_do_and_follow_their_schema():
    written = findings_document(FINDINGS, {"bedroom": "Bedroom", "study": "Study"})

    assert list(schema("findings").iter_errors(written)) == []
    assert written[0] == {
        "room": "Bedroom",
        "unit": "U01",
        "kind": "setting-changed",
        "evidence": {"found": 60, "as_left": 90, "setting": "hold_time_s"},
    }


def test_schemas_know_every_kind_of_finding():
    for kind in FindingKind:
        written = findings_document([Finding("r", "U01", kind, "because")], {})
        assert list(schema("findings").iter_errors(written)) == []
        snag = {**written[0], "reason": "because"}
        assert list(schema("record").iter_errors({**document(), "snags": [snag]})) == []


def test_the_table_of_units_has_a_line_each_and_a_column_a_setting():
    lines = units_csv(document()).decode("utf-8").split("\r\n")

    assert lines[0].endswith("setting.hold_time_s,setting.indicator_light,setting.max_distance_mm")
    assert lines[1].startswith("U01,inv-0001,Bedroom under the eaves,tracking,tracking,3.1,HX-2,")
    assert lines[1].endswith(",60,no,6000")
    assert len(lines) == 5
    assert lines[-1] == ""


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t"])
def test_text_that_a_spreadsheet_would_run_is_made_plain(start):
    table = units_csv(document(small_house(bedroom=f'{start}cmd|"x",1'))).decode("utf-8")

    assert f'"\'{start}cmd|""x"",1"' in table
