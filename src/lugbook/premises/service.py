"""Where the supply comes in: transformer, drop, meter base, main, conductors."""

from typing import Literal

from lugbook.premises.base import Item, Part
from lugbook.premises.circuit import Conductor, TerminalDegrees
from lugbook.premises.dwelling import Electrode
from lugbook.premises.fields import (
    Amperes,
    Count,
    FaultAmperes,
    Length,
    Percent,
    Plain,
    Power,
    Text,
    Torque,
    Volts,
    YesNo,
)
from lugbook.premises.stated import Stated

__all__ = ["FaultCurrent", "MainDevice", "Service", "Transformer"]

Owner = Stated[Literal["utility", "owner"]]


class MainDevice(Part):
    """A service overcurrent device; a split-bus panel has several."""

    rating: Amperes = None
    """Number on its handle. Look: main breaker's handle, or the fuses.
    Example: `"200 A"`"""
    kind: Stated[Literal["circuit breaker", "fuses"]] | None = None
    """What it is. Look: handle or pull-out. Example: `"circuit breaker"`"""
    type: Text = None
    """Type printed on it. Look: its face. Example: `"type M (invented)"`"""
    interrupting_rating: FaultAmperes = None
    """Fault current it can break. Look: its label: AIC. Example: `"22 kA"`"""
    terminal_torque: Torque = None
    """Torque printed for its lugs. Look: panel label or its face.
    Example: `"250 lbf·in"`"""
    terminal_temperature: TerminalDegrees | None = None
    """Temperature rating of its lugs. Look: panel label or its face. Example: `"75 °C"`
    """


class Transformer(Part):
    """The utility's transformer."""

    rating: Power = None
    """Its rating. Look: number painted on it, or ask the utility. Example: `"25 kVA"`
    """
    impedance: Percent = None
    """Its impedance. Look: ask the utility. Example: `"1.8 %"`"""
    resistance: Percent = None
    """The resistive part of its impedance. Look: ask the utility. Example: `"1.2 %"`"""
    reactance_to_resistance: Plain = None
    """Ratio of its reactance to its resistance. Look: ask the utility. Example: `1.5`
    """
    number: Text = None
    """Number painted on it, for the load letter. Look: pole or pad.
    Example: `"T-1234 (invented)"`"""
    houses_served: Count = None
    """How many houses it feeds. Look: follow the drops, or ask the utility.
    Example: `4`"""
    vehicles_served: Count = None
    """How many cars charge behind it. Look: ask the neighbours. Example: `2`"""


class FaultCurrent(Part):
    """Available fault current, as the utility wrote it."""

    line_to_line: FaultAmperes = None
    """Fault current from leg to leg. Look: utility's letter. Example: `"9.2 kA"`"""
    line_to_neutral: FaultAmperes = None
    """Fault current from leg to neutral; near the transformer it may be the larger.
    Look: utility's letter. Example: `"8.1 kA"`"""
    reactance_to_resistance: Plain = None
    """Ratio of reactance to resistance at that point. Look: utility's letter.
    Example: `1.2`"""
    point: (
        Stated[Literal["transformer terminals", "service point", "meter", "main"]]
        | None
    ) = None
    """Where it was stated for. Look: utility's letter. Example: `"meter"`"""
    letter: Text = None
    """Which letter says so. Look: its date and sender.
    Example: `"utility's letter of 3 March (invented)"`"""


class Service(Item):
    """The service: everything from the transformer to the main."""

    system: (
        Stated[
            Literal[
                "120/240 V split-phase",
                "120/208 V of a three-phase wye",
                "three-phase",
            ]
        ]
        | None
    ) = None
    """Which supply the house has. Look: meter face, or volts between the legs: 240 or
    208. Example: `"120/240 V split-phase"`"""
    voltage: Volts = None
    """Nominal voltage between the legs. Look: meter face. Example: `"240 V"`"""
    own_meter: YesNo = None
    """Whether this meter serves this dwelling and nobody else's. Look: meter number on
    the bill. Example: `true`"""
    utility: Text = None
    """Name of the utility, for the load letter. Look: bill.
    Example: `"invented utility"`"""
    utility_told: YesNo = None
    """Whether the utility was told of the new load. Look: your letter. Example: `false`
    """
    utility_asks_from: Power = None
    """New load from which the utility wants to be told. Look: its service manual.
    Example: `"9.6 kW"`"""
    main: MainDevice | None = None
    """The single main."""
    split_bus_mains: tuple[MainDevice, ...] = ()
    """The mains of a panel that has several and no single one."""
    first_disconnect: Text = None
    """Where the first switch after the meter is; all before it stays live. Look: from
    the meter on. Example: `"main breaker in the garage panel"`"""
    conductor: Conductor | None = None
    """Service conductors from meter to main."""
    conductor_length: Length = None
    """Their length. Look: tape measure. Example: `"12 ft"`"""
    conductor_owner: Owner | None = None
    """Who owns them. Look: utility's service manual. Example: `"owner"`"""
    service_point: (
        Stated[
            Literal["weatherhead", "meter", "transformer", "box at the property line"]
        ]
        | None
    ) = None
    """Where the utility's part ends and yours begins. Look: utility's service manual.
    Example: `"weatherhead"`"""
    meter_base_rating: Amperes = None
    """Rating of the meter base. Look: label inside or on its cover; never break the
    seal. Example: `"200 A"`"""
    meter_base_owner: Owner | None = None
    """Who owns the meter base. Look: utility's service manual. Example: `"owner"`"""
    drop: Conductor | None = None
    """Conductors from transformer to service point."""
    drop_length: Length = None
    """Their length. Look: pace it, or ask the utility. Example: `"80 ft"`"""
    drop_kind: Stated[Literal["overhead", "underground"]] | None = None
    """How they come. Look: the roof or the yard. Example: `"overhead"`"""
    drop_owner: Owner | None = None
    """Who owns them. Look: utility's service manual. Example: `"utility"`"""
    transformer: Transformer | None = None
    """The utility's transformer."""
    fault_current: FaultCurrent | None = None
    """Available fault current, as the utility wrote it."""
    emergency_disconnect: YesNo = None
    """Whether an outdoor switch turns the whole house off. Look: beside the meter.
    Example: `false`"""
    surge_protection: YesNo = None
    """Whether a surge-protective device guards the service. Look: in or beside the
    panel. Example: `false`"""
    grounding_electrode_conductor: Conductor | None = None
    """Wire from the service to the grounding electrode."""
    electrodes: tuple[Electrode, ...] = ()
    """Grounding electrodes found. Look: where the bare wire from the panel ends.
    Example: `["metal water pipe", "ground rod"]`"""
    grounding_clamps_tight: YesNo = None
    """Whether their clamps are tight and clean. Look: at each clamp. Example: `true`"""
    water_pipe_bonded: YesNo = None
    """Whether metal water pipes are bonded. Look: clamp near where the pipe enters.
    Example: `true`"""
    gas_pipe_bonded: YesNo = None
    """Whether metal gas pipes are bonded. Look: clamp near the gas meter.
    Example: `true`"""
    intersystem_bonding: YesNo = None
    """Whether there is a bonding bar for telephone and cable. Look: beside the meter.
    Example: `true`"""
    main_bonding_jumper_seen: YesNo = None
    """Whether the strap or green screw joining neutral and enclosure was seen. Look:
    main panel, by a qualified person. Example: `true`"""
