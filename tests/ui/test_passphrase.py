"""A passphrase is typed at the window, while a worker thread and never the engine's loop waits for it."""

import asyncio
import threading
from concurrent.futures import Future

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit

from fleet.model.errors import PlanError
from tests.ui.fake_visit import FakeVisit
from tests.ui.meeting_hands import closed
from tests.ui.screens import open_window, wait_for
from ui.bridge.passphrase import Passphrase
from ui.windows.passphrase_dialog import PassphraseDialog

TYPED = "quarry lane 9"  # what a test types


@pytest.fixture
def passphrase():
    return Passphrase()


@pytest.fixture
def window(qapp, passphrase, tmp_path):
    with open_window(FakeVisit(), records=tmp_path, passphrase=passphrase) as made:
        yield made


def asked_in_a_worker(window, passphrase):
    """Have the engine ask as the store of secrets does: in a thread beside its loop."""

    async def ask(visit):
        return await asyncio.to_thread(passphrase.ask)

    told = []
    operation = window.session.run(ask)
    operation.done.connect(told.append)
    operation.failed.connect(told.append)
    return told


def test_what_is_typed_at_the_window_reaches_the_worker(window, passphrase, qtbot):
    told = asked_in_a_worker(window, passphrase)
    wait_for(lambda: window.question is not None)
    dialog = window.question
    assert dialog.typed.echoMode() is QLineEdit.EchoMode.Password
    assert not dialog.again.isVisible()
    qtbot.keyClick(dialog.typed, Qt.Key.Key_Return)
    assert "passphrase is missing" in dialog.trouble.text()
    qtbot.keyClicks(dialog.typed, TYPED)
    qtbot.keyClick(dialog.typed, Qt.Key.Key_Return)
    wait_for(lambda: told)
    assert told == [TYPED.encode()]
    wait_for(lambda: closed(dialog))


def test_whoever_goes_on_without_one_gives_an_empty_answer(window, passphrase, qtbot):
    told = asked_in_a_worker(window, passphrase)
    wait_for(lambda: window.question is not None)
    qtbot.keyClick(window.question, Qt.Key.Key_Escape)
    wait_for(lambda: told)
    assert told == [b""]


def test_the_first_one_is_typed_twice(window, passphrase, qtbot, tmp_path):
    passphrase.vault = tmp_path / "none.vault"
    told = asked_in_a_worker(window, passphrase)
    wait_for(lambda: window.question is not None)
    dialog = window.question
    assert dialog.again.isVisible()
    dialog.typed.setText(TYPED)
    dialog.open_it.click()
    assert "aren’t the same" in dialog.trouble.text()
    dialog.again.setText(TYPED)
    dialog.open_it.click()
    wait_for(lambda: told)
    assert told == [TYPED.encode()]


def test_a_window_that_closes_lets_the_worker_go(qapp, passphrase, tmp_path):
    answers = []
    with open_window(FakeVisit(), records=tmp_path, passphrase=passphrase) as window:
        worker = threading.Thread(target=lambda: answers.append(passphrase.ask()))
        worker.start()
        wait_for(lambda: window.question is not None)
    worker.join(5)
    assert answers == [b""]
    assert window._prompt.ask() == ""


def test_the_loop_of_the_engine_is_never_made_to_wait(window, passphrase):
    async def ask(visit):
        return passphrase.ask()

    failed = []
    window.session.run(ask).failed.connect(failed.append)
    wait_for(lambda: failed)
    assert isinstance(failed[0], PlanError)
    assert window.question is None


def test_a_question_that_was_answered_meanwhile_closes_quietly(qtbot):
    answer = Future()
    answer.set_result("")
    dialog = PassphraseDialog(answer, first=False)
    qtbot.addWidget(dialog)
    dialog.show()
    dialog.without.click()
    assert answer.result() == ""
