"""The account is chained: what was changed in it is found. Steps stay in doubt until read back."""

import hashlib
import sqlite3

import pytest

from fleet.inventory.texts import canonical, sha256_of
from fleet.model.errors import InventoryError
from fleet.model.journal import StepState
from tests.inventories import NOON, reading, step


def tamper(inventory, sql):
    with sqlite3.connect(inventory.path) as connection:
        connection.execute(sql)
    connection.close()


def test_the_canonical_form_sorts_keys_leaves_no_space_and_composes_accents():
    assert (
        canonical({"b": [1, True, None], "a": "e\u0301"}) == '{"a":"é","b":[1,true,null]}'.encode()
    )


def test_a_row_is_hashed_over_its_canonical_form(inventory):
    before = inventory.journal()[-1]
    row = inventory.append("looked", "S-1", {"b": 2, "a": "e\u0301"})
    text = (
        f'{{"at":"2026-11-25T12:00:{row.at.second:02d}.000000Z","detail":{{"a":"é","b":2}},'
        f'"number":{row.number},"previous":"{before.sha256}","subject":"S-1","what":"looked"}}'
    )
    assert row.sha256 == hashlib.sha256(text.encode()).hexdigest()
    assert inventory.journal()[-1] == row


def test_the_first_row_follows_from_nothing(inventory):
    first = inventory.journal()[0]
    assert (first.number, first.what, first.previous_sha256) == (1, "site-added", "")
    assert first.detail == {"rooms": 2, "units": 3}


def test_an_untouched_journal_holds(inventory, reopened):
    for number in range(5):
        inventory.append("counted", "", {"number": number, "half": 0.5, "odd": "\ud800 e\u0301"})
    assert inventory.first_broken_row() is None
    assert reopened().first_broken_row() is None


@pytest.mark.parametrize(
    ("sql", "broken"),
    [
        ("UPDATE journal SET detail = '{\"number\": 9}' WHERE number = 3", 3),
        ("UPDATE journal SET at = '2026-01-01T00:00:00.000000Z' WHERE number = 1", 1),
        ("UPDATE journal SET subject = 'S-2' WHERE number = 4", 4),
        ("DELETE FROM journal WHERE number = 2", 3),
        ("DELETE FROM journal WHERE number = 1", 2),
        ("UPDATE journal SET sha256 = previous_sha256 WHERE number = 5", 5),
        (
            (
                "INSERT INTO journal SELECT 7, at, what, subject, detail, previous_sha256, sha256"
                " FROM journal WHERE number = 6"
            ),
            7,
        ),
    ],
)
def test_a_changed_journal_breaks_at_the_row(inventory, sql, broken):
    for number in range(5):
        inventory.append("counted", "", {"number": number})
    tamper(inventory, sql)
    assert inventory.first_broken_row() == broken


def test_every_write_has_its_row(inventory):
    inventory.save_reading(reading())
    row = inventory.journal()[-1]
    assert (row.what, row.subject) == ("read", "S-1")
    assert row.detail["sheet_sha256"] == sha256_of(reading().sheet)


def test_an_intent_is_in_doubt_until_it_is_concluded(inventory, reopened):
    key = inventory.intend(step())
    (doubtful,) = reopened().open_steps()
    assert (doubtful.key, doubtful.step, doubtful.state) == (key, step(), StepState.IN_DOUBT)
    assert doubtful.intended_at > NOON
    again = reopened()
    again.conclude(key, StepState.DONE, "read back")
    assert again.open_steps() == ()
    assert again.journal()[-1].detail == {
        "step": key,
        "intent": 2,
        "state": "done",
        "said": "read back",
    }


def test_a_step_concluded_as_in_doubt_stays_open(inventory):
    key = inventory.intend(step())
    inventory.conclude(key, StepState.IN_DOUBT, "it doesn't answer")
    (doubtful,) = inventory.open_steps()
    assert (doubtful.key, doubtful.said) == (key, "it doesn't answer")


def test_open_steps_stand_in_the_order_of_their_intents(inventory):
    keys = [inventory.intend(step(hold_time_s=seconds)) for seconds in range(12)]
    inventory.conclude(keys[3], StepState.NOT_DONE, "refused")
    assert [one.key for one in inventory.open_steps()] == keys[:3] + keys[4:]


def test_an_outcome_is_written_once(inventory):
    key = inventory.intend(step())
    inventory.conclude(key, StepState.DONE, "")
    with pytest.raises(InventoryError, match="its outcome is known: done"):
        inventory.conclude(key, StepState.NOT_DONE, "")
    with pytest.raises(InventoryError, match="no such step"):
        inventory.conclude("step-999", StepState.DONE, "")
