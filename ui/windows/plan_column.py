"""The middle column: the plan, the chosen unit's own view, all units, meeting and updating them."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QSplitter, QTabWidget, QVBoxLayout, QWidget

from fleet.model.house import Room
from fleet.model.snapshot import HouseState, Snapshot
from fleet.model.units import Reading, Unit
from ui.presenters.campaign_rows import campaign_note, campaign_title
from ui.presenters.house_rows import room_note
from ui.presenters.meeting_rows import meeting_note
from ui.presenters.plan_words import room_line, unit_line
from ui.widgets.all_units import AllUnits
from ui.widgets.plan_canvas import PlanCanvas
from ui.widgets.said_pane import SaidPane
from ui.widgets.sweep_band import SweepBand
from ui.widgets.target_plot import TargetPlot
from ui.windows.campaign_page import CampaignPage
from ui.windows.dialog_parts import scrolling, wrapped
from ui.windows.meet_page import MeetPage
from ui.windows.unit_steps import UnitBar

_PLOT_PX, _SAID_PX = 360, 280


class PlanColumn(QWidget):
    """Three tabs over one choice, Room, Unit and All units; two more for meeting and updating."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.canvas, self.plot, self.units = PlanCanvas(self), TargetPlot(self), AllUnits(self)
        self.said, self.meet, self.band = SaidPane(self), MeetPage(self), SweepBand(self)
        self.bar, self.updates = UnitBar(self), CampaignPage(self)
        self.own = _above(self.bar, _beside(self.plot, self.said))
        self.meeting = scrolling(self.meet, "Meet units")
        self.campaign = scrolling(self.updates, "Campaign")
        self.title, self.note = wrapped("", points=16, bold=True), wrapped("")
        self.tabs = QTabWidget()
        self.tabs.setAccessibleName("Plan")
        for page, name in (
            (self.canvas, "Room"),
            (self.own, "Unit"),
            (self.units, "All units"),
            (self.meeting, "Meet units"),
            (self.campaign, "Campaign"),
        ):
            self.tabs.addTab(page, name)
        self.tabs.currentChanged.connect(lambda _: self._show_again())
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 10, 12, 10)
        layout.addWidget(self.band)
        layout.addWidget(self.title)
        layout.addWidget(self.note)
        layout.addWidget(self.tabs, 1)
        self._house: HouseState | None = None
        self._snapshot: Snapshot | None = None
        self._floor, self._room, self._serial, self._plotted = "", "", "", ""
        self._chosen = ("", "")

    @property
    def room(self) -> str:
        """Key of the room that is shown, "" for none."""
        return self._room

    def show_house(self, house: HouseState) -> None:
        """Show the same choice of another state of the house."""
        self._house = house
        self.units.show_house(house)
        self.meet.show_house(house)
        self.updates.show_house(house)
        rooms = {room.key: room for room in house.plan.rooms}
        if self._serial in house.units and self._room:
            self.show_unit(self._serial, turn=False)
        elif self._room in rooms:
            self.show_room(self._room, turn=False)
        elif self._floor in {floor.key for floor in house.plan.floors}:
            self.show_floor(self._floor, turn=False)
        elif rooms:
            self.show_room(house.plan.rooms[0].key, turn=False)
        else:
            self._say(
                "No site yet", "Open the demo house, or start a site from a plan file: Ctrl+O."
            )

    def show_room(self, key: str, *, turn: bool = True) -> None:
        """Show a room's plan; `turn` brings it to the front."""
        house, room = self._house, self._room_of(key)
        if house is None or room is None:
            return
        self._floor, self._room, self._serial = "", key, ""
        self.canvas.show_room(house, key)
        self._say(room.name, room_line(house, room, room_note(house.rooms.get(key))))
        if turn:
            self.tabs.setCurrentWidget(self.canvas)
        first = next((u for u in house.units.values() if u.line.room == key), None)
        if first is not None:
            self._plot(first)
        self._show_again()

    def show_floor(self, key: str, *, turn: bool = True) -> None:
        """Show a floor's plan; `turn` brings it to the front."""
        house = self._house
        floors = {floor.key: floor for floor in house.plan.floors} if house else {}
        if house is None or key not in floors:
            return
        self._floor, self._room, self._serial = key, "", ""
        self.canvas.show_floor(house, key)
        self._say(floors[key].name, "Every live target of this floor.")
        if turn:
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
        self._say(f"{unit.line.label}, {room.name if room else unit.line.room}", unit_line(unit))
        if turn:
            self.tabs.setCurrentWidget(self.own)
        self._show_again()

    def show_stranger(self, reading: Reading) -> None:
        """Show what a unit says that has no place yet, so there is no view to draw."""
        self._plotted = reading.serial
        self.plot.hide()
        self.bar.show_unit("")
        self.said.show_reading(reading)
        self._say(reading.serial, f"{reading.title} · on no plan yet")
        self.tabs.setCurrentWidget(self.own)
        self._show_again()

    def show_meeting(self) -> None:
        """Bring the tab to the front on which units are met."""
        self.tabs.setCurrentWidget(self.meeting)

    def show_campaign(self) -> None:
        """Bring the tab to the front on which a campaign is followed."""
        self.tabs.setCurrentWidget(self.campaign)

    def point_out(self, serial: str) -> None:
        """Show the floor of a unit with its room and place marked; "" ends it."""
        self.canvas.point_out(serial)
        unit = self._house.units.get(serial) if self._house else None
        room = self._room_of(unit.line.room) if unit is not None else None
        if room is not None:
            self.show_floor(room.floor)

    def show_live(self, snapshot: Snapshot) -> None:
        """Show what the units say now; only the tab in front is painted."""
        self._snapshot = snapshot
        live, front = snapshot.live, self.tabs.currentWidget()
        if front is self.canvas:
            self.canvas.set_live(live, snapshot.at)
        elif front is self.units:
            self.units.set_live(live)
        elif front is self.own and self._plotted in live:
            self.plot.set_live(live[self._plotted])
            self.said.set_live(live[self._plotted])

    def _show_again(self) -> None:
        """Fill what just came to the front, without waiting for the next report."""
        self._say(*self._chosen)
        if self._snapshot is not None:
            self.show_live(self._snapshot)

    def _plot(self, unit: Unit) -> None:
        self._plotted = unit.line.serial
        self.plot.show()
        self.bar.show_unit(unit.line.serial)
        self.plot.show_unit(unit, unit.line.label)
        self.said.show_reading(unit.found)

    def _say(self, title: str, note: str) -> None:
        """Say over the tabs what is chosen, or, where units are met or updated, how far that is."""
        self._chosen = (title, note)
        if self.tabs.currentWidget() is self.meeting and self._house is not None:
            title, note = "Meet units", meeting_note(self._house)
        if self.tabs.currentWidget() is self.campaign and self._house is not None:
            title, note = campaign_title(self._house), campaign_note(self._house)
        self.title.setText(title)
        self.note.setText(note)

    def _room_of(self, key: str) -> Room | None:
        rooms = self._house.plan.rooms if self._house else ()
        return next((room for room in rooms if room.key == key), None)


def _above(bar: QWidget, below: QWidget) -> QWidget:
    page = QWidget()
    page.setAutoFillBackground(True)
    layout = QVBoxLayout(page)
    layout.setContentsMargins(0, 0, 0, 0)
    layout.setSpacing(0)
    layout.addWidget(bar)
    layout.addWidget(below, 1)
    return page


def _beside(plot: QWidget, said: QWidget) -> QSplitter:
    """A unit's view with its words beside it; the edge between them can be dragged."""
    both = QSplitter(Qt.Orientation.Horizontal)
    for part, share in ((plot, 3), (said, 2)):
        both.addWidget(part)
        both.setStretchFactor(both.count() - 1, share)
    both.setSizes([_PLOT_PX, _SAID_PX])
    both.setChildrenCollapsible(False)
    return both
