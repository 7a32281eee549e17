"""The building, the rules adopted for it, the work, and a detached building if any."""

from typing import Literal

from lugbook.premises.base import Id, Item, Part
from lugbook.premises.circuit import Conductor
from lugbook.premises.fields import (
    Amperes,
    Count,
    Day,
    FloorArea,
    Length,
    Resistance,
    SmallVolts,
    Text,
    Words,
    Year,
    YesNo,
)
from lugbook.premises.stated import Stated

__all__ = ["DetachedBuilding", "Dwelling", "Electrode", "Rules", "Work"]

NotPresent = Literal[
    "range",
    "dryer",
    "water heater",
    "heating",
    "cooling",
    "vehicle charging",
    "solar",
    "battery",
    "generator",
    "feeder",
    "detached building",
    "load management",
]
Electrode = Literal[
    "ground rod",
    "two ground rods",
    "concrete-encased electrode",
    "metal water pipe",
    "ground ring",
    "plate",
    "none seen",
]


class Dwelling(Part):
    """The house itself."""

    kind: (
        Stated[
            Literal[
                "one-family",
                "two-family",
                "apartment",
                "mobile home",
                "commercial",
            ]
        ]
        | None
    ) = None
    """What sort of building it is; the tool speaks only for a house with a service of
    its own. Look: tax record or deed. Example: `"one-family"`"""
    floor_area: FloorArea = None
    """Floor area by outside dimensions, without open porches, garages and spaces that
    cannot be lived in. Look: tax record or floor plan. Example: `"1920 ft²"`"""
    built: Year | None = None
    """Year in which the house was built. Look: tax record. Example: `1986`"""
    small_appliance_circuits: Count = None
    """How many 20 A circuits feed the receptacles of kitchen, pantry and dining room.
    Look: circuit directory on the panel door. Example: `2`"""
    laundry_circuits: Count = None
    """How many 20 A circuits feed the laundry receptacles. Look: circuit directory.
    Example: `1`"""
    loads_complete: YesNo = None
    """Whether the list of loads holds everything fixed or large in the house; without
    it no total can pass. Look: walk through every room, attic, garage and yard.
    Example: `true`"""
    not_present: tuple[NotPresent, ...] = ()
    """What the house surely does not have. Left out is unknown; none must be said here.
    Look: the same walk. Example: `["solar", "battery", "generator"]`"""
    owner_occupied: YesNo = None
    """Whether the owner lives in the house, which often decides who may do the work.
    Look: yourself. Example: `true`"""


class Rules(Part):
    """The rules adopted where the house stands, and who may work under them."""

    edition: Literal["2017", "2020", "2023", "2026"] | None = None
    """Edition of NFPA 70 (the NEC) adopted where the house stands. Look: ask the
    building department. Example: `"2023"`"""
    amendments: tuple[Words, ...] = ()
    """Names of the local amendments that apply, as `lugbook table` lists them. Look:
    building department's list. Example: `["some_city"]`"""
    place: Text = None
    """Town and state, for the packet. Look: address. Example: `"Invented Falls"`"""
    authority: Text = None
    """The office that inspects. Look: permit form.
    Example: `"county building department"`"""
    permit: Text = None
    """Number of the permit, or what is known of one. Look: permit card.
    Example: `"applied for"`"""
    permit_applied_on: Day | None = None
    """Day on which the permit was applied for; it commonly decides the edition. Look:
    permit form. Example: `2026-03-03`"""
    who_works: Stated[Literal["owner", "licensed electrician"]] | None = None
    """Who will do the work. Look: yourself. Example: `"licensed electrician"`"""
    owner_may_work: YesNo = None
    """Whether local law lets an owner do this work on the house. Look: ask the building
    department. Example: `false`"""


class Work(Part):
    """The job itself: how far it reaches, what was seen before it, what is at hand."""

    scope: (
        Stated[
            Literal["circuit only", "new feeder", "panel replaced", "service replaced"]
        ]
        | None
    ) = None
    """How far the work reaches: replacing the panel or service brings duties of its
    own. Look: the quote. Example: `"circuit only"`"""
    circuits_extended_by: Length = None
    """By how much existing 120 V circuits are lengthened when a panel moves. Look: the
    quote. Example: `"4 ft"`"""
    signs_seen: tuple[
        Literal[
            "none",
            "meter seal broken",
            "heat at the meter or service conductors",
            "damaged drop",
            "lights brighten when others dim",
            "burnt bus",
            "discolored service lugs",
            "crackling or buzzing that rises",
            "smell of fish or hot plastic",
            "no room to work",
        ],
        ...,
    ] = ()
    """Signs on which the work stops and someone is called. Write `["none"]` after
    looking. Look: drop, meter, panel cover, lights in use. Example: `["none"]`"""
    protective_equipment: tuple[
        Literal[
            "rated gloves with leather protectors",
            "face shield",
            "safety glasses",
            "arc-rated clothing",
            "insulated tools",
            "voltage tester proven before and after",
            "lock and tag",
            "none",
        ],
        ...,
    ] = ()
    """What the person who opens the cover has at hand. Look: tool bag.
    Example: `["safety glasses", "lock and tag"]`"""


class DetachedBuilding(Item):
    """A building apart from the house, in which the charger or its panel stands."""

    already_supplied: YesNo = None
    """Whether the building already has power from the house. Look: is there any light
    or receptacle in it? Example: `true`"""
    supply_kind: Stated[Literal["feeder", "branch circuit", "none"]] | None = None
    """What brings the power: a feeder to a panel, or a single branch circuit. Look: a
    panel in the building means a feeder. Example: `"feeder"`"""
    supplied_by: Id | None = None
    """Id of the feeder or circuit that supplies it. Look: house panel's directory.
    Example: `"garage_feeder"`"""
    feeder_wires: Count = None
    """How many wires come in, the grounding conductor counted: three or four. Look:
    inside the building's panel, by a qualified person. Example: `4`"""
    grounding_electrode: YesNo = None
    """Whether the building has a grounding electrode of its own. Look: rod or clamp at
    the outer wall. Example: `true`"""
    electrodes: tuple[Electrode, ...] = ()
    """Which electrodes were found. Look: outer wall below the panel.
    Example: `["two ground rods"]`"""
    electrode_resistance: Resistance = None
    """Measured resistance of a single rod to earth. Look: tester's report.
    Example: `"22 ohm"`"""
    grounding_electrode_conductor: Conductor | None = None
    """Wire from the building's panel to its electrode. Look: from the rod to the panel.
    """
    disconnect_at_building: YesNo = None
    """Whether the building's supply can be switched off at the building. Look: its
    panel or a switch near the door. Example: `true`"""
    disconnect_place: Text = None
    """Where that switch is. Look: the building. Example: `"inside, left of the door"`
    """
    disconnect_labelled: YesNo = None
    """Whether that switch says what it disconnects. Look: its cover. Example: `true`"""
    throws: Count = None
    """How many handles must be moved to switch everything in the building off. Look:
    its panel. Example: `1`"""
    metal_paths_between: YesNo = None
    """Whether metal joins the two buildings: water or gas pipe, cable screen, metal
    raceway. Look: where pipes enter. Example: `false`"""
    neutral_bonded_there: YesNo = None
    """Whether neutral and ground are joined in the building's panel. Look: bonding
    screw or strap, by a qualified person. Example: `false`"""
    test_current: Amperes = None
    """Current of a 120 V load switched on for the bonding test. Look: heater on a
    receptacle there. Example: `"12 A"`"""
    neutral_to_ground_voltage: SmallVolts = None
    """Voltage from neutral to ground there while that load runs. Look: meter reading.
    Example: `"0.8 V"`"""
    ground_current: Amperes = None
    """Current in the grounding conductor while that load runs; sound is none. Look:
    clamp reading, by a qualified person. Example: `"0 A"`"""
