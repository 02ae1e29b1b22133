import json

import pytest

from fleet.cli.main import main
from fleet.engine.template_files import shipped_template, template_text
from fleet.inventory.inventory import open_inventory
from fleet.model.house import RoomKind
from fleet.model.templates import Level
from tests.inventories import CountingClock, small_plan

WHY = ("--why", "agreed with the client", "--by", "A. N.")


@pytest.fixture
def data(tmp_path):
    """A data folder with the small site."""
    with open_inventory(tmp_path / "data", CountingClock()) as inventory:
        inventory.add_site(small_plan())
    return tmp_path / "data"


@pytest.fixture
def template(data, capsys):
    """Run a word of the verb; return exit code, what was printed, and what was complained about."""

    def run(*words):
        code = main(["template", *words, "--data", str(data)])
        said = capsys.readouterr()
        return code, said.out, said.err

    return run


def kept(data):
    with open_inventory(data, CountingClock()) as inventory:
        return [one.template for one in inventory.templates()]


def test_without_a_site_there_is_nothing_to_set(tmp_path, capsys):
    assert main(["template", "list", "--data", str(tmp_path)]) == 3
    assert "walkdown site add" in capsys.readouterr().err


def test_a_site_without_templates_says_so_and_names_the_examples(template):
    code, out, _ = template("list")
    assert code == 0
    assert "no templates" in out
    assert "bathroom" in out


def test_an_example_is_set_and_listed(template, data):
    code, out, _ = template("set", "--example", "bedroom", *WHY)
    assert code == 0
    assert "No unit was written to" in out
    assert kept(data) == [shipped_template(RoomKind.BEDROOM)]
    _, listed, _ = template("list")
    assert "room kind bedroom" in listed
    assert "set by A. N." in listed


def test_the_list_for_scripts_holds_templates_and_examples(template):
    template("set", "--site", "indicator_light=off", *WHY)
    document = json.loads(template("list", "--json")[1])
    (one,) = document["templates"]
    assert (one["by"], one["why"]) == ("A. N.", "agreed with the client")
    assert one["template"]["settings"][0]["values"] == {"indicator_light": False}
    assert len(document["examples"]) == len(RoomKind)


def test_a_file_is_set(template, data, tmp_path):
    path = tmp_path / "mine.json"
    path.write_text(template_text(shipped_template(RoomKind.OFFICE)), encoding="utf-8")
    assert template("set", "--file", str(path), *WHY)[0] == 0
    assert kept(data) == [shipped_template(RoomKind.OFFICE)]


def test_values_are_set_for_a_module_type_and_taken_away(template, data):
    words = ("set", "--room", "hall", "--module", "tracking")
    assert template(*words, "hold_time_s=25", "mode=quiet", *WHY)[0] == 0
    assert template(*words, "setting.mode=", *WHY)[0] == 0
    (one,) = kept(data)
    assert (one.level, one.subject) == (Level.ROOM, "hall")
    assert [dict(rule.values) for rule in one.settings] == [{"hold_time_s": 25}]


def test_a_template_is_dropped(template, data):
    template("set", "--room-kind", "bedroom", "hold_time_s=25", *WHY)
    assert template("set", "--room-kind", "bedroom", "--drop", *WHY)[0] == 0
    assert kept(data) == []


def test_where_says_each_value_its_origin_and_what_it_stands_in_for(template):
    template("set", "--room-kind", "circulation", "hold_time_s=25", "sensitivity_percent=60", *WHY)
    template("set", "--unit", "U1", "hold_time_s=45", *WHY)
    code, out, _ = template("where", "U1")
    assert code == 0
    for words in (
        "unit U1, decided by A. N. because agreed with the client",
        "instead of: unit U1, its line in the schedule",
        "instead of: room kind circulation",
        "room kind circulation (agreed with the client)",
        "site, the build approved for H4 with tracking modules",
        "unit U1, drawn on the plan",
    ):
        assert words in out


def test_where_for_scripts_by_serial(template):
    template("set", "--unit", "S-1", "hold_time_s=45", "indicator_light=", *WHY)
    document = json.loads(template("where", "S-1", "--json")[1])
    assert (document["unit"], document["serial"], document["room"]) == ("U1", "S-1", "hall")
    items = {item["item"]: item for item in document["items"]}
    assert items["setting.hold_time_s"] == {
        "item": "setting.hold_time_s",
        "value": 45,
        "level": "unit",
        "origin": "unit U1, decided by A. N. because agreed with the client",
        "why": "agreed with the client",
        "instead_of": [{"value": 20, "origin": "unit U1, its line in the schedule"}],
    }
    assert items["setting.indicator_light"]["value"] is None
    assert "taken out of the plan" in template("where", "U1")[1]


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("set", "--room", "attic", "hold_time_s=1", *WHY), "no room 'attic'"),
        (("set", "--site", "hold_time_s", *WHY), "no SETTING=VALUE"),
        (("set", "--site", "hold_time_s=soon", *WHY), "whole number"),
        (("set", "--unit", "U1", "hold_time_s=on", *WHY), "whole number"),
        (("set", "--site", *WHY), "one of the two"),
        (("set", "--site", "a=1", "--drop", *WHY), "one of the two"),
        (("set", "--room", "hall", "--module", "static", "--drop", *WHY), "as a whole"),
        (("set", "--unit", "U1", "--drop", *WHY), "single unit"),
        (("set", "--unit", "U1", "--module", "static", "a=1", *WHY), "single unit"),
        (("set", "--example", "office", "a=1", *WHY), "whole template"),
        (("set", "--unit", "U2", "hold_time_s=1", *WHY), "no serial yet"),
        (("set", "--unit", "U9", "hold_time_s=1", *WHY), "Name one of: U1, U2, U3"),
        (("set", "--file", "/nowhere/x.json", *WHY), "can't be read"),
        (("set", "--site", "--drop", *WHY), "no such template"),
        (("where", "U9"), "Name one of: U1, U2, U3"),
    ],
)
def test_what_cannot_be_done_is_said_and_ends_with_3(template, data, words, reason):
    code, out, err = template(*words)
    assert (code, out) == (3, "")
    assert reason in err
    assert kept(data) == []


def test_a_reason_is_asked_for(template):
    for words in (("set", "--site", "a=1"), ("set", "--site", "a=1", "--why", " ")):
        with pytest.raises(SystemExit) as ended:
            template(*words)
        assert ended.value.code == 2
