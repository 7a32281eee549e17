"""The supply equipment (the charger), sharing of current, and other sources."""

from typing import Literal

from lugbook.premises.base import Id, Item
from lugbook.premises.circuit import TerminalDegrees, TerminalMaterials
from lugbook.premises.fields import (
    Amperes,
    Count,
    Duration,
    Fallback,
    Length,
    Percent,
    Power,
    Size,
    Step,
    Text,
    Torque,
    Volts,
    YesNo,
)
from lugbook.premises.stated import Stated

__all__ = [
    "LoadManagement",
    "OtherSource",
    "Restriction",
    "StandbySource",
    "SupplyEquipment",
]

Restriction = Literal[
    "cover that needs a tool",
    "lock",
    "password",
    "behind a locked door",
    "installer switch inside",
    "anyone with the app",
    "none",
]


class SupplyEquipment(Item):
    """The charger, as its label and instructions state it."""

    connection: Stated[Literal["hard-wired", "receptacle"]] | None = None
    """Whether it is wired in or plugged in. Look: installation manual.
    Example: `"hard-wired"`"""
    receptacle: (
        Stated[
            Literal["14-30", "14-50", "14-60", "6-30", "6-50", "6-60", "10-30", "10-50"]
        ]
        | None
    ) = None
    """Configuration of the receptacle, if plugged in. Look: number on the receptacle's
    face. Example: `"14-50"`"""
    receptacle_listed_for_vehicles: YesNo = None
    """Whether the receptacle is marked as suited to vehicle charging. Look: its face or
    package. Example: `true`"""
    receptacle_grade: Stated[Literal["household", "industrial"]] | None = None
    """Grade of the receptacle; household jaws are thin. Look: its package.
    Example: `"industrial"`"""
    unplugged_per_year: Count = None
    """How often a year the plug is pulled; jaws wear. Look: habit. Example: `50`"""
    nameplate: Amperes = None
    """Largest current its label states. Look: label on its side or underneath.
    Example: `"48 A"`"""
    voltage: Volts = None
    """Voltage its label states. Look: label. Example: `"240 V"`"""
    setting: Amperes = None
    """Current it is to be set to; left out, every step is tried. Look: your wish.
    Example: `"32 A"`"""
    setting_steps: tuple[Step, ...] = ()
    """Every current it can be set to, smallest first. Look: installation manual.
    Example: `["16 A", "24 A", "32 A", "40 A", "48 A"]`"""
    setting_restricted_by: tuple[Restriction, ...] = ()
    """What keeps the setting from being raised by anyone. Look: installation manual.
    Example: `["cover that needs a tool"]`"""
    setting_on_label: YesNo = None
    """Whether the set current is, or will be, marked on it. Look: label.
    Example: `true`"""
    measured_current: Amperes = None
    """Current a clamp read on its circuit while a car took all it could. Look: clamp
    reading. Example: `"31.6 A"`"""
    pilot_duty: Percent = None
    """Duty cycle of its control pilot, which tells the car its current. Look: tester,
    or its display. Example: `"53.3 %"`"""
    maximum_overcurrent: Amperes = None
    """Largest overcurrent device its maker allows. Look: label or installation manual.
    Example: `"60 A"`"""
    breaker_type_prescribed: Text = None
    """Type of breaker its maker asks for, where one is named. Look: installation
    manual. Example: `"two-pole, without ground-fault protection"`"""
    terminal_temperature: TerminalDegrees | None = None
    """Temperature rating of its terminals. Look: beside the terminals, or the manual.
    Example: `"75 °C"`"""
    terminal_smallest: Size = None
    """Smallest wire its terminals take. Look: beside the terminals, or the manual.
    Example: `"8 AWG"`"""
    terminal_largest: Size = None
    """Largest wire its terminals take. Look: beside the terminals, or the manual.
    Example: `"4 AWG"`"""
    terminal_materials: TerminalMaterials | None = None
    """Metals its terminals are marked for. Look: beside the terminals: CU or AL/CU.
    Example: `"copper only"`"""
    terminal_torque: Torque = None
    """Torque printed for its power terminals, with the unit as printed. Look: beside
    the terminals, or the manual. Example: `"50 lbf·in"`"""
    grounding_terminal_torque: Torque = None
    """Torque printed for its grounding terminal. Look: the same place.
    Example: `"35 lbf·in"`"""
    ground_fault_built_in: YesNo = None
    """Whether it protects people against ground faults itself. Look: manual: CCID.
    Example: `true`"""
    maker_forbids_ground_fault_breaker: YesNo = None
    """Whether its maker forbids a ground-fault breaker ahead of it. Look: installation
    manual. Example: `false`"""
    leakage_current: Amperes = None
    """Current it leaks to ground in normal use, where the manual says. Look: technical
    sheet. Example: `"0.003 A"`"""
    listed: YesNo = None
    """Whether it bears the mark of a recognised testing laboratory. Look: label.
    Example: `true`"""
    listing_mark: Text = None
    """What that mark says. Look: label. Example: `"listed, file number on the label"`
    """
    listed_for_several_circuits: YesNo = None
    """Whether it is listed to be fed by more than one circuit. Look: manual.
    Example: `false`"""
    exports_power: YesNo = None
    """Whether it can send power from the car back to the house. Look: label:
    bidirectional. Example: `false`"""
    ventilation_required: YesNo = None
    """Whether it is marked as needing ventilation. Look: label. Example: `false`"""
    place: (
        Stated[Literal["garage", "indoors", "outdoors", "accessory building"]] | None
    ) = None
    """Where it hangs. Look: the wall. Example: `"outdoors"`"""
    enclosure_type: Text = None
    """Type of its enclosure against weather. Look: label: type 3R, 4. Example: `"4"`"""
    mount_height: Length = None
    """Height above the floor or ground at which its connector is stored. Look: tape
    measure. Example: `"45 in"`"""
    cable_length: Length = None
    """Length of its cable. Look: manual. Example: `"23 ft"`"""
    cable_managed: YesNo = None
    """Whether something keeps the cable off the floor. Look: hook or reel.
    Example: `true`"""
    reach_needed: Length = None
    """Way the cable takes from it to the car's inlet. Look: tape measure, car parked.
    Example: `"14 ft"`"""
    bollard_or_out_of_path: YesNo = None
    """Whether no car can drive into it. Look: the wall and the way in. Example: `true`
    """
    in_panel_working_space: YesNo = None
    """Whether it stands in the space that must stay clear before a panel. Look: 30 in
    wide, 36 in deep before the panel. Example: `false`"""
    restart_delay: Duration = None
    """How long it waits after a power cut before it charges again. Look: manual.
    Example: `"2 min"`"""


class LoadManagement(Item):
    """A system that limits or shares current."""

    members: tuple[Id, ...] = ()
    """Ids of the chargers and loads it controls. Look: its settings.
    Example: `["charger"]`"""
    limit: Amperes = None
    """Current it keeps what it watches under. Look: its settings. Example: `"80 A"`"""
    watches: Stated[Literal["service", "feeder", "branch circuit"]] | None = None
    """What it measures. Look: where its sensors sit. Example: `"service"`"""
    watched_id: Id | None = None
    """Id of the service, panel, feeder or circuit it measures. Look: where its sensors
    sit. Example: `"service"`"""
    sensors_on_both_legs: YesNo = None
    """Whether it measures both legs. Look: two sensors, one on each leg.
    Example: `true`"""
    fallback_currents: tuple[Fallback, ...] = ()
    """Current each member falls back to when the link is lost, in the order of
    `members`. Look: manual. Example: `["6 A"]`"""
    response: Duration = None
    """How fast it brings the current down. Look: manual. Example: `"10 s"`"""
    listed: YesNo = None
    """Whether it is listed for this use. Look: label. Example: `true`"""
    fails_low: YesNo = None
    """Whether loss of a sensor or the link lowers the current. Look: manual; later a
    test. Example: `true`"""
    limit_restricted_by: tuple[Restriction, ...] = ()
    """What keeps the limit from being raised by anyone. Look: manual.
    Example: `["password"]`"""
    directory_posted: YesNo = None
    """Whether a sign names what it controls and where. Look: beside the panel.
    Example: `true`"""


class OtherSource(Item):
    """Solar, battery or another source that works beside the service."""

    kind: Literal["solar", "battery", "wind", "generator in parallel"]
    """What it is. Look: the equipment. Example: `"solar"`"""
    output: Amperes = None
    """Its rated output current. Look: inverter's label. Example: `"32 A"`"""
    power: Power = None
    """Its rated output. Look: inverter's label. Example: `"7.6 kW"`"""
    connected: Stated[Literal["supply side", "load side"]] | None = None
    """Whether it joins ahead of the main (supply side) or at a breaker after it. Look:
    its drawing. Example: `"load side"`"""
    fed_to: Id | None = None
    """Id of the panel it feeds into. Look: where its breaker sits.
    Example: `"main_panel"`"""
    position: Count = None
    """Position of its breaker. Look: panel. Example: `40`"""
    at_opposite_end: YesNo = None
    """Whether its breaker sits at the end of the bus away from the main. Look: panel.
    Example: `true`"""
    overcurrent: Amperes = None
    """Rating of its breaker. Look: handle. Example: `"40 A"`"""
    approved_by: (
        Stated[
            Literal[
                "main plus source within the bus",
                "opposite end, 120 % of the bus",
                "sum of breakers within the bus",
                "engineering supervision",
                "power control system",
            ]
        ]
        | None
    ) = None
    """Which way of approval was used; one of them dies when a large breaker is added.
    Look: its permit papers. Example: `"opposite end, 120 % of the bus"`"""
    label_posted: YesNo = None
    """Whether a sign at the service names it. Look: beside the main. Example: `true`"""


class StandbySource(Item):
    """A source that carries the house, or part of it, when the utility is gone."""

    kind: Literal["generator", "battery", "vehicle"]
    """What it is. Look: the equipment. Example: `"generator"`"""
    rating: Power = None
    """What it can carry without end. Look: its label. Example: `"14 kW"`"""
    transfer: Stated[Literal["automatic", "manual", "interlock"]] | None = None
    """How the house changes over to it. Look: transfer switch. Example: `"automatic"`
    """
    carries: tuple[Id, ...] = ()
    """Ids of the panels, circuits and loads it carries. Look: transfer switch's
    directory. Example: `["main_panel"]`"""
    sheds_charger: YesNo = None
    """Whether the charger is kept off while it runs. Look: its load-shedding module.
    Example: `true`"""
