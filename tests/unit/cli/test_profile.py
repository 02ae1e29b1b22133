import argparse
import json

import pytest

from fleet.cli import profile
from fleet.cli.saying import DONE, FAILED, REPORTED
from fleet.description.profile_parts import Match
from fleet.shipped import resources
from tests.unit.description.profile_samples import SOUND, changed

POLLING = resources() / "profiles" / "json-polling.json"


@pytest.fixture
def walkdown(tmp_path, capsys):
    def run(*words):
        parser = argparse.ArgumentParser()
        profile.add_arguments(parser)
        parser.set_defaults(data=tmp_path)
        code = profile.run(parser.parse_args(words))
        said = capsys.readouterr()
        return code, said.out, said.err

    return run


def test_a_sound_profile_is_said_to_be_sound(walkdown):
    code, out, err = walkdown("check", str(POLLING))
    assert (code, err) == (DONE, "")
    assert out == f"{POLLING}: sound: json-polling, 7 properties, 1 action, 0 events.\n"


def test_a_mistake_is_told_with_file_and_line(walkdown, tmp_path):
    path = tmp_path / "mine.json"
    path.write_bytes(changed(('"path": "/can"', '"path": "can"')))
    code, out, _ = walkdown("check", str(POLLING), str(path))
    assert code == REPORTED
    assert out.splitlines()[1] == f"{path}:10: path begins with one slash and stays below it."


def test_a_file_that_can_not_be_read_is_said_on_standard_error_and_the_others_are_checked(walkdown):
    code, out, err = walkdown("check", "/nowhere/mine.json", str(POLLING))
    assert code == FAILED
    assert "sound" in out
    assert "/nowhere/mine.json" in err


def test_the_profiles_in_use_are_listed(walkdown, tmp_path):
    (tmp_path / "profiles").mkdir()
    (tmp_path / "profiles" / "mine.json").write_text(SOUND, encoding="utf-8")
    code, out, _ = walkdown("list")
    head, first, *rest = out.splitlines()
    assert (code, len(rest)) == (DONE, 5)
    assert head.split() == ["name", "recognised", "by", "file"]
    assert "small-example" in first
    assert "_wd-small._tcp speaks=1 or 2" in first
    code, out, _ = walkdown("list", "--json")
    assert (code, json.loads(out)[0]["name"]) == (DONE, "small-example")


def test_a_broken_profile_is_told_in_the_list(walkdown, tmp_path):
    (tmp_path / "profiles").mkdir()
    (tmp_path / "profiles" / "mine.json").write_bytes(b"{")
    code, out, err = walkdown("list", "--data", str(tmp_path))
    assert (code, "json-polling" in out) == (REPORTED, True)
    assert "mine.json:1: this is no JSON" in err


def test_how_units_are_recognised_is_said_in_words():
    assert profile.match_in_words(Match()) == "by hand, for an address"
    assert profile.match_in_words(Match(announcement="a/+")) == "announcements under a/+"
