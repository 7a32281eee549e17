"""What people type, to inside units and back."""

import math
import re
from datetime import UTC, time
from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugbook.errors import InputError, OutOfRange
from lugbook.quantities import (
    CONDUCTOR_SIZES,
    SORTS,
    Parsed,
    Quantity,
    Unit,
    accepted_form,
    conductor_size,
    in_unit,
    plain_number,
    read,
    show,
    show_pair,
)

PINT = pint.UnitRegistry()

# Our unit as (number, pint's unit); torque names force and arm, since pint reads lb
# as a mass.
ORACLE = {
    "ft": (1, "foot"),
    "in": (1, "inch"),
    "m": (1, "meter"),
    "cm": (1, "centimeter"),
    "mm": (1, "millimeter"),
    "mi": (1, "mile"),
    "km": (1, "kilometer"),
    "ft²": (1, "foot**2"),
    "m²": (1, "meter**2"),
    "A": (1, "ampere"),
    "kA": (1, "kiloampere"),
    "V": (1, "volt"),
    "mV": (1, "millivolt"),
    "W": (1, "watt"),
    "kW": (1, "kilowatt"),
    "VA": (1, "volt_ampere"),
    "kVA": (1, "kilovolt_ampere"),
    "kWh": (1, "kilowatt_hour"),
    "Wh": (1, "watt_hour"),
    "kWh/mi": (1, "kilowatt_hour/mile"),
    "kWh/100 mi": (0.01, "kilowatt_hour/mile"),
    "Wh/mi": (1, "watt_hour/mile"),
    "kWh/km": (1, "kilowatt_hour/kilometer"),
    "kWh/100 km": (0.01, "kilowatt_hour/kilometer"),
    "Wh/km": (1, "watt_hour/kilometer"),
    "°C": (1, "degC"),
    "°F": (1, "degF"),
    "K": (1, "kelvin"),
    "lbf·in": (1, "force_pound*inch"),
    "lbf·ft": (1, "force_pound*foot"),
    "N·m": (1, "newton*meter"),
    "Ω": (1, "ohm"),
    "mΩ": (1, "milliohm"),
    "K·m/W": (1, "kelvin*meter/watt"),
    "°C·cm/W": (1, "kelvin*centimeter/watt"),
    "h": (1, "hour"),
    "min": (1, "minute"),
    "s": (1, "second"),
    "°": (1, "degree"),
    "%": (1, "percent"),
}
ORACLE_INSIDE = {
    "m": "meter",
    "km": "kilometer",
    "m2": "meter**2",
    "a": "ampere",
    "v": "volt",
    "w": "watt",
    "va": "volt_ampere",
    "kwh": "kilowatt_hour",
    "kwh_per_km": "kilowatt_hour/kilometer",
    "c": "degC",
    "k": "kelvin",
    "n_m": "newton*meter",
    "ohm": "ohm",
    "k_m_per_w": "kelvin*meter/watt",
    "s": "second",
    "deg": "degree",
    "fraction": "dimensionless",
}
UNITS = [(q, unit) for q in Quantity for unit in SORTS[q].units]
SPELLINGS = [
    (q, unit, spelling)
    for q, unit in UNITS
    for spelling in (unit.name, *unit.spellings)
]
DIMENSIONED = [q for q in Quantity if SORTS[q].units]


def amount(text: str, quantity: Quantity) -> float:
    return read(text, quantity, field="x").amount


def refusal(text: object, quantity: Quantity) -> str:
    with pytest.raises(InputError) as caught:
        read(text, quantity, field="run.length", line=7)
    (fault,) = caught.value.faults
    assert (fault.field, fault.line) == ("run.length", 7)
    assert fault.accepted == accepted_form(quantity)
    return str(fault)


def parsed_or_refused(text: str, quantity: Quantity) -> Parsed | InputError:
    try:
        return read(text, quantity, field="x")
    except InputError as refused:
        return refused


def size_refusal(text: object) -> str:
    with pytest.raises(InputError) as caught:
        conductor_size(text, field="size", line=3)
    (fault,) = caught.value.faults
    assert fault.accepted == "a size such as 3 AWG, 1/0 AWG or 250 kcmil"
    return str(fault)


# --- factors --------------------------------------------------------------------


@pytest.mark.parametrize(("quantity", "unit"), UNITS)
@pytest.mark.parametrize("number", [1.0, 37.5, 130.0])
def test_every_factor_agrees_with_pint(quantity: Quantity, unit: Unit, number: float):
    share, theirs = ORACLE[unit.name]
    if quantity is Quantity.TEMPERATURE_DIFFERENCE:
        theirs = theirs.replace("deg", "delta_deg")
    expected = PINT.Quantity(share * number, theirs).to(
        ORACLE_INSIDE[SORTS[quantity].inside]
    )
    # Both sides are doubles after a few roundings of 1.1e-16 each.
    assert amount(f"{number} {unit.name}", quantity) == pytest.approx(
        expected.magnitude, rel=1e-12
    )


def test_the_pound_force_is_exact():
    # 0.45359237 kg × 9.80665 m/s² = 4.4482216152605 N, × 0.0254 m.
    assert Fraction("4.4482216152605") * Fraction("0.0254") == next(
        unit.multiple for unit in SORTS[Quantity.TORQUE].units if unit.name == "lbf·in"
    )


def test_a_number_becomes_a_float_only_once():
    # Each is exact on paper, and the float nearest to it is the literal.
    assert amount("0.12 mΩ", Quantity.RESISTANCE) == 0.00012
    assert amount("70 mV", Quantity.VOLTAGE) == 0.07
    assert amount("130 °F", Quantity.TEMPERATURE) == float(Fraction(490, 9))


@settings(max_examples=500, deadline=None)
@given(which=st.sampled_from(SPELLINGS), hundredths=st.integers(0, 10_000_000))
def test_every_spelling_returns_what_was_typed(which, hundredths):
    quantity, unit, spelling = which
    number = Fraction(hundredths, 100)
    inside = amount(f"{float(number):.2f} {spelling}", quantity)
    # 0.01 of an offset unit is lost beside its zero: compare at the larger of the two.
    scale = max(number, abs(unit.zero))
    back = in_unit(inside, quantity, spelling)
    assert abs(Fraction(back) - number) <= scale * Fraction(1, 10**12)


@pytest.mark.parametrize(("quantity", "unit", "spelling"), SPELLINGS)
def test_every_spelling_names_its_own_unit(quantity, unit, spelling):
    expected = amount(f"36 {unit.name}", quantity)
    assert amount(f"36 {spelling}", quantity) == expected
    assert amount(f"36{spelling}", quantity) == expected


@settings(max_examples=500, deadline=None)
@given(
    which=st.sampled_from(UNITS),
    number=st.floats(0, 1e6, allow_subnormal=False),
    digits=st.integers(0, 6),
    grouped=st.booleans(),
)
def test_what_is_shown_can_be_typed_back(which, number, digits, grouped):
    quantity, unit = which
    text = show(number, quantity, unit.name, digits=digits, grouped=grouped)
    again = amount(text, quantity)
    half_step = 0.5 * 10**-digits * float(unit.multiple)
    # The last term allows for the thirteen figures kept before rounding.
    assert abs(again - number) <= half_step + 1e-11 * (number + 20)


# --- what people type -----------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "quantity", "expected"),
    [
        # The table of what a general units library reads wrongly or not at all.
        ("130 F", Quantity.TEMPERATURE, 490 / 9),
        ("90 C", Quantity.TEMPERATURE, 90.0),
        ("130 degF", Quantity.TEMPERATURE, 490 / 9),
        ("130 °F", Quantity.TEMPERATURE, 490 / 9),
        ("54 °C", Quantity.TEMPERATURE, 54.0),
        ("35 in-lb", Quantity.TORQUE, 35 * 4.4482216152605 * 0.0254),
        ("25 ft-lb", Quantity.TORQUE, 25 * 4.4482216152605 * 0.3048),
        ("35 in·lb", Quantity.TORQUE, 35 * 4.4482216152605 * 0.0254),
        ("4 Nm", Quantity.TORQUE, 4.0),
        ("4 N-m", Quantity.TORQUE, 4.0),
        ("4 N·m", Quantity.TORQUE, 4.0),
        ("12 ft 6 in", Quantity.LENGTH, 150 * 0.0254),
        ("12' 6\"", Quantity.LENGTH, 150 * 0.0254),
        ("1 1/4 in", Quantity.LENGTH, 1.25 * 0.0254),
        ("48 A", Quantity.CURRENT, 48.0),
        ("11.5 kW", Quantity.REAL_POWER, 11500.0),
        ("0.12 mΩ", Quantity.RESISTANCE, 0.00012),
        ("30 min", Quantity.DURATION, 1800.0),
        ("10 kVA", Quantity.APPARENT_POWER, 10000.0),
        ("70 mV", Quantity.VOLTAGE, 0.07),
        ("40 ft", Quantity.LENGTH, 12.192),
        # Other hands.
        ("12'-6 1/2\"", Quantity.LENGTH, 150.5 * 0.0254),
        ("12 ft 6 1/2 in", Quantity.LENGTH, 150.5 * 0.0254),
        ("12 ft. 6 in.", Quantity.LENGTH, 150 * 0.0254),
        ("12 ft .5 in", Quantity.LENGTH, 144.5 * 0.0254),
        ("12 ft 0 in", Quantity.LENGTH, 144 * 0.0254),
        ("1-1/4 in", Quantity.LENGTH, 1.25 * 0.0254),
        ("1½ in", Quantity.LENGTH, 1.5 * 0.0254),
        ("1/2 in", Quantity.LENGTH, 0.5 * 0.0254),
        ("3.5 m", Quantity.LENGTH, 3.5),
        ("  40\u00a0FT ", Quantity.LENGTH, 12.192),
        ("35 LB-IN.", Quantity.TORQUE, 35 * 4.4482216152605 * 0.0254),
        ("35 in.-lbs.", Quantity.TORQUE, 35 * 4.4482216152605 * 0.0254),
        ("35 lbf in", Quantity.TORQUE, 35 * 4.4482216152605 * 0.0254),
        ("5 N m", Quantity.TORQUE, 5.0),
        ("1,920 ft²", Quantity.AREA, 1920 * 0.3048**2),
        ("1920 sq. ft.", Quantity.AREA, 1920 * 0.3048**2),
        ("0.50 kWh per mile", Quantity.ENERGY_PER_DISTANCE, 0.5 / 1.609344),
        ("31 kWh/100 km", Quantity.ENERGY_PER_DISTANCE, 0.31),
        ("75 kW·h", Quantity.ENERGY, 75.0),
        ("\u22125 °C", Quantity.TEMPERATURE, -5.0),
        ("-40 °F", Quantity.TEMPERATURE, -40.0),
        ("9 °F", Quantity.TEMPERATURE_DIFFERENCE, 5.0),
        ("-5 K", Quantity.TEMPERATURE_DIFFERENCE, -5.0),
        ("1 h 30 min", Quantity.DURATION, 5400.0),
        ("1 h 30 min 5 s", Quantity.DURATION, 5405.0),
        ("85 %", Quantity.FRACTION, 0.85),
        ("90°", Quantity.ANGLE, 90.0),
        ("0.3 \u2126", Quantity.RESISTANCE, 0.3),
        ("18:30", Quantity.TIME_OF_DAY, 1110.0),
        ("6:00", Quantity.TIME_OF_DAY, 360.0),
        ("00:00", Quantity.TIME_OF_DAY, 0.0),
        ("23:59", Quantity.TIME_OF_DAY, 1439.0),
        (time(18, 30), Quantity.TIME_OF_DAY, 1110.0),
        ("0.32", Quantity.MONEY, 0.32),
        (-0.05, Quantity.MONEY, -0.05),
    ],
)
def test_what_people_type_is_read(text, quantity, expected):
    assert amount(text, quantity) == pytest.approx(expected, rel=1e-15, abs=0)


def test_a_reading_keeps_what_was_typed():
    assert read("35 in-lb", Quantity.TORQUE, field="x") == Parsed(
        pytest.approx(3.9544690160), "in-lb", "35 in-lb", ""
    )
    assert read("12' 6\"", Quantity.LENGTH, field="x").unit == "' \""


@pytest.mark.parametrize(
    ("text", "quantity", "inside", "note"),
    [
        ("11,5 kW", Quantity.REAL_POWER, 11500, "read 11,5 as 11.5, the comma as"),
        ("0,125 in", Quantity.LENGTH, 0.003175, "read 0,125 as 0.125, the comma as"),
        ("1234,567 W", Quantity.REAL_POWER, 1234.567, "read 1234,567 as 1234.567,"),
        ("12,34 W", Quantity.REAL_POWER, 12.34, "read 12,34 as 12.34, the comma as"),
        ("1,2345 W", Quantity.REAL_POWER, 1.2345, "read 1,2345 as 1.2345, the comma"),
        ("1,920 W", Quantity.REAL_POWER, 1920, "as 1920, the comma parting thousands"),
        ("12,345.6 W", Quantity.REAL_POWER, 12345.6, "as 12345.6, the comma parting"),
        ("1,234,567 W", Quantity.REAL_POWER, 1234567, "as 1234567, the comma parting"),
        ("\u22125 °C", Quantity.TEMPERATURE, -5, "read \u2212 as a minus sign"),
        ("\u22121,5 K", Quantity.TEMPERATURE_DIFFERENCE, -1.5, "minus sign; read 1,5"),
        ("5 kW", Quantity.LOAD_POWER, 5000, "watts taken as volt-amperes"),
    ],
)
def test_an_interpretation_is_made_visible(text, quantity, inside, note):
    reading = read(text, quantity, field="x")
    assert reading.amount == pytest.approx(inside, rel=1e-15)
    assert note in reading.note


@pytest.mark.parametrize("text", ["11.5 kW", "-5.0 kW", "1920 W", ".5 kW", "0012 W"])
def test_an_ordinary_number_has_no_note(text):
    assert read(text.removeprefix("-"), Quantity.REAL_POWER, field="x").note == ""


def test_watts_are_watts_where_real_power_is_asked():
    assert read("5 kW", Quantity.REAL_POWER, field="x").note == ""
    assert read("5 kVA", Quantity.LOAD_POWER, field="x").note == ""


# --- refusals -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("1_000 ft", "has an underscore in its number"),
        ("1e3 ft", "has an exponent; write the number out"),
        ("1E-3 ft", "has an exponent; write the number out"),
        ("+5 ft", "has a plus sign; leave it out"),
        ("1.234,5 ft", "uses comma and point in a way that can be read as two"),
        ("12,34.5 ft", "uses comma and point in a way that can be read as two"),
        ("1,23,456 ft", "has a number that cannot be read"),
        ("1.2.3 ft", "has a number that cannot be read"),
        ("5. ft", "has a number that cannot be read"),
        ("1 920 ft", "Leave out spaces inside the number."),
        ("1/2/3 in", "has a number that cannot be read"),
        ("3.1/4 in", "has a number that cannot be read"),
        ("１２ ft", "is not written with the digits 0 to 9"),
        ("\u2212１２ ft", "is not written with the digits 0 to 9"),
        ("١٢ ft", "is not written with the digits 0 to 9"),
        ("nan ft", "does not begin with a number"),
        ("inf ft", "does not begin with a number"),
        ("-inf ft", "does not begin with a number"),
        ("--5 ft", "does not begin with a number"),
        ("- 5 ft", "does not begin with a number"),
        ("ft", "does not begin with a number"),
        (".", "does not begin with a number"),
        ("", "nothing was given"),
        ("   ", "nothing was given"),
        ("1" * 61, "is longer than 60 characters"),
        ("1/0 in", "has no proper fraction"),
        ("1 4/4 in", "has no proper fraction"),
        ("-5 ft", '"-5 ft" is negative'),
        ("\u22120.001 in", "is negative"),
        ("12 ft -6 in", "in here run from 0 to under 12"),
        ("12 ft 12 in", "in here run from 0 to under 12"),
        ("12.5 ft 6 in", "has a part of a ft before in"),
        ("6 in 12 ft", "joins in and ft"),
        ("12 ft 6 ft", "joins ft and ft"),
        ("12 ft 6 in 3 in", "joins in and in"),
        ("12 ft 6", '"12 ft 6" has no unit'),
        ("40 ft\x00", r'"40 ft\x00" has a unit not known here, "ft\x00"'),
        (True, '"True" is not text with a number and a unit'),
        (None, '"None" is not text with a number and a unit'),
        (["40 ft"], "is not text with a number and a unit"),
        (40, '"40" has no unit; accepted: a number with ft, in, m, cm or mm'),
        (40.5, 'Write it as text in quotes: "40 ft".'),
        (math.nan, '"nan" has no unit'),
        pytest.param(
            10**5000, '"a number of over 300 digits" has no unit', id="endless"
        ),
        ("40 A", '"40 A" is a current, not a length'),
        ("40 mΩ", '"40 mΩ" is a resistance, not a length'),
        ("40 ft2", "is an area, not a length; accepted"),
        ("40 mi", "a distance is what the car drives."),
        ("3 AWG", '"3 AWG" is a conductor size, not a length'),
        ("1/0 AWG", "is a conductor size, not a length"),
        ("#3", "is a conductor size, not a length"),
        ("250 kcmil", "is a conductor size, not a length"),
        ("40 furlongs", 'has a unit not known here, "furlongs"'),
        ("40", "Feet and metres differ"),
    ],
)
def test_a_length_that_cannot_be_read_says_why(text, why):
    assert why in refusal(text, Quantity.LENGTH)


@pytest.mark.parametrize(
    ("text", "quantity", "why"),
    [
        ("35", Quantity.TORQUE, '"35" has no unit; accepted: a number with lbf·in, '),
        (35, Quantity.TORQUE, "35 ft-lb is twelve times 35 in-lb"),
        ("35 lb", Quantity.TORQUE, "a torque also names its arm"),
        ("35 in", Quantity.TORQUE, "is a length, not a torque"),
        ("35 lb/in", Quantity.TORQUE, 'a unit not known here, "lb/in"'),
        ("130", Quantity.TEMPERATURE, "54 °C is 129 °F"),
        (54, Quantity.TEMPERATURE, 'Write it as text in quotes: "54 °C".'),
        ("5 K", Quantity.TEMPERATURE, "K is used here for a rise or a difference"),
        ("-273.16 °C", Quantity.TEMPERATURE, "is below absolute zero"),
        ("90 C", Quantity.LENGTH, "is a temperature, not a length"),
        ("10 kWh", Quantity.REAL_POWER, "10 kW for 3 h is 30 kWh."),
        ("10 kW", Quantity.ENERGY, "is a real power, not an energy"),
        ("10 kWh", Quantity.LOAD_POWER, "is an energy, not a load"),
        ("5 hp", Quantity.LOAD_POWER, "Horsepower is what a motor's shaft gives"),
        ("5 kVA", Quantity.REAL_POWER, "the part that does work"),
        ("2 mi/kWh", Quantity.ENERGY_PER_DISTANCE, "2 mi/kWh is 0.50 kWh per mile"),
        ("50 kWh", Quantity.ENERGY_PER_DISTANCE, "kWh per mile is what each mile"),
        ("3 Mohm", Quantity.RESISTANCE, "M is mega and m is milli"),
        ("3 MΩ", Quantity.RESISTANCE, "M is mega and m is milli"),
        ("3 MOHM", Quantity.RESISTANCE, "M is mega and m is milli"),
        ("3 MV", Quantity.VOLTAGE, "M is mega and m is milli"),
        ("300 mA", Quantity.CURRENT, "1 A is 1000 mA"),
        ("240 V", Quantity.CURRENT, "is a voltage, not a current"),
        ("12 ft 6 in", Quantity.TORQUE, "is a length, not a torque"),
        ("1/2 h", Quantity.DURATION, "has a fraction, read only in lengths"),
        ("1 h 60 min", Quantity.DURATION, "min here run from 0 to under 60"),
        ("1 h 5 s", Quantity.DURATION, "joins h and s"),
        ("0.85", Quantity.FRACTION, "Is 0.85 meant as 85 % or as 0.85 %?"),
        (0.85, Quantity.FRACTION, "accepted: a number with %, for example 85 %"),
        ("24:00", Quantity.TIME_OF_DAY, "a time on the 24-hour clock, for example"),
        ("18:60", Quantity.TIME_OF_DAY, "is not a time of day"),
        ("6:30 pm", Quantity.TIME_OF_DAY, "is not a time of day"),
        (1830, Quantity.TIME_OF_DAY, '"1830" is not a time of day'),
        (time(18, 30, 1), Quantity.TIME_OF_DAY, "is not a whole minute"),
        (time(18, 30, tzinfo=UTC), Quantity.TIME_OF_DAY, "of a local day"),
        ("$0.32", Quantity.MONEY, "Leave out units and currency signs."),
        ("0.32 USD", Quantity.MONEY, "is not a plain number"),
        (True, Quantity.MONEY, '"True" is not a number'),
        (math.nan, Quantity.MONEY, '"nan" is not a finite number'),
        (-math.inf, Quantity.MONEY, '"-inf" is not a finite number'),
        (10**400, Quantity.MONEY, "is not a finite number"),
    ],
)
def test_a_slip_of_unit_is_explained(text, quantity, why):
    assert why in refusal(text, quantity)


@pytest.mark.parametrize("quantity", DIMENSIONED)
@pytest.mark.parametrize("bare", [35, 35.0, "35", "0"])
def test_a_unit_is_asked_for_and_never_guessed(quantity, bare):
    assert f'"{bare}" has no unit' in refusal(bare, quantity)


@pytest.mark.parametrize("quantity", Quantity)
def test_every_example_in_a_refusal_is_accepted(quantity):
    for example in SORTS[quantity].examples:
        assert example in accepted_form(quantity)
        assert amount(example, quantity) > 0


@pytest.mark.parametrize("quantity", DIMENSIONED)
def test_a_quantity_refuses_every_unit_it_does_not_list(quantity):
    for other, unit in UNITS:
        if other is not quantity and unit.name not in {
            own.name for own in SORTS[quantity].units
        }:
            assert "not " in refusal(f"5 {unit.name}", quantity)


@pytest.mark.parametrize(("quantity", "unit"), UNITS)
def test_only_quantities_that_can_be_negative_are(quantity, unit):
    text = f"-1 {unit.name}"
    if quantity in (Quantity.TEMPERATURE, Quantity.TEMPERATURE_DIFFERENCE):
        assert amount(text, quantity) < 0
    else:
        assert "is negative" in refusal(text, quantity)
    assert amount(f"0 {unit.name}", quantity) == pytest.approx(
        float(-unit.zero * unit.multiple)
    )


def test_absolute_zero_itself_is_a_temperature():
    assert amount("-273.15 °C", Quantity.TEMPERATURE) == -273.15
    assert amount("-459.67 °F", Quantity.TEMPERATURE) == -273.15


@settings(max_examples=500, deadline=None)
@given(text=st.text(max_size=20) | st.from_regex(r"[-0-9.,/_'e ]{1,8}( ?[a-z°]{1,4})?"))
def test_any_text_is_read_or_refused_with_a_sentence(text):
    for quantity in Quantity:
        answer = parsed_or_refused(text, quantity)
        if isinstance(answer, Parsed):
            assert math.isfinite(answer.amount)
        else:
            assert len(answer.faults) == 1
            assert str(answer).isprintable()


def test_a_plain_number_is_a_number_alone():
    assert plain_number(3, field="x") == Parsed(3.0, "", "3")
    assert plain_number("1,69", field="x").amount == 1.69
    with pytest.raises(InputError, match=r'factor: "1\.69 A" is not a plain number'):
        plain_number("1.69 A", field="factor")


# --- conductor sizes ------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("3 AWG", "3 AWG"),
        ("3awg", "3 AWG"),
        ("#3", "3 AWG"),
        ("# 3 AWG", "3 AWG"),
        ("No. 3", "3 AWG"),
        ("AWG 3", "3 AWG"),
        ("3", "3 AWG"),
        ("1/0", "1/0 AWG"),
        ("1/0 AWG", "1/0 AWG"),
        ("#2/0", "2/0 AWG"),
        ("4/0 AWG", "4/0 AWG"),
        ("0", "1/0 AWG"),
        ("0000", "4/0 AWG"),
        ("250 kcmil", "250 kcmil"),
        ("250kcmil", "250 kcmil"),
        ("250 MCM", "250 kcmil"),
        ("1,000 kcmil", "1000 kcmil"),
    ],
)
def test_a_conductor_size_has_one_canonical_name(text, size):
    assert conductor_size(text, field="size") == size


@pytest.mark.parametrize("size", CONDUCTOR_SIZES)
def test_every_canonical_size_reads_as_itself(size):
    assert conductor_size(size, field="size") == size


def test_conductor_sizes_rise():
    # Circular mils by the definition of AWG (ASTM B258, from memory): diameter in
    # mils 5 × 92^((36 - n)/39), with n = 0, -1, -2, -3 for 1/0 to 4/0.
    def circular_mils(size: str) -> float:
        number, unit = size.split()
        if unit == "kcmil":
            return 1000 * float(number)
        gauge = 1 - int(number[0]) if number.endswith("/0") else int(number)
        return (5 * 92 ** ((36 - gauge) / 39)) ** 2

    areas = [circular_mils(size) for size in CONDUCTOR_SIZES]
    assert areas == sorted(set(areas))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("5 AWG", "not a size of building wire; accepted"),
        ("5 AWG", "The nearest sizes are 6 AWG and 4 AWG."),
        ("20 AWG", "The nearest sizes are 18 AWG."),
        ("5/0", "The nearest sizes are 4/0 AWG and 250 kcmil."),
        ("275 kcmil", "The nearest sizes are 250 kcmil and 300 kcmil."),
        ("3000 kcmil", "The nearest sizes are 2000 kcmil."),
        ("249 kcmil", "Sizes in kcmil begin at 250; smaller wire has an AWG name."),
        ("250", 'Write "250 kcmil" if so marked.'),
        ("35 mm²", "Square millimetres do not run in step with AWG"),
        ("35 mm2", "is an area in mm²"),
        ("40 ft", '"40 ft" is not a conductor size but a length'),
        ("0/0", '"0/0" is not a conductor size'),
        ("00000", "is not a conductor size"),
        ("-3 AWG", "is not a conductor size"),
        ("3.5 AWG", "is not a conductor size"),
        ("３ AWG", "is not a conductor size"),
        ("", "is not a conductor size"),
        (3, '"3" is not a conductor size written as text'),
        (True, "is not a conductor size written as text"),
        (None, 'Write it in quotes with its unit: "3 AWG".'),
    ],
)
def test_what_is_no_conductor_size_says_why(text, why):
    message = size_refusal(text)
    assert why in message
    assert message.startswith("line 3, size: ")


# --- showing --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("inside", "quantity", "unit", "options", "shown"),
    [
        (12.192, Quantity.LENGTH, "ft", {}, "40 ft"),
        (3.9544690160, Quantity.TORQUE, "in-lb", {}, "35 lbf·in"),
        (490 / 9, Quantity.TEMPERATURE, "F", {}, "130 °F"),
        (-5.0, Quantity.TEMPERATURE, "C", {}, "\u22125 °C"),
        (-0.04, Quantity.TEMPERATURE, "C", {}, "0 °C"),
        (0.85, Quantity.FRACTION, "%", {}, "85 %"),
        (90.0, Quantity.ANGLE, "deg", {}, "90°"),
        (0.1234, Quantity.MONEY, "", {}, "0.12"),
        (0.1234, Quantity.MONEY, "", {"digits": 4}, "0.1234"),
        (1110.0, Quantity.TIME_OF_DAY, "", {}, "18:30"),
        (1109.9999999, Quantity.TIME_OF_DAY, "", {}, "18:30"),
        (1439.9999999, Quantity.TIME_OF_DAY, "", {}, "23:59"),
        (1920 * 0.3048**2, Quantity.AREA, "ft2", {"grouped": True}, "1,920 ft²"),
        # Halves go away from zero; 2.5 and -2.5 are exact in binary.
        (2.5, Quantity.CURRENT, "A", {"digits": 0}, "3 A"),
        (-2.5, Quantity.TEMPERATURE, "°C", {"digits": 0}, "\u22123 °C"),
        (1.005, Quantity.CURRENT, "A", {"digits": 2}, "1.01 A"),
        (1.25, Quantity.CURRENT, "A", {"digits": 1}, "1.3 A"),
        (156.01, Quantity.CURRENT, "A", {"digits": 0, "rounding": "up"}, "157 A"),
        (156.99, Quantity.CURRENT, "A", {"digits": 0, "rounding": "down"}, "156 A"),
        (156.0, Quantity.CURRENT, "A", {"digits": 0, "rounding": "up"}, "156 A"),
        # A float's last bit is not a load: 16 ft is never shown as 17 ft.
        (4.8768, Quantity.LENGTH, "ft", {"digits": 0, "rounding": "up"}, "16 ft"),
        (0.1 + 0.2, Quantity.CURRENT, "A", {"digits": 1, "rounding": "up"}, "0.3 A"),
        (-160 / 9, Quantity.TEMPERATURE, "°F", {"rounding": "up"}, "0 °F"),
        (-160 / 9, Quantity.TEMPERATURE, "°F", {"rounding": "down"}, "0 °F"),
        (0.0, Quantity.CURRENT, "A", {"rounding": "up"}, "0 A"),
        (5e-324, Quantity.CURRENT, "A", {"rounding": "up"}, "0.1 A"),
        # A thousandth of the smallest float is no float at all.
        (5e-324, Quantity.CURRENT, "kA", {"rounding": "up"}, "0.01 kA"),
        # A thousand tenths add up to 99.9999999999986, which is not below 100 A.
        (sum([0.1] * 1000), Quantity.CURRENT, "A", {"rounding": "down"}, "100 A"),
    ],
)
def test_an_amount_is_shown_as_people_write_it(inside, quantity, unit, options, shown):
    assert show(inside, quantity, unit, **options) == shown


@pytest.mark.parametrize("amount", [math.nan, math.inf, -math.inf, 1e301])
def test_what_is_not_a_finite_number_is_not_shown(amount):
    message = f"{re.escape(str(amount))} cannot be shown; only a finite number can"
    with pytest.raises(OutOfRange, match=message):
        show(amount, Quantity.CURRENT, "A")


@pytest.mark.parametrize("minutes", [-1, 1440, math.nan])
def test_a_time_outside_the_day_is_not_shown(minutes):
    with pytest.raises(OutOfRange, match="after midnight is not within one day"):
        show(minutes, Quantity.TIME_OF_DAY)


def test_a_unit_of_another_quantity_is_not_shown():
    with pytest.raises(
        InputError, match=r'"ft" is not a unit of a torque; accepted: l'
    ):
        show(3, Quantity.TORQUE, "ft")
    with pytest.raises(InputError, match=r'"A" is not a unit of an amount of money'):
        show(3, Quantity.MONEY, "A")


@pytest.mark.parametrize(
    ("found", "limit", "options", "shown"),
    [
        (63.96, 64.0, {"digits": 0}, ("63.96 A", "64 A")),
        (64.0, 64.0, {"digits": 0}, ("64 A", "64 A")),
        (64.04, 64.0, {"digits": 0}, ("64.04 A", "64 A")),
        (156.4, 200.0, {"digits": 0}, ("156 A", "200 A")),
        (156.4, 200.0, {"digits": 0, "found_rounding": "up"}, ("157 A", "200 A")),
        # Rounded apart, 64 against 63 would say the contrary of 63.2 against 63.8.
        (
            63.2,
            63.8,
            {"digits": 0, "found_rounding": "up", "limit_rounding": "down"},
            ("63.2 A", "63.8 A"),
        ),
        # Rounded apart, equals would differ.
        (
            63.5,
            63.5,
            {"digits": 0, "found_rounding": "up", "limit_rounding": "down"},
            ("64 A", "64 A"),
        ),
        # One bit over the limit decided the verdict, so it is shown.
        (
            math.nextafter(64.0, 65),
            64.0,
            {"digits": 0},
            ("64.00000000000001 A", "64 A"),
        ),
        (
            12_000.4,
            12_000.0,
            {"digits": 0, "grouped": True},
            ("12,000.4 A", "12,000 A"),
        ),
    ],
)
def test_a_pair_shows_digits_enough_to_tell_it_apart(found, limit, options, shown):
    assert show_pair(found, limit, Quantity.CURRENT, "A", **options) == shown


SIDES = st.sampled_from(["nearest", "up", "down"])


@settings(max_examples=500, deadline=None)
@given(
    which=st.sampled_from(UNITS),
    limit=st.floats(0.01, 1e4),
    gap=st.sampled_from([0.0, 1e-15, 1e-9, 1e-4, 0.004, 0.3]),
    side=st.sampled_from([-1, 1]),
    roundings=st.tuples(SIDES, SIDES),
)
def test_a_shown_pair_never_contradicts_its_comparison(
    which, limit, gap, side, roundings
):
    quantity, unit = which
    found = limit * (1 + side * gap)
    shown = show_pair(
        found,
        limit,
        quantity,
        unit.name,
        found_rounding=roundings[0],
        limit_rounding=roundings[1],
    )
    # Compared as exact numbers in the unit shown; only the degree sign is unspaced.
    first, second = (
        Fraction(text.split(" ")[0].rstrip("°").replace("\u2212", "-"))
        for text in shown
    )
    assert (first > second, first < second) == (found > limit, found < limit)
