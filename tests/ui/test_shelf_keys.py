"""Whose shelves are used: a person's word on a key, where the shelf is opened and in the list of keys."""

from dataclasses import replace

import pytest

from fleet.engine.visit import Visit
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import InventoryError, LinkError
from fleet.shelf.trust import KEY_DISTRUSTED, KEY_TRUSTED
from tests.inventories import CountingClock, small_plan
from tests.shelves import IMAGE, OLDER, signed_shelf
from tests.ui.fake_visit import FakeVisit
from tests.ui.invented import house_of
from tests.ui.invented_updates import KEY, TRUSTED_KEY, drifting
from tests.ui.meeting_hands import click, closed, done
from tests.ui.screens import SIZE, wait_for
from ui.bridge.session import Session
from ui.presenters.fingerprints import grouped
from ui.presenters.key_words import TRUST, WITHDRAW
from ui.windows.keys_dialog import KeysDialog
from ui.windows.workbench import WorkbenchWindow

OTHER = "ab12" * 16


@pytest.fixture
def visit():
    visit = FakeVisit(drifting(house_of()))
    visit.words = {}
    return visit


def opened(window, qtbot):
    """A new campaign whose shelf was looked through."""
    window.campaign.ask_new()
    dialog = window.dialog
    dialog.image.folder.setText("/media/stick/shelf")
    click(qtbot, dialog.image.open)
    wait_for(dialog.image.band.isVisible)
    return dialog


def keys_of(window, qtbot, count):
    """The list of keys, filled."""
    window.plan.show_campaign()
    click(qtbot, window.plan.updates.keys)
    wait_for(lambda: window.dialog.keys.count() == count)
    return window.dialog


def test_a_shelf_of_an_unknown_key_shows_its_fingerprint_and_none_of_its_images(
    window, visit, qtbot
):
    dialog = opened(window, qtbot)
    band = dialog.image.band
    assert "Nobody here trusts the key" in band.words.text()
    assert band.figures.isVisible()
    assert band.figures.text() == grouped(KEY)
    assert not dialog.image.images.isVisible()
    assert not dialog.image.no_image.isVisible()
    assert not band.withdraw.isVisible()
    assert not dialog.next.isEnabled()


def test_a_key_is_trusted_only_after_it_was_compared_and_with_a_reason(window, visit, qtbot):
    dialog = opened(window, qtbot)
    click(qtbot, dialog.image.band.trust)
    question = dialog.question
    trust = question.choices[TRUST]
    assert not trust.isEnabled()
    assert not trust.isDefault()
    question.tick.click()
    click(qtbot, trust)
    assert "write down why" in question.trouble.text()
    assert not done(visit, "trust_key")
    qtbot.keyClicks(question.reason, "read out by its maker by phone")
    click(qtbot, trust)
    wait_for(lambda: dialog.image.line is not None)
    assert done(visit, "trust_key") == [
        ("trust_key", KEY, "Test installer", "read out by its maker by phone")
    ]
    assert closed(question)
    assert dialog.next.isEnabled()
    assert not dialog.image.band.figures.isVisible()
    assert "is trusted: Test installer" in dialog.image.band.words.text()


def test_a_tick_that_is_taken_back_takes_the_button_back(window, qtbot):
    dialog = opened(window, qtbot)
    click(qtbot, dialog.image.band.trust)
    dialog.question.tick.click()
    assert dialog.question.choices[TRUST].isEnabled()
    dialog.question.tick.click()
    assert not dialog.question.choices[TRUST].isEnabled()


def test_a_question_that_is_cancelled_trusts_nobody(window, visit, qtbot):
    dialog = opened(window, qtbot)
    click(qtbot, dialog.image.band.trust)
    dialog.question.reject()
    assert not done(visit, "trust_key")
    assert not dialog.next.isEnabled()


def test_trust_is_withdrawn_where_the_shelf_is_opened(window, visit, qtbot):
    visit.words = {KEY: TRUSTED_KEY}
    dialog = opened(window, qtbot)
    wait_for(lambda: dialog.image.line is not None)
    click(qtbot, dialog.image.band.withdraw)
    dialog.question.reason.setText("the stick with the key was stolen")
    click(qtbot, dialog.question.choices[WITHDRAW])
    wait_for(lambda: dialog.image.line is None)
    assert "was withdrawn: Test installer" in dialog.image.band.words.text()
    assert dialog.image.band.trust.isVisible()
    assert not dialog.next.isEnabled()


def test_a_word_that_cannot_be_kept_says_so(window, visit, qtbot):
    async def fail(fingerprint, *, by, why):
        raise InventoryError("another program holds it.")

    visit.trust_key = fail
    dialog = opened(window, qtbot)
    click(qtbot, dialog.image.band.trust)
    dialog.question.tick.click()
    dialog.question.reason.setText("compared")
    click(qtbot, dialog.question.choices[TRUST])
    wait_for(lambda: "another program" in dialog.question.trouble.text())
    assert dialog.question.choices[TRUST].isEnabled()


def test_no_key_was_spoken_of_yet(window, qtbot):
    dialog = keys_of(window, qtbot, 0)
    assert isinstance(dialog, KeysDialog)
    wait_for(dialog.none.isVisible)
    assert not dialog.keys.isVisible()
    assert not dialog.withdraw.isVisible()
    assert not dialog.trust.isVisible()


def test_a_stolen_key_is_withdrawn_without_its_shelf_and_trusted_again(window, visit, qtbot):
    visit.words = {KEY: TRUSTED_KEY}
    dialog = keys_of(window, qtbot, 1)
    assert dialog.figures.text() == grouped(KEY)
    click(qtbot, dialog.withdraw)
    dialog.question.reason.setText("stolen")
    click(qtbot, dialog.question.choices[WITHDRAW])
    wait_for(dialog.trust.isVisible)
    assert done(visit, "distrust_key") == [("distrust_key", KEY, "Test installer", "stolen")]
    assert "withdrawn" in dialog.keys.item(0).text()
    click(qtbot, dialog.trust)
    dialog.question.tick.click()
    dialog.question.reason.setText("found again, never used")
    click(qtbot, dialog.question.choices[TRUST])
    wait_for(dialog.withdraw.isVisible)


def test_a_key_is_trusted_by_a_typed_fingerprint(window, visit, qtbot):
    dialog = keys_of(window, qtbot, 0)
    dialog.typed.setText("ab12")
    click(qtbot, dialog.trust_typed)
    assert "64 hexadecimal digits" in dialog.trouble.text()
    dialog.typed.setText(grouped(OTHER))
    click(qtbot, dialog.trust_typed)
    assert not dialog.trouble.isVisible()
    dialog.question.tick.click()
    dialog.question.reason.setText("by letter")
    click(qtbot, dialog.question.choices[TRUST])
    wait_for(lambda: dialog.keys.count() == 1)
    assert dialog.figures.text() == grouped(OTHER)
    assert dialog.typed.text() == ""


def test_keys_that_cannot_be_read_say_so(window, visit, qtbot):
    async def fail():
        raise LinkError("the inventory is gone.")

    visit.shelf_keys = fail
    window.campaign.show_keys()
    wait_for(lambda: "inventory is gone" in window.dialog.trouble.text())


def test_a_reader_of_a_held_inventory_can_say_nothing_of_a_key(window, visit, qtbot):
    visit.words = {KEY: TRUSTED_KEY}
    visit.change(replace(visit.house, read_only=True))
    wait_for(lambda: window.session.house is visit.house)
    dialog = keys_of(window, qtbot, 1)
    assert not dialog.withdraw.isEnabled()
    assert not dialog.trust_typed.isEnabled()


@pytest.fixture
def real_window(qapp, tmp_path):
    """A window on a real visit to a site whose units nobody hears."""
    session = Session("Test installer")
    window = WorkbenchWindow(session, theme="light", records=tmp_path)
    window.resize(*SIZE)
    window.show()

    async def make_visit():
        clock = CountingClock()
        inventory = open_inventory(tmp_path / "data", clock)
        inventory.add_site(small_plan())
        return Visit(inventory, clock, at_end=inventory.close)

    session.open(make_visit)
    wait_for(lambda: session.house is not None and session.house.plan.units)
    yield window
    window.close()
    window.deleteLater()


def test_with_the_real_engine_a_word_on_a_key_opens_the_shelf_and_stands_in_the_journal(
    real_window, qtbot, tmp_path
):
    path, key = signed_shelf(tmp_path, OLDER, IMAGE)
    real_window.campaign.ask_new()
    dialog = real_window.dialog
    dialog.image.folder.setText(str(path))
    click(qtbot, dialog.image.open)
    wait_for(dialog.image.band.trust.isVisible)
    assert dialog.image.band.figures.text() == grouped(key)
    click(qtbot, dialog.image.band.trust)
    dialog.question.tick.click()
    dialog.question.reason.setText("read out by phone")
    click(qtbot, dialog.question.choices[TRUST])
    wait_for(lambda: dialog.image.images.count() == 2)
    click(qtbot, dialog.image.band.withdraw)
    dialog.question.reason.setText("stolen")
    click(qtbot, dialog.question.choices[WITHDRAW])
    wait_for(lambda: dialog.image.images.count() == 0)
    dialog.close()
    assert real_window.close()
    with open_inventory(tmp_path / "data", CountingClock()) as inventory:
        rows = inventory.journal_of(KEY_TRUSTED, KEY_DISTRUSTED)
    assert [(row.what, row.subject, row.detail["why"]) for row in rows] == [
        (KEY_TRUSTED, key, "read out by phone"),
        (KEY_DISTRUSTED, key, "stolen"),
    ]
