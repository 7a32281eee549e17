"""What people type (40 ft, 35 lbf·in, 130 °F, 3 AWG) to inside units and back.

Nothing else in the package converts. The list of spellings is closed, each field
knows its quantity, and a conductor size is a name and not a unit. Numbers are read
as exact fractions and become a float once, at the end, so `11.5 kW` is 11500.0 and
not one unit in the last place beside it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import time
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from itertools import count, pairwise, product
from typing import Final, Literal, Never

from lugbook.errors import Fault, InputError, OutOfRange

__all__ = [
    "CONDUCTOR_SIZES",
    "SORTS",
    "Parsed",
    "Quantity",
    "Rounding",
    "Sort",
    "Unit",
    "accepted_form",
    "conductor_size",
    "in_unit",
    "plain_number",
    "read",
    "show",
    "show_pair",
]

Rounding = Literal["nearest", "up", "down"]


class Quantity(StrEnum):
    """What a field measures; the field, not the text, decides how text is read."""

    LENGTH = "length"
    DISTANCE = "distance"
    AREA = "area"
    CURRENT = "current"
    FAULT_CURRENT = "fault current"
    VOLTAGE = "voltage"
    REAL_POWER = "real power"
    APPARENT_POWER = "apparent power"
    LOAD_POWER = "load"
    ENERGY = "energy"
    ENERGY_PER_DISTANCE = "energy per distance"
    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature difference"
    TORQUE = "torque"
    RESISTANCE = "resistance"
    THERMAL_RESISTIVITY = "thermal resistivity"
    DURATION = "duration"
    TIME_OF_DAY = "time of day"
    ANGLE = "angle"
    FRACTION = "share"
    MONEY = "amount of money"


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of a quantity: inside amount = (typed amount - zero) × multiple.

    Args:
        name: How we write it, itself an accepted spelling. [-]
        multiple: Inside units in one of this unit. [-]
        spellings: Other spellings accepted. [-]
        digits: Decimals shown unless the caller says otherwise. [-]
        zero: Where the inside unit's zero lies on this scale. [-]
        case_matters: True where m and M differ by a factor of 10⁹. [-]
        note: What must be said whenever this unit is read. [-]
    """

    name: str
    multiple: Fraction
    spellings: tuple[str, ...] = ()
    digits: int = 1
    zero: Fraction = Fraction(0)
    case_matters: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Sort:
    """How one quantity is written.

    Args:
        inside: The inside unit, as in the suffix of our names. [-]
        units: Accepted units. [-]
        examples: Values a person would type. [-]
        least: Smallest sensible inside amount; None where there is none. [-]
        parts: Names of the units of a compound such as 12 ft 6 in, large first. [-]
        ask: What to say when the unit is missing. [-]
    """

    inside: str
    units: tuple[Unit, ...]
    examples: tuple[str, ...]
    least: Fraction | None = Fraction(0)
    parts: tuple[str, ...] = ()
    ask: str = ""


@dataclass(frozen=True, slots=True)
class Parsed:
    """What was read.

    Args:
        amount: In the inside unit of the quantity. [-]
        unit: The unit as typed; empty for a plain number. [-]
        text: All that was typed. [-]
        note: What had to be interpreted, to be shown; empty when nothing was. [-]
    """

    amount: float
    unit: str
    text: str
    note: str = ""


# --- the table of units ---------------------------------------------------------

# The inch, the pound, the foot and the mile are exact by definition since 1959
# (international yard and pound: 1 yd = 0.9144 m, 1 lb = 0.45359237 kg), standard
# gravity is 9.80665 m/s² (3rd General Conference on Weights and Measures, 1901);
# all from memory, and compared with pint in the tests.
_INCH_M: Final = Fraction("0.0254")
_FOOT_M: Final = 12 * _INCH_M
_MILE_KM: Final = 5280 * _FOOT_M / 1000
_LBF_N: Final = Fraction("0.45359237") * Fraction("9.80665")
_ONE: Final = Fraction(1)
_THOUSAND: Final = Fraction(1000)
_THOUSANDTH: Final = Fraction(1, 1000)
_FAHRENHEIT: Final = Fraction(5, 9)


def _pound_by(*lengths: str) -> tuple[str, ...]:
    """Return every order and joint of a pound-force and a length (in-lb, lbfin)."""
    forces = ("lbf", "lb", "lbs", "pound", "pounds")
    return tuple(
        first + joint + second
        for force, length, joint in product(forces, lengths, ("-", ""))
        for first, second in ((force, length), (length, force))
    )


_WATTS: Final = (
    Unit("W", _ONE, ("watt", "watts"), digits=0),
    Unit("kW", _THOUSAND, ("kilowatt", "kilowatts"), digits=2),
)
_VOLT_AMPERES: Final = (
    Unit("VA", _ONE, ("volt-amperes", "volt-ampere"), digits=0),
    Unit("kVA", _THOUSAND, (), digits=2),
)
_WATTS_AS_VA: Final = tuple(
    Unit(
        unit.name,
        unit.multiple,
        unit.spellings,
        unit.digits,
        note="watts taken as volt-amperes",
    )
    for unit in _WATTS
)
_AMPERES: Final = (
    Unit("A", _ONE, ("amp", "amps", "ampere", "amperes")),
    Unit("kA", _THOUSAND, (), digits=2),
)

SORTS: Final[Mapping[Quantity, Sort]] = {
    Quantity.LENGTH: Sort(
        "m",
        (
            Unit("ft", _FOOT_M, ("foot", "feet", "'"), digits=2),
            Unit("in", _INCH_M, ("inch", "inches", '"'), digits=3),
            Unit("m", _ONE, ("metre", "metres", "meter", "meters"), digits=3),
            Unit("cm", Fraction(1, 100)),
            Unit("mm", _THOUSANDTH),
        ),
        ("40 ft", "12 ft 6 in", "1 1/4 in", "3.5 m"),
        parts=("ft", "in"),
        ask="Feet and metres differ by a factor of 3.28.",
    ),
    Quantity.DISTANCE: Sort(
        "km",
        (
            Unit("mi", _MILE_KM, ("mile", "miles")),
            Unit("km", _ONE, ("kilometre", "kilometres", "kilometer", "kilometers")),
        ),
        ("95 mi", "150 km"),
        ask="A mile is 1.609 km.",
    ),
    Quantity.AREA: Sort(
        "m2",
        (
            Unit(
                "ft²",
                _FOOT_M**2,
                ("ft2", "ft^2", "sq ft", "sqft", "square feet"),
                digits=0,
            ),
            Unit("m²", _ONE, ("m2", "m^2", "sq m", "square metres", "square meters")),
        ),
        ("1920 ft²", "178 m²"),
        ask="A square metre is 10.76 ft².",
    ),
    Quantity.CURRENT: Sort("a", _AMPERES, ("48 A",)),
    Quantity.FAULT_CURRENT: Sort("a", _AMPERES, ("10 kA", "8500 A")),
    Quantity.VOLTAGE: Sort(
        "v",
        (
            Unit("V", _ONE, ("volt", "volts")),
            Unit("mV", _THOUSANDTH, ("millivolt", "millivolts"), case_matters=True),
        ),
        ("240 V", "70 mV"),
    ),
    Quantity.REAL_POWER: Sort("w", _WATTS, ("11.5 kW", "4500 W")),
    Quantity.APPARENT_POWER: Sort("va", _VOLT_AMPERES, ("25 kVA", "4800 VA")),
    Quantity.LOAD_POWER: Sort(
        "va", _VOLT_AMPERES + _WATTS_AS_VA, ("4800 VA", "4500 W", "11.5 kW")
    ),
    Quantity.ENERGY: Sort(
        "kwh",
        (
            Unit("kWh", _ONE, ("kW-h", "kilowatt-hours", "kilowatt-hour"), digits=2),
            Unit("Wh", _THOUSANDTH, ("W-h", "watt-hours"), digits=0),
        ),
        ("75 kWh",),
        ask="A kilowatt-hour is 1000 watt-hours.",
    ),
    Quantity.ENERGY_PER_DISTANCE: Sort(
        "kwh_per_km",
        (
            Unit("kWh/mi", 1 / _MILE_KM, ("kWh/mile",), digits=3),
            Unit("kWh/100 mi", 1 / (100 * _MILE_KM), ("kWh/100 miles", "kWh/100mi")),
            Unit("Wh/mi", 1 / (1000 * _MILE_KM), ("Wh/mile",), digits=0),
            Unit("kWh/km", _ONE, digits=3),
            Unit("kWh/100 km", Fraction(1, 100), ("kWh/100km",)),
            Unit("Wh/km", _THOUSANDTH, digits=0),
        ),
        ("0.50 kWh per mile", "31 kWh/100 km"),
    ),
    Quantity.TEMPERATURE: Sort(
        "c",
        (
            Unit("°C", _ONE, ("C", "degC", "deg C", "degrees C", "celsius")),
            Unit(
                "°F",
                _FAHRENHEIT,
                ("F", "degF", "deg F", "degrees F", "fahrenheit"),
                zero=Fraction(32),
            ),
        ),
        ("54 °C", "130 °F"),
        least=Fraction("-273.15"),
        ask="54 °C is 129 °F, and 54 °F is 12 °C.",
    ),
    Quantity.TEMPERATURE_DIFFERENCE: Sort(
        "k",
        (
            Unit("K", _ONE, ("kelvin", "kelvins")),
            Unit("°C", _ONE, ("C", "degC", "deg C", "degrees C")),
            Unit("°F", _FAHRENHEIT, ("F", "degF", "deg F", "degrees F")),
        ),
        ("5 K", "9 °F"),
        least=None,
        ask="A difference of 9 °F is one of 5 K.",
    ),
    Quantity.TORQUE: Sort(
        "n_m",
        (
            Unit("lbf·in", _LBF_N * _INCH_M, _pound_by("in", "inch")),
            Unit("lbf·ft", _LBF_N * _FOOT_M, _pound_by("ft", "foot", "feet"), digits=2),
            Unit("N·m", _ONE, ("Nm", "newton-metres", "newton-meters"), digits=2),
        ),
        ("35 in-lb", "25 ft-lb", "4 N·m"),
        ask=(
            "Read the unit on the label or the wrench: 35 ft-lb is twelve times "
            "35 in-lb, and 35 N·m is 8.85 times."
        ),
    ),
    Quantity.RESISTANCE: Sort(
        "ohm",
        (
            Unit("Ω", _ONE, ("ohm", "ohms"), digits=3),
            Unit(
                "mΩ",
                _THOUSANDTH,
                ("mohm", "mohms", "milliohm", "milliohms"),
                digits=3,
                case_matters=True,
            ),
        ),
        ("0.12 mΩ", "0.3 ohm"),
        ask="An ohm is 1000 milliohms.",
    ),
    Quantity.THERMAL_RESISTIVITY: Sort(
        "k_m_per_w",
        (
            Unit("K·m/W", _ONE, ("°C·m/W", "C·m/W"), digits=2),
            Unit("°C·cm/W", Fraction(1, 100), ("C·cm/W", "K·cm/W"), digits=0),
        ),
        ("0.9 K·m/W", "90 °C·cm/W"),
        ask="1 K·m/W is 100 °C·cm/W.",
    ),
    Quantity.DURATION: Sort(
        "s",
        (
            Unit("h", Fraction(3600), ("hr", "hrs", "hour", "hours"), digits=2),
            Unit("min", Fraction(60), ("minute", "minutes")),
            Unit("s", _ONE, ("sec", "second", "seconds")),
        ),
        ("30 min", "3 h", "1 h 30 min"),
        parts=("h", "min", "s"),
        ask="An hour is 60 minutes.",
    ),
    Quantity.TIME_OF_DAY: Sort("minutes", (), ("18:30",)),
    Quantity.ANGLE: Sort(
        "deg", (Unit("°", _ONE, ("deg", "degree", "degrees"), digits=0),), ("90 deg",)
    ),
    Quantity.FRACTION: Sort(
        "fraction",
        (Unit("%", Fraction(1, 100), ("percent", "per cent")),),
        ("85 %",),
        ask="Is 0.85 meant as 85 % or as 0.85 %?",
    ),
    Quantity.MONEY: Sort("", (), ("0.32",), least=None),
}

# Near misses that deserve their own sentence, whatever the field.
_STRANGERS: Final[Mapping[str, str]] = {
    "hp": (
        "Horsepower is what a motor's shaft gives, not what it draws: give the "
        "nameplate's amperes times volts, in VA."
    ),
    "lb": "A pound alone is a force: a torque also names its arm, as in in-lb.",
    "lbf": "A pound alone is a force: a torque also names its arm, as in in-lb.",
    "mΩ": "M is mega and m is milli, a factor of 1,000,000,000 apart.",
    "mohm": "M is mega and m is milli, a factor of 1,000,000,000 apart.",
    "mv": "M is mega and m is milli, a factor of 1,000,000,000 apart.",
    "ma": "1 A is 1000 mA: write the amperes.",
    "mi/kwh": "Miles per kWh is the inverse: 2 mi/kWh is 0.50 kWh per mile.",
    "km/kwh": "Kilometres per kWh is the inverse: 5 km/kWh is 20 kWh/100 km.",
    "mm²": "Square millimetres do not run in step with AWG: read the print legend.",
    "mm2": "Square millimetres do not run in step with AWG: read the print legend.",
}

_POWER_IS_NOT_ENERGY: Final = (
    "kW says how fast energy flows and kWh how much has flowed: 10 kW for 3 h is "
    "30 kWh."
)
_MIXED_UP: Final[Mapping[frozenset[Quantity], str]] = {
    frozenset({Quantity.REAL_POWER, Quantity.ENERGY}): _POWER_IS_NOT_ENERGY,
    frozenset({Quantity.LOAD_POWER, Quantity.ENERGY}): _POWER_IS_NOT_ENERGY,
    frozenset({Quantity.APPARENT_POWER, Quantity.ENERGY}): _POWER_IS_NOT_ENERGY,
    frozenset({Quantity.REAL_POWER, Quantity.APPARENT_POWER}): (
        "VA is volts times amperes; W is the part that does work, the same or less."
    ),
    frozenset({Quantity.ENERGY, Quantity.ENERGY_PER_DISTANCE}): (
        "kWh is an amount; kWh per mile is what each mile takes."
    ),
    frozenset({Quantity.TEMPERATURE, Quantity.TEMPERATURE_DIFFERENCE}): (
        "K is used here for a rise or a difference, °C and °F for how hot it is."
    ),
    frozenset({Quantity.TORQUE, Quantity.LENGTH}): (
        "A torque names a force and its arm, as in in-lb."
    ),
    frozenset({Quantity.LENGTH, Quantity.AREA}): (
        "ft is a length and ft² an area: 40 ft by 48 ft is 1920 ft²."
    ),
    frozenset({Quantity.LENGTH, Quantity.DISTANCE}): (
        "A length is part of the wiring; a distance is what the car drives."
    ),
}

# --- text made uniform ----------------------------------------------------------

_MINUS: Final = "\N{MINUS SIGN}"
_LONGEST_TEXT: Final = 60
_LARGEST_AMOUNT: Final = 1e300
_SAME_CHARACTER: Final = str.maketrans(
    {
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
        "\N{HYPHEN}": "-",
        "\N{NON-BREAKING HYPHEN}": "-",
        "\N{DOT OPERATOR}": "·",
        "\N{BULLET OPERATOR}": "·",
        "\N{OHM SIGN}": "Ω",
        "\N{MASCULINE ORDINAL INDICATOR}": "°",
        "\N{DEGREE CELSIUS}": "°C",
        "\N{DEGREE FAHRENHEIT}": "°F",
        "\N{PRIME}": "'",
        "\N{RIGHT SINGLE QUOTATION MARK}": "'",
        "\N{DOUBLE PRIME}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
        "\N{VULGAR FRACTION ONE QUARTER}": " 1/4",
        "\N{VULGAR FRACTION ONE HALF}": " 1/2",
        "\N{VULGAR FRACTION THREE QUARTERS}": " 3/4",
        "\N{VULGAR FRACTION ONE EIGHTH}": " 1/8",
        "\N{VULGAR FRACTION THREE EIGHTHS}": " 3/8",
        "\N{VULGAR FRACTION FIVE EIGHTHS}": " 5/8",
        "\N{VULGAR FRACTION SEVEN EIGHTHS}": " 7/8",
    }
)


def _uniform(text: str) -> str:
    """Return the text with look-alike characters and runs of spaces made one."""
    return " ".join(text.translate(_SAME_CHARACTER).split())


@lru_cache(maxsize=1024)
def _unit_key(spelling: str, *, case_matters: bool = False) -> str:
    """Return the form in which unit spellings are compared: in.-lb is in·lb."""
    per_slash = re.sub(r" ?/ ?| per ", "/", _uniform(spelling).removesuffix("."))
    joined = re.sub(r"(?<=\w)[ .·*-]+(?=\w)", "·", per_slash)
    return joined if case_matters else joined.lower().replace("ω", "Ω")


def _keyed_units(quantity: Quantity) -> dict[str, Unit]:
    """Return the units of a quantity by the key of each accepted spelling."""
    return {
        _unit_key(spelling, case_matters=unit.case_matters): unit
        for unit in SORTS[quantity].units
        for spelling in (unit.name, *unit.spellings)
    }


_UNIT_BY_KEY: Final = {quantity: _keyed_units(quantity) for quantity in Quantity}


def _find_unit(spelling: str, quantity: Quantity) -> Unit | None:
    """Return the unit a spelling names for this quantity, or None."""
    units = _UNIT_BY_KEY[quantity]
    as_typed = units.get(_unit_key(spelling, case_matters=True))
    if as_typed is not None and as_typed.case_matters:
        return as_typed
    any_case = units.get(_unit_key(spelling))
    return None if any_case is None or any_case.case_matters else any_case


def _quoted(given: object) -> str:
    """Return what was given in quotes, cut short, control characters visible."""
    # Python refuses to print integers of thousands of digits.
    endless = isinstance(given, int) and given.bit_length() > 1000
    text = "a number of over 300 digits" if endless else str(given)
    shown = text if len(text) <= _LONGEST_TEXT else text[:40] + "..."
    return '"' + "".join(c if c.isprintable() else ascii(c)[1:-1] for c in shown) + '"'


# --- refusals -------------------------------------------------------------------


def _with_article(quantity: Quantity) -> str:
    """Return the quantity's name with its article."""
    return ("an " if quantity.value[0] in "aeiou" else "a ") + quantity.value


def accepted_form(quantity: Quantity) -> str:
    """Return the sentence part that says what is accepted, with an example."""
    sort = SORTS[quantity]
    example = f"for example {_either(sort.examples)}"
    if quantity is Quantity.TIME_OF_DAY:
        return f"a time on the 24-hour clock, {example}"
    if not sort.units:
        return f"a plain number, {example}"
    names = tuple(unit.name for unit in sort.units)
    return f"a number with {_either(names)}, {example}"


def _either(choices: tuple[str, ...]) -> str:
    """Return the choices as people list them: a, b or c."""
    *others, last = choices
    return f"{', '.join(others)} or {last}" if others else last


@dataclass(frozen=True, slots=True)
class _Entry:
    """One thing typed into one field: carries what a refusal must say."""

    given: object
    field: str
    line: int | None
    quantity: Quantity

    @property
    def quoted(self) -> str:
        return _quoted(self.given)

    def refuse(self, because: str, mend: str = "") -> Never:
        """Raise the one fault of this entry."""
        accepted = accepted_form(self.quantity)
        raise InputError(Fault(self.field, because, accepted, mend, self.line))


def _identified(spelling: str) -> Quantity | None:
    """Return the first quantity that knows the unit, whole or up to a digit."""
    before_digit = re.sub(r"[0-9].*", "", spelling)
    return next(
        (
            quantity
            for text in (spelling, before_digit)
            for quantity in Quantity
            if _find_unit(text, quantity)
        ),
        None,
    )


def _refuse_unit(entry: _Entry, spelling: str) -> Never:
    """Say what the unit measures, if we know, and what was wanted instead."""
    found = _identified(spelling)
    if found is None:
        unit = _quoted(spelling.strip())
        stranger = _STRANGERS.get(_unit_key(spelling), "")
        entry.refuse(f"{entry.quoted} has a unit not known here, {unit}", stranger)
    names = f"{_with_article(found)}, not {_with_article(entry.quantity)}"
    mend = _MIXED_UP.get(frozenset({entry.quantity, found}), "")
    entry.refuse(f"{entry.quoted} is {names}", mend)


# --- the one number grammar -----------------------------------------------------

_NUMBER_RUN: Final = re.compile(rf"[-+{_MINUS}]?[\d.,_]*\d[\d.,_]*(?:[eE][-+]?\d+)?")
_FRACTION_RUN: Final = re.compile(r"(?:([0-9]+)[ -])?([0-9]+)/([0-9]+)")
_PLAIN: Final = re.compile(r"[0-9]+(?:\.[0-9]+)?|\.[0-9]+")
_THOUSANDS: Final = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]+)?")
_DECIMAL_COMMA: Final = re.compile(r"[0-9]+,[0-9]+")


def _number(run: str, entry: _Entry) -> tuple[Fraction, tuple[str, ...]]:
    """Return the number a run of characters stands for, and what to say about it."""
    notes: tuple[str, ...] = ()
    digits = run
    if run[0] == _MINUS:
        notes = (f"read {run[0]} as a minus sign",)
    if run[0] in f"-{_MINUS}":
        digits = run[1:]
    if _PLAIN.fullmatch(digits):
        plain = digits
    elif _THOUSANDS.fullmatch(digits):
        plain = digits.replace(",", "")
        notes += (f"read {digits} as {plain}, the comma parting thousands",)
    elif _DECIMAL_COMMA.fullmatch(digits):
        plain = digits.replace(",", ".")
        notes += (f"read {digits} as {plain}, the comma as decimal point",)
    else:
        _refuse_number(run, entry)
    amount = Fraction(plain)
    return (amount if digits == run else -amount), notes


def _refuse_number(run: str, entry: _Entry) -> Never:
    """Say which part of the number grammar was left."""
    if not run.removeprefix(_MINUS).isascii():
        why = "is not written with the digits 0 to 9"
    elif "_" in run:
        why = "has an underscore in its number"
    elif "e" in run.lower():
        why = "has an exponent; write the number out"
    elif run[0] == "+":
        why = "has a plus sign; leave it out"
    elif "," in run and "." in run:
        why = "uses comma and point in a way that can be read as two numbers"
    else:
        why = "has a number that cannot be read"
    entry.refuse(
        f"{entry.quoted} {why}", "Write digits with at most one decimal point: 1234.5."
    )


def _leading_number(
    text: str, entry: _Entry
) -> tuple[Fraction, str, tuple[str, ...]] | None:
    """Return the number a text begins with, the rest, and notes; None without one."""
    fraction = _FRACTION_RUN.match(text)
    if fraction is not None:
        return _mixed_number(fraction, entry), text[fraction.end() :], ()
    run = _NUMBER_RUN.match(text)
    if run is None:
        return None
    amount, notes = _number(run[0], entry)
    return amount, text[run.end() :], notes


def _mixed_number(found: re.Match[str], entry: _Entry) -> Fraction:
    """Return the amount of 1/2 or 1 1/4, which only lengths are written in."""
    whole, over, under = found.groups()
    if entry.quantity is not Quantity.LENGTH:
        entry.refuse(f"{entry.quoted} has a fraction, read only in lengths")
    if int(under) == 0 or (whole and int(over) >= int(under)):
        entry.refuse(f"{entry.quoted} has no proper fraction")
    return int(whole or 0) + Fraction(int(over), int(under))


# --- reading --------------------------------------------------------------------

# A hyphen parts feet from inches only when it touches the feet (12'-6"), so that
# 12 ft -6 in stays what it is: a negative length, refused.
_NEXT_PART: Final = re.compile(
    rf"(?P<unit>[^0-9{_MINUS}-]+?)(?:-(?=[0-9.])|\s*)(?P<rest>[-{_MINUS}]?\.?[0-9].*)"
)


@dataclass(frozen=True, slots=True)
class _Part:
    """One number with its unit; a compound has several."""

    amount: Fraction
    unit: Unit
    spelling: str
    notes: tuple[str, ...]

    @property
    def inside(self) -> Fraction:
        return (self.amount - self.unit.zero) * self.unit.multiple


def _parts(text: str, entry: _Entry) -> Iterator[_Part]:
    """Yield each number with its unit, one for most texts."""
    leading = _leading_number(text, entry)
    if leading is None:
        entry.refuse(f"{entry.quoted} does not begin with a number")
    amount, rest, notes = leading
    if not rest.strip():
        entry.refuse(f"{entry.quoted} has no unit", SORTS[entry.quantity].ask)
    unit = _find_unit(rest, entry.quantity)
    if unit is not None:
        yield _Part(amount, unit, rest.strip(), notes)
        return
    # The 2 of 40 ft2 is no number of inches.
    whole_unit = any(_find_unit(rest, quantity) for quantity in Quantity)
    following = None if whole_unit else _NEXT_PART.fullmatch(rest)
    first = following and _find_unit(following["unit"], entry.quantity)
    if following and first and SORTS[entry.quantity].parts:
        yield _Part(amount, first, following["unit"].strip(), notes)
        yield from _parts(following["rest"], entry)
        return
    if re.match(r"\s*[\d.,_/]", rest):
        entry.refuse(
            f"{entry.quoted} has a number that cannot be read",
            "Leave out spaces inside the number.",
        )
    _refuse_unit(entry, rest)


def _check_compound(parts: tuple[_Part, ...], entry: _Entry) -> None:
    """Refuse 6 in 12 ft, 12.5 ft 6 in, 12 ft 14 in and the like."""
    order = SORTS[entry.quantity].parts
    for larger, smaller in pairwise(parts):
        names = (larger.unit.name, smaller.unit.name)
        if names not in tuple(pairwise(order)):
            entry.refuse(f"{entry.quoted} joins {names[0]} and {names[1]}")
        if larger.amount.denominator != 1:
            entry.refuse(f"{entry.quoted} has a part of a {names[0]} before {names[1]}")
        ratio = larger.unit.multiple / smaller.unit.multiple
        if not 0 <= smaller.amount < ratio:
            entry.refuse(f"{entry.quoted}: {names[1]} here run from 0 to under {ratio}")


def read(
    given: object, quantity: Quantity, *, field: str, line: int | None = None
) -> Parsed:
    """Read what was typed into a field of the given quantity.

    Args:
        given: Text with its unit; a plain number only for money, a time object also
            for a time of day. [-]
        quantity: What the field measures. [-]
        field: Dotted path of the field, for the message. [-]
        line: Line of the file, for the message. [-]

    Returns:
        The amount in the quantity's inside unit (`SORTS[quantity].inside`), with
        what was typed and a note of what had to be interpreted. [-]

    Raises:
        InputError: With one fault, when the text is not in the closed list.

    Example:
        >>> read("12 ft 6 in", Quantity.LENGTH, field="length").amount
        3.81
        >>> read("11,5 kW", Quantity.REAL_POWER, field="rating").note
        'read 11,5 as 11.5, the comma as decimal point'
    """
    entry = _Entry(given, field, line, quantity)
    if quantity is Quantity.MONEY:
        return plain_number(given, field=field, line=line)
    if quantity is Quantity.TIME_OF_DAY:
        return _time_of_day(entry)
    text = _text_of(entry)
    if _SIZE_LOOK.search(text):
        wanted = _with_article(quantity)
        entry.refuse(f"{entry.quoted} is a conductor size, not {wanted}")
    parts = tuple(_parts(text, entry))
    _check_compound(parts, entry)
    inside = sum((part.inside for part in parts), Fraction(0))
    least = SORTS[quantity].least
    if least is not None and inside < least:
        below = "negative" if least == 0 else "below absolute zero"
        entry.refuse(f"{entry.quoted} is {below}")
    notes = [note for part in parts for note in (*part.notes, part.unit.note) if note]
    unit = " ".join(part.spelling for part in parts)
    return Parsed(float(inside), unit, text, "; ".join(notes))


def _text_of(entry: _Entry) -> str:
    """Return the text given, or refuse what is not a text of sensible length."""
    given = entry.given
    if isinstance(given, int | float) and not isinstance(given, bool):
        sort = SORTS[entry.quantity]
        as_text = f'Write it as text in quotes: "{sort.examples[0]}".'
        entry.refuse(f"{entry.quoted} has no unit", f"{sort.ask} {as_text}".strip())
    if not isinstance(given, str):
        entry.refuse(f"{entry.quoted} is not text with a number and a unit")
    if len(given) > _LONGEST_TEXT:
        entry.refuse(f"{entry.quoted} is longer than {_LONGEST_TEXT} characters")
    text = _uniform(given)
    if not text:
        entry.refuse("nothing was given")
    return text


def plain_number(given: object, *, field: str, line: int | None = None) -> Parsed:
    """Read a number that has no unit: money in the plan's currency, a multiplier.

    Args:
        given: Text in the one number grammar, or a finite int or float. [-]
        field: Dotted path of the field, for the message. [-]
        line: Line of the file, for the message. [-]

    Returns:
        The number, with a note of what had to be interpreted. [-]

    Raises:
        InputError: With one fault, when it is not a plain finite number.

    Example:
        >>> plain_number("1,69", field="winter_factor").amount
        1.69
    """
    entry = _Entry(given, field, line, Quantity.MONEY)
    if isinstance(given, int | float) and not isinstance(given, bool):
        if not abs(given) <= _LARGEST_AMOUNT:
            entry.refuse(f"{entry.quoted} is not a finite number")
        return Parsed(float(given), "", str(given))
    if not isinstance(given, str):
        entry.refuse(f"{entry.quoted} is not a number")
    text = _text_of(entry)
    leading = _leading_number(text, entry)
    if leading is None or leading[1]:
        entry.refuse(
            f"{entry.quoted} is not a plain number",
            "Leave out units and currency signs.",
        )
    amount, _, notes = leading
    return Parsed(float(amount), "", text, "; ".join(notes))


def _time_of_day(entry: _Entry) -> Parsed:
    """Return minutes after midnight for 18:30, as text or as a file's own time."""
    given = entry.given
    if isinstance(given, time):
        if given.tzinfo or given.second or given.microsecond:
            entry.refuse(f"{entry.quoted} is not a whole minute of a local day")
        return Parsed(given.hour * 60.0 + given.minute, "", f"{given:%H:%M}")
    text = _uniform(given) if isinstance(given, str) else ""
    found = re.fullmatch(r"([01]?[0-9]|2[0-3]):([0-5][0-9])", text)
    if found is None:
        entry.refuse(f"{entry.quoted} is not a time of day")
    return Parsed(int(found[1]) * 60.0 + int(found[2]), "", text)


# --- conductor sizes ------------------------------------------------------------

# Rows of NFPA 70 Chapter 9 Table 8, from memory: names in order of rising size.
CONDUCTOR_SIZES: Final[tuple[str, ...]] = (
    *(f"{gauge} AWG" for gauge in (18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1)),
    *(f"{noughts}/0 AWG" for noughts in (1, 2, 3, 4)),
    *(f"{area} kcmil" for area in (250, 300, 350, 400, 500, 600, 700, 750, 800)),
    *(f"{area} kcmil" for area in (900, 1000, 1250, 1500, 1750, 2000)),
)
_AWG: Final = re.compile(
    r"(?:# ?|no\.? ?)?(?:awg ?)?(?P<size>[1-9]/0|0{1,4}|[1-9][0-9]?)(?: ?awg)?", re.I
)
_KCMIL: Final = re.compile(
    r"(?P<size>[1-9][0-9]{1,3}|[12],[0-9]{3}) ?(?:kcmil|mcm)", re.I
)
_SIZE_LOOK: Final = re.compile(r"awg|kcmil|mcm|^#|^[1-4]/0$", re.I)
_SIZE_FORM: Final = "a size such as 3 AWG, 1/0 AWG or 250 kcmil"


def conductor_size(given: object, *, field: str, line: int | None = None) -> str:
    """Read a conductor size and return its one canonical name.

    A name and not a unit: 3 AWG is not three of anything. MCM is the old word for
    kcmil, and 0, 00, 000, 0000 the old way to write 1/0 to 4/0.

    Args:
        given: Text such as 3 AWG, #3, 3, 1/0, 250 kcmil, 250 MCM. [-]
        field: Dotted path of the field, for the message. [-]
        line: Line of the file, for the message. [-]

    Returns:
        One of `CONDUCTOR_SIZES`. [-]

    Raises:
        InputError: With one fault, when it names no size of building wire.

    Example:
        >>> conductor_size("#3", field="size"), conductor_size("0000", field="size")
        ('3 AWG', '4/0 AWG')
    """
    name = _size_name(_uniform(given)) if isinstance(given, str) else ""
    if name not in CONDUCTOR_SIZES:
        because, mend = _why_no_size(given, name)
        raise InputError(Fault(field, because, _SIZE_FORM, mend, line))
    return name


def _why_no_size(given: object, name: str) -> tuple[str, str]:
    """Return why this is no size of building wire, and how to mend it."""
    quoted = _quoted(given)
    if not isinstance(given, str):
        mend = 'Write it in quotes with its unit: "3 AWG".'
        return f"{quoted} is not a conductor size written as text", mend
    if name:
        return f"{quoted} is not a size of building wire", _neighbours(name)
    text = _uniform(given)
    if re.search(r"mm ?(?:2|²|\^2)", text):
        return f"{quoted} is an area in mm²", _STRANGERS["mm²"]
    if re.fullmatch(r"[1-9][0-9]{2,3}", text):
        return f"{quoted} has no unit", f'Write "{text} kcmil" if so marked.'
    found = _identified(re.sub(r"^[0-9., ]+", "", text))
    what = f" but {_with_article(found)}" if found else ""
    return f"{quoted} is not a conductor size{what}", ""


def _size_name(text: str) -> str:
    """Return the canonical spelling of a size, real or not; empty if it is none."""
    kcmil = _KCMIL.fullmatch(text)
    if kcmil is not None:
        return kcmil["size"].replace(",", "") + " kcmil"
    awg = _AWG.fullmatch(text)
    if awg is None:
        return ""
    size = awg["size"]
    return f"{len(size)}/0 AWG" if set(size) == {"0"} else f"{size} AWG"


def _neighbours(name: str) -> str:
    """Return a sentence naming the real sizes on both sides of one that is not."""
    rank = _place(name)
    if 100 < rank < _place("250 kcmil"):
        return "Sizes in kcmil begin at 250; smaller wire has an AWG name."
    smaller = [size for size in CONDUCTOR_SIZES if _place(size) < rank]
    larger = [size for size in CONDUCTOR_SIZES if _place(size) > rank]
    near = " and ".join(smaller[-1:] + larger[:1])
    return f"The nearest sizes are {near}."


def _place(name: str) -> int:
    """Return a number that rises with conductor size, to order names only."""
    size, unit = name.split()
    if unit == "kcmil":
        # No real size lies between 4/0 AWG and 250 kcmil.
        return 100 + int(size)
    return int(size[0]) if size.endswith("/0") else 1 - int(size)


# --- showing --------------------------------------------------------------------


def _unit_to_show(quantity: Quantity, unit: str) -> Unit:
    """Return the unit to show in; the inside number itself for plain numbers."""
    if quantity is Quantity.MONEY and not unit:
        return Unit("", _ONE, digits=2)
    found = _find_unit(unit, quantity)
    if found is None:
        raise InputError(
            Fault(
                "unit",
                f"{_quoted(unit)} is not a unit of {_with_article(quantity)}",
                ", ".join(u.name for u in SORTS[quantity].units) or "no unit",
            )
        )
    return found


def _exact(amount: float, unit: Unit) -> Fraction:
    """Return the amount in the unit, with the float taken at its word."""
    # Beyond this a conversion could leave a float's reach; NaN fails it too.
    if not abs(amount) <= _LARGEST_AMOUNT:
        raise OutOfRange(f"{amount} cannot be shown; only a finite number can")
    return Fraction(amount) / unit.multiple + unit.zero


def _without_noise(exact: Fraction, unit: Unit) -> Fraction:
    """Return the amount to thirteen figures, dropping what floats alone put there.

    Without this, 16 ft held as 4.8768 m could be rounded up to 17 ft.
    """
    size = max(abs(exact), abs(unit.zero))
    if size * 10**300 < 1:
        return exact
    return round(exact, 12 - math.floor(math.log10(size)))


def _steps(exact: Fraction, digits: int, rounding: Rounding) -> int:
    """Return how many steps of the last shown digit the amount is rounded to."""
    scaled: Fraction = exact * 10**digits
    if rounding == "up":
        return math.ceil(scaled)
    if rounding == "down":
        return math.floor(scaled)
    half_up = math.floor(abs(scaled) + Fraction(1, 2))
    return half_up if scaled >= 0 else -half_up


def _written(steps: int, digits: int, unit: Unit, *, grouped: bool) -> str:
    """Return a count of last-digit steps as a number with its unit."""
    whole, part = divmod(abs(steps), 10**digits)
    decimals = f"{part:0{digits}d}".rstrip("0") if digits else ""
    sign = _MINUS if steps < 0 else ""
    number = sign + (f"{whole:,}" if grouped else str(whole))
    number += f".{decimals}" if decimals else ""
    return number + unit.name if unit.name in ("", "°") else f"{number} {unit.name}"


def in_unit(amount: float, quantity: Quantity, unit: str) -> float:
    """Return an inside amount as a number in one of the accepted units.

    Args:
        amount: In the quantity's inside unit. [-]
        quantity: What it measures. [-]
        unit: Any accepted spelling. [-]

    Returns:
        The number in that unit, unrounded. [-]

    Raises:
        InputError: When the unit is not one of the quantity's.
        OutOfRange: When the amount is not finite.

    Example:
        >>> in_unit(3.81, Quantity.LENGTH, "ft")
        12.5
    """
    return float(_exact(amount, _unit_to_show(quantity, unit)))


def show(
    amount: float,
    quantity: Quantity,
    unit: str = "",
    *,
    digits: int | None = None,
    rounding: Rounding = "nearest",
    grouped: bool = False,
) -> str:
    """Return an inside amount as people write it, with its unit.

    Halves go away from zero, trailing zeros are left out, minus is typographic.

    Args:
        amount: In the quantity's inside unit. [-]
        quantity: What it measures. [-]
        unit: Any accepted spelling; none for money and time of day. [-]
        digits: Most decimals to show; the unit's own when left out. [-]
        rounding: "up" for loads, "down" for ampacities, else "nearest". [-]
        grouped: Whether commas part the thousands. [-]

    Returns:
        Text that `read` accepts. [-]

    Raises:
        InputError: When the unit is not one of the quantity's.
        OutOfRange: When the amount is not finite.

    Example:
        >>> show(22.5552, Quantity.LENGTH, "ft")
        '74 ft'
        >>> show(156.21, Quantity.CURRENT, "A", digits=0, rounding="up")
        '157 A'
    """
    if quantity is Quantity.TIME_OF_DAY:
        return _clock(amount)
    chosen = _unit_to_show(quantity, unit)
    exact = _without_noise(_exact(amount, chosen), chosen)
    places = chosen.digits if digits is None else digits
    return _written(_steps(exact, places, rounding), places, chosen, grouped=grouped)


def _clock(minutes: float) -> str:
    """Return minutes after midnight as 18:30."""
    if not 0 <= minutes < 24 * 60:
        raise OutOfRange(f"{minutes} minutes after midnight is not within one day")
    # A float may stand a hair below its minute.
    whole = min(math.floor(round(minutes, 6)), 24 * 60 - 1)
    hour, minute = divmod(whole, 60)
    return f"{hour:02d}:{minute:02d}"


def show_pair(
    found: float,
    limit: float,
    quantity: Quantity,
    unit: str = "",
    *,
    digits: int | None = None,
    found_rounding: Rounding = "nearest",
    limit_rounding: Rounding = "nearest",
    grouped: bool = False,
) -> tuple[str, str]:
    """Return an amount and its limit with digits enough to tell them apart.

    What is shown stands to the shown limit as the amounts themselves do: smaller,
    equal or larger. So either may be typed back in without changing a verdict.

    Args:
        found: In the quantity's inside unit. [-]
        limit: In the same unit. [-]
        quantity: What both measure. [-]
        unit: Any accepted spelling; none for money. [-]
        digits: Decimals to begin with; the unit's own when left out. [-]
        found_rounding: "up" where the amount is a load. [-]
        limit_rounding: "down" where the limit is an ampacity. [-]
        grouped: Whether commas part the thousands. [-]

    Returns:
        The amount and the limit as text. [-]

    Raises:
        InputError: When the unit is not one of the quantity's.
        OutOfRange: When an amount is not finite.

    Example:
        >>> show_pair(63.96, 64.0, Quantity.CURRENT, "A", digits=0)
        ('63.96 A', '64 A')
    """
    chosen = _unit_to_show(quantity, unit)
    pair = (_exact(found, chosen), _exact(limit, chosen))
    if found == limit:
        found_rounding = limit_rounding = "nearest"
    places = chosen.digits if digits is None else digits
    # Past the noise the floats are taken at their word: they decided the verdict.
    noiseless = (_without_noise(pair[0], chosen), _without_noise(pair[1], chosen))
    shown = noiseless if noiseless[0] != noiseless[1] else pair
    for more in count(places):  # pragma: no branch - two numbers differ somewhere
        steps = (
            _steps(shown[0], more, found_rounding),
            _steps(shown[1], more, limit_rounding),
        )
        if _order(steps[0], steps[1]) == _order(found, limit):
            break
    return (
        _written(steps[0], more, chosen, grouped=grouped),
        _written(steps[1], more, chosen, grouped=grouped),
    )


def _order(one: float, other: float) -> int:
    """Return -1, 0 or 1 as one is smaller than, equal to or larger than other."""
    return (one > other) - (one < other)
