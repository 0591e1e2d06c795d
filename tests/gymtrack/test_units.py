from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gymtrack.lib.units import (
    IMPERIAL,
    NotAMeasure,
    format_length,
    format_mass,
    format_setting,
    format_size,
    format_span,
    inches_from_metres,
    kilograms_from_pounds,
    metres_from_inches,
    parse_length_m,
    parse_mass_kg,
    parse_size_mm,
    pounds_from_kilograms,
)

METRIC = "metric"


# International yard and pound agreement of 1959, as in NIST SP 811 (2008), appendix B.8: 1 ft = 0.3048 m,
# 1 in = 0.0254 m, 1 lb = 0.45359237 kg, all exact.
@pytest.mark.parametrize(("inches", "metres"), [("1", "0.0254"), ("12", "0.3048"), ("36", "0.9144")])
def test_inches_become_metres_exactly(inches: str, metres: str):
    assert metres_from_inches(Decimal(inches)) == Decimal(metres)
    assert inches_from_metres(Decimal(metres)) == Decimal(inches)


# The ounce of the same table, 0.028 349 523 125 kg, is a sixteenth of the pound.
@pytest.mark.parametrize(("pounds", "kilograms"), [("1", "0.45359237"), ("0.0625", "0.028349523125")])
def test_pounds_become_kilograms_exactly(pounds: str, kilograms: str):
    assert kilograms_from_pounds(Decimal(pounds)) == Decimal(kilograms)
    assert pounds_from_kilograms(Decimal(kilograms)) == Decimal(pounds)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("1.68", "1.680"),
        (" 1,68 m ", "1.680"),
        ("168 cm", "1.680"),
        ("5 ft 6 in", "1.676"),  # 66 × 0.0254 = 1.6764
        ("5'6\"", "1.676"),
        ("5′ 6.5″", "1.689"),  # 66.5 × 0.0254 = 1.6891
        ("5 ft 6", "1.676"),
        ("5 Feet", "1.524"),
        ("66 in", "1.676"),
    ],
)
def test_length_is_read_to_the_millimetre(text: str, metres: str):
    assert str(parse_length_m(text)) == metres


@pytest.mark.parametrize("text", ["", "tall", "-1.6", "1.6 kg", "1e3", "5 ft 6 cm"])
def test_length_that_is_none_is_refused_with_an_example(text: str):
    with pytest.raises(NotAMeasure, match=r"1\.68 m"):
        parse_length_m(text)


def test_twelve_inches_after_feet_are_refused():
    with pytest.raises(NotAMeasure, match="fewer than 12 inches"):
        parse_length_m("5 ft 12 in")


def test_mass_without_a_unit_is_in_the_gyms_units():
    assert str(parse_mass_kg("150", METRIC)) == "150.0"
    assert str(parse_mass_kg("150", IMPERIAL)) == "68.0"  # 150 × 0.45359237 = 68.0388…


def test_mass_with_a_unit_is_in_that_unit():
    assert str(parse_mass_kg("61.5 kg", IMPERIAL)) == "61.5"
    assert str(parse_mass_kg("135 lbs", METRIC)) == "61.2"  # 61.2349…


@pytest.mark.parametrize("text", ["", "heavy", "60 m", "-60"])
def test_mass_that_is_none_is_refused_with_an_example(text: str):
    with pytest.raises(NotAMeasure, match=r"61\.5 kg"):
        parse_mass_kg(text, METRIC)


def test_length_is_said_in_the_gyms_units():
    assert format_length(Decimal("1.676"), METRIC) == "1.68 m"
    assert format_length(Decimal("1.676"), IMPERIAL) == "5 ft 6 in"


def test_length_a_hair_below_a_foot_is_said_as_the_next_foot():
    assert format_length(Decimal("1.8285"), IMPERIAL) == "6 ft 0 in"


def test_mass_is_said_in_the_gyms_units():
    assert format_mass(Decimal("61.50"), METRIC) == "61.5 kg"
    assert format_mass(Decimal("61.50"), IMPERIAL) == "136 lb"  # 135.58…


@given(st.integers(36, 95))
def test_length_said_in_feet_and_inches_is_read_back(inches: int):
    metres = metres_from_inches(Decimal(inches))
    assert abs(parse_length_m(format_length(metres, IMPERIAL)) - metres) <= Decimal("0.0005")


@given(st.decimals("0.9", "2.5", places=2))
def test_length_said_in_metres_is_read_back(metres: Decimal):
    assert parse_length_m(format_length(metres, METRIC)) == metres


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("50 mm", "50.0"),
        ("50.8mm", "50.8"),
        ("28,5 mm", "28.5"),
        ("132 cm", "1320.0"),
        ("1.32 m", "1320.0"),
        ("2 in", "50.8"),  # 1 in = 25.4 mm exactly
        ("1.25 in", "31.8"),  # 31.75, half to even
        ("1 1/4 in", "31.8"),
        ("1-1/2 inches", "38.1"),
        ("5/8 in", "15.9"),  # 15.875
        ("4 ft", "1219.2"),
        ("4 ft 4 in", "1320.8"),
        ("4 ft 4 1/2 in", "1333.5"),
        ("4'4\"", "1320.8"),
    ],
)
def test_size_is_read_to_the_tenth_of_a_millimetre(text: str, millimetres: str):
    assert str(parse_size_mm(text)) == millimetres


@pytest.mark.parametrize(
    "text", ["", "50", "1.32", "5/8", "-2 in", "wide", "in", "ft", "1/3 in", "2 kg", "2 1 in", "1/"]
)
def test_size_without_a_unit_or_sense_is_refused_with_an_example(text: str):
    with pytest.raises(NotAMeasure, match="132 cm"):
        parse_size_mm(text)


def test_sizes_are_said_in_the_gyms_units():
    assert format_size(Decimal("50.8"), METRIC) == "50.8 mm"
    assert format_size(Decimal("50.8"), IMPERIAL) == "2.00 in"
    assert format_setting(1270, METRIC) == "127.0 cm"
    assert format_setting(1270, IMPERIAL) == "50.0 in"
    assert format_span(-87, METRIC) == "−9 cm"
    assert format_span(254, IMPERIAL) == "10 in"
    assert format_span(-3, METRIC) == "0 cm"


@given(st.integers(0, 9999))
def test_settings_said_in_centimetres_are_read_back(mm: int):
    assert parse_size_mm(format_setting(mm, METRIC)) == mm


@given(st.integers(0, 99999))
def test_sizes_said_in_millimetres_are_read_back(tenths: int):
    assert parse_size_mm(format_size(Decimal(tenths) / 10, METRIC)) == Decimal(tenths) / 10
