"""The plan canvas, one unit's plot, all units and glyphs, as somebody uses them."""

from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt
from PySide6.QtGui import QAccessible, QDropEvent, QImage
from PySide6.QtWidgets import QApplication

from fleet.drawing.palette import DARK, LIGHT, contrast
from fleet.model.snapshot import ItemState, LiveUnit
from tests import invented_house as invented
from ui.widgets.all_units import AllUnits
from ui.widgets.live_marks import MarkShape, spoken
from ui.widgets.plan_canvas import SERIAL_MIME, PlanCanvas
from ui.widgets.state_glyph import StateGlyph, colour_of_state, glyph_icon
from ui.widgets.target_plot import TargetPlot
from ui.widgets.theme import apply_theme, text_pairs


@pytest.fixture(params=["light", "dark"])
def scheme(qapp, request):
    apply_theme(qapp, request.param)
    yield request.param
    apply_theme(qapp, "light")


@pytest.fixture
def canvas(qtbot, scheme):
    canvas = PlanCanvas()
    qtbot.addWidget(canvas)
    canvas.resize(760, 800)
    canvas.show_room(invented.house(), "parlour")
    canvas.show()
    return canvas


def px(canvas, x, y) -> QPoint:
    return canvas.sight().px((x, y)).toPoint()


def image(widget) -> QImage:
    return widget.grab().toImage()


def test_walls_are_heavy_and_doors_open(canvas, scheme):
    colours = DARK if scheme == "dark" else LIGHT
    picture = image(canvas)
    assert picture.pixelColor(px(canvas, 2500, 6060)).name().upper() == colours.ink
    assert picture.pixelColor(px(canvas, 800, -60)).name().upper() != colours.ink


def test_marks_tell_moving_held_outside_and_distance_apart(canvas):
    canvas.set_live(invented.live(), invented.NOON)
    canvas.set_live(invented.live(), invented.NOON + timedelta(seconds=41))
    said = {mark.shape: mark.lines for mark in canvas.marks() if mark.lines}
    assert said[MarkShape.MOVING] == ("walking 0.9 m/s", "± 0.12 m · 0.1 s")
    assert said[MarkShape.HELD][0] == "still, held for 41 s"
    assert said[MarkShape.OUTSIDE][0] == "0.6 m past the wall"
    assert said[MarkShape.RANGE][0] == "2.41 m from U2"


def test_old_values_say_so_and_claim_nothing_of_now(canvas):
    canvas.set_live(invented.live(14.0), invented.NOON)
    lines = [mark.lines for mark in canvas.marks() if mark.lines]
    assert all(mark.old for mark in canvas.marks())
    assert ("was walking 0.9 m/s", "± 0.12 m · 14 s old") in lines
    assert all("old" in second for _, second in lines)


def test_without_a_time_a_held_track_has_no_duration(canvas):
    canvas.set_live(invented.live())
    assert "still, held" in [mark.lines[0] for mark in canvas.marks() if mark.lines]


def test_the_live_layer_changes_the_picture_and_goes_without_a_trace(canvas):
    empty = image(canvas)
    canvas.set_live(invented.live(), invented.NOON)
    assert image(canvas) != empty
    canvas.set_live({})
    assert image(canvas) == empty


def test_a_frame_paints_only_what_marks_cover(canvas, qtbot):
    qtbot.waitExposed(canvas)
    canvas.set_live(invented.live(), invented.NOON)
    kept = canvas._static
    QApplication.processEvents()
    canvas.set_live(invented.live(), invented.NOON)
    QApplication.processEvents()
    assert canvas._static is not None
    assert kept is None or canvas._static is kept


def test_the_focus_frame_never_covers_the_plan(canvas):
    canvas.setFocus()
    canvas.show_room(invented.house(), "study")
    canvas.set_live(invented.live(), invented.NOON)
    picture = image(canvas)
    colours = {picture.pixel(x, y) for x in range(0, 760, 9) for y in range(0, 800, 9)}
    assert len(colours) > 20


def test_keys_zoom_move_and_show_all_again(canvas, qtbot):
    whole = canvas.sight()
    qtbot.keyClick(canvas, Qt.Key.Key_Plus)
    assert canvas.sight().px_per_mm == pytest.approx(whole.px_per_mm * 1.25)
    qtbot.keyClick(canvas, Qt.Key.Key_Minus)
    qtbot.keyClick(canvas, Qt.Key.Key_Right)
    assert canvas.sight().left_mm > whole.left_mm
    qtbot.keyClick(canvas, Qt.Key.Key_0)
    assert canvas.sight() == whole


def test_zooming_keeps_the_place_under_the_pointer(canvas):
    at = QPointF(200, 300)
    before = canvas.sight().mm(at)
    canvas.zoom(3.0, at)
    assert canvas.sight().mm(at) == pytest.approx(before)


def test_dragging_moves_the_plan_and_chooses_nothing(canvas, qtbot):
    before = canvas.sight()
    with qtbot.assertNotEmitted(canvas.room_chosen):
        qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=QPoint(300, 300))
        qtbot.mouseMove(canvas, QPoint(340, 330))
        qtbot.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=QPoint(340, 330))
    assert canvas.sight().left_mm < before.left_mm


def test_a_click_on_a_unit_chooses_it_and_elsewhere_the_room(canvas, qtbot):
    with qtbot.waitSignal(canvas.unit_chosen) as unit:
        qtbot.mouseClick(canvas, Qt.MouseButton.LeftButton, pos=px(canvas, 60, 3800))
    assert unit.args == ["10-aa"]
    canvas.show_floor(invented.house(), "ground")
    with qtbot.waitSignal(canvas.room_chosen) as room:
        qtbot.mouseClick(canvas, Qt.MouseButton.LeftButton, pos=px(canvas, 7500, 1800))
    assert room.args == ["study"]


def dropped(canvas, at: QPointF, mime: str = SERIAL_MIME) -> QDropEvent:
    data = QMimeData()
    data.setData(mime, b"40-7c")
    event = QDropEvent(
        at,
        Qt.DropAction.CopyAction,
        data,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    canvas.dropEvent(event)
    return event


def test_a_unit_let_go_in_a_room_is_told_with_its_place(canvas, qtbot):
    with qtbot.waitSignal(canvas.unit_dropped) as told:
        dropped(canvas, canvas.sight().px((1000, 2000)))
    serial, room, x, y = told.args
    assert (serial, room) == ("40-7c", "parlour")
    assert (x, y) == pytest.approx((1000, 2000), abs=15)


def test_a_unit_let_go_just_past_a_wall_is_held_at_the_wall(canvas, qtbot):
    with qtbot.waitSignal(canvas.unit_dropped) as told:
        dropped(canvas, canvas.sight().px((-90, 2000)))
    assert told.args[2] == 0


def test_something_else_let_go_is_refused(canvas, qtbot):
    with qtbot.assertNotEmitted(canvas.unit_dropped):
        event = dropped(canvas, QPointF(300, 300), "text/plain")
    assert not event.isAccepted()


def test_the_canvas_says_in_words_what_it_shows(canvas):
    canvas.set_live(invented.live(), invented.NOON)
    spoken_for = QAccessible.queryAccessibleInterface(canvas)
    assert spoken_for.text(QAccessible.Text.Name) == "Plan of Parlour"
    said = spoken_for.text(QAccessible.Text.Description)
    assert "U1" in said
    assert "past the wall" in said


def test_nobody_is_said_where_nothing_is_reported():
    assert spoken([]) == "nobody reported"


def test_a_canvas_with_nothing_to_show_says_what_to_do(qtbot, scheme):
    canvas = PlanCanvas()
    qtbot.addWidget(canvas)
    assert "Choose a room" in canvas.accessibleDescription()
    assert not image(canvas).isNull()


def test_a_plot_shows_targets_of_its_unit_alone(qtbot, scheme):
    plot = TargetPlot()
    qtbot.addWidget(plot)
    plot.show_unit(invented.TRACKING, "U1")
    assert plot.words() == "U1 · never heard"
    live = invented.live()
    plot.set_live(live["10-aa"])
    assert plot.dots() == 2
    plot.set_live(live["10-bb"])
    assert plot.dots() == 2
    assert plot.words() == "U1 · 2 targets · 0.1 s"
    plot.show_unit(invented.STATIC, "U2")
    plot.set_live(live["10-bb"])
    assert plot.dots() == 0
    assert plot.words() == "U2 · 2.41 m away · 0.1 s"
    assert not image(plot).isNull()


def test_a_plot_of_an_old_report_says_its_age(qtbot, scheme):
    plot = TargetPlot()
    qtbot.addWidget(plot)
    plot.show_unit(invented.UPSIDE_DOWN, "U3")
    plot.set_live(invented.live()["10-cc"])
    assert plot.words() == "U3 · 1 target · 12 s old"


def test_a_report_that_is_shown_twice_leaves_one_trail(qtbot, scheme):
    plot = TargetPlot()
    qtbot.addWidget(plot)
    plot.show_unit(invented.TRACKING, "U1")
    said = invented.live()["10-aa"]
    for report in (said, said, replace(said, reports=41)):
        plot.set_live(report)
    assert len(plot._trail) == 4


def test_a_plot_has_no_menu_and_no_button_of_its_own(qtbot, scheme):
    plot = TargetPlot()
    qtbot.addWidget(plot)
    assert plot._plot.plotItem.menuEnabled() is False
    assert plot._plot.plotItem.buttonsHidden


def test_all_units_are_chosen_by_click_and_by_keys(qtbot, scheme):
    tiles = AllUnits()
    qtbot.addWidget(tiles)
    tiles.resize(760, 800)
    tiles.show_house(invented.house())
    tiles.set_live(invented.live())
    assert not image(tiles).isNull()
    with qtbot.waitSignal(tiles.unit_chosen) as chosen:
        qtbot.mouseClick(tiles, Qt.MouseButton.LeftButton, pos=QPoint(600, 600))
    assert chosen.args == ["10-dd"]
    qtbot.keyClick(tiles, Qt.Key.Key_Left)
    with qtbot.waitSignal(tiles.unit_chosen) as chosen:
        qtbot.keyClick(tiles, Qt.Key.Key_Return)
    assert chosen.args == ["10-cc"]
    assert "U3" in tiles.accessibleDescription()


def test_all_units_of_an_empty_house_say_what_to_do(qtbot, scheme):
    tiles = AllUnits()
    qtbot.addWidget(tiles)
    tiles.show_house(replace(invented.house(), units={}))
    assert "Drag one" in tiles.accessibleDescription()
    assert not image(tiles).isNull()


def test_a_tile_of_a_unit_that_was_never_heard_has_no_dots(qtbot, scheme):
    tiles = AllUnits()
    qtbot.addWidget(tiles)
    tiles.show_house(invented.house())
    before = image(tiles)
    tiles.set_live({"10-aa": LiveUnit("10-aa")})
    assert image(tiles) == before


@pytest.mark.parametrize("state", list(ItemState))
def test_a_glyph_has_its_own_shape_and_a_word(qtbot, scheme, state):
    glyph = StateGlyph(state)
    qtbot.addWidget(glyph)
    assert glyph.accessibleName() == state.value
    shapes = {_silhouette(glyph_icon(other).pixmap(64, 64).toImage()) for other in ItemState}
    assert len(shapes) == len(ItemState)


def _silhouette(picture: QImage) -> tuple[bool, ...]:
    return tuple(
        picture.pixelColor(x, y).alpha() > 128
        for x in range(0, picture.width(), 2)
        for y in range(0, picture.height(), 2)
    )


@pytest.mark.parametrize("colours", [LIGHT, DARK])
def test_every_pair_of_words_and_ground_has_a_contrast_of_4_5(colours):
    faint = [(name, contrast(*pair)) for name, *pair in text_pairs(colours)]
    assert [pair for pair in faint if pair[1] < 4.5] == []


@pytest.mark.parametrize("colours", [LIGHT, DARK])
def test_edges_of_boxes_and_lines_of_tables_stay_visible(colours):
    # WCAG 2.2, 1.4.11: 3 to 1 for what shows where a control is.
    assert contrast(colours.ink, colours.paper) >= 3
    assert contrast(colours.soft, colours.paper) >= 3


def test_the_theme_is_our_own_style_and_font(qapp, scheme):
    assert qapp.style().name() in {"fusion", ""}
    assert qapp.font().family() == "B612"
    ground = qapp.palette().window().color().name().upper()
    assert ground == (DARK if scheme == "dark" else LIGHT).paper


@pytest.mark.parametrize("colours", [LIGHT, DARK])
@pytest.mark.parametrize("ground", ["paper", "desk", "chosen"])
def test_every_glyph_keeps_3_to_1_on_every_ground(colours, ground):
    # WCAG 2.2, 1.4.11.
    for state in ItemState:
        colour = colour_of_state(state, colours).name()
        assert contrast(colour, getattr(colours, ground)) >= 3
