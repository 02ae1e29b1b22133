"""All units at once as small views, a tile each; a frame repaints only the tiles that changed."""

from collections.abc import Mapping

from PySide6.QtCore import QPointF, QRect, QSize
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPixmap
from PySide6.QtWidgets import QWidget

from fleet.drawing.palette import Palette
from fleet.drawing.unit_view import draw_unit_view
from fleet.drawing.views import arc_in_view, view_of
from fleet.model.snapshot import HouseState, LiveUnit
from fleet.model.units import Unit
from ui.widgets.drawing_painter import Sight, fitted, paint_drawing
from ui.widgets.theme import colours_now, text_font

TILE_PX = 170
HEAD_PX = 22


class AllUnits(QWidget):
    """A tile for each unit of the schedule: its view, its areas, and whom it sees."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.setAccessibleName("All units")
        self._units: Mapping[str, Unit] = {}
        self._live: Mapping[str, LiveUnit] = {}
        self._stills: dict[str, QPixmap] = {}

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """Ask for room for four tiles in a row."""
        return QSize(4 * TILE_PX, 4 * TILE_PX)

    def show_house(self, house: HouseState) -> None:
        """Show the units of another state of the house."""
        self._units = {s: u for s, u in house.units.items() if u.line.serial}
        self._stills.clear()
        self.setAccessibleDescription(f"{len(self._units)} units")
        self.update()

    def set_live(self, live: Mapping[str, LiveUnit]) -> None:
        """Show what the units say now."""
        before, self._live = self._live, live
        for number, serial in enumerate(self._units):
            if before.get(serial) != live.get(serial):
                self.update(self._tile(number))

    def changeEvent(self, event: object) -> None:  # noqa: ARG002, N802 - Qt's name
        """Paint anew in the new colours."""
        self._stills.clear()
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Paint the tiles that need it."""
        painter, colours = QPainter(self), colours_now()
        painter.fillRect(event.rect(), QColor(colours.paper))
        for number, (serial, unit) in enumerate(self._units.items()):
            tile = self._tile(number)
            if tile.intersects(event.rect()):
                self._paint_tile(painter, tile, unit, self._live.get(serial), colours)

    def _tile(self, number: int) -> QRect:
        across = max(1, self.width() // TILE_PX)
        return QRect(
            number % across * TILE_PX, number // across * TILE_PX, TILE_PX - 6, TILE_PX - 6
        )

    def _paint_tile(
        self,
        painter: QPainter,
        tile: QRect,
        unit: Unit,
        live: LiveUnit | None,
        colours: Palette,
    ) -> None:
        drawing = draw_unit_view(unit, labelled=False)
        sight = fitted(drawing.box_mm, tile.width(), tile.height() - HEAD_PX)
        still = self._stills.get(unit.line.serial)
        if still is None:
            still = QPixmap(tile.size())
            still.fill(QColor(colours.paper))
            inner = QPainter(still)
            inner.translate(0, HEAD_PX)
            paint_drawing(inner, drawing, sight, colours)
            inner.end()
            self._stills[unit.line.serial] = still
        painter.save()
        painter.drawPixmap(tile.topLeft(), still)
        painter.translate(tile.topLeft())
        painter.setPen(QColor(colours.ink))
        painter.setFont(text_font(9.5))
        painter.drawText(QPointF(4, HEAD_PX - 6), f"{unit.line.label}  {_age(live)}")
        if live is not None:
            _paint_seen(painter, sight, unit, live, colours)
        painter.setPen(QPen(QColor(colours.line), 1))
        painter.drawRect(0, 0, tile.width() - 1, tile.height() - 1)
        painter.restore()


def _age(live: LiveUnit | None) -> str:
    if live is None or live.report_age_s is None:
        return "no report yet"
    return f"{live.report_age_s:.1f} s"


def _paint_seen(
    painter: QPainter, sight: Sight, unit: Unit, live: LiveUnit, colours: Palette
) -> None:
    painter.translate(0, HEAD_PX)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(colours.blue), 2.0))
    for range_mm in live.ranges_mm:
        painter.drawPolyline([sight.px(p) for p in arc_in_view(range_mm, view_of(unit)[1])])
    painter.setBrush(QColor(colours.ink))
    for place in live.sensor_targets_mm:
        painter.drawEllipse(sight.px(place), 4.0, 4.0)
    painter.setBrush(QColor(0, 0, 0, 0))
    painter.translate(0, -HEAD_PX)
