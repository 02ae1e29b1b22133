"""The plan of a room or a floor with every live target: one canvas, zoomed, dragged, dropped on."""

import math
from collections.abc import Mapping
from datetime import datetime

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QDragEnterEvent,
    QDragMoveEvent,
    QDropEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPixmap,
    QRegion,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from fleet.drawing.floor import draw_floor
from fleet.drawing.primitives import Drawing
from fleet.drawing.room import draw_room
from fleet.model.house import Room
from fleet.model.snapshot import HouseState, LiveUnit
from fleet.model.units import Unit
from fleet.numerics.outlines import bounds_mm, inside
from ui.widgets.drawing_painter import Sight, fitted
from ui.widgets.held_times import HeldTimes
from ui.widgets.live_layer import PlacedMark, laid_out, paint_placed
from ui.widgets.live_marks import LiveMark, marks_of, spoken
from ui.widgets.pointing import paint_pointed
from ui.widgets.static_layer import static_pixmap
from ui.widgets.theme import colours_now, text_font

SERIAL_MIME = "application/x-walkdown-serial"
ZOOM_STEP = 1.25
NEAREST_PX_PER_MM, FARTHEST_PX_PER_MM = 2.0, 0.005
PAN_STEP_PX = 60
CLICK_SLACK_PX = 5
UNIT_REACH_PX = 22
"""A finger's width about a unit's mark still chooses it."""
WHEEL_NOTCH = 120
EMPTY = "Choose a room or a floor in the House column."


class PlanCanvas(QWidget):
    """A plan that shows where everybody is.

    Wheel and +/− zoom, dragging and the arrow keys move, 0 shows all of it again.

    Signals:
        unit_dropped: serial, room key, plan x and y in mm of where a unit was let go.
        room_chosen: key of a room that was clicked on a floor.
        unit_chosen: serial of a unit whose mark was clicked.
    """

    unit_dropped = Signal(str, str, int, int)
    room_chosen = Signal(str)
    unit_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAcceptDrops(True)
        self.setMinimumSize(240, 200)
        self.setAccessibleName("Plan")
        self.setAccessibleDescription(EMPTY)
        self._house: HouseState | None = None
        self._rooms: tuple[Room, ...] = ()
        self._units: tuple[Unit, ...] = ()
        self._drawing: Drawing | None = None
        self._subject = ("", "")
        self._sight: Sight | None = None
        self._static: QPixmap | None = None
        self._live: Mapping[str, LiveUnit] = {}
        self._held = HeldTimes()
        self._placed: list[PlacedMark] = []
        self._pointed = ""
        self._pressed: QPointF | None = None
        self._dragging = False

    # What is shown

    def show_room(self, house: HouseState, room_key: str) -> None:
        """Show a room with its units; the zoom stays when it is the room shown already."""
        rooms = tuple(room for room in house.plan.rooms if room.key == room_key)
        units = tuple(u for u in house.units.values() if u.line.room == room_key)
        drawing = draw_room(rooms[0], units, look=_to_look_at(house)) if rooms else None
        self._show(house, ("room", room_key), rooms, units, drawing)

    def show_floor(self, house: HouseState, floor_key: str) -> None:
        """Show a floor with all its units."""
        rooms = tuple(room for room in house.plan.rooms if room.floor == floor_key)
        keys = {room.key for room in rooms}
        units = tuple(u for u in house.units.values() if u.line.room in keys)
        drawing = draw_floor(house.plan, floor_key, units, look=_to_look_at(house))
        self._show(house, ("floor", floor_key), rooms, units, drawing)

    def _show(
        self,
        house: HouseState,
        subject: tuple[str, str],
        rooms: tuple[Room, ...],
        units: tuple[Unit, ...],
        drawing: Drawing | None,
    ) -> None:
        if subject != self._subject:
            self._sight = None
        self._house, self._subject = house, subject
        self._rooms, self._units, self._drawing = rooms, units, drawing
        self.setAccessibleName(f"Plan of {drawing.title}" if drawing else "Plan")
        self._redraw()

    def set_live(self, live: Mapping[str, LiveUnit], at: datetime | None = None) -> None:
        """Show what units say now; only what their marks cover, or covered, is painted again.

        Args:
            live: serial → what the unit says; places on the plan.
            at: house time, for how long a track has been held; without it that isn't said.
        """
        self._live = live
        self._held.see(live, at)
        before = self._covered()
        self._lay_out()
        self.update(before.united(self._covered()))

    def point_out(self, serial: str) -> None:
        """Ring a unit and its room until another one, or "" for none, is pointed out."""
        if serial != self._pointed:
            self._pointed = serial
            self.update()

    def marks(self) -> list[LiveMark]:
        """Return the live marks shown."""
        return [one.mark for one in self._placed]

    def _lay_out(self) -> None:
        if self._house is None or self._drawing is None:
            self._placed = []
            return
        marks = marks_of(self._house, self._units, self._live, self._held.seconds())
        if self._subject[0] == "floor":
            marks = [_brief(mark) for mark in marks]
        self._placed = laid_out(marks, self.sight(), QSizeF(self.size()), self)
        self._say(marks)

    def _say(self, marks: list[LiveMark]) -> None:
        labels = ", ".join(unit.line.label for unit in self._units) or "none"
        words = f"Units: {labels}. {spoken(marks)}."
        if words != self.accessibleDescription():
            self.setAccessibleDescription(words)

    def _covered(self) -> QRegion:
        region = QRegion()
        for one in self._placed:
            region = region.united(QRegion(one.covers.toAlignedRect().adjusted(-1, -1, 1, 1)))
        return region

    # Where it is shown

    def sight(self) -> Sight:
        """Return how the plan lies on the widget now."""
        if self._sight is None and self._drawing is not None:
            return fitted(self._drawing.box_mm, self.width(), self.height())
        return self._sight or Sight(0.1, 0.0, 0.0)

    def show_all(self) -> None:
        """Show the whole room or floor again."""
        self._look(None)

    def zoom(self, factor: float, about: QPointF | None = None) -> None:
        """Zoom about a pixel, which stays over its place on the plan; about the middle without one."""
        centre = about or QPointF(self.width() / 2, self.height() / 2)
        sight = self.sight()
        scale = sight.px_per_mm * factor
        scale = min(max(scale, FARTHEST_PX_PER_MM), NEAREST_PX_PER_MM)
        x, y = sight.mm(centre)
        self._look(Sight(scale, x - centre.x() / scale, y + centre.y() / scale))

    def pan(self, by: QPointF) -> None:
        """Move the plan by pixels."""
        sight = self.sight()
        left = sight.left_mm - by.x() / sight.px_per_mm
        self._look(Sight(sight.px_per_mm, left, sight.top_mm + by.y() / sight.px_per_mm))

    def _look(self, sight: Sight | None) -> None:
        self._sight = sight
        self._redraw()

    def _redraw(self) -> None:
        self._static = None
        self._lay_out()
        self.update()

    # Qt's own names from here on

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt calls it by this name
        """Return a size at which a room is easily read."""
        return QSize(720, 640)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Paint the static layer from its pixmap where asked, and the live marks above it."""
        colours, painter = colours_now(), QPainter(self)
        if self._drawing is None:
            painter.fillRect(self.rect(), QColor(colours.paper))
            painter.setPen(QColor(colours.ink))
            painter.setFont(text_font(11.0))
            wrapped = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(QRectF(self.rect()).adjusted(20, 20, -20, -20), int(wrapped), EMPTY)
        else:
            self._paint_plan(painter, event)
        if self.hasFocus():
            painter.setPen(QColor(colours.blue))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _paint_plan(self, painter: QPainter, event: QPaintEvent) -> None:
        ratio = self.devicePixelRatioF()
        stale = self._static is None or self._static.devicePixelRatio() != ratio
        if stale and self._drawing is not None:
            self._static = static_pixmap(
                self._drawing, self.sight(), self.size(), ratio, colours_now()
            )
        painter.setClipRegion(event.region())
        if self._static is not None:
            painter.drawPixmap(0, 0, self._static)
        pointed = next((u for u in self._units if u.line.serial == self._pointed), None)
        if pointed is not None:
            paint_pointed(painter, pointed, self._rooms, self.sight(), colours_now())
        paint_placed(painter, self._placed, colours_now())

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: ARG002, N802 - Qt calls it by this name
        """Fit or keep the sight for the new size."""
        self._redraw()

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Draw anew in other colours or letters."""
        if event.type() in {QEvent.Type.PaletteChange, QEvent.Type.FontChange}:
            self._redraw()
        super().changeEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Zoom about the pointer."""
        self.zoom(ZOOM_STEP ** (event.angleDelta().y() / WHEEL_NOTCH), event.position())
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Zoom and move by keyboard."""
        steps = {
            Qt.Key.Key_Left: QPointF(PAN_STEP_PX, 0),
            Qt.Key.Key_Right: QPointF(-PAN_STEP_PX, 0),
            Qt.Key.Key_Up: QPointF(0, PAN_STEP_PX),
            Qt.Key.Key_Down: QPointF(0, -PAN_STEP_PX),
        }
        key = Qt.Key(event.key())
        if key in steps:
            self.pan(steps[key])
        elif key in {Qt.Key.Key_Plus, Qt.Key.Key_Equal}:
            self.zoom(ZOOM_STEP)
        elif key == Qt.Key.Key_Minus:
            self.zoom(1 / ZOOM_STEP)
        elif key == Qt.Key.Key_0:
            self.show_all()
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Begin a click or a drag."""
        if event.button() is Qt.MouseButton.LeftButton:
            self._pressed, self._dragging = event.position(), False

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Drag the plan along."""
        if self._pressed is None:
            return
        by = event.position() - self._pressed
        if self._dragging or by.manhattanLength() > CLICK_SLACK_PX:
            self._dragging, self._pressed = True, event.position()
            self.pan(by)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """End a drag, or choose what was clicked."""
        if self._pressed is not None and not self._dragging:
            self._choose(event.position())
        self._pressed, self._dragging = None, False

    def _choose(self, at: QPointF) -> None:
        sight = self.sight()
        for unit in self._units:
            mark = sight.px((unit.line.pose.x_mm, unit.line.pose.y_mm))
            if math.hypot(mark.x() - at.x(), mark.y() - at.y()) <= UNIT_REACH_PX:
                self.unit_chosen.emit(unit.line.serial)
                return
        room = self._room_at(at)
        if room is not None:
            self.room_chosen.emit(room.key)

    def _room_at(self, at: QPointF) -> Room | None:
        spot = np.array([self.sight().mm(at)])
        return next((room for room in self._rooms if inside(spot, room.outline_mm)[0]), None)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Take a unit, nothing else."""
        if event.mimeData().hasFormat(SERIAL_MIME) and self._rooms:
            event.acceptProposedAction()

    def dragMoveEvent(self, event: QDragMoveEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Take a unit where there is a room to put it in."""
        event.setAccepted(self._target(event.position()) is not None)

    def dropEvent(self, event: QDropEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Say which unit was let go where."""
        room = self._target(event.position())
        if room is None or not event.mimeData().hasFormat(SERIAL_MIME):
            event.ignore()
            return
        serial = bytes(event.mimeData().data(SERIAL_MIME).data()).decode("utf-8")
        x, y = self._within(room, self.sight().mm(event.position()))
        event.acceptProposedAction()
        self.unit_dropped.emit(serial, room.key, x, y)

    def _target(self, at: QPointF) -> Room | None:
        """Return the room to drop into: the one under the pointer, else the only one shown."""
        return self._room_at(at) or (self._rooms[0] if len(self._rooms) == 1 else None)

    @staticmethod
    def _within(room: Room, at_mm: tuple[float, float]) -> tuple[int, int]:
        """Return a place held within the room's bounds: a wall is easily missed by a few pixels."""
        x0, y0, x1, y1 = bounds_mm(room.outline_mm)
        return round(min(max(at_mm[0], x0), x1)), round(min(max(at_mm[1], y0), y1))


def _to_look_at(house: HouseState) -> set[str]:
    return {finding.unit for finding in house.findings if finding.unit}


def _brief(mark: LiveMark) -> LiveMark:
    """Return a mark of a floor, where there is room for one line only."""
    return LiveMark(mark.shape, mark.at_mm, mark.old, mark.lines[:1], mark.spread_mm, mark.path_mm)
