import pytest

from fleet.description import vocabulary as pres
from fleet.description.units import UNCHANGED, Scale, leading_type, scale_of, sign_of

QUDT = "http://qudt.org/vocab/unit/"


@pytest.mark.parametrize(
    ("type_iri", "unit", "theirs", "ours"),
    [
        (pres.MAX_DISTANCE, QUDT + "CentiM", 350, 3500),
        (pres.MAX_DISTANCE, "m", 2.3, 2300),
        (pres.MAX_DISTANCE, "in", 10, 254),
        (pres.HOLD_TIME, QUDT + "MIN", 2, 120),
        (pres.RADIAL_SPEED, QUDT + "M-PER-SEC", -0.25, -250),
        (pres.TEMPERATURE, QUDT + "DEG_F", 68, 20_000),
        (pres.TEMPERATURE, QUDT + "DEG_C", 21.5, 21_500),
        (pres.TEMPERATURE, "K", 273.15, 0),
        (pres.HORIZONTAL_FIELD_OF_VIEW, QUDT + "RAD", 2.0943951023931953, 120),
        (pres.QUALITY, QUDT + "PERCENT", 50, 500_000),
        (pres.SENSITIVITY, QUDT + "UNITLESS", 0.6, 60),
        (pres.SUPPLY_VOLTAGE, "V", 4.98, 4980),
        (pres.BREATHING_RATE, QUDT + "HZ", 0.25, 15),
        (pres.FRAME_RATE, QUDT + "PER-MIN", 750, 12.5),
    ],
)
def test_numbers_are_converted_both_ways(type_iri, unit, theirs, ours):
    scale = scale_of(type_iri, unit)
    assert scale.to_ours(theirs) == ours
    assert scale.to_theirs(ours, None, whole=False) == pytest.approx(theirs)


def test_our_own_unit_passes_unchanged_but_whole():
    scale = scale_of(pres.ILLUMINANCE, QUDT + "LUX")
    assert scale.to_ours(12.6) == 13
    assert scale.to_ours(12) == 12
    assert scale.to_theirs(12, 5, whole=True) == 12
    assert scale_of(pres.FRAME_RATE, "Hz").to_ours(12.5) == 12.5


def test_a_converted_number_lands_on_the_units_own_steps():
    centimetres = scale_of(pres.MAX_DISTANCE, "cm")
    assert centimetres.to_theirs(5024, None, whole=True) == 502
    assert centimetres.to_theirs(5024, 5, whole=True) == 500
    assert scale_of(pres.MAX_DISTANCE, "m").to_theirs(5024, 0.1, whole=False) == 5.0
    assert scale_of(pres.MAX_DISTANCE, "m").to_theirs(5050, 0.25, whole=False) == 5


def test_no_unit_is_ours_and_no_type_has_none():
    assert scale_of(pres.HOLD_TIME, None) == Scale(whole=True)
    assert scale_of(pres.AREA_ID, "m") == UNCHANGED
    assert scale_of(pres.HOLD_TIME, "m") is None
    assert scale_of(pres.HOLD_TIME, "fortnight") is None
    assert sign_of(3) == ""


def test_our_type_leads():
    assert leading_type(frozenset({"http://x.example/a", pres.HOLD_TIME})) == pres.HOLD_TIME
    assert leading_type(frozenset({"http://x.example/a"})) == ""
    assert pres.label_of(pres.HOLD_TIME) == "hold time"
