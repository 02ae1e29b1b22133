"""Units that want a secret, show another certificate or say a serial twice."""

import logging
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QLineEdit

from fleet.model.credentials import Credential
from fleet.model.errors import LinkError
from fleet.model.meeting import LockedUnit
from tests.ui.fake_visit import FakeVisit
from tests.ui.invented import CERTIFICATE, CHANGED, SECURITY, half_met, house_of
from tests.ui.meeting_hands import choose, click, closed, done
from tests.ui.screens import serial_of, wait_for
from ui.presenters.fingerprints import NONE_SHOWN, grouped
from ui.presenters.meeting_rows import Step
from ui.windows.certificate_dialog import CertificateDialog

TYPED = "mallow-4711"  # what a test types; it must turn up nowhere


@pytest.fixture
def visit():
    return FakeVisit(half_met())


def unlock(window, page, head):
    choose(page, head)
    page.steps[Step.UNLOCK].click()
    return window.dialog


def test_a_password_is_kept_for_one_unit_and_wiped(window, visit, page, qtbot):
    visit.opens = TYPED
    dialog = unlock(window, page, "U03")
    assert dialog.secret.echoMode() is QLineEdit.EchoMode.Password
    assert not dialog.kind.isVisible()
    qtbot.keyClicks(dialog.user, "fitter")
    qtbot.keyClicks(dialog.secret, TYPED)
    qtbot.keyClick(dialog.secret, Qt.Key.Key_Return)
    assert dialog.secret.text() == ""
    wait_for(lambda: closed(dialog))
    kept = visit.secrets["urn:u03"]
    assert (kept.user, kept.secret) == ("fitter", TYPED)
    assert done(visit, "keep_secret") == [("keep_secret", "urn:u03")]


def test_a_refused_password_is_tried_nowhere_else(window, visit, page, qtbot, caplog):
    caplog.set_level(logging.DEBUG)
    dialog = unlock(window, page, "U03")
    dialog.user.setText("fitter")
    dialog.secret.setText(TYPED)
    dialog.same.setChecked(True)
    assert dialog.shared.isVisible()
    click(qtbot, dialog.keep)
    wait_for(lambda: "refused" in dialog.trouble.text())
    assert done(visit, "keep_secret") == [("keep_secret", "urn:u03")]
    assert dialog.secret.text() == ""
    assert dialog.keep.isEnabled()
    assert TYPED not in dialog.trouble.text() + window.foot.said() + caplog.text
    assert TYPED not in repr(visit.secrets)


def test_the_same_password_goes_elsewhere_only_by_a_tick(window, visit, page, qtbot):
    visit.opens = TYPED
    dialog = unlock(window, page, "U03")
    assert not dialog.same.isChecked()
    dialog.user.setText("fitter")
    dialog.secret.setText(TYPED)
    dialog.same.setChecked(True)
    click(qtbot, dialog.keep)
    wait_for(lambda: closed(dialog))
    assert set(visit.secrets) == {"urn:u03", "urn:u05"}


def test_who_refuses_it_elsewhere_is_named(window, visit, page, qtbot):
    async def keep(key, secret):
        visit.done.append(("keep_secret", key))
        if key == "urn:u03":
            locked = tuple(unit for unit in visit.house.locked if unit.key != key)
            visit.change(replace(visit.house, locked=locked))

    visit.keep_secret = keep
    dialog = unlock(window, page, "U03")
    dialog.user.setText("fitter")
    dialog.secret.setText(TYPED)
    dialog.same.setChecked(True)
    click(qtbot, dialog.keep)
    wait_for(lambda: dialog.said.text() == "1 unit let us in. Refused by Unit U05.")
    assert not dialog.keep.isEnabled()


def test_a_token_asks_for_no_user(window, visit, page, qtbot):
    visit.opens = TYPED
    dialog = unlock(window, page, "U05")
    dialog.kind.setCurrentIndex(1)
    assert not dialog.user.isVisible()
    assert dialog.secret.accessibleName() == "Token"
    click(qtbot, dialog.keep)
    assert "token is missing" in dialog.trouble.text()
    dialog.secret.setText(TYPED)
    click(qtbot, dialog.keep)
    wait_for(lambda: "urn:u05" in visit.secrets)
    assert visit.secrets["urn:u05"].user == ""


def test_a_secret_that_was_refused_can_be_forgotten(window, visit, page, qtbot):
    assert not unlock(window, page, "U03").forget.isVisible()
    window.dialog.close()
    dialog = unlock(window, page, "U05")
    click(qtbot, dialog.forget)
    wait_for(lambda: "is forgotten" in dialog.said.text())
    assert done(visit, "forget_secret") == [("forget_secret", "urn:u05")]
    assert not dialog.forget.isVisible()


def waits_for_a_kept_one(window, visit):
    """Have U03 say an id that something is kept under, at an address that it isn't kept for."""
    u03 = replace(visit.house.locked[0], key="http://192.0.2.33:8080", kept_under="urn:u03")
    visit.secrets["urn:u03"] = Credential(TYPED, "fitter")
    visit.change(replace(visit.house, locked=(u03, *visit.house.locked[1:])))
    wait_for(lambda: window.session.house is visit.house)
    return u03


def test_the_kept_one_is_sent_to_another_address_by_a_button_of_its_own(window, visit, page, qtbot):
    assert not unlock(window, page, "U03").send.isVisible()
    window.dialog.close()
    u03 = waits_for_a_kept_one(window, visit)
    visit.opens = TYPED
    dialog = unlock(window, page, "U03")
    said = [label.text() for label in dialog.findChildren(QLabel)]
    assert any("urn:u03" in words and "wasn't for this address" in words for words in said)
    click(qtbot, dialog.send)
    wait_for(lambda: closed(dialog))
    sent = ("send_kept_secret", "urn:u03", u03.key, "Test installer")
    assert done(visit, "send_kept_secret") == [sent]
    assert visit.secrets[u03.key] == visit.secrets["urn:u03"]


def test_enter_never_sends_the_kept_one(window, visit, page, qtbot):
    waits_for_a_kept_one(window, visit)
    dialog = unlock(window, page, "U03")
    assert dialog.keep.isDefault()
    for at in (dialog.user, dialog.secret, dialog.send, dialog.close_it, dialog):
        at.setFocus()
        for key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            qtbot.keyClick(at, key)
    assert "password is missing" in dialog.trouble.text()  # it pressed the other one
    assert not done(visit, "send_kept_secret")
    assert not done(visit, "keep_secret")


def test_a_kept_one_that_is_refused_there_says_so(window, visit, page, qtbot, caplog):
    caplog.set_level(logging.DEBUG)
    waits_for_a_kept_one(window, visit)
    dialog = unlock(window, page, "U03")
    click(qtbot, dialog.send)
    wait_for(lambda: "refused the one that is kept" in dialog.trouble.text())
    assert dialog.send.isEnabled()
    assert TYPED not in dialog.trouble.text() + window.foot.said() + caplog.text


def test_a_unit_with_nobody_else_locked_offers_no_tick(window, visit, page):
    alone = LockedUnit("urn:u03", visit.house.locked[0].address, "", ("basic",))
    visit.change(replace(visit.house, locked=(alone,)))
    wait_for(lambda: window.session.house is visit.house)
    assert not unlock(window, page, "U03").same.isVisible()


def test_a_changed_certificate_is_shouted_and_accepted_with_a_reason_and_a_name(
    window, visit, qtbot
):
    wait_for(window.shout.isVisible)
    assert "THIS MAY BE ANOTHER UNIT" in window.shout.words.text()
    assert CHANGED not in window.foot.said()
    click(qtbot, window.shout.look)
    dialog = window.dialog
    click(qtbot, dialog.accept_it)
    assert "write down why" in dialog.trouble.text()
    dialog.reason.setText("exchanged on 24 Nov, figures compared at its label")
    click(qtbot, dialog.accept_it)
    wait_for(lambda: not window.shout.isVisible())
    _, key, by, reason = done(visit, "accept_certificate")[0]
    assert (key, by) == ("urn:u07", "Test installer")
    assert reason.startswith("exchanged")


def test_a_certificate_is_looked_at_from_its_row_too(window, page, qtbot):
    choose(page, "U07")
    click(qtbot, page.steps[Step.CERTIFICATE])
    assert isinstance(window.dialog, CertificateDialog)
    assert window.dialog.leave.isDefault()


def test_a_certificate_that_is_refused_again_says_so(window, visit):
    async def fail(key, *, by, reason):
        raise LinkError("no changed certificate was shown there.", subject=key)

    visit.accept_certificate = fail
    window.shout.look.click()
    window.dialog.reason.setText("because")
    window.dialog.accept_it.click()
    wait_for(lambda: "no changed certificate" in window.dialog.trouble.text())


def test_a_unit_that_shows_no_certificate_any_more_is_looked_at_too(qtbot, window):
    dialog = CertificateDialog(window.session, replace(CERTIFICATE, shown=""))
    qtbot.addWidget(dialog)
    shown = [label.text() for label in dialog.findChildren(QLabel)]
    assert NONE_SHOWN in shown
    assert grouped(CERTIFICATE.known) in shown


def test_a_double_is_settled_by_address(window, visit, page, qtbot):
    serial = serial_of(visit.house, "U01")
    choose(page, serial)
    click(qtbot, page.steps[Step.SETTLE])
    dialog = window.dialog
    assert not dialog.use.isEnabled()
    click(qtbot, dialog.blink)
    wait_for(lambda: "shows itself now" in dialog.said.text())
    dialog.choices.button(1).click()
    click(qtbot, dialog.use)
    wait_for(lambda: done(visit, "settle_double"))
    assert done(visit, "settle_double")[0][1:3] == (serial, "http://192.0.2.201:8080/td")


def test_keeping_the_one_in_use_changes_nothing(window, visit, page, qtbot):
    choose(page, serial_of(visit.house, "U01"))
    page.steps[Step.SETTLE].click()
    window.dialog.choices.button(0).click()
    window.dialog.use.click()
    assert not done(visit, "settle_double")


def test_a_double_that_cannot_be_settled_says_so(window, visit, page):
    async def fail(serial, address, *, by):
        raise LinkError("it can't be read now.", subject=address)

    visit.settle_double = fail
    choose(page, serial_of(visit.house, "U01"))
    page.steps[Step.SETTLE].click()
    window.dialog.choices.button(1).click()
    window.dialog.use.click()
    wait_for(lambda: "can't be read now" in window.dialog.trouble.text())
    assert window.dialog.use.isEnabled()


def test_security_stands_quietly_at_the_foot(window, visit, qtbot):
    assert window.foot.security.text() == "3 security notes"
    click(qtbot, window.foot.security)
    assert SECURITY[0] in [
        label.text() for label in window.dialog.findChildren(type(window.plan.title))
    ]
    click(qtbot, window.dialog.close_it)
    click(qtbot, window.foot.troubles)
    assert window.dialog.windowTitle() == "What went wrong"
    window.dialog.close()
    visit.change(house_of())
    wait_for(lambda: not window.foot.security.isVisible())
    assert not window.foot.troubles.isVisible()


def test_a_trouble_that_is_no_certificate_is_said_at_the_foot(window, visit):
    visit.change(replace(visit.house, troubles=(CHANGED, "U09: it stopped answering.")))
    wait_for(lambda: window.foot.said() == "◆ U09: it stopped answering.")
