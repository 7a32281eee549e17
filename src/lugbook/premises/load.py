"""What uses current in the house, each with its place in the load calculation."""

from typing import Literal

from lugbook.premises.base import Id, Item
from lugbook.premises.equipment import Restriction
from lugbook.premises.fields import (
    Amperes,
    Clock,
    Count,
    Duration,
    Note,
    Plain,
    Power,
    PowerFactor,
    Volts,
    Year,
    YesNo,
)
from lugbook.premises.stated import Stated

__all__ = ["COOLING_KINDS", "HEATING_KINDS", "LOAD_KINDS", "Load", "LoadKind"]

LoadKind = Literal[
    "range",
    "cooktop",
    "wall oven",
    "dryer",
    "water heater",
    "dishwasher",
    "disposer",
    "trash compactor",
    "built-in microwave",
    "well pump",
    "sump pump",
    "pool pump",
    "pool heater",
    "hot tub",
    "sauna",
    "kiln",
    "welder",
    "workshop machine",
    "elevator",
    "furnace blower",
    "boiler pump",
    "bathroom heater",
    "other fixed appliance",
    "plugged-in appliance",
    "central cooling",
    "room cooling",
    "heat pump",
    "heat pump supplemental heat",
    "central electric heat",
    "separately controlled electric heat",
    "thermal storage heat",
    "vehicle charging",
    "other",
]
LOAD_KINDS: tuple[str, ...] = LoadKind.__args__  # type: ignore[attr-defined]
HEATING_KINDS = (
    "heat pump",
    "heat pump supplemental heat",
    "central electric heat",
    "separately controlled electric heat",
    "thermal storage heat",
)
COOLING_KINDS = ("central cooling", "room cooling", "heat pump")


class Load(Item):
    """A load with its nameplate and whether it stays, goes or comes."""

    kind: LoadKind
    """What it is; this decides its place in the load calculation. Look: the appliance.
    Example: `"dryer"`"""
    name: Note = ""
    """What you call it. Example: `"kiln in the garage"`"""
    nameplate: Power = None
    """Load its nameplate states, in VA or W. Look: plate behind the door, drawer or
    cover. Example: `"4500 W"`"""
    nameplate_current: Amperes = None
    """Current its nameplate states, where it gives amperes. Look: the same plate.
    Example: `"18 A"`"""
    voltage: Volts = None
    """Voltage its nameplate states. Look: the same plate. Example: `"240 V"`"""
    count: Count = None
    """How many alike there are; left out is one. Look: the house. Example: `2`"""
    controls: Count = None
    """For electric heat: how many units have a thermostat of their own. Look:
    thermostats in the rooms. Example: `4`"""
    motor_current: Amperes = None
    """Current of its largest motor. Look: plate of the compressor or pump: RLA or FLA.
    Example: `"18 A"`"""
    motor_horsepower: Plain = None
    """Horsepower on the motor's plate. Look: motor's plate. Example: `1.5`"""
    power_factor: PowerFactor = None
    """Power factor on the plate, where one is given. Look: motor's plate.
    Example: `0.85`"""
    fastened_in_place: YesNo = None
    """Whether it is built in or wired in, and not merely plugged in and movable. Look:
    the appliance. Example: `true`"""
    continuous: YesNo = None
    """Whether it may run at its full current for three hours or more. Look: habit.
    Example: `false`"""
    heats_while_compressor_runs: YesNo = None
    """For supplemental heat: whether it can run together with the heat pump's
    compressor. Look: thermostat's or air handler's manual. Example: `true`"""
    fed_from: Id | None = None
    """Id of the panel, feeder or circuit that feeds it. Look: circuit directory.
    Example: `"main_panel"`"""
    leg: Literal["A", "B", "both"] | None = None
    """Leg it draws from; 240 V loads draw from both. Look: position of its breaker, or
    a clamp reading. Example: `"both"`"""
    state: Literal["existing", "removed", "proposed", "planned"] = "existing"
    """Existing stays; removed goes with this work; proposed comes with it; planned
    comes later. Look: yourself. Example: `"planned"`"""
    year: Year | None = None
    """Year in which a planned load is expected. Look: yourself. Example: `2028`"""
    never_with: tuple[Id, ...] = ()
    """Ids of loads that cannot run at the same time as this one, by an interlock or a
    switch and not by habit. Look: the interlock. Example: `["cooling"]`"""
    current_when_running: Stated[Literal["steady", "cycling", "seldom"]] | None = None
    """How it draws its current once on. Look: habit, or the house's own record.
    Example: `"cycling"`"""
    usually_from: Clock = None
    """When it usually starts, for the day's picture; no rule uses it. Look: habit.
    Example: `"17:30"`"""
    usually_for: Duration = None
    """How long it then runs. Look: habit. Example: `"1 h 30 min"`"""
    days_per_week: Count = None
    """On how many days of the week. Look: habit. Example: `5`"""
    setting: Amperes = None
    """For another charger: the current it is set to. Look: its app, dial or label.
    Example: `"32 A"`"""
    setting_restricted_by: tuple[Restriction, ...] = ()
    """For another charger: what keeps that setting from being raised. Look: its manual.
    Example: `["password"]`"""
    setting_on_label: YesNo = None
    """For another charger: whether the set current is marked on it. Look: its label.
    Example: `true`"""
