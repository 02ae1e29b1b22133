"""Painting what is live on a plan: followed bodies, their trails, and how old a value is."""

from collections.abc import Mapping
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from fleet.drawing.palette import Palette
from fleet.drawing.views import range_arc
from fleet.model.snapshot import LiveUnit, TrackView
from fleet.model.units import Unit
from ui.widgets.drawing_painter import Sight
from ui.widgets.theme import text_font

OLD_AFTER_S = 2.0
BODY_PX = 7.0
TRAIL_ALPHA = 190


def paint_live(
    painter: QPainter,
    sight: Sight,
    colours: Palette,
    units: Mapping[str, Unit],
    live: Mapping[str, LiveUnit],
) -> None:
    """Paint what these units say now; a value older than two seconds is drawn hollow."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setFont(text_font(9.5))
    for serial, unit in units.items():
        said = live.get(serial)
        if said is None or said.report_age_s is None:
            continue
        old = said.report_age_s > OLD_AFTER_S
        for range_mm in said.ranges_mm:
            _paint_arc(painter, sight, colours, unit, range_mm, old=old)
        for track in said.tracks:
            _paint_trail(painter, sight, colours, track)
            _paint_body(painter, sight, colours, track, old=old)
            words = _words(track, said.report_age_s if old else None)
            _paint_words(painter, sight.px(track.at_mm), words, colours)


def live_words(units: Mapping[str, Unit], live: Mapping[str, LiveUnit]) -> str:
    """Say in words what the units show now, for who can't see the drawing."""
    parts = []
    for serial, unit in units.items():
        said = live.get(serial)
        if said is not None and (said.tracks or said.ranges_mm):
            bodies = [_words(track, None) for track in said.tracks]
            bodies += [f"somebody at {range_mm / 1000:.1f} m" for range_mm in said.ranges_mm]
            parts.append(f"{unit.line.label}: {', '.join(bodies)}")
    return "; ".join(parts) or "nobody is seen"


def _words(track: TrackView, age_s: float | None) -> str:
    if track.outside:
        words = "beyond the wall"
    elif track.held:
        words = "still, held"
    else:
        words = f"{track.speed_mm_s / 1000:.1f} m/s ± {track.spread_mm / 1000:.2f} m"
    return words if age_s is None else f"{words}, {age_s:.0f} s ago"


def _paint_arc(
    painter: QPainter, sight: Sight, colours: Palette, unit: Unit, range_mm: int, *, old: bool
) -> None:
    pen = QPen(QColor(colours.soft if old else colours.blue), 2.5)
    if old:
        pen.setStyle(Qt.PenStyle.DotLine)
    painter.setPen(pen)
    painter.drawPolyline([sight.px(point) for point in range_arc(unit, range_mm).points_mm])


def _paint_trail(painter: QPainter, sight: Sight, colours: Palette, track: TrackView) -> None:
    points = [sight.px(point) for point in track.trail_mm]
    for number, (start, end) in enumerate(pairwise(points), 1):
        colour = QColor(colours.ink)
        colour.setAlpha(round(TRAIL_ALPHA * number / len(points)))
        painter.setPen(QPen(colour, 1.6))
        painter.drawLine(start, end)


def _paint_body(
    painter: QPainter, sight: Sight, colours: Palette, track: TrackView, *, old: bool
) -> None:
    at = sight.px(track.at_mm)
    colour = QColor(colours.vermilion if track.outside else colours.ink)
    painter.setPen(QPen(colour, 2.0))
    hollow = old or track.outside or track.held
    painter.setBrush(QColor(colours.paper) if hollow else colour)
    if track.held:
        painter.drawRect(QRectF(at.x() - BODY_PX, at.y() - BODY_PX, 2 * BODY_PX, 2 * BODY_PX))
    else:
        painter.drawEllipse(at, BODY_PX, BODY_PX)
    if track.outside:
        off = QPointF(BODY_PX * 1.5, BODY_PX * 1.5)
        painter.drawLine(at - off, at + off)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _paint_words(painter: QPainter, at: QPointF, words: str, colours: Palette) -> None:
    box = painter.fontMetrics().boundingRect(words)
    place = QRectF(at.x() + 14, at.y() - box.height(), box.width() + 8, box.height() + 2)
    painter.fillRect(place, QColor(colours.paper))
    painter.setPen(QColor(colours.ink))
    painter.drawText(place, int(Qt.AlignmentFlag.AlignCenter), words)
