"""A drawing on paper."""

import xml.etree.ElementTree as ET

import pytest

from fleet.drawing.palette import DARK, LIGHT, PRINT, colour_of, contrast
from fleet.drawing.primitives import Drawing, Role, Text
from fleet.drawing.room import draw_room
from fleet.drawing.svg import TALLEST_MM, to_svg
from tests import invented_house as invented

SVG = "{http://www.w3.org/2000/svg}"


def parsed(**options) -> ET.Element:
    units = [invented.TRACKING, invented.STATIC]
    return ET.fromstring(to_svg(draw_room(invented.PARLOUR, units), **options))  # noqa: S314  (our own text)


def test_hatches_are_patterns_that_areas_refer_to():
    root = parsed()
    assert {p.get("id") for p in root.iter(f"{SVG}pattern")} == {"watch", "ignore"}
    fills = {path.get("fill") for path in root.iter(f"{SVG}path")}
    assert {"url(#watch)", "url(#ignore)"} <= fills


def test_words_are_escaped():
    drawing = draw_room(invented.STUDY, [])
    assert "<title>Study &amp; &lt;den&gt;</title>" in to_svg(drawing)
    hostile = Drawing('"><script>', (Text((0, 0), "</text><script>", Role.UNIT),), (0, 0, 9, 9))
    root = ET.fromstring(to_svg(hostile))  # noqa: S314  (our own text)
    assert not list(root.iter(f"{SVG}script"))


def test_words_are_set_in_the_shipped_font():
    assert {text.get("font-family") for text in parsed().iter(f"{SVG}text")} == {"B612"}


def test_a_drawing_is_no_wider_and_no_taller_than_the_page():
    root = parsed(width_mm_on_paper=60)
    assert root.get("width") == "60.00mm"
    height = float(parsed(width_mm_on_paper=900).get("height").removesuffix("mm"))
    assert height == pytest.approx(TALLEST_MM)


def test_a_drawing_takes_the_palette_it_is_given():
    assert DARK.green in to_svg(draw_room(invented.PARLOUR, [invented.TRACKING]), palette=DARK)


@pytest.mark.parametrize("palette", [LIGHT, DARK, PRINT])
@pytest.mark.parametrize("role", [role for role in Role if role is not Role.GRID])
def test_every_role_that_carries_words_reads_on_paper(role, palette):
    assert contrast(colour_of(role, palette), palette.paper) >= 4.5


def test_contrast_of_black_on_white_is_21():
    # WCAG 2.2, definition of contrast ratio: from 1 to 21.
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    # The darkest grey line of common tables: #767676 just passes on white.
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.01)
