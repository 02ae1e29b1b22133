"""One review for any write: tick line by line, decide what somebody changed, apply, see what stands."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QProgressBar,
    QWidget,
)

from fleet.engine.applying import StepResult
from fleet.engine.rehearsing import Rehearsal
from fleet.model.errors import WalkdownError
from fleet.model.journal import Change
from fleet.model.snapshot import HouseState, OperationView, Snapshot
from ui.bridge.session import Session
from ui.presenters.foot_line import operation_words
from ui.presenters.partly_rows import partly_note
from ui.presenters.review_rows import (
    ChangeKey,
    outcome_sections,
    outcome_words,
    rehearsal_sections,
    rehearsal_words,
    review_rows,
    rows_of,
)
from ui.presenters.words import count_words
from ui.widgets.compare_table import CompareTable
from ui.widgets.section_pane import SectionPane
from ui.windows.decide_dialog import DecideDialog
from ui.windows.dialog_parts import Noted, TroubleLine, button, follow, set_out, wrapped
from ui.windows.partly_dialog import PartlyDialog

_EMPTY = "Nothing to write: every unit that was read holds what the plan says."
_ALL_WRITTEN = "Nothing of it is left to write."


class ReviewDialog(QDialog):
    """The changes of one unit, or of the whole house.

    Attributes:
        partly: the dialog about writes that are partly done, as it was opened last.
    """

    def __init__(
        self,
        session: Session,
        unit: str = "",
        parent: QWidget | None = None,
        *,
        changes: tuple[Change, ...] | None = None,
        why: str = "",
    ) -> None:
        """Show changes.

        Args:
            session: the engine.
            unit: label of the unit; "" for all.
            parent: the window.
            changes: these, whatever the house offers; None for what it offers.
            why: what they are made for, where it isn't the plan.
        """
        super().__init__(parent)
        self._session, self._unit = session, unit
        self._given, self._why = changes, why
        self.partly: PartlyDialog | None = None
        self._decided: set[ChangeKey] = set()
        self._running_key: int | None = None
        self.setWindowTitle("Review and apply")
        self.table = CompareTable()
        self.empty = wrapped(_EMPTY if changes is None else _ALL_WRITTEN)
        self.trouble = TroubleLine()
        self.by = QLineEdit(session.by)
        self.by.setAccessibleName("Who applies it")
        self.decide = button("Decide …", "Decide about the chosen line")
        self.rehearse = button("Dry run", "Dry run: all of it but the writes")
        self.apply = button("Apply", default=True)
        self.stop = button("Stop after this unit")
        self.close_button = button("Close")
        self.progress = QProgressBar()
        self.progress.setAccessibleName("Progress of the apply")
        self.said = wrapped("")
        self.results = SectionPane("What the writes came to")
        self.note = Noted("")
        self.note.hide()
        self.put_right = button("Put right …", "Put right what is partly done")
        self._lay_out()
        self.table.ticks_changed.connect(self._count)
        self.table.itemSelectionChanged.connect(self._count)
        self.table.cellActivated.connect(lambda *_: self._decide_current())
        self.decide.clicked.connect(self._decide_current)
        self.rehearse.clicked.connect(self._ask_rehearse)
        self.put_right.clicked.connect(self._open_partly)
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
        for widget in (
            self.decide, name, self.by, self.stop, self.close_button, self.rehearse, self.apply
        ):  # fmt: skip
            buttons.addWidget(widget)
        partly = QHBoxLayout()
        partly.addWidget(self.note, 1)
        partly.addWidget(self.put_right)
        self.results.hide()
        self.progress.hide()
        self.stop.hide()
        subject = f"Changes to {self._unit}" if self._unit else "Changes to the house"
        subject = f"{subject}: {self._why}" if self._why else subject
        set_out(
            self,
            wrapped(subject, points=16, bold=True),
            wrapped(
                "Nothing is sent before Apply. Space ticks a line. A line that somebody changed on "
                "site, or that all three sheets disagree about, waits for a decision: Enter."
            ),
            partly,
            self.empty,
            self.table,
            self.results,
            self.progress,
            self.said,
            self.trouble,
            buttons,
            stretched=4,
        )
        self.resize(1100, 640)

    def _show(self, house: HouseState) -> None:
        if self._given is None:
            rows = review_rows(house, unit=self._unit, decided=self._decided)
        else:
            rows = rows_of(self._given, decided=self._decided)
        said = partly_note(house, self._unit)
        self.note.words.setText(said)
        for widget in (self.note, self.put_right):
            widget.setVisible(bool(said))
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
        self.rehearse.setEnabled(bool(ticked) and self._running_key is None)
        self.decide.setEnabled(row is not None and row.waits)

    def _decide_current(self) -> None:
        row = self.table.current()
        if row is None or not row.waits:
            return
        dialog = DecideDialog(self._session, row.change, self.by.text(), self)
        dialog.back_to_plan.connect(lambda: self._settle(row.key))
        dialog.open()

    def _open_partly(self) -> None:
        self.partly = PartlyDialog(self._session, self._unit, self)
        self.partly.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.partly.open()

    def _ask_rehearse(self) -> None:
        chosen = self.table.ticked()
        self.trouble.say("")
        self.said.setText("Dry run: reading the units …")
        self._running_key = -1
        self._count()
        operation = self._session.run(lambda visit: visit.dry_run(chosen))
        follow(self._session, operation, self, self._show_rehearsal, self._fail)

    def _show_rehearsal(self, rehearsals: tuple[Rehearsal, ...]) -> None:
        self._end()
        self.said.setText(rehearsal_words(rehearsals))
        self.results.show_sections(rehearsal_sections(rehearsals))
        self.results.setVisible(bool(rehearsals))

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
        why = self._why
        operation = self._session.run(lambda visit: visit.apply(chosen, by=by, why=why))
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
        if self._given is not None and results:  # what is written once is not offered again
            self._given = ()
        if self._session.house is not None:
            self._show(self._session.house)
        self.said.setText(outcome_words(results, asked))
        self.results.show_sections(outcome_sections(results))
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
