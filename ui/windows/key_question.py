"""Asking for a person's word on a key: trusted, or no longer; each a deliberate act with a reason."""

from collections.abc import Callable

from PySide6.QtWidgets import QWidget

from ui.bridge.session import Session
from ui.presenters.fingerprints import grouped
from ui.presenters.key_words import COMPARED, TRUST, TRUST_SAID, WITHDRAW, WITHDRAW_SAID
from ui.windows.reason_dialog import ReasonDialog

AskOfKey = Callable[[Session, str, QWidget, Callable[[], object]], ReasonDialog]


def ask_trust(
    session: Session, fingerprint: str, parent: QWidget, done: Callable[[], object]
) -> ReasonDialog:
    """Ask whether shelves that a key signed are to be used; `done` is called once they are."""
    question = ReasonDialog(
        session,
        "Trust a shelf’s key",
        TRUST_SAID,
        [TRUST],
        figures=grouped(fingerprint),
        tick=COMPARED,
        parent=parent,
    )
    question.reason.setPlaceholderText("for example: compared with its maker by phone")
    question.chosen.connect(
        lambda _, why, by: question.wait_for(
            session.run(lambda visit: visit.trust_key(fingerprint, by=by, why=why)),
            lambda _: done(),
        )
    )
    return question


def ask_withdrawal(
    session: Session, fingerprint: str, parent: QWidget, done: Callable[[], object]
) -> ReasonDialog:
    """Ask whether shelves that a key signed are to be used no longer; `done` is called once it is so."""
    question = ReasonDialog(
        session,
        "Withdraw trust in a shelf’s key",
        WITHDRAW_SAID,
        [WITHDRAW],
        figures=grouped(fingerprint),
        parent=parent,
    )
    question.reason.setPlaceholderText("for example: the stick with the key was stolen")
    question.chosen.connect(
        lambda _, why, by: question.wait_for(
            session.run(lambda visit: visit.distrust_key(fingerprint, by=by, why=why)),
            lambda _: done(),
        )
    )
    return question
