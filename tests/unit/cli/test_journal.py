"""The verb `journal`: a whole account, a changed one, a cut one; heads that were kept."""

import argparse
import json
import sqlite3

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from fleet.cli import journal
from fleet.cli.saying import DONE, REPORTED
from fleet.inventory.inventory import open_inventory
from fleet.inventory.journal import first_break, hashed_line
from fleet.model.errors import PlanError, RecordError
from fleet.model.journal import JournalRow, StepState
from tests.inventories import NOON, CountingClock, reading, small_plan, step


@pytest.fixture
def data(tmp_path):
    """An inventory with seven rows in its journal."""
    with open_inventory(tmp_path, CountingClock()) as inventory:
        inventory.add_site(small_plan())
        inventory.save_reading(reading())
        inventory.save_evidence("lap", "house", {"a": 1})
        key = inventory.intend(step())
        inventory.conclude(key, StepState.DONE, "read back")
        inventory.append("looked", "S-3", {"text": "e\u0301 \\ \t"})
        inventory.append("looked", "", {})
    return tmp_path


def run(data, *words):
    parser = argparse.ArgumentParser()
    journal.add_arguments(parser)
    arguments = parser.parse_args(words)
    arguments.data = data
    return journal.run(arguments)


def head_of(data, number=-1):
    with open_inventory(data, CountingClock()) as inventory:
        return inventory.journal()[number].sha256


def tamper(data, *statements):
    connection = sqlite3.connect(data / "inventory.sqlite3")
    for statement in statements:
        connection.execute(statement)
    connection.commit()
    connection.close()


def test_a_whole_account_is_told_with_its_head(data, capsys):
    assert run(data, "check") == DONE
    said = capsys.readouterr().out
    assert "whole  7 rows, each follows from the one before" in said
    assert f"head   {head_of(data)}" in said
    assert run(data, "check", "--unit", "U1") == DONE
    assert "3 of them of U1" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("sql", "said"),
    [
        ("UPDATE journal SET subject = 'S-9' WHERE number = 3", "row 3 doesn't follow"),
        ("UPDATE journal SET subject = 'S-9' WHERE number = 3", "its content isn't what its hash"),
        ("UPDATE journal SET previous_sha256 = '' WHERE number = 4", "row 4 doesn't follow"),
        ("UPDATE journal SET previous_sha256 = '' WHERE number = 4", "it names another row"),
        ("DELETE FROM journal WHERE number = 6", "row 7 doesn't follow"),
        ("DELETE FROM journal WHERE number = 6", "row 6 is missing before it"),
    ],
)
def test_the_first_broken_row_is_named_with_what_is_wrong(data, capsys, sql, said):
    tamper(data, sql)
    assert run(data, "check") == REPORTED
    assert said in capsys.readouterr().out


def test_a_tail_that_was_cut_off_is_told_by_a_head_that_was_kept(data, capsys):
    kept = head_of(data)
    tamper(data, "DELETE FROM journal WHERE number = 7")
    assert run(data, "check") == DONE
    assert "only a head that was kept tells" in capsys.readouterr().out
    assert run(data, "check", "--head", kept.upper()) == REPORTED
    assert f"the head {kept} isn't in it" in capsys.readouterr().out


def test_a_tail_that_was_cut_off_is_told_by_what_nothing_accounts_for(data, capsys):
    tamper(data, "DELETE FROM journal WHERE number > 1")
    assert run(data, "check", "--json") == REPORTED
    assert json.loads(capsys.readouterr().out)["complaints"] == [
        "rows are missing: 1 readings are kept, and 0 are accounted for",
        "rows are missing: 1 steps are kept, and 0 are accounted for",
        "rows are missing: 1 pieces of evidence are kept, and 0 are accounted for",
    ]


def test_the_head_of_a_record_is_held_against_the_account(data, tmp_path, capsys):
    record = tmp_path / "record"
    record.mkdir()
    for head, code in ((head_of(data, 3), DONE), ("ab" * 32, REPORTED)):
        (record / "record.json").write_text(json.dumps({"journal_head": head}), encoding="utf-8")
        assert run(data, "check", "--record", str(record)) == code
    capsys.readouterr()
    (record / "record.json").write_text("[]", encoding="utf-8")
    with pytest.raises(RecordError, match="names no head"):
        run(data, "check", "--record", str(record))
    (record / "record.json").write_text("{", encoding="utf-8")
    with pytest.raises(RecordError, match="can't be read"):
        run(data, "check", "--record", str(record))


@pytest.mark.parametrize("head", ["", "abc", "g" * 64, "a" * 65])
def test_what_is_no_head_is_a_wrong_command_line(data, head):
    with pytest.raises(SystemExit) as ended:
        run(data, "check", "--head", head)
    assert ended.value.code == 2


def test_rows_are_shown_in_words_and_a_unit_that_nobody_wrote_of_is_refused(data, capsys):
    assert run(data, "show") == DONE
    assert len(capsys.readouterr().out.splitlines()) == 7
    assert run(data, "show", "--unit", "S-3") == DONE
    assert len(capsys.readouterr().out.splitlines()) == 1
    with pytest.raises(PlanError, match="no row is about that unit"):
        run(data, "show", "--unit", "S-77")


WORDS = st.text(st.characters(codec="utf-8", exclude_characters="\0", max_codepoint=0xD7FF))
DETAILS = st.dictionaries(
    WORDS,
    st.recursive(
        st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | WORDS,
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(WORDS, inner, max_size=3),
        max_leaves=6,
    ),
    max_size=4,
)


@given(DETAILS, WORDS)
def test_a_line_is_canonical_by_rfc_8785(detail, subject):
    line = hashed_line(JournalRow(1, NOON, "looked", subject, detail))
    assert rfc8785.dumps(json.loads(line)) == line
    assert b"\n" not in line


def test_an_empty_account_has_no_break():
    assert first_break([]) is None
    assert journal.complaints_about([]) == ()
