"""What the plan itself states of measured demand, and the means at hand."""

from typing import Annotated, Any, Literal, TypeAlias

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from lugbook.premises.base import Id, Item, Part
from lugbook.premises.fields import (
    Amperes,
    Count,
    Day,
    DayOrMoment,
    Duration,
    Note,
    Percent,
    Power,
    SmallVolts,
    Text,
    Torque,
    Volts,
    Words,
    YesNo,
)
from lugbook.premises.stated import Stated

__all__ = [
    "ClampReading",
    "DemandRecord",
    "MeterFileEntry",
    "MeterFiles",
    "VoltageReading",
    "Wrench",
]


class ClampReading(Item):
    """Currents read at the service with a clamp, and what ran then."""

    at: DayOrMoment | None = None
    """Day, or day and time, of the reading. Look: your notes.
    Example: `2026-01-14T18:40:00`"""
    leg_a: Amperes = None
    """Current of leg A. Look: the clamp's display. Example: `"62 A"`"""
    leg_b: Amperes = None
    """Current of leg B. Look: the clamp's display. Example: `"55 A"`"""
    neutral: Amperes = None
    """Current of the neutral. Look: the clamp's display. Example: `"9 A"`"""
    running: tuple[Id, ...] = ()
    """Ids of the loads that were truly running. Look: go and see, thermostats cycle.
    Example: `["range", "dryer"]`"""
    also_running: Text = None
    """What else ran that the plan does not list. Look: go and see.
    Example: `"vacuum cleaner"`"""
    lasted: Duration = None
    """For how long the reading was watched. Look: your notes. Example: `"10 min"`"""
    accuracy: Percent = None
    """Accuracy its manual states. Look: the clamp's manual. Example: `"2 %"`"""


class VoltageReading(Item):
    """Voltages read at one place at one moment; two give the source's strength."""

    at: DayOrMoment | None = None
    """Day, or day and time, of the reading. Look: your notes.
    Example: `2026-01-14T18:40:00`"""
    where: Id | None = None
    """Id of the service, panel or charger at which it was read. Look: your notes.
    Example: `"main_panel"`"""
    leg_to_leg: Volts = None
    """Voltage between the legs. Look: meter's display. Example: `"243.1 V"`"""
    leg_a_to_neutral: Volts = None
    """Voltage from leg A to neutral. Look: meter's display. Example: `"121.4 V"`"""
    leg_b_to_neutral: Volts = None
    """Voltage from leg B to neutral. Look: meter's display. Example: `"121.7 V"`"""
    neutral_to_ground: SmallVolts = None
    """Voltage from neutral to ground. Look: meter's display. Example: `"0.2 V"`"""
    current: Amperes = None
    """Current of the load that was switched on for this reading; 0 A for none. Look:
    clamp, or the charger's display. Example: `"48 A"`"""
    running: tuple[Id, ...] = ()
    """Ids of what was switched on for it. Look: your notes. Example: `["charger"]`"""
    accuracy: Percent = None
    """Accuracy its manual states. Look: the meter's manual. Example: `"0.5 %"`"""


class DemandRecord(Part):
    """A demand record as stated, by the utility or a recorder."""

    maximum: Power = None
    """Highest demand in the record. Look: utility's letter, or the bill's demand line.
    Example: `"14.2 kW"`"""
    maximum_current: Amperes = None
    """Highest current of the higher leg, where a recorder gave amperes. Look:
    recorder's report. Example: `"71 A"`"""
    maximum_leg_a: Amperes = None
    """Highest current of leg A by itself. Look: recorder's report. Example: `"71 A"`"""
    maximum_leg_b: Amperes = None
    """Highest current of leg B by itself. Look: recorder's report. Example: `"58 A"`"""
    from_day: Day | None = None
    """First day of the record. Look: its heading. Example: `2025-03-01`"""
    to_day: Day | None = None
    """Last day of the record. Look: its heading. Example: `2026-02-28`"""
    days: Count = None
    """Days it covers, where the dates are not known. Look: its heading. Example: `365`
    """
    averaged_over: Duration = None
    """Time over which each value is averaged. Look: ask the utility.
    Example: `"15 min"`"""
    continuous: YesNo = None
    """Whether it runs without gaps. Look: its table. Example: `true`"""
    highest_loaded_leg: YesNo = None
    """For a 30-day record: whether it is of the more heavily loaded leg. Look:
    recorder's report. Example: `true`"""
    occupied: YesNo = None
    """Whether people lived in the house all that time. Look: diary. Example: `true`"""
    seasonal_loads_included: YesNo = None
    """Whether heating or cooling at its worst fell within the record. Look: its dates.
    Example: `false`"""
    seasonal_load_added: Power = None
    """Seasonal load to be added since it did not run then. Look: nameplates.
    Example: `"4800 VA"`"""
    peak_shaved: YesNo = None
    """Whether a battery or a controller held the peaks down. Look: the house.
    Example: `false`"""
    power_factor: Percent = None
    """Power factor to turn kW into amperes. Look: ask the utility. Example: `"95 %"`"""
    from_whom: Stated[Literal["utility", "recorder", "bill"]] | None = None
    """Who made the record. Look: its heading. Example: `"utility"`"""


class MeterFileEntry(Part):
    """A file of interval data, and what only a person can say of it."""

    path: Words
    """Path of the file, inside the plan's own folder, or the whole path from the root.
    Example: `"meter.xml"`"""
    zone: Note = ""
    """Time zone of the house, where the file does not say it. Look: yours to say.
    Example: `"America/Chicago"`"""
    point: Note = ""
    """Usage point to take, where the file holds several. Look: `lugbook demand FILE`
    lists them. Example: `"123"`"""
    unit: Note = ""
    """Unit of a table's amounts, where its heading does not say it. Look: ask the
    utility. Example: `"kWh"`"""
    day_first: YesNo = None
    """Whether a table writes the day before the month. Look: a date past the twelfth.
    Example: `false`"""
    interval: Duration = None
    """Time from one row of a table to the next, where it cannot be seen. Look: ask the
    utility. Example: `"15 min"`"""
    leg_voltage: Volts = None
    """Voltage from leg to neutral, where a table holds amperes. Look: a meter's
    display. Example: `"121 V"`"""
    column: Note = ""
    """Heading of a table's column of amounts, where there are several. Look: its first
    lines. Example: `"Usage"`"""
    times_end: YesNo = None
    """Whether a table's times are the ends of its intervals. Look: ask the utility.
    Example: `true`"""


class _PathAlone:
    """A path as bare text stands for the table that names only the path."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Tell pydantic to take bare text as the path."""
        return core_schema.no_info_before_validator_function(
            lambda given: {"path": given} if isinstance(given, str) else given,
            handler(source),
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Tell editors the same."""
        return {"anyOf": [{"type": "string"}, handler(schema)]}


MeterFiles: TypeAlias = tuple[Annotated[MeterFileEntry, _PathAlone()], ...]


class Wrench(Item):
    """A torque tool at hand."""

    smallest: Torque = None
    """Smallest torque it can be set to. Look: its scale. Example: `"20 lbf·in"`"""
    largest: Torque = None
    """Largest torque it can be set to. Look: its scale. Example: `"200 lbf·in"`"""
    accuracy: Percent = None
    """Accuracy its certificate states. Look: certificate. Example: `"4 %"`"""
    calibrated: Day | None = None
    """Day of its last calibration. Look: certificate. Example: `2026-01-20`"""
    cycles_since_calibration: Count = None
    """About how often it was used since. Look: its log. Example: `300`"""
    reads_in: Stated[Literal["lbf·in", "lbf·ft", "N·m"]] | None = None
    """Unit its scale is marked in; inch-pounds and foot-pounds differ twelvefold. Look:
    its scale. Example: `"lbf·in"`"""
