"""Lengths as people write them, against published inch and millimetre pairs."""

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.units import LengthError, length_mm

# Mounting holes of ATX boards, inches and millimetres as printed side by side in two
# independent open-source models of the board (secondary copies of the specification).
ATX_HOLES = [
    ("11.35", 288.29),
    ("8.25", 209.55),
    ("6.45", 163.83),
    ("0.25", 6.35),
    ("0.40", 10.16),
    ("1.30", 33.02),
    ("6.50", 165.10),
    ("9.35", 237.49),
]

# Expansion slot pitch 0.800 in = 20.32 mm; I/O aperture 6.25 x 1.75 in
# (158.75 x 44.45 mm): microATX Motherboard Interface Specification 1.2, figures 4 and 5.
PRINTED_PAIRS = [("0.800", 20.32), ("6.25", 158.75), ("1.75", 44.45)]

# ASTM B88 copper tube: outer diameter = nominal + 1/8 in, so 1/2 in nominal is 5/8 in;
# decimal inches as in table 4.1 of the Copper Tube Handbook (CDA A4015).
B88_OUTER = [("3/8", 0.375), ("1/2", 0.500), ("5/8", 0.625), ("7/8", 0.875)]


@pytest.mark.parametrize(("inches", "mm"), ATX_HOLES + PRINTED_PAIRS)
def test_inches_are_the_millimetres_printed_beside_them(inches, mm):
    assert length_mm(f"{inches} in", unit="mm") == mm
    assert length_mm(float(inches), unit="in") == mm


@pytest.mark.parametrize(("fraction", "decimal"), B88_OUTER)
def test_fractions_of_an_inch_are_their_decimals(fraction, decimal):
    assert length_mm(f"{fraction} in", unit="mm") == length_mm(decimal, unit="in")
    assert length_mm(f'1 {fraction}"', unit="mm") == pytest.approx(
        25.4 + length_mm(decimal, unit="in"), abs=1e-9
    )


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("12 mm", 12.0),
        ("12mm", 12.0),
        ("12.5 MM", 12.5),
        (".5 mm", 0.5),
        ("5. mm", 5.0),
        ("+5 mm", 5.0),
        ("-5 mm", -5.0),
        ("\N{MINUS SIGN}5 mm", -5.0),
        ("1.5cm", 15.0),
        ('4"', 101.6),
        ("4\N{DOUBLE PRIME}", 101.6),
        ("4\N{RIGHT DOUBLE QUOTATION MARK}", 101.6),
        ("4 inches", 101.6),
        ("3.5 in", 88.9),
        ("3 1/2 in", 88.9),
        ("3-1/2 in", 88.9),
        ("3 1/2in", 88.9),
        ("3  1 / 2  in", 88.9),
        ("3\N{VULGAR FRACTION ONE HALF} in", 88.9),
        ("3 \N{VULGAR FRACTION ONE HALF} in", 88.9),
        ("3 1\N{FRACTION SLASH}2 in", 88.9),
        ("\N{VULGAR FRACTION ONE QUARTER} in", 6.35),
        ("\N{VULGAR FRACTION SEVEN EIGHTHS} in", 22.225),
        ("-3 1/2 in", -88.9),
        ("5/4 in", 31.75),
        ("\t12\N{NO-BREAK SPACE}mm ", 12.0),
    ],
)
def test_ways_of_writing(text, mm):
    # 1 in = 25.4 mm exactly; the rest is arithmetic
    assert length_mm(text, unit="in") == mm


@pytest.mark.parametrize(("unit", "mm"), [("mm", 3.5), ("cm", 35.0), ("in", 88.9)])
def test_plain_numbers_are_in_the_scenes_unit(unit, mm):
    assert length_mm(3.5, unit=unit) == mm


@pytest.mark.parametrize(
    ("value", "trouble"),
    [
        (math.nan, "finite"),
        (math.inf, "finite"),
        (-math.inf, "finite"),
        (10**400, "finite"),
        (True, "not a length"),
        (None, "not a length"),
        ([12], "not a length"),
        ("", "empty"),
        ("  ", "empty"),
        ("12", "without a unit"),
        ("3 1/2", "without a unit"),
        ("12 mmm", "'mmm' is not known"),
        ("12 m", "'m' is not known"),
        ("4'", '"\'" is not known'),
        ("3,5 mm", "decimal comma"),
        ("1/0 in", "0 below"),
        ("3 5/4 in", "one or more"),
        ("1 4/4 in", "one or more"),
        ("1-1/1 in", "one or more"),
        ("1e3 mm", "not a number"),
        ("--5 mm", "not a number"),
        ("3 -1/2 in", "not a number"),
        ("1.5/2 in", "not a number"),
        ("mm", "not a number"),
        ("nan mm", "not a number"),
        ("\N{ARABIC-INDIC DIGIT FIVE} mm", "not a number"),
        ("1" * 60 + " mm", "longer than"),
    ],
)
def test_what_is_no_length_is_refused_with_what_is_wanted(value, trouble):
    with pytest.raises(ValueError, match="wanted a length") as caught:
        length_mm(value, unit="mm")
    assert isinstance(caught.value, LengthError)
    assert trouble in caught.value.trouble
    assert '"3 1/2 in"' in str(caught.value)


@settings(derandomize=True, deadline=None, max_examples=200)
@given(
    whole=st.integers(0, 200),
    numerator=st.integers(1, 63),
    power=st.integers(1, 6),
    negative=st.booleans(),
)
def test_mixed_fractions_agree_with_exact_fractions(whole, numerator, power, negative):
    denominator = 2**power
    numerator %= denominator
    sign = "-" if negative else ""
    exact = Fraction(whole) + Fraction(numerator, denominator)
    wanted = float(exact * Fraction(254, 10)) * (-1 if negative else 1)
    text = f"{sign}{whole} {numerator}/{denominator} in"
    assert length_mm(text, unit="mm") == pytest.approx(wanted, abs=1e-9)


@settings(derandomize=True, deadline=None, max_examples=200)
@given(sixty_fourths=st.integers(0, 64 * 40))
def test_inch_fractions_are_read_back_as_written(sixty_fourths):
    mm = sixty_fourths / 64 * 25.4
    text = f"{sixty_fourths // 64} {sixty_fourths % 64}/64 in"
    assert length_mm(text, unit="mm") == pytest.approx(mm, abs=1e-9)
