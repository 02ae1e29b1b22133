"""One review for any write: tick line by line, decide what somebody changed, apply, see what stands."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QProgressBar,
    QVBoxLayout,
    QWidget,
)

from fleet.engine.applying import StepResult
from fleet.model.errors import WalkdownError
from fleet.model.snapshot import HouseState, OperationView, Snapshot
from ui.bridge.session import Session
from ui.presenters.foot_line import operation_words
from ui.presenters.review_rows import (
    ChangeKey,
    outcome_rows,
    outcome_words,
    review_rows,
)
from ui.presenters.words import count_words
from ui.widgets.compare_table import CompareTable
from ui.widgets.state_glyph import StateGlyph
from ui.windows.decide_dialog import DecideDialog
from ui.windows.dialog_parts import TroubleLine, button, follow, scrolling, set_out, wrapped

_EMPTY = "Nothing to write: every unit that was read holds what the plan says."


class ReviewDialog(QDialog):
    """The changes of one unit, or of the whole house."""

    def __init__(self, session: Session, unit: str = "", parent: QWidget | None = None) -> None:
        """Show the changes of a unit by its label; "" for all."""
        super().__init__(parent)
        self._session, self._unit = session, unit
        self._decided: set[ChangeKey] = set()
        self._running_key: int | None = None
        self.setWindowTitle("Review and apply")
        self.table = CompareTable()
        self.empty = wrapped(_EMPTY)
        self.trouble = TroubleLine()
        self.by = QLineEdit(session.by)
        self.by.setAccessibleName("Who applies it")
        self.decide = button("Decide …", "Decide about the chosen line")
        self.apply = button("Apply", default=True)
        self.stop = button("Stop after this unit")
        self.close_button = button("Close")
        self.progress = QProgressBar()
        self.progress.setAccessibleName("Progress of the apply")
        self.said = wrapped("")
        self.outcomes = QVBoxLayout()
        self._lay_out()
        self.table.ticks_changed.connect(self._count)
        self.table.itemSelectionChanged.connect(self._count)
        self.table.cellActivated.connect(lambda *_: self._decide_current())
        self.decide.clicked.connect(self._decide_current)
        self.apply.clicked.connect(self._ask_apply)
        self.stop.clicked.connect(self._ask_stop)
        self.close_button.clicked.connect(self.reject)
        session.feed.house_changed.connect(self._show)
        session.feed.snapshot_changed.connect(self._follow)
        if session.house is not None:
            self._show(session.house)

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        name = QLabel("B&y")
        name.setBuddy(self.by)
        for widget in (self.decide, name, self.by, self.stop, self.close_button, self.apply):
            buttons.addWidget(widget)
        results = QWidget()
        results.setLayout(self.outcomes)
        self.results = scrolling(results, "What the writes came to")
        self.results.hide()
        self.progress.hide()
        self.stop.hide()
        subject = f"Changes to {self._unit}" if self._unit else "Changes to the house"
        set_out(
            self,
            wrapped(subject, points=16, bold=True),
            wrapped(
                "Nothing is sent before Apply. Space ticks a line. A line that somebody changed on "
                "site, or that all three sheets disagree about, waits for a decision: Enter."
            ),
            self.empty,
            self.table,
            self.results,
            self.progress,
            self.said,
            self.trouble,
            buttons,
            stretched=3,
        )
        self.resize(1100, 640)

    def _show(self, house: HouseState) -> None:
        rows = review_rows(house, unit=self._unit, decided=self._decided)
        self.table.show_rows(rows)
        self.empty.setVisible(not rows)
        self.table.setVisible(bool(rows))
        self._count()

    def _count(self) -> None:
        ticked, row = len(self.table.ticked()), self.table.current()
        read_only = self._session.house is not None and self._session.house.read_only
        self.apply.setText(f"Apply {count_words(ticked, 'change')}")
        self.apply.setAccessibleName(self.apply.text())
        self.apply.setEnabled(bool(ticked) and self._running_key is None and not read_only)
        self.decide.setEnabled(row is not None and row.waits)

    def _decide_current(self) -> None:
        row = self.table.current()
        if row is None or not row.waits:
            return
        dialog = DecideDialog(self._session, row.change, self.by.text(), self)
        dialog.back_to_plan.connect(lambda: self._settle(row.key))
        dialog.open()

    def _settle(self, key: ChangeKey) -> None:
        self._decided.add(key)
        if self._session.house is not None:
            self._show(self._session.house)

    def _ask_apply(self) -> None:
        chosen, by = self.table.ticked(), self.by.text().strip()
        if not by:
            self.trouble.say("Nothing was sent: say who applies it, in the line “By”.")
            return
        self.trouble.say("")
        self._running_key = -1
        self._count()
        operation = self._session.run(lambda visit: visit.apply(chosen, by=by))
        follow(
            self._session,
            operation,
            self,
            lambda results: self._finish(results, len(chosen)),
            self._fail,
        )

    def _follow(self, snapshot: Snapshot) -> None:
        if self._running_key is None:
            return
        for operation in snapshot.operations:
            if operation.title == "Apply":
                self._show_progress(operation)

    def _show_progress(self, operation: OperationView) -> None:
        self._running_key = operation.key
        self.progress.setVisible(True)
        self.stop.setVisible(operation.can_stop)
        self.progress.setMaximum(0 if operation.done_ppm is None else 1_000_000)
        self.progress.setValue(operation.done_ppm or 0)
        self.said.setText(operation_words(operation))

    def _ask_stop(self) -> None:
        if self._running_key is not None:
            self._session.stop_operation(self._running_key)
            self.said.setText("Stops when this unit is read back.")

    def _finish(self, results: tuple[StepResult, ...], asked: int) -> None:
        self._end()
        self.said.setText(outcome_words(results, asked))
        for row in outcome_rows(results):
            line = QHBoxLayout()
            line.addWidget(StateGlyph(row.state), 0, Qt.AlignmentFlag.AlignTop)
            line.addWidget(wrapped(f"{row.text}. {row.said}"), 1)
            self.outcomes.addLayout(line)
        self.results.setVisible(bool(results))

    def _fail(self, error: WalkdownError) -> None:
        self._end()
        self.said.setText("")
        self.trouble.tell(error)

    def _end(self) -> None:
        self._running_key = None
        self.progress.hide()
        self.stop.hide()
        self._count()
