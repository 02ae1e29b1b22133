"""One unit's own view as a chart: where its targets are, in metres ahead and to its side."""

from collections import deque
from typing import Any

import pyqtgraph as pg
from PySide6.QtCore import QEvent, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QGraphicsPathItem, QVBoxLayout, QWidget

from fleet.drawing.areas import found_areas, look_of
from fleet.drawing.palette import Palette, colour_of
from fleet.drawing.primitives import Fill, Spot
from fleet.drawing.views import arc_in_view, view_of, wedge_in_view
from fleet.model.sheets import Area
from fleet.model.snapshot import LiveUnit
from fleet.model.units import Unit
from ui.presenters.words import age_words, is_old
from ui.widgets.theme import colours_now, text_font

MM_PER_M = 1000
TRAIL_REPORTS = 40
DOT_PX, TRAIL_PX = 14, 6
HATCH_PX = 8
MARGIN_M = 0.35
_X, _Y = "bottom", "left"


class TargetPlot(QWidget):
    """The plot of one unit: range arcs each metre, field of view, areas read, targets and trail.

    A unit that reports only distances shows an arc where its target may be.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._plot = pg.PlotWidget(self, enableMenu=False)
        self._plot.hideButtons()
        self._plot.setAspectLocked(lock=True)
        self._plot.setMouseEnabled(x=True, y=True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._plot)
        self.setFocusProxy(self._plot)
        self._plot.setAccessibleName("Unit's own view")
        self.setAccessibleName("Unit's own view")
        self._unit: Unit | None = None
        self._name = ""
        self._static: list[Any] = []
        self._trail: deque[Spot] = deque(maxlen=TRAIL_REPORTS)
        self._reports = -1
        self._live: LiveUnit | None = None
        self._add_live_items()
        self._dress()

    def show_unit(self, unit: Unit, name: str) -> None:
        """Show a unit; `name` is its label, or whatever it is called here."""
        other = self._unit is None or unit.line.serial != self._unit.line.serial
        if not other and unit == self._unit:
            return
        self._unit, self._name = unit, name
        if other:
            self._trail.clear()
            self._reports, self._live = -1, None
        self._draw_static()
        if other:
            self._fit()
        self.setAccessibleName(f"{name}'s own view")
        self._plot.setAccessibleName(f"{name}'s own view")
        self._draw_live()

    def set_live(self, said: LiveUnit) -> None:
        """Show what the unit says now; reports of another unit are left out."""
        if self._unit is None or said.serial != self._unit.line.serial:
            return
        if said.reports != self._reports:
            self._trail.extend(_metres(point) for point in said.sensor_targets_mm)
            self._reports = said.reports
        self._live = said
        self._draw_live()

    def dots(self) -> int:
        """Return how many targets are shown."""
        return len(self._dots.data)

    def words(self) -> str:
        """Return the line over the plot: whose it is and how old."""
        return str(self._plot.plotItem.titleLabel.text)

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802  (Qt's own name)
        """Draw anew in other colours."""
        if event.type() is QEvent.Type.PaletteChange:
            self._dress()
        super().changeEvent(event)

    def _add_live_items(self) -> None:
        self._trail_dots = pg.ScatterPlotItem(pxMode=True, size=TRAIL_PX)
        self._dots = pg.ScatterPlotItem(pxMode=True, size=DOT_PX)
        self._arc = pg.PlotCurveItem(connect="finite")
        for order, item in enumerate((self._arc, self._trail_dots, self._dots), start=10):
            item.setZValue(order)
            self._plot.addItem(item)

    def _dress(self) -> None:
        colours = colours_now()
        self._plot.setBackground(colours.paper)
        for side, words in ((_X, "to its left and right, m"), (_Y, "ahead of it, m")):
            axis = self._plot.getAxis(side)
            axis.setPen(QPen(QColor(colours.soft), 1.0))
            axis.setTextPen(QPen(QColor(colours.ink)))
            axis.setStyle(tickFont=text_font(9.0))
            axis.enableAutoSIPrefix(enable=False)
            axis.setLabel(words, color=colours.soft)
            axis.label.setFont(text_font(9.0))
        self._draw_static()
        self._draw_live()

    def _fit(self) -> None:
        if self._unit is None:
            return
        range_mm, half_mdeg = view_of(self._unit)
        wide = max(abs(x) for x, _ in wedge_in_view(range_mm, half_mdeg)) / MM_PER_M + MARGIN_M
        box = QRectF(-wide, -MARGIN_M, 2 * wide, range_mm / MM_PER_M + 2 * MARGIN_M)
        self._plot.setRange(box, padding=0)

    def _draw_static(self) -> None:
        for item in self._static:
            self._plot.removeItem(item)
        self._static = []
        if self._unit is None:
            return
        colours = colours_now()
        range_mm, half_mdeg = view_of(self._unit)
        blue = QColor(colours.blue)
        self._add_path(wedge_in_view(range_mm, half_mdeg), _pen(blue, dashed=True), _tint(blue))
        for metre in range(1, range_mm // MM_PER_M + 1):
            arc = arc_in_view(metre * MM_PER_M, half_mdeg)
            self._add_path(arc, _pen(QColor(colours.soft), width=0.7), None, closed=False)
            self._add_words(f"{metre} m", arc[-1], colours.soft, (0.0, 0.5))
        for area in found_areas(self._unit):
            self._add_area(area, colours)

    def _add_area(self, area: Area, colours: Palette) -> None:
        role, fill = look_of(area.kind)
        colour = QColor(colour_of(role, colours))
        brush = _hatch(fill, colour, self.devicePixelRatioF())
        self._add_path(area.outline_mm, _pen(colour, width=1.8), brush)
        corner = (min(x for x, _ in area.outline_mm), max(y for _, y in area.outline_mm))
        self._add_words(f"{area.label} · {area.kind.value}", corner, colour.name(), (0.0, 0.0))

    def _add_path(
        self, points: tuple[Spot, ...], pen: QPen, brush: QBrush | None, *, closed: bool = True
    ) -> None:
        path = QPainterPath()
        path.addPolygon(QPolygonF([QPointF(*_metres(point)) for point in points]))
        if closed:
            path.closeSubpath()
        item = QGraphicsPathItem(path)
        item.setPen(pen)
        if brush is not None:
            item.setBrush(brush)
        self._keep(item)

    def _add_words(self, words: str, at: Spot, colour: str, anchor: Spot) -> None:
        item = pg.TextItem(words, color=colour, anchor=anchor, fill=colours_now().paper)
        item.setFont(text_font(8.5))
        item.setPos(*_metres(at))
        self._keep(item)

    def _keep(self, item: Any) -> None:  # noqa: ANN401  (pyqtgraph ships no types)
        self._plot.addItem(item)
        self._static.append(item)

    def _draw_live(self) -> None:
        colours, said = colours_now(), self._live
        self._plot.setTitle(self._head(said), color=colours.ink, size="11pt")
        old = said is None or is_old(said.report_age_s)
        ink = QColor(colours.soft if old else colours.ink)
        self._draw_trail(ink)
        targets = [_metres(point) for point in said.sensor_targets_mm] if said else []
        brush = QBrush(QColor(colours.paper) if old else ink)
        self._dots.setData(pos=targets, pen=QPen(ink, 2.0), brush=brush)
        self._draw_ranges(said, ink, old=old)
        words = self._head(said).split(" · ", maxsplit=1)[0] + f": {self._doing(said)}"
        if words != self.accessibleDescription():
            self.setAccessibleDescription(words)
            self._plot.setAccessibleDescription(words)

    def _draw_trail(self, ink: QColor) -> None:
        brushes = []
        for number in range(len(self._trail)):
            colour = QColor(ink)
            colour.setAlphaF(0.08 + 0.42 * (number + 1) / len(self._trail))
            brushes.append(QBrush(colour))
        self._trail_dots.setData(pos=list(self._trail), pen=None, brush=brushes or None)

    def _draw_ranges(self, said: LiveUnit | None, ink: QColor, *, old: bool) -> None:
        xs: list[float] = []
        ys: list[float] = []
        half_mdeg = view_of(self._unit)[1] if self._unit else 0
        for range_mm in said.ranges_mm if said else ():
            for x, y in map(_metres, arc_in_view(range_mm, half_mdeg)):
                xs.append(x)
                ys.append(y)
            xs.append(float("nan"))
            ys.append(float("nan"))
        self._arc.setData(x=xs, y=ys, pen=_pen(ink, width=1.5 if old else 3.5, dashed=old))

    def _head(self, said: LiveUnit | None) -> str:
        if self._unit is None:
            return "Choose a unit in the House column."
        age = said.report_age_s if said else None
        if age is None:
            return f"{self._name} · never heard"
        old = " old" if is_old(age) else ""
        return f"{self._name} · {self._doing(said)} · {age_words(age)}{old}"

    @staticmethod
    def _doing(said: LiveUnit | None) -> str:
        if said is None or said.report_age_s is None:
            return "no report"
        if said.ranges_mm:
            return ", ".join(f"{range_mm / MM_PER_M:.2f} m away" for range_mm in said.ranges_mm)
        count = len(said.sensor_targets_mm)
        return "nobody reported" if count == 0 else f"{count} target{'s' if count > 1 else ''}"


def _metres(point: Spot) -> Spot:
    return (point[0] / MM_PER_M, point[1] / MM_PER_M)


def _pen(colour: QColor, *, width: float = 1.1, dashed: bool = False) -> QPen:
    pen = QPen(colour, width)
    pen.setCosmetic(True)
    if dashed:
        pen.setDashPattern([5.0, 3.0])
    return pen


def _tint(colour: QColor) -> QBrush:
    pale = QColor(colour)
    pale.setAlpha(18)
    return QBrush(pale)


def _hatch(fill: Fill, colour: QColor, ratio: float) -> QBrush:
    """Return the hatch of a kind of area."""
    pixmap = QPixmap(round(HATCH_PX * ratio), round(HATCH_PX * ratio))
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setPen(QPen(colour, 1.0))
    side = pixmap.width()
    if fill in {Fill.WATCH, Fill.IGNORE}:
        painter.drawLine(0, side, side, 0)
    if fill is Fill.IGNORE:
        painter.drawLine(0, 0, side, side)
    painter.end()
    return QBrush(pixmap)
