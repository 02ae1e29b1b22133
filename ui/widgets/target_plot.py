"""One unit's own view, live: what it reports, in its own frame, before anything is made of it."""

import pyqtgraph as pg
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QVBoxLayout, QWidget

from fleet.drawing.palette import Palette, colour_of
from fleet.drawing.primitives import Polygon, Polyline
from fleet.drawing.unit_view import draw_unit_view
from fleet.drawing.views import arc_in_view, view_of
from fleet.model.snapshot import LiveUnit
from fleet.model.units import Unit
from ui.widgets.theme import colours_now, text_font

TRAIL_POINTS = 60
MM = 1000.0


class TargetPlot(QWidget):
    """A unit's targets in metres: its right to the right, away from it upwards."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.setAccessibleName("Targets of the unit")
        self._plot = pg.PlotWidget()
        self._plot.setAccessibleName("Target plot")
        item = self._plot.getPlotItem()
        item.hideButtons()
        item.setMenuEnabled(False)
        item.setAspectLocked(True)
        item.setLabel("bottom", "to its right, m")
        item.setLabel("left", "away from it, m")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._plot)
        self._unit: Unit | None = None
        self._trail: list[tuple[float, float]] = []
        self._dots = pg.ScatterPlotItem(size=5)
        self._now = pg.ScatterPlotItem(size=15)
        self._arc = pg.PlotDataItem()

    def show_unit(self, unit: Unit, name: str) -> None:
        """Show another unit, or the same one as it is known now."""
        if self._unit is None or self._unit.line.serial != unit.line.serial:
            self._trail.clear()
        self._unit = unit
        colours = colours_now()
        self._plot.setBackground(colours.paper)
        item = self._plot.getPlotItem()
        item.clear()
        for axis in ("bottom", "left"):
            item.getAxis(axis).setPen(colours.soft)
            item.getAxis(axis).setTextPen(colours.ink)
            item.getAxis(axis).setTickFont(text_font(9.0))
        self._draw_still(unit, colours)
        for layer in (self._dots, self._now, self._arc):
            item.addItem(layer)
        self.setAccessibleDescription(f"{name}: nothing reported yet")

    def set_live(self, live: LiveUnit) -> None:
        """Show what the unit says now; places older than two seconds are hollow."""
        unit, colours = self._unit, colours_now()
        if unit is None:
            return
        places = [(x / MM, y / MM) for x, y in live.sensor_targets_mm]
        self._trail = (self._trail + places)[-TRAIL_POINTS:]
        ink, paper = QColor(colours.ink), QColor(colours.paper)
        old = live.report_age_s is None or live.report_age_s > 2.0  # noqa: PLR2004 - as on the plan
        self._dots.setData(pos=self._trail, pen=None, brush=QColor(colours.soft))
        self._now.setData(pos=places, pen=pg.mkPen(ink, width=2), brush=paper if old else ink)
        arc = [point for r in live.ranges_mm[:1] for point in arc_in_view(r, view_of(unit)[1])]
        self._arc.setData(
            [x / MM for x, _ in arc], [y / MM for _, y in arc], pen=pg.mkPen(colours.blue, width=3)
        )
        self.setAccessibleDescription(_words(unit, live))

    def _draw_still(self, unit: Unit, colours: Palette) -> None:
        for shape in draw_unit_view(unit, labelled=False).shapes:
            if not isinstance(shape, Polygon | Polyline):
                continue
            points = [*shape.points_mm]
            if isinstance(shape, Polygon):
                points.append(shape.points_mm[0])
            pen = pg.mkPen(colour_of(shape.role, colours), width=1.5)
            self._plot.getPlotItem().plot(
                [x / MM for x, _ in points], [y / MM for _, y in points], pen=pen
            )


def _words(unit: Unit, live: LiveUnit) -> str:
    age = "never" if live.report_age_s is None else f"{live.report_age_s:.1f} s ago"
    seen = [f"{x / MM:.1f}, {y / MM:.1f} m" for x, y in live.sensor_targets_mm]
    seen += [f"{range_mm / MM:.1f} m away" for range_mm in live.ranges_mm]
    return f"{unit.line.label}, last report {age}: {'; '.join(seen) or 'nobody'}"
