"""All units as small pictures of their own views, side by side.

Each tile's drawing is kept as a pixmap; a frame paints only tiles whose reports changed.
"""

import math
from collections.abc import Mapping, Sequence

from PySide6.QtCore import QEvent, QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QWidget

from fleet.drawing.palette import Palette
from fleet.drawing.unit_view import draw_unit_view
from fleet.drawing.views import arc_in_view, view_of
from fleet.model.snapshot import HouseState, LiveUnit
from fleet.model.units import Unit
from ui.presenters.words import age_words, is_old
from ui.widgets.drawing_painter import Sight, fitted, paint_drawing
from ui.widgets.theme import colours_now, text_font

GAP_PX = 10
HEAD_PX = 26
SHAPE = 0.86
"""Height of a tile against its width."""
DOT_PX = 4.5
EMPTY = "No unit has a place yet. Drag one from “Heard, not placed” into a room."


class AllUnits(QWidget):
    """Tiles of all units; a click, or arrows and Enter, choose one.

    Signals:
        unit_chosen: serial of the unit chosen.
    """

    unit_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(240, 200)
        self.setAccessibleName("All units")
        self.setAccessibleDescription(EMPTY)
        self._units: tuple[Unit, ...] = ()
        self._rooms: Mapping[str, str] = {}
        self._live: Mapping[str, LiveUnit] = {}
        self._pictures: dict[str, tuple[QPixmap, Sight]] = {}
        self._at = 0

    def show_house(self, house: HouseState) -> None:
        """Show the units of a house, in the order of their labels."""
        units = sorted(house.units.values(), key=lambda unit: unit.line.label)
        self._units = tuple(units)
        self._rooms = {room.key: room.name for room in house.plan.rooms}
        self._at = min(self._at, max(0, len(units) - 1))
        self._redraw()
        self._say()

    def set_live(self, live: Mapping[str, LiveUnit]) -> None:
        """Show what units say now."""
        before, self._live = self._live, live
        for at, unit in enumerate(self._units):
            serial = unit.line.serial
            if before.get(serial) != live.get(serial):
                self.update(self._tile(at))

    def _redraw(self) -> None:
        self._pictures.clear()
        self.update()

    def _say(self) -> None:
        if not self._units:
            self.setAccessibleDescription(EMPTY)
            return
        unit = self._units[self._at]
        words = f"{len(self._units)} units; at {unit.line.label}, {self._room_name(unit)}"
        self.setAccessibleDescription(words)

    def _room_name(self, unit: Unit) -> str:
        return self._rooms.get(unit.line.room, unit.line.room)

    def columns(self) -> int:
        """Return how many tiles stand side by side so that all fit as large as they can."""
        count, best, found = len(self._units), 0.0, 1
        for columns in range(1, count + 1):
            rows = math.ceil(count / columns)
            wide = min(self.width() / columns, self.height() / rows / SHAPE)
            if wide > best:
                best, found = wide, columns
        return found

    def _tile(self, at: int) -> QRect:
        columns = self.columns()
        rows = max(1, math.ceil(len(self._units) / columns))
        wide, high = self.width() / columns, self.height() / rows
        row, column = divmod(at, columns)
        left, top = round(column * wide), round(row * high)
        return QRect(left, top, round(wide), round(high)).adjusted(
            GAP_PX // 2, GAP_PX // 2, -GAP_PX // 2, -GAP_PX // 2
        )

    # Qt's own names from here on

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt calls it by this name
        """Return a size at which fourteen tiles are easily read."""
        return QSize(720, 640)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Paint the tiles that were asked for."""
        colours, painter = colours_now(), QPainter(self)
        painter.fillRect(event.rect(), QColor(colours.desk))
        if not self._units:
            painter.setPen(QColor(colours.ink))
            painter.setFont(text_font(11.0))
            wrapped = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(QRectF(self.rect()).adjusted(20, 20, -20, -20), int(wrapped), EMPTY)
        for at, unit in enumerate(self._units):
            if event.region().intersects(self._tile(at)):
                self._paint_tile(painter, at, unit, colours)
        painter.end()

    def _paint_tile(self, painter: QPainter, at: int, unit: Unit, colours: Palette) -> None:
        tile, said = self._tile(at), self._live.get(unit.line.serial)
        pixmap, sight = self._picture(unit, tile.size(), colours)
        painter.save()
        painter.setClipRect(tile)
        painter.drawPixmap(tile.topLeft(), pixmap)
        self._paint_age(painter, tile, said, colours)
        painter.translate(tile.left(), tile.top() + HEAD_PX)
        if said is not None and said.report_age_s is not None:
            _paint_reports(painter, unit, said, sight, colours)
        painter.restore()
        chosen = at == self._at and self.hasFocus()
        painter.setPen(QPen(QColor(colours.blue if chosen else colours.soft), 3 if chosen else 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(tile.adjusted(1, 1, -2, -2) if chosen else tile.adjusted(0, 0, -1, -1))

    def _picture(self, unit: Unit, size: QSize, colours: Palette) -> tuple[QPixmap, Sight]:
        kept = self._pictures.get(unit.line.serial)
        ratio = self.devicePixelRatioF()
        if kept is not None and kept[0].size() == size * ratio:
            return kept
        drawing = draw_unit_view(unit, labelled=False)
        sight = fitted(drawing.box_mm, size.width(), size.height() - HEAD_PX)
        pixmap = QPixmap(size * ratio)
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(QColor(colours.paper))
        painter = QPainter(pixmap)
        self._paint_head(painter, unit, size, colours)
        painter.translate(0, HEAD_PX)
        paint_drawing(painter, drawing, sight, colours)
        painter.end()
        self._pictures[unit.line.serial] = (pixmap, sight)
        return pixmap, sight

    def _paint_head(self, painter: QPainter, unit: Unit, size: QSize, colours: Palette) -> None:
        middle = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        font = text_font(10.0, strong=True)
        painter.setFont(font)
        painter.setPen(QColor(colours.ink))
        box = QRectF(8, 0, size.width() - 16, HEAD_PX)
        painter.drawText(box, middle, unit.line.label)
        taken = painter.fontMetrics().horizontalAdvance(unit.line.label) + 8
        painter.setFont(text_font(8.5))
        painter.setPen(QColor(colours.soft))
        room_px = max(0, size.width() - 16 - taken - AGE_PX)
        name = painter.fontMetrics().elidedText(
            self._room_name(unit), Qt.TextElideMode.ElideRight, room_px
        )
        painter.drawText(box.adjusted(taken, 0, 0, 0), middle, name)

    def _paint_age(
        self, painter: QPainter, tile: QRect, said: LiveUnit | None, colours: Palette
    ) -> None:
        age = said.report_age_s if said else None
        words = "never heard" if age is None else age_words(age)
        font = text_font(8.5)
        font.setItalic(is_old(age))
        painter.setFont(font)
        painter.setPen(QColor(colours.ochre if is_old(age) else colours.soft))
        box = QRectF(tile.left(), tile.top(), tile.width() - 8, HEAD_PX)
        words = f"{words} old" if age is not None and is_old(age) else words
        painter.drawText(
            box, int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight), words
        )

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: ARG002, N802 - Qt calls it by this name
        """Draw the tiles anew for the new size."""
        self._redraw()

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Draw anew in other colours or letters."""
        if event.type() in {QEvent.Type.PaletteChange, QEvent.Type.FontChange}:
            self._redraw()
        super().changeEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Choose the tile that was clicked."""
        for at in range(len(self._units)):
            if self._tile(at).contains(event.position().toPoint()):
                self._move(at)
                self.unit_chosen.emit(self._units[at].line.serial)
                return

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt calls it by this name
        """Go from tile to tile with the arrows, choose with Enter."""
        columns = self.columns()
        steps = {
            Qt.Key.Key_Left: -1,
            Qt.Key.Key_Right: 1,
            Qt.Key.Key_Up: -columns,
            Qt.Key.Key_Down: columns,
        }
        key = Qt.Key(event.key())
        if key in steps and 0 <= self._at + steps[key] < len(self._units):
            self._move(self._at + steps[key])
        elif key in {Qt.Key.Key_Return, Qt.Key.Key_Enter} and self._units:
            self.unit_chosen.emit(self._units[self._at].line.serial)
        else:
            super().keyPressEvent(event)

    def _move(self, at: int) -> None:
        self._at = at
        self._say()
        self.update()


AGE_PX = 78
"""Kept free for the age at the right of a tile's head."""


def _paint_reports(
    painter: QPainter, unit: Unit, said: LiveUnit, sight: Sight, colours: Palette
) -> None:
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    old = is_old(said.report_age_s)
    ink = QColor(colours.soft if old else colours.ink)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(ink, 1.2 if old else 2.4))
    for range_mm in said.ranges_mm:
        arc = arc_in_view(range_mm, view_of(unit)[1])
        painter.drawPolyline(QPolygonF([sight.px(point) for point in arc]))
    painter.setPen(QPen(ink, 1.5))
    painter.setBrush(QColor(colours.paper) if old else ink)
    for at in _dots(said, sight):
        painter.drawEllipse(at, DOT_PX, DOT_PX)


def _dots(said: LiveUnit, sight: Sight) -> Sequence[QPointF]:
    return [sight.px(point) for point in said.sensor_targets_mm]
