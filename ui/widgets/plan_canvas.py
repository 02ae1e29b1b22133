"""The plan: a room or a floor as a trade drawing, with whoever is seen in it on top.

What doesn't move is painted once into a picture; a frame paints the picture and the live layer over it.
"""

from collections.abc import Callable, Collection, Mapping

import numpy as np
from PySide6.QtCore import QPointF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QDragEnterEvent,
    QDropEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPixmap,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from fleet.drawing.floor import draw_floor
from fleet.drawing.primitives import Drawing
from fleet.drawing.room import draw_room
from fleet.model.geometry import Outline
from fleet.model.snapshot import HouseState, LiveUnit
from fleet.model.units import Unit
from fleet.numerics.outlines import inside
from ui.widgets.drawing_painter import Sight, fitted, paint_drawing
from ui.widgets.house_tree import SERIAL_MIME
from ui.widgets.live_painting import live_words, paint_live
from ui.widgets.theme import colours_now

NEAR_UNIT_PX = 22.0
ZOOM_STEP = 1.25
ZOOMS = (0.5, 12.0)


class PlanCanvas(QWidget):
    """One room or one floor.

    Signals:
        room_chosen: key of the room that was clicked.
        unit_chosen: serial of the unit that was clicked.
        unit_dropped: serial, room key, x and y in plan mm.
    """

    room_chosen = Signal(str)
    unit_chosen = Signal(str)
    unit_dropped = Signal(str, str, int, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAcceptDrops(True)
        self.setAccessibleName("Plan")
        self._drawing: Drawing | None = None
        self._units: Mapping[str, Unit] = {}
        self._outlines: Mapping[str, Outline] = {}
        self._live: Mapping[str, LiveUnit] = {}
        self._picture: QPixmap | None = None
        self._zoom, self._pan = 1.0, QPointF()
        self._held_at: QPointF | None = None

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """Ask for room to draw in."""
        return QSize(640, 560)

    def show_room(self, house: HouseState, key: str) -> None:
        """Show a room."""
        room = next(room for room in house.plan.rooms if room.key == key)
        self._units = _units_of(house, {key})
        look = _wrong_labels(house)
        drawing = draw_room(room, list(self._units.values()), look=look)
        self._show(drawing, {key: room.outline_mm})

    def show_floor(self, house: HouseState, key: str) -> None:
        """Show a floor."""
        rooms = {room.key: room.outline_mm for room in house.plan.rooms if room.floor == key}
        self._units = _units_of(house, rooms.keys())
        look = _wrong_labels(house)
        drawing = draw_floor(house.plan, key, list(self._units.values()), look=look)
        self._show(drawing, rooms)

    def set_live(self, live: Mapping[str, LiveUnit]) -> None:
        """Show what the units say now."""
        self._live = live
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Paint the still picture and what is live."""
        painter = QPainter(self)
        colours = colours_now()
        if self._drawing is None:
            painter.fillRect(self.rect(), QColor(colours.paper))
            return
        if self._picture is None:
            self._picture = self._painted(self._drawing)
        painter.drawPixmap(0, 0, self._picture)
        paint_live(painter, self._sight(self._drawing), colours, self._units, self._live)
        self.setAccessibleDescription(
            f"{self._drawing.title}: {live_words(self._units, self._live)}"
        )

    def resizeEvent(self, _event: object) -> None:  # noqa: N802 - Qt's name
        """Paint anew in the new size."""
        self._picture = None

    def changeEvent(self, event: object) -> None:  # noqa: ARG002, N802 - Qt's name
        """Paint anew in the new colours."""
        self._picture = None
        self.update()

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802 - Qt's name
        """Zoom where the pointer is."""
        self._zoom_by(ZOOM_STEP if event.angleDelta().y() > 0 else 1 / ZOOM_STEP)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        """Zoom with + and −, show all with 0, move with the arrows."""
        step = 40.0
        acts: dict[int, Callable[[], None]] = {
            Qt.Key.Key_Plus: lambda: self._zoom_by(ZOOM_STEP),
            Qt.Key.Key_Minus: lambda: self._zoom_by(1 / ZOOM_STEP),
            Qt.Key.Key_0: self._show_all,
            Qt.Key.Key_Left: lambda: self._pan_by(QPointF(step, 0)),
            Qt.Key.Key_Right: lambda: self._pan_by(QPointF(-step, 0)),
            Qt.Key.Key_Up: lambda: self._pan_by(QPointF(0, step)),
            Qt.Key.Key_Down: lambda: self._pan_by(QPointF(0, -step)),
        }
        act = acts.get(event.key())
        if act is None:
            super().keyPressEvent(event)
        else:
            act()

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Begin to drag the plan."""
        self._held_at = event.position()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Drag the plan."""
        if self._held_at is not None:
            moved = event.position() - self._held_at
            if self._zoom != 1.0 or moved.manhattanLength() > NEAR_UNIT_PX:
                self._pan_by(moved)
                self._held_at = event.position()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Choose the unit or the room under the pointer."""
        if self._held_at is None or self._drawing is None:
            return
        self._held_at = None
        sight = self._sight(self._drawing)
        for serial, unit in self._units.items():
            at = sight.px((unit.line.pose.x_mm, unit.line.pose.y_mm))
            if (at - event.position()).manhattanLength() < NEAR_UNIT_PX:
                self.unit_chosen.emit(serial)
                return
        room = self._room_at(event.position())
        if room:
            self.room_chosen.emit(room)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:  # noqa: N802 - Qt's name
        """Take a unit that was heard."""
        if event.mimeData().hasFormat(SERIAL_MIME):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:  # noqa: N802 - Qt's name
        """Say where a unit was dropped."""
        room = self._room_at(event.position())
        if self._drawing is None or not room:
            return
        serial = bytes(event.mimeData().data(SERIAL_MIME).data()).decode()
        x_mm, y_mm = self._sight(self._drawing).mm(event.position())
        event.acceptProposedAction()
        self.unit_dropped.emit(serial, room, round(x_mm), round(y_mm))

    def _show(self, drawing: Drawing, outlines: Mapping[str, Outline]) -> None:
        if self._drawing is None or drawing.box_mm != self._drawing.box_mm:
            self._zoom, self._pan = 1.0, QPointF()
        self._drawing, self._outlines, self._picture = drawing, outlines, None
        self.setAccessibleDescription(drawing.title)
        self.update()

    def _painted(self, drawing: Drawing) -> QPixmap:
        ratio = self.devicePixelRatioF()
        picture = QPixmap(self.size() * ratio)
        picture.setDevicePixelRatio(ratio)
        colours = colours_now()
        picture.fill(QColor(colours.paper))
        painter = QPainter(picture)
        paint_drawing(painter, drawing, self._sight(drawing), colours)
        painter.end()
        return picture

    def _sight(self, drawing: Drawing) -> Sight:
        base = fitted(drawing.box_mm, self.width(), self.height())
        px_per_mm = base.px_per_mm * self._zoom
        middle_x, middle_y = base.mm(QPointF(self.width() / 2, self.height() / 2))
        return Sight(
            px_per_mm,
            middle_x - (self.width() / 2 + self._pan.x()) / px_per_mm,
            middle_y + (self.height() / 2 + self._pan.y()) / px_per_mm,
        )

    def _zoom_by(self, factor: float) -> None:
        self._zoom = min(max(self._zoom * factor, ZOOMS[0]), ZOOMS[1])
        self._pan *= factor if ZOOMS[0] < self._zoom < ZOOMS[1] else 1.0
        self._repaint()

    def _pan_by(self, moved: QPointF) -> None:
        self._pan += moved
        self._repaint()

    def _show_all(self) -> None:
        self._zoom, self._pan = 1.0, QPointF()
        self._repaint()

    def _repaint(self) -> None:
        self._picture = None
        self.update()

    def _room_at(self, at: QPointF) -> str:
        if self._drawing is None:
            return ""
        x, y = self._sight(self._drawing).mm(at)
        return next((key for key, outline in self._outlines.items() if _holds(outline, x, y)), "")


def _units_of(house: HouseState, rooms: Collection[str]) -> Mapping[str, Unit]:
    return {serial: unit for serial, unit in house.units.items() if unit.line.room in rooms}


def _wrong_labels(house: HouseState) -> set[str]:
    return {finding.unit for finding in house.findings if finding.unit}


def _holds(outline: Outline, x: float, y: float) -> bool:
    return bool(inside(np.array([[x, y]]), outline)[0])
