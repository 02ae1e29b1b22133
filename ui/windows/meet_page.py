"""The tab on which units are met: what is listened on, expected against found, and what to do about each.

It is a tab and no dialog, because it stays open through the whole work of meeting a house: units are
dragged, passwords typed and rooms looked at meanwhile. All of it works by keyboard, and is read from a
ladder.
"""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QHBoxLayout,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from fleet.model.meeting import Diagnosis, Interface
from fleet.model.snapshot import HouseState
from ui.presenters.interface_rows import ALL, InterfaceRow, chosen_row, interface_rows
from ui.presenters.meeting_rows import (
    Filter,
    MeetingRow,
    Step,
    empty_words,
    filter_words,
    meeting_rows,
    step_hint,
)
from ui.widgets.diagnosis_box import DiagnosisBox
from ui.widgets.meeting_list import MeetingList
from ui.widgets.theme import enlarge
from ui.windows.dialog_parts import buddied, button, rule, wrapped


class MeetPage(QWidget):
    """Interface, diagnosis, list, steps.

    Signals:
        scan_asked; interface_chosen: its address, "" for all.
        step_asked: a Step and the MeetingRow that it is for.
        addresses_asked, sweep_asked, labels_asked: for all of them.
    """

    scan_asked = Signal()
    interface_chosen = Signal(str)
    step_asked = Signal(object, object)
    addresses_asked = Signal()
    sweep_asked = Signal()
    labels_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.setAutoFillBackground(True)
        self._house: HouseState | None = None
        self._which = Filter.ALL
        self._ways: tuple[InterfaceRow, ...] = (InterfaceRow(ALL, ""),)
        self.interface = QComboBox()
        self.interface.setAccessibleName("Interface to listen on")
        self.interface.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self.interface.setMinimumContentsLength(12)
        self.interface.addItem(ALL, "")
        self.scan = _large("Scan again", "Scan for units again")
        self.diagnosis = DiagnosisBox()
        self.list, self.empty, self.hint = MeetingList(), wrapped(""), wrapped("")
        self.filters = {which: _filter(which) for which in Filter}
        self.steps = {step: _large(step.value, step.value.removesuffix(" …")) for step in Step}
        self.addresses = _large("By address …", "Add units by their addresses")
        self.sweep = _large("Blink all in turn", "Have all units blink, one after another")
        self.labels = _large("Labels …", "Write labels for the units")
        self._lay_out()
        self._connect()

    def show_house(self, house: HouseState) -> None:
        """Show how far the house was met."""
        self._house = house
        self._fill()

    def show_interfaces(self, interfaces: Sequence[Interface], listened_on: str) -> None:
        """Offer these ways; the one that is listened on stands chosen."""
        self._ways = interface_rows(interfaces, listened_on)
        self.interface.blockSignals(True)  # noqa: FBT003 - Qt's own call
        self.interface.clear()
        for way in self._ways:
            self.interface.addItem(way.text, way.address)
        self.interface.setCurrentIndex(chosen_row(self._ways, listened_on))
        self.interface.blockSignals(False)  # noqa: FBT003 - Qt's own call

    def show_scanning(self, *, running: bool) -> None:
        """Say on the button that a scan is running; nothing else waits for it."""
        self.scan.setEnabled(not running)
        self.scan.setText("Listening …" if running else "Scan again")
        if running:
            self.diagnosis.hide()

    def show_diagnosis(self, found: Diagnosis) -> None:
        """Say why nothing is heard."""
        self.diagnosis.show_diagnosis(found)

    def _lay_out(self) -> None:
        top, which, steps, below = QHBoxLayout(), QHBoxLayout(), QHBoxLayout(), QHBoxLayout()
        top.addWidget(buddied("Listen &on", self.interface))
        top.addWidget(self.interface, 1)
        top.addWidget(self.scan)
        for filtering in self.filters.values():
            which.addWidget(filtering)
        which.addStretch(1)
        for step in self.steps.values():
            steps.addWidget(step)
        for one in (self.addresses, self.sweep, self.labels):
            below.addWidget(one)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(10, 10, 10, 10)
        layout.setSpacing(8)
        layout.addLayout(top)
        layout.addWidget(self.diagnosis)
        layout.addLayout(which)
        layout.addWidget(self.empty, 1)
        layout.addWidget(self.list, 1)
        layout.addWidget(self.hint)
        layout.addLayout(steps)
        layout.addWidget(rule())
        layout.addLayout(below)

    def _connect(self) -> None:
        group = QButtonGroup(self)
        for which, filtering in self.filters.items():
            group.addButton(filtering)
            filtering.clicked.connect(lambda _=False, each=which: self._filter(each))
        self.filters[Filter.ALL].setChecked(True)
        for step, one in self.steps.items():
            one.clicked.connect(lambda _=False, each=step: self._ask(each))
        self.list.row_chosen.connect(self._offer)
        self.list.row_asked.connect(self._ask_first)
        self.interface.activated.connect(
            lambda at: self.interface_chosen.emit(str(self.interface.itemData(at)))
        )
        self.scan.clicked.connect(self.scan_asked)
        self.addresses.clicked.connect(self.addresses_asked)
        self.sweep.clicked.connect(self.sweep_asked)
        self.labels.clicked.connect(self.labels_asked)

    def _filter(self, which: Filter) -> None:
        self._which = which
        self._fill()

    def _fill(self) -> None:
        if self._house is None:
            return
        for which, one in self.filters.items():
            one.setText(filter_words(self._house, which))
            one.setAccessibleName(f"Show: {one.text()}")
        rows = meeting_rows(self._house, self._which)
        self.list.show_rows(rows)
        self.list.setVisible(bool(rows))
        self.empty.setText(empty_words(self._house, self._which))
        self.empty.setVisible(not rows)
        self._offer(self.list.current())
        self.sweep.setEnabled(bool(self._house.units) or bool(self._house.unplaced))
        self.labels.setEnabled(bool(self._house.plan.units))

    def _offer(self, row: MeetingRow | None) -> None:
        """Only what can be done about the chosen unit is there to press."""
        first = row.steps[0] if row is not None and row.steps else None
        for step, one in self.steps.items():
            offered = row is not None and step in row.steps
            one.setVisible(offered)
            one.setDefault(step is first)
            if row is not None and offered:
                one.setAccessibleName(f"{step.value.removesuffix(' …')}: {row.head}")
        self.hint.setText(step_hint(row))
        self.hint.setVisible(bool(step_hint(row)))

    def _ask(self, step: Step) -> None:
        row = self.list.current()
        if row is not None and step in row.steps:
            self.step_asked.emit(step, row)

    def _ask_first(self, row: MeetingRow | None) -> None:
        if row is not None and row.steps:
            self.step_asked.emit(row.steps[0], row)


def _large(text: str, said: str) -> QPushButton:
    made = button(text, said)
    enlarge(made)
    return made


def _filter(which: Filter) -> QToolButton:
    made = QToolButton()
    made.setCheckable(True)
    made.setText(which.value)
    made.setAccessibleName(f"Show: {which}")
    enlarge(made)
    return made
