"""The kinds of field the plan file has, each with its quantity and bounds.

Bounds catch typing slips (a 4,000 A house), not judgements: those are findings.
They are common practice, no source: wide of anything a house has.
"""

from datetime import date, datetime
from typing import Annotated, TypeAlias

from lugbook.premises.stated import Moment, Spec, Stated
from lugbook.quantities import Quantity

__all__ = [
    "Amperes",
    "Angle",
    "Bend",
    "Celsius",
    "Clock",
    "Count",
    "Day",
    "DayOrMoment",
    "Duration",
    "Energy",
    "EnergyPerDistance",
    "Factor",
    "Fallback",
    "FaultAmperes",
    "FloorArea",
    "Length",
    "Money",
    "Note",
    "Percent",
    "Plain",
    "Position",
    "Power",
    "PowerFactor",
    "Resistance",
    "ServedArea",
    "Size",
    "SmallVolts",
    "SoilResistivity",
    "Step",
    "Text",
    "Torque",
    "TravelDistance",
    "Volts",
    "Words",
    "Year",
    "YesNo",
]

_YEAR_S = 366 * 24 * 3600.0

_A = Annotated[float, Spec(Quantity.CURRENT, at_most=2000)]
_STEP = Annotated[float, Spec(Quantity.CURRENT, at_most=2000, zero=False)]
_V = Annotated[float, Spec(Quantity.VOLTAGE, at_most=1000, zero=False)]
_V0 = Annotated[float, Spec(Quantity.VOLTAGE, at_most=1000)]
_VA = Annotated[float, Spec(Quantity.LOAD_POWER, at_most=1_000_000)]
_KA = Annotated[float, Spec(Quantity.FAULT_CURRENT, at_most=300_000, zero=False)]
_M = Annotated[float, Spec(Quantity.LENGTH, at_most=5000)]
_KM = Annotated[float, Spec(Quantity.DISTANCE, at_most=5000)]
_M2 = Annotated[float, Spec(Quantity.AREA, at_most=20_000, zero=False)]
_M2_0 = Annotated[float, Spec(Quantity.AREA, at_most=20_000)]
_C = Annotated[float, Spec(Quantity.TEMPERATURE, at_least=-60, at_most=250)]
_NM = Annotated[float, Spec(Quantity.TORQUE, at_most=500, zero=False)]
_OHM = Annotated[float, Spec(Quantity.RESISTANCE, at_most=100_000)]
_SOIL = Annotated[float, Spec(Quantity.THERMAL_RESISTIVITY, at_most=20, zero=False)]
_KWH = Annotated[float, Spec(Quantity.ENERGY, at_most=10_000_000)]
_KWH_KM = Annotated[float, Spec(Quantity.ENERGY_PER_DISTANCE, at_most=10, zero=False)]
_S = Annotated[float, Spec(Quantity.DURATION, at_most=_YEAR_S)]
_CLOCK = Annotated[float, Spec(Quantity.TIME_OF_DAY)]
_SHARE = Annotated[float, Spec(Quantity.FRACTION, at_most=1)]
_DEG = Annotated[float, Spec(Quantity.ANGLE, at_most=3600)]
_COUNT = Annotated[int, Spec("count", at_most=10_000)]
_PLAIN = Annotated[float, Spec("plain", at_most=10_000)]
_FACTOR = Annotated[float, Spec("plain", at_most=10, zero=False)]
_POWER_FACTOR = Annotated[float, Spec("plain", at_most=1, zero=False)]
_MONEY = Annotated[float, Spec("plain", at_most=1_000_000)]
_TEXT = Annotated[str, Spec("text")]
_SIZE = Annotated[str, Spec("size")]

Amperes: TypeAlias = Stated[_A] | None
Volts: TypeAlias = Stated[_V] | None
SmallVolts: TypeAlias = Stated[_V0] | None
Power: TypeAlias = Stated[_VA] | None
FaultAmperes: TypeAlias = Stated[_KA] | None
Length: TypeAlias = Stated[_M] | None
TravelDistance: TypeAlias = Stated[_KM] | None
FloorArea: TypeAlias = Stated[_M2] | None
ServedArea: TypeAlias = Stated[_M2_0] | None
Celsius: TypeAlias = Stated[_C] | None
Torque: TypeAlias = Stated[_NM] | None
Resistance: TypeAlias = Stated[_OHM] | None
SoilResistivity: TypeAlias = Stated[_SOIL] | None
Energy: TypeAlias = Stated[_KWH] | None
EnergyPerDistance: TypeAlias = Stated[_KWH_KM] | None
Duration: TypeAlias = Stated[_S] | None
Clock: TypeAlias = Stated[_CLOCK] | None
Percent: TypeAlias = Stated[_SHARE] | None
Angle: TypeAlias = Stated[_DEG] | None
Bend: TypeAlias = Stated[_DEG]
Step: TypeAlias = Stated[_STEP]
Fallback: TypeAlias = Stated[_A]
Count: TypeAlias = Stated[_COUNT] | None
Plain: TypeAlias = Stated[_PLAIN] | None
Factor: TypeAlias = Stated[_FACTOR] | None
PowerFactor: TypeAlias = Stated[_POWER_FACTOR] | None
Money: TypeAlias = Stated[_MONEY] | None
Text: TypeAlias = Stated[_TEXT] | None
Size: TypeAlias = Stated[_SIZE] | None
YesNo: TypeAlias = Stated[bool] | None

# Bare values, for what takes no { value, how, range } table.
Year: TypeAlias = Annotated[int, Spec("year", at_least=1700, at_most=2200)]
Position: TypeAlias = Annotated[int, Spec("position", at_least=1, at_most=200)]
Day: TypeAlias = Annotated[date, Moment(time_too=False)]
DayOrMoment: TypeAlias = Annotated[datetime | date, Moment(time_too=True)]
Words: TypeAlias = Annotated[str, Spec("text")]
# Text that enters no calculation, and may be empty.
Note: TypeAlias = Annotated[str, Spec("note")]
