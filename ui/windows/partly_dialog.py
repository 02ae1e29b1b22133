"""Writes that are partly done: which items stand, and writing the rest, rolling back, or letting be."""

from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QWidget,
)

from fleet.engine.applying import StepResult
from fleet.engine.settling import Remedy
from fleet.model.errors import WalkdownError
from fleet.model.snapshot import HouseState, ItemState
from ui.bridge.session import Session
from ui.presenters.partly_rows import REMEDY_WORDS, PartlyRow, partly_rows
from ui.presenters.review_rows import outcome_rows
from ui.presenters.said_parts import Said, Section
from ui.widgets.section_pane import SectionPane
from ui.windows.dialog_parts import TroubleLine, buddied, button, follow, set_out, wrapped
from ui.windows.reason_dialog import ReasonDialog

_LEAD = (
    "These units take values one by one, and only some were taken. Whatever is chosen, the unit is read "
    "first, and what stands already is never written again."
)
_LET_BE = "Let it be"


class PartlyDialog(QDialog):
    """One write after another, each with three ways out.

    Attributes:
        question: the dialog that asks why one is let be, or asked last.
    """

    def __init__(self, session: Session, unit: str = "", parent: QWidget | None = None) -> None:
        """Show the writes to a unit by its label; "" for all."""
        super().__init__(parent)
        self._session, self._unit = session, unit
        self._rows: tuple[PartlyRow, ...] = ()
        self.question: ReasonDialog | None = None
        self.setWindowTitle("Partly done")
        self.pane, self.trouble = SectionPane("Items of the write"), TroubleLine()
        self.title, self.left = wrapped("", bold=True), wrapped("")
        self.by = QLineEdit(session.by)
        self.by.setAccessibleName("Who chooses")
        self.remedies: dict[Remedy, QPushButton] = {
            remedy: button(words) for remedy, words in REMEDY_WORDS.items()
        }
        self.let_be, self.close_button = button("Let it be …", _LET_BE), button("Close")
        self._lay_out()
        for remedy, one in self.remedies.items():
            one.clicked.connect(lambda _=False, each=remedy: self._ask(each))
        self.let_be.clicked.connect(self._ask_to_let_be)
        self.close_button.clicked.connect(self.reject)
        session.feed.house_changed.connect(self._show)
        if session.house is not None:
            self._show(session.house)

    def _lay_out(self) -> None:
        ways, below = QHBoxLayout(), QHBoxLayout()
        for one in (*self.remedies.values(), self.let_be):
            ways.addWidget(one)
        ways.addStretch(1)
        below.addWidget(buddied("B&y", self.by))
        below.addWidget(self.by)
        below.addStretch(1)
        below.addWidget(self.close_button)
        set_out(
            self,
            wrapped("Partly done", points=16, bold=True),
            wrapped(_LEAD),
            self.title,
            self.pane,
            self.left,
            ways,
            self.trouble,
            below,
            stretched=3,
        )
        self.resize(720, 480)

    def _show(self, house: HouseState) -> None:
        self._rows = partly_rows(house, self._unit)
        more = len(self._rows) - 1
        if self._rows:
            row = self._rows[0]
            effects = [
                Said(f"{REMEDY_WORDS[remedy]}: {effect}.") for remedy, effect in row.effects.items()
            ]
            self.title.setText(row.title)
            self.pane.show_sections(
                (Section("As it was last read", row.lines), Section("Choose", tuple(effects)))
            )
        else:
            self.title.setText("No write is partly done any more.")
        self.left.setText(f"{more} more after this one." if more > 0 else "")
        self.left.setVisible(more > 0)
        self._enable(may=bool(self._rows) and not house.read_only)

    def _ask(self, remedy: Remedy) -> None:
        row, by = self._rows[0], self.by.text().strip()
        if not by:
            self.trouble.say("Nothing was sent: say who chooses, in the line “By”.")
            return
        self._enable(may=False)
        self.trouble.say("")
        operation = self._session.run(lambda visit: visit.put_right(row.key, remedy, by=by))
        follow(self._session, operation, self, self._tell, self._fail)

    def _tell(self, result: StepResult) -> None:
        self._enable(may=bool(self._rows))
        for row in outcome_rows([result]):
            if row.state is ItemState.SHOWN:
                self.left.setText(f"{row.text}. {row.said}")
                self.left.show()
            else:
                self.trouble.say(f"{row.text}. {row.said}")

    def _ask_to_let_be(self) -> None:
        row = self._rows[0]
        question = ReasonDialog(
            self._session,
            "Let it be",
            f"{row.title} stays as it stands, partly done.",
            [_LET_BE],
            parent=self,
        )
        question.chosen.connect(
            lambda _, reason, by: question.wait_for(
                self._session.run(lambda visit: visit.let_be(row.key, by=by, reason=reason))
            )
        )
        self.question = question
        question.open()

    def _fail(self, error: WalkdownError) -> None:
        self._enable(may=True)
        self.trouble.tell(error)

    def _enable(self, *, may: bool) -> None:
        for one in (*self.remedies.values(), self.let_be):
            one.setEnabled(may)
