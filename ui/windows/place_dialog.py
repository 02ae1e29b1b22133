"""Placing a unit in a room, by mouse or by key."""

from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QSpinBox,
    QWidget,
)

from fleet.model.errors import WalkdownError
from fleet.model.geometry import Point
from fleet.model.house import Room
from fleet.model.snapshot import HouseState
from fleet.model.units import Reading
from ui.bridge.session import Session
from ui.presenters.cautions import placing_cautions
from ui.windows.dialog_parts import TroubleLine, button, caution_box, follow, set_out, wrapped

IDENTIFY_S = 10
_FARTHEST_MM = 100_000


class PlaceDialog(QDialog):
    """Room and place of one unit that was heard."""

    def __init__(
        self,
        session: Session,
        house: HouseState,
        reading: Reading,
        *,
        room: str = "",
        at_mm: Point | None = None,
        parent: QWidget | None = None,
    ) -> None:
        """Offer the rooms of the house.

        Args:
            session: the engine.
            house: its rooms are offered.
            reading: the unit.
            room: key of the room to begin with.
            at_mm: where on the plan, mm; None for where the schedule says.
        """
        super().__init__(parent)
        self._session, self._reading = session, reading
        self._rooms = {r.key: r for r in house.plan.rooms}
        self.setWindowTitle("Place a unit")
        self.room = QComboBox()
        self.room.setAccessibleName("Room")
        for each in house.plan.rooms:
            self.room.addItem(each.name, each.key)
        self.x_mm, self.y_mm = _millimetres("Plan x"), _millimetres("Plan y")
        self.scheduled = QCheckBox("Where the schedule says, else on the room's first wall")
        self.scheduled.setAccessibleName(self.scheduled.text())
        self.trouble = TroubleLine()
        self.place = button("Place it here", default=True)
        self.blink = button(
            f"Blink {IDENTIFY_S} s", f"Have the unit blink for {IDENTIFY_S} seconds"
        )
        close = button("Close")
        self.place.setEnabled(bool(self._rooms))
        self._lay_out(close)
        self.room.currentIndexChanged.connect(lambda _: self._suggest())
        self.place.clicked.connect(self._ask_place)
        self.blink.clicked.connect(self._ask_blink)
        close.clicked.connect(self.reject)
        if room in self._rooms:
            self.room.setCurrentIndex(self.room.findData(room))
        self._suggest()
        self.scheduled.toggled.connect(self._weigh)
        self.scheduled.setChecked(at_mm is None)
        self._weigh()
        if at_mm is not None:
            self.x_mm.setValue(at_mm[0])
            self.y_mm.setValue(at_mm[1])

    def _lay_out(self, close: QWidget) -> None:
        module = str(self._reading.sheet.get("module.type", "module not said"))
        form = self._form = QFormLayout()
        form.addRow("&Room", self.room)
        form.addRow("Place", self.scheduled)
        form.addRow("Plan &x", self.x_mm)
        form.addRow("Plan &y", self.y_mm)
        buttons = QHBoxLayout()
        buttons.addWidget(self.blink)
        buttons.addStretch(1)
        buttons.addWidget(close)
        buttons.addWidget(self.place)
        set_out(
            self,
            wrapped(f"{self._reading.serial} · {module}", points=14, bold=True),
            wrapped("It goes on the wall nearest to the point, looking into the room."),
            form,
            caution_box(placing_cautions(module)),
            self.trouble,
            buttons,
            stretched=3,
        )
        self.setMinimumWidth(560)

    def _weigh(self) -> None:
        for box in (self.x_mm, self.y_mm):
            self._form.setRowVisible(box, not self.scheduled.isChecked())

    def _suggest(self) -> None:
        room = self._rooms.get(str(self.room.currentData()))
        if room is not None:
            x_mm, y_mm = _first_wall_mm(room)
            self.x_mm.setValue(x_mm)
            self.y_mm.setValue(y_mm)

    def _ask_place(self) -> None:
        serial, room = self._reading.serial, str(self.room.currentData())
        x_mm, y_mm = (
            (None, None) if self.scheduled.isChecked() else (self.x_mm.value(), self.y_mm.value())
        )
        self.place.setEnabled(False)
        operation = self._session.run(lambda visit: visit.place(serial, room, x_mm, y_mm))
        follow(self._session, operation, self, lambda _: self.accept(), self._fail)

    def _ask_blink(self) -> None:
        serial = self._reading.serial
        operation = self._session.run(lambda visit: visit.identify(serial, IDENTIFY_S))
        follow(
            self._session,
            operation,
            self,
            lambda _: self.trouble.say(f"{serial} shows itself now."),
            self._fail,
        )

    def _fail(self, error: WalkdownError) -> None:
        self.place.setEnabled(True)
        self.trouble.tell(error)


def _millimetres(name: str) -> QSpinBox:
    box = QSpinBox()
    box.setAccessibleName(f"{name}, millimetres")
    box.setRange(-_FARTHEST_MM, _FARTHEST_MM)
    box.setSingleStep(50)
    box.setSuffix(" mm")
    box.setButtonSymbols(QSpinBox.ButtonSymbols.NoButtons)
    return box


def _first_wall_mm(room: Room) -> Point:
    (x0, y0), (x1, y1) = room.outline_mm[0], room.outline_mm[1]
    return (x0 + x1) // 2, (y0 + y1) // 2
