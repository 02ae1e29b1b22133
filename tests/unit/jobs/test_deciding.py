from datetime import UTC, datetime

import pytest

from fleet.jobs.comparing import compare
from fleet.jobs.deciding import choices_for, detail_of, value_from_text
from fleet.model.errors import PlanError
from fleet.model.journal import JournalRow
from fleet.model.sheets import Choice, Take

HOLD = "setting.hold_time_s"
OUTLINE = "areas.a.outline"
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
BACK = Choice(Take.PLANNED, "A. N.", "it was agreed")


def item(key=HOLD, planned=30, found=45, as_left=30):
    sheets = [{} if one is None else {key: one} for one in (planned, found, as_left)]
    return compare(*sheets)[0]


def row(detail, subject="s-1", what="decided"):
    return JournalRow(1, NOON, what, subject, detail)


def test_the_last_choice_that_was_written_down_holds():
    back = Choice(Take.PLANNED, "B. N.", "on second thoughts")
    rows = [row(detail_of(item(), BACK)), row(detail_of(item(), back))]
    assert choices_for("s-1", [item()], rows) == {HOLD: back}


def test_a_typed_value_holds_while_it_is_the_planned_one():
    typed = Choice(Take.TYPED, "B. N.", "half way", 40)
    rows = [row(detail_of(item(), typed))]
    assert choices_for("s-1", [item(planned=40)], rows) == {HOLD: typed}
    assert choices_for("s-1", [item()], rows) == {}


def test_what_was_kept_holds_while_it_is_the_planned_one():
    kept = Choice(Take.FOUND, "B. N.", "they like it")
    rows = [row(detail_of(item(), kept))]
    assert choices_for("s-1", [item(planned=45)], rows) == {HOLD: kept}


@pytest.mark.parametrize("change", [{"found": 50}, {"planned": 31}, {"as_left": 45}])
def test_a_choice_holds_no_longer_once_a_value_is_another(change):
    assert choices_for("s-1", [item(**change)], [row(detail_of(item(), BACK))]) == {}


def test_a_choice_holds_while_an_outline_moves_within_its_tolerance():
    was = item(OUTLINE, "0,0 9,0 9,9", "500,0 9,0 9,9", "0,0 9,0 9,9")
    now = item(OUTLINE, "0,0 9,0 9,9", "510,0 9,0 9,9", "0,0 9,0 9,9")
    assert choices_for("s-1", [now], [row(detail_of(was, BACK))]) == {OUTLINE: BACK}


def test_choices_of_others_and_rows_of_another_kind_are_passed_over():
    detail = detail_of(item(), BACK)
    rows = [row(detail, "s-2"), row(detail, what="ticked"), row({"item": HOLD, "keep": "planned"})]
    assert choices_for("s-1", [item()], rows) == {}


@pytest.mark.parametrize(
    ("key", "like", "text", "value"),
    [
        (HOLD, 30, " 45 ", 45),
        (HOLD, 30, "-5", -5),
        ("setting.indicator_light", True, "off", False),
        ("setting.indicator_light", True, "Yes", True),
        ("setting.mode", "day", "night", "night"),
        ("areas.a.kind", "watch", "doorway", "doorway"),
        ("areas.a.label", "Sofa", "Big sofa", "Big sofa"),
        (OUTLINE, "0,0 9,0 9,9", "0,0  1,0 1,1", "0,0 1,0 1,1"),
    ],
)
def test_a_typed_value_is_read_as_the_kind_that_the_item_has(key, like, text, value):
    read = value_from_text(item(key, like, None, None), text)
    assert read == value
    assert type(read) is type(value)


@pytest.mark.parametrize(
    ("key", "like", "text"),
    [
        (HOLD, 30, "45 s"),
        (HOLD, 30, "٤"),
        (HOLD, 30, "9" * 16),
        ("setting.indicator_light", True, "perhaps"),
        ("setting.mode", "day", " "),
        ("areas.a.kind", "watch", "ignored"),
        (OUTLINE, "0,0 9,0 9,9", "0,0 9,0"),
        (OUTLINE, "0,0 9,0 9,9", "nonsense"),
    ],
)
def test_what_is_no_such_value_is_refused(key, like, text):
    with pytest.raises(PlanError):
        value_from_text(item(key, like, None, None), text)
