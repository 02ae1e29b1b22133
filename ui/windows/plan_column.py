"""The middle column: the room's or floor's plan, the chosen unit's own view, and all units at once."""

from PySide6.QtWidgets import QTabWidget, QVBoxLayout, QWidget

from fleet.model.house import Room
from fleet.model.snapshot import HouseState, Snapshot
from fleet.model.units import Unit
from ui.presenters.house_rows import room_note
from ui.presenters.plan_words import room_line, unit_line
from ui.widgets.all_units import AllUnits
from ui.widgets.plan_canvas import PlanCanvas
from ui.widgets.target_plot import TargetPlot
from ui.windows.dialog_parts import wrapped


class PlanColumn(QWidget):
    """Three tabs over one choice: Room, Unit, All units."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.canvas, self.plot, self.units = PlanCanvas(self), TargetPlot(self), AllUnits(self)
        self.title, self.note = wrapped("", points=16, bold=True), wrapped("")
        self.tabs = QTabWidget()
        self.tabs.setAccessibleName("Plan")
        for page, name in ((self.canvas, "Room"), (self.plot, "Unit"), (self.units, "All units")):
            self.tabs.addTab(page, name)
        self.tabs.currentChanged.connect(lambda _: self._show_again())
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 10, 12, 10)
        layout.addWidget(self.title)
        layout.addWidget(self.note)
        layout.addWidget(self.tabs, 1)
        self._house: HouseState | None = None
        self._snapshot: Snapshot | None = None
        self._floor, self._room, self._serial, self._plotted = "", "", "", ""

    @property
    def room(self) -> str:
        """Key of the room that is shown, "" for none."""
        return self._room

    def show_house(self, house: HouseState) -> None:
        """Show the same choice of another state of the house."""
        self._house = house
        self.units.show_house(house)
        rooms = {room.key: room for room in house.plan.rooms}
        if self._serial in house.units and self._room:
            self.show_unit(self._serial, turn=False)
        elif self._room in rooms:
            self.show_room(self._room)
        elif self._floor in {floor.key for floor in house.plan.floors}:
            self.show_floor(self._floor)
        elif rooms:
            self.show_room(house.plan.rooms[0].key)
        else:
            self.title.setText("No site yet")
            self.note.setText("Open the demo house, or start a site from a plan file: Ctrl+O.")

    def show_room(self, key: str) -> None:
        """Show a room's plan."""
        house, room = self._house, self._room_of(key)
        if house is None or room is None:
            return
        self._floor, self._room, self._serial = "", key, ""
        self.canvas.show_room(house, key)
        self.title.setText(room.name)
        self.note.setText(room_line(house, room, room_note(house.rooms.get(key))))
        if self.tabs.currentWidget() is self.units:
            self.tabs.setCurrentWidget(self.canvas)
        first = next((u for u in house.units.values() if u.line.room == key), None)
        if first is not None:
            self._plot(first)
        self._show_again()

    def show_floor(self, key: str) -> None:
        """Show a floor's plan."""
        house = self._house
        floors = {floor.key: floor for floor in house.plan.floors} if house else {}
        if house is None or key not in floors:
            return
        self._floor, self._room, self._serial = key, "", ""
        self.canvas.show_floor(house, key)
        self.title.setText(floors[key].name)
        self.note.setText("Every live target of this floor.")
        self.tabs.setCurrentWidget(self.canvas)
        self._show_again()

    def show_unit(self, serial: str, *, turn: bool = True) -> None:
        """Show a unit's own view; `turn` brings its tab to the front."""
        unit = self._house.units.get(serial) if self._house else None
        if self._house is None or unit is None:
            return
        self._floor, self._room, self._serial = "", unit.line.room, serial
        self.canvas.show_room(self._house, unit.line.room)
        self._plot(unit)
        room = self._room_of(unit.line.room)
        self.title.setText(f"{unit.line.label}, {room.name if room else unit.line.room}")
        self.note.setText(unit_line(unit))
        if turn:
            self.tabs.setCurrentWidget(self.plot)
        self._show_again()

    def show_live(self, snapshot: Snapshot) -> None:
        """Show what the units say now; only the tab in front is painted."""
        self._snapshot = snapshot
        live, front = snapshot.live, self.tabs.currentWidget()
        if front is self.canvas:
            self.canvas.set_live(live, snapshot.at)
        elif front is self.units:
            self.units.set_live(live)
        elif self._plotted in live:
            self.plot.set_live(live[self._plotted])

    def _show_again(self) -> None:
        """Fill what just came to the front, without waiting for the next report."""
        if self._snapshot is not None:
            self.show_live(self._snapshot)

    def _plot(self, unit: Unit) -> None:
        self._plotted = unit.line.serial
        self.plot.show_unit(unit, unit.line.label)

    def _room_of(self, key: str) -> Room | None:
        rooms = self._house.plan.rooms if self._house else ()
        return next((room for room in rooms if room.key == key), None)
