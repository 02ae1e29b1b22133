"""One unit's own view as a chart: where its targets are, in metres ahead and to its side."""

from collections import deque
from typing import Any

import pyqtgraph as pg
from PySide6.QtCore import QEvent, QPointF, QRectF
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QPolygonF
from PySide6.QtWidgets import QGraphicsPathItem, QStyleOptionGraphicsItem, QVBoxLayout, QWidget

from fleet.drawing.areas import found_areas, look_of
from fleet.drawing.palette import Palette, colour_of
from fleet.drawing.primitives import Fill, Spot
from fleet.drawing.unit_marks import TRIANGLE_MM
from fleet.drawing.views import arc_in_view, view_of, wedge_in_view
from fleet.model.sheets import Area
from fleet.model.snapshot import LiveUnit
from fleet.model.units import Unit
from ui.presenters.words import age_words, is_old
from ui.widgets.drawing_painter import paint_hatch
from ui.widgets.theme import colours_now, text_font

MM_PER_M = 1000
TRAIL_REPORTS = 40
DOT_PX, TRAIL_PX = 14, 6
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
        self._plot.setAntialiasing(True)
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
        self._trail_dots = pg.ScatterPlotItem(pxMode=True, size=TRAIL_PX, symbol="o")
        self._dots = pg.ScatterPlotItem(pxMode=True, size=DOT_PX, symbol="o")
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
        for metre in range(1, -(-range_mm // MM_PER_M)):
            arc = arc_in_view(metre * MM_PER_M, half_mdeg)
            self._add_path(arc, _pen(QColor(colours.line)), None, closed=False)
            self._add_words(f"{metre} m", arc[-1], colours.soft, (0.0, 0.5))
        for area in found_areas(self._unit):
            self._add_area(area, colours)
        paper = QBrush(QColor(colours.paper))
        self._add_path(_triangle(), _pen(QColor(colours.ink), width=1.8), paper)

    def _add_area(self, area: Area, colours: Palette) -> None:
        role, fill = look_of(area.kind)
        colour = QColor(colour_of(role, colours))
        self._keep(_Hatched(_path(area.outline_mm), fill, colour))
        corner = (min(x for x, _ in area.outline_mm), max(y for _, y in area.outline_mm))
        self._add_words(f"{area.label} · {area.kind.value}", corner, colour.name(), (0.0, 1.0))

    def _add_path(
        self, points: tuple[Spot, ...], pen: QPen, brush: QBrush | None, *, closed: bool = True
    ) -> None:
        item = QGraphicsPathItem(_path(points, closed=closed))
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
        self._dots.setData(pos=targets, pen=_pen(ink, width=2.0), brush=brush)
        self._draw_ranges(said, ink, old=old)
        words = f"{self._name}: {_spoken(said)}"
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


def _path(points: tuple[Spot, ...], *, closed: bool = True) -> QPainterPath:
    path = QPainterPath()
    path.addPolygon(QPolygonF([QPointF(*_metres(point)) for point in points]))
    if closed:
        path.closeSubpath()
    return path


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


def _spoken(said: LiveUnit | None) -> str:
    """Return what is reported without figures that change at every report."""
    if said is None or said.report_age_s is None:
        return "no report"
    old = ", old" if is_old(said.report_age_s) else ""
    bodies, ranges = len(said.sensor_targets_mm), len(said.ranges_mm)
    if ranges:
        return f"somebody at a distance{old}"
    return f"{bodies} reported{old}" if bodies else f"nobody reported{old}"


def _triangle() -> tuple[Spot, ...]:
    return ((-TRIANGLE_MM / 2, 0.0), (0.0, float(TRIANGLE_MM)), (TRIANGLE_MM / 2, 0.0))


class _Hatched(QGraphicsPathItem):
    """An area whose hatch keeps its distance on the screen, however far the view is zoomed."""

    def __init__(self, path: QPainterPath, fill: Fill, colour: QColor) -> None:
        super().__init__(path)
        self._fill, self._colour = fill, colour
        self.setPen(_pen(colour, width=1.8))

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,
    ) -> None:
        """Paint the hatch in pixels, then the edge as Qt does."""
        if self._fill in {Fill.WATCH, Fill.IGNORE}:
            path = painter.transform().map(self.path())
            painter.save()
            painter.resetTransform()
            paint_hatch(painter, path, self._colour, crossed=self._fill is Fill.IGNORE)
            painter.restore()
        super().paint(painter, option, widget)
