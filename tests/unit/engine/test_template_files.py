import json

import jsonschema
import pytest

from fleet.engine.files import schema
from fleet.engine.template_files import read_template, shipped_template, template_text
from fleet.model.errors import PlanError
from fleet.model.house import RoomKind
from fleet.model.templates import Level
from fleet.shipped import resources

SOUND = {
    "format": "walkdown-template/1",
    "level": "room",
    "subject": "den",
    "settings": [{"module_type": "static", "values": {"hold_time_s": 30}}],
}


def written(tmp_path, document):
    path = tmp_path / "template.json"
    text = document if isinstance(document, str) else json.dumps(document)
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("kind", RoomKind)
def test_every_kind_of_room_has_an_example_that_says_what_it_rests_on(kind):
    template = shipped_template(kind)
    assert (template.level, template.subject) == (Level.ROOM_KIND, kind)
    assert "common practice, no source" in template.note.lower()
    assert all(rule.why for rule in template.settings)
    assert all(item.why for rule in template.checklist for item in rule.add)


def test_there_are_no_other_examples():
    files = (resources() / "templates").iterdir()
    assert {file.stem for file in files} == set(RoomKind)


def test_the_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(schema("template"))


def test_a_template_is_written_as_it_is_read(tmp_path):
    template = shipped_template(RoomKind.BEDROOM)
    assert read_template(written(tmp_path, template_text(template))) == template
    own = read_template(written(tmp_path, SOUND))
    assert read_template(written(tmp_path, template_text(own))) == own


def test_a_site_needs_no_subject(tmp_path):
    site = {"format": "walkdown-template/1", "level": "site"}
    assert read_template(written(tmp_path, site)).subject == ""


@pytest.mark.parametrize(
    "change",
    [
        {"level": "unit"},
        {"subject": ""},
        {"level": "site"},
        {"level": "room kind"},
        {"colour": "white"},
        {"format": "walkdown-template/2"},
        {"settings": [{"values": {}}]},
        {"settings": [{"values": {"hold_time_s": 1.5}}]},
        {"settings": [{"values": {"hold_time_s": None}}]},
        {"settings": [{"values": {" ": 1}}]},
        {"settings": [{"values": {"hold_time_s": "30"}}]},
        {"settings": [{"values": {"a": 1}, "module_type": "radar"}]},
        {"checklist": [{"add": [{"key": "a", "text": "A.", "evidence": "auto"}]}]},
        {"checklist": [{"add": [{"key": "A b", "text": "A.", "evidence": "tick"}]}]},
        {"checklist": [{"leave_out": [{"key": "soak"}]}]},
        {"checklist": [{"leave_out": [{"key": "acceptance", "why": "no"}]}]},
    ],
)
def test_a_file_that_is_not_of_the_form_is_refused_with_its_name(tmp_path, change):
    with pytest.raises(PlanError, match=r"template\.json: .*Nothing was taken over"):
        read_template(written(tmp_path, SOUND | change))


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("{", "no JSON"),
        ("[]", "no JSON object"),
        ("[" * 100_000, "no JSON"),
        ('{"format": "' + "x" * (1 << 20) + '"}', "larger than 1 MiB"),
    ],
    ids=["cut off", "a list", "deep", "long"],
)
def test_a_file_that_is_no_template_at_all_is_refused(tmp_path, text, reason):
    with pytest.raises(PlanError, match=reason):
        read_template(written(tmp_path, text))


def test_a_file_that_is_not_there_or_no_text_is_refused(tmp_path):
    with pytest.raises(PlanError, match="can't be read"):
        read_template(tmp_path / "none.json")
    (tmp_path / "odd.json").write_bytes(b"\xff\xfe{}")
    with pytest.raises(PlanError, match="no JSON"):
        read_template(tmp_path / "odd.json")
