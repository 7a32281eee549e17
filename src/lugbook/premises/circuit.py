"""A circuit or feeder: device, conductors, the run in sections, its terminals."""

from typing import Literal

from lugbook.premises.base import Id, Item, Part
from lugbook.premises.fields import (
    Amperes,
    Angle,
    Bend,
    Celsius,
    Count,
    Day,
    FaultAmperes,
    Length,
    Position,
    Resistance,
    Size,
    SoilResistivity,
    Text,
    Torque,
    YesNo,
)
from lugbook.premises.stated import Stated

__all__ = [
    "CABLES",
    "RACEWAYS",
    "Circuit",
    "Conductor",
    "ConduitBody",
    "Disconnect",
    "EquipmentGround",
    "OvercurrentDevice",
    "Section",
    "SharedConductor",
    "Terminal",
    "TerminalDegrees",
    "TerminalMaterials",
]

Material = Stated[Literal["copper", "aluminum"]]
TerminalDegrees = Stated[Literal["60 °C", "75 °C", "90 °C", "60/75 °C"]]
TerminalMaterials = Stated[
    Literal["copper only", "copper or aluminum", "aluminum only"]
]
Insulation = Stated[
    Literal[
        "THHN",
        "THWN",
        "THWN-2",
        "THHN/THWN-2",
        "XHHW",
        "XHHW-2",
        "RHH/RHW-2/USE-2",
        "RHW-2",
        "USE-2",
        "TW",
        "THW",
        "THW-2",
        "bare",
        "as the cable",
    ]
]
WiringMethod = Stated[
    Literal[
        "EMT",
        "IMC",
        "RMC",
        "PVC 40",
        "PVC 80",
        "LFMC",
        "LFNC",
        "FMC",
        "ENT",
        "NM cable",
        "SE cable",
        "MC cable",
        "AC cable",
        "UF cable",
        "open air",
    ]
]
RACEWAYS = ("EMT", "IMC", "RMC", "PVC 40", "PVC 80", "LFMC", "LFNC", "FMC", "ENT")
CABLES = ("NM cable", "SE cable", "MC cable", "AC cable", "UF cable")
Place = Stated[
    Literal[
        "indoors",
        "garage",
        "attic",
        "crawl space",
        "basement",
        "in a wall",
        "outdoors",
        "roof",
        "underground",
    ]
]


class Conductor(Part):
    """A conductor, or several alike in parallel."""

    material: Material | None = None
    """Metal of the conductor. Look: print on the jacket: CU or AL, or its colour where
    bare. Example: `"copper"`"""
    size: Size = None
    """Its size. Look: print on the jacket. Example: `"3 AWG"`"""
    insulation: Insulation | None = None
    """Type letters of its insulation. Look: print on the jacket.
    Example: `"THHN/THWN-2"`"""
    print_legend: Text = None
    """The whole print, as read. Look: along the jacket.
    Example: `"3 AWG CU THHN/THWN-2 600 V"`"""
    stranding: Stated[Literal["solid", "standard", "compact", "fine"]] | None = None
    """How it is stranded; fine strands need special lugs. Look: its cut end.
    Example: `"standard"`"""
    alloy: Text = None
    """For aluminum: the alloy on the print. Look: along the jacket: AA-8000.
    Example: `"AA-8000"`"""
    color: Text = None
    """Colour of the insulation, or of the tape that re-marks it. Look: its end.
    Example: `"black"`"""
    parallel_sets: Count = None
    """How many alike run in parallel for each leg; left out is one. Look: the lugs.
    Example: `1`"""


class SharedConductor(Conductor):
    """Conductors of other circuits in the same raceway."""

    count: Count = None
    """How many of them. Look: at an open box, by a qualified person. Example: `3`"""


class EquipmentGround(Part):
    """The equipment grounding conductor: a wire, or the raceway itself."""

    kind: Stated[Literal["wire", "raceway", "cable armor", "none"]] | None = None
    """What serves as the grounding conductor. Look: the plan, or an open box.
    Example: `"wire"`"""
    material: Material | None = None
    """Its metal. Look: print, or colour where bare. Example: `"copper"`"""
    size: Size = None
    """Its size. Look: print on the jacket. Example: `"8 AWG"`"""
    insulated: YesNo = None
    """Whether it is insulated. Look: its end. Example: `true`"""


class OvercurrentDevice(Part):
    """The circuit's overcurrent device."""

    rating: Amperes = None
    """Its rating. Look: handle. Example: `"60 A"`"""
    poles: Count = None
    """Its poles. Look: handles tied together. Example: `2`"""
    kind: Stated[Literal["circuit breaker", "fuse"]] | None = None
    """What it is. Look: the panel. Example: `"circuit breaker"`"""
    type: Text = None
    """Type printed on it. Look: its face or side. Example: `"type P (invented)"`"""
    mounting: Stated[Literal["plug-on", "bolt-on"]] | None = None
    """How it holds to the bus. Look: panel label. Example: `"plug-on"`"""
    common_trip: YesNo = None
    """Whether both poles trip together. Look: its label. Example: `true`"""
    listed_for_panel: YesNo = None
    """Whether the panel's label, or a classified list naming the panel, names its type.
    Look: label inside the door. Example: `true`"""
    rated_100_percent: YesNo = None
    """Whether it is marked for 100 % continuous load. Look: its label. Example: `false`
    """
    interrupting_rating: FaultAmperes = None
    """Fault current it can break. Look: its label: AIC. Example: `"10 kA"`"""
    ground_fault_protection: YesNo = None
    """Whether it has ground-fault protection for people. Look: test button.
    Example: `false`"""
    pole_resistance: Resistance = None
    """Resistance across one closed pole, from a millivolt reading. Look: test report.
    Example: `"1.2 mΩ"`"""
    terminal_temperature: TerminalDegrees | None = None
    """Temperature rating of its terminals. Look: its face or side. Example: `"75 °C"`
    """
    terminal_smallest: Size = None
    """Smallest wire it takes. Look: its face or side. Example: `"8 AWG"`"""
    terminal_largest: Size = None
    """Largest wire it takes. Look: its face or side. Example: `"1/0 AWG"`"""
    terminal_materials: TerminalMaterials | None = None
    """Metals its terminals are marked for. Look: its face or side: CU or AL/CU.
    Example: `"copper or aluminum"`"""
    terminal_torque: Torque = None
    """Torque printed on it, with the unit as printed. Look: its face or side.
    Example: `"45 lbf·in"`"""


class Disconnect(Part):
    """A disconnecting means at or before the charger."""

    rating: Amperes = None
    """Its rating. Look: label inside its cover. Example: `"100 A"`"""
    kind: (
        Stated[Literal["switch", "fused switch", "circuit breaker", "none"]] | None
    ) = None
    """What it is; `"none"` says that there is none. Look: label inside its cover.
    Example: `"switch"`"""
    fuse_rating: Amperes = None
    """Rating of its fuses, if any. Look: the fuses. Example: `"90 A"`"""
    in_sight: YesNo = None
    """Whether it can be seen from the charger and is within 50 ft. Look: from the
    charger. Example: `true`"""
    distance: Length = None
    """Distance from the charger. Look: tape measure. Example: `"6 ft"`"""
    readily_accessible: YesNo = None
    """Whether it can be reached without ladder, key or moving things. Look: go to it.
    Example: `true`"""
    lockable_open: YesNo = None
    """Whether a padlock can hold it open, and the fitting for the lock stays on it.
    Look: hole in its handle. Example: `true`"""
    plaque: YesNo = None
    """Whether a sign at the charger says where it is, when it is not in sight. Look: at
    the charger. Example: `true`"""
    interrupting_rating: FaultAmperes = None
    """Fault current it withstands. Look: label inside its cover. Example: `"10 kA"`"""
    enclosure_type: Text = None
    """Type of its enclosure. Look: label: 3R outdoors. Example: `"3R"`"""
    bending_space: Length = None
    """Clear distance from its terminals to the wall they face. Look: tape measure.
    Example: `"5 in"`"""
    terminal_temperature: TerminalDegrees | None = None
    """Temperature rating of its terminals. Look: label inside its cover.
    Example: `"75 °C"`"""
    terminal_smallest: Size = None
    """Smallest wire it takes. Look: label inside its cover. Example: `"14 AWG"`"""
    terminal_largest: Size = None
    """Largest wire it takes. Look: label inside its cover. Example: `"1/0 AWG"`"""
    terminal_materials: TerminalMaterials | None = None
    """Metals its terminals are marked for. Look: label inside its cover.
    Example: `"copper or aluminum"`"""
    terminal_torque: Torque = None
    """Torque printed in it, with the unit as printed. Look: label inside its cover.
    Example: `"50 lbf·in"`"""


class ConduitBody(Part):
    """A fitting in which the run turns or is pulled."""

    kind: Stated[Literal["LB", "LL", "LR", "C", "T", "box", "pull elbow"]] | None = None
    """What it is. Look: the run. Example: `"LB"`"""
    marked_for_conductors: YesNo = None
    """Whether it is marked for conductors of this number and size. Look: inside it.
    Example: `true`"""
    inside_length: Length = None
    """Clear inside length in the direction of the pull. Look: tape measure.
    Example: `"6 in"`"""
    inside_width: Length = None
    """Clear inside width. Look: tape measure. Example: `"4 in"`"""
    inside_depth: Length = None
    """Clear inside depth. Look: tape measure. Example: `"4 in"`"""
    accessible: YesNo = None
    """Whether it can be opened later without breaking anything. Look: the run.
    Example: `true`"""
    bends_before: Count = None
    """How many of the section's bends come before it. Look: the run. Example: `1`"""


class Section(Item):
    """A stretch of the run in which nothing changes."""

    method: WiringMethod | None = None
    """Raceway or cable used. Look: the run. Example: `"EMT"`"""
    trade_size: (
        Stated[Literal["1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3"]] | None
    ) = None
    """Trade size of the raceway. Look: print or stamp on it. Example: `"1-1/4"`"""
    length: Length = None
    """Length one way, along the bends. Look: tape measure. Example: `"22 ft"`"""
    ambient: Celsius = None
    """Hottest it gets around this stretch. Look: thermometer on the hottest day.
    Example: `"125 °F"`"""
    coldest: Celsius = None
    """Coldest it gets, for how far the raceway shrinks. Look: local weather record.
    Example: `"-10 °F"`"""
    place: Place | None = None
    """Where this stretch runs. Look: the run. Example: `"attic"`"""
    wet: YesNo = None
    """Whether it is a wet place; a raceway outdoors counts as wet inside. Look: the
    run. Example: `false`"""
    in_insulation: YesNo = None
    """Whether it lies in thermal insulation. Look: attic or wall. Example: `false`"""
    other_current_carrying_conductors: Count = None
    """How many current-carrying conductors of other circuits share the raceway or
    bundle. Look: an open box, by a qualified person. Example: `0`"""
    other_conductors: tuple[SharedConductor, ...] = ()
    """All conductors of other circuits in the raceway, for its fill."""
    bundled_length: Length = None
    """Over what length cables lie together without a gap. Look: the run.
    Example: `"3 ft"`"""
    cables_in_one_hole: Count = None
    """Most cables that share one hole with this one, this one counted. Look: studs and
    joists. Example: `2`"""
    spacing_kept: YesNo = None
    """Whether cables in insulation or in a hole are kept apart. Look: the run.
    Example: `true`"""
    roof_height: Length = None
    """Height above the roof. Look: tape measure. Example: `"4 in"`"""
    burial_depth: Length = None
    """Cover above it, from its top to the surface. Look: the trench, before it is
    filled. Example: `"18 in"`"""
    under_driveway: YesNo = None
    """Whether it passes under a driveway. Look: the trench. Example: `false`"""
    soil_resistivity: SoilResistivity = None
    """Thermal resistivity of the soil. Look: soil report; dry sand is high.
    Example: `"0.9 K·m/W"`"""
    warning_tape: YesNo = None
    """Whether a warning tape lies above it. Look: the trench. Example: `true`"""
    risers_protected: YesNo = None
    """Whether it is protected where it comes out of the ground. Look: both ends.
    Example: `true`"""
    ends_sealed: YesNo = None
    """Whether its ends are sealed against moist air and water. Look: both ends.
    Example: `true`"""
    sunlight: YesNo = None
    """Whether the sun falls on it. Look: the run. Example: `true`"""
    raintight_fittings: YesNo = None
    """Whether its fittings and hubs are made for rain. Look: marks on them.
    Example: `true`"""
    exposed_to_damage: YesNo = None
    """Whether a car, a tool or a child can hit it. Look: the run. Example: `false`"""
    height_above_floor: Length = None
    """Lowest height above the floor where it is exposed. Look: tape measure.
    Example: `"6 ft"`"""
    edge_distance: Length = None
    """Smallest distance from its hole to the face of the stud or joist. Look: tape
    measure. Example: `"1 1/2 in"`"""
    nail_plates: YesNo = None
    """Whether steel plates guard it where that distance is small. Look: the studs.
    Example: `true`"""
    crosses_fire_wall: YesNo = None
    """Whether it crosses the wall between garage and house. Look: the run.
    Example: `true`"""
    fire_sealed: YesNo = None
    """Whether that hole is sealed with listed material. Look: the hole. Example: `true`
    """
    bends: tuple[Bend, ...] = ()
    """Angle of every bend, in order. Look: the run. Example: `["90 deg", "45 deg"]`"""
    bend_radius: Length = None
    """Smallest radius of them. Look: tape measure, or the bender. Example: `"6 in"`"""
    conduit_bodies: tuple[ConduitBody, ...] = ()
    """Fittings in which the run turns or is pulled."""
    support_spacing: Length = None
    """Largest distance between straps. Look: tape measure. Example: `"8 ft"`"""
    first_support: Length = None
    """Largest distance from a box to the first strap. Look: tape measure.
    Example: `"2 ft"`"""
    expansion_fittings: Count = None
    """How many expansion fittings it has. Look: the run. Example: `1`"""
    fittings_tight: YesNo = None
    """Whether all its couplings and locknuts are tight. Look: hand and wrench.
    Example: `true`"""
    knockouts: Stated[Literal["clean", "concentric", "none"]] | None = None
    """Knockouts a metal raceway enters by; rings left in weaken the bond. Look: its
    ends. Example: `"clean"`"""
    corroded: YesNo = None
    """Whether a metal raceway shows rust. Look: the run. Example: `false`"""
    end_to_end_resistance: Resistance = None
    """Resistance of a metal raceway from end to end. Look: test report.
    Example: `"0.05 ohm"`"""
    conductor: Conductor | None = None
    """The legs' conductors here, if they differ from the circuit's."""
    equipment_ground: EquipmentGround | None = None
    """The grounding conductor here, if it differs from the circuit's."""


class Terminal(Item):
    """One clamping point on the path, or a splice."""

    at: Stated[
        Literal[
            "overcurrent device",
            "disconnect line",
            "disconnect load",
            "splice",
            "charger",
            "receptacle",
            "main lugs",
            "meter base",
            "grounding bar",
            "neutral bar",
        ]
    ]
    """Where on the path it is. Look: the equipment. Example: `"overcurrent device"`"""
    on: Stated[Literal["leg A", "leg B", "neutral", "ground"]] | None = None
    """Which conductor it holds. Look: the wire. Example: `"leg A"`"""
    section: Id | None = None
    """Id of the section that ends at it. Look: the run. Example: `"garage_wall"`"""
    inside: Stated[Literal["panel", "disconnect", "box", "conduit body"]] | None = None
    """For a splice: in which enclosure it sits. Look: the run. Example: `"panel"`"""
    kind: Stated[Literal["slotted screw", "hex socket", "hex head", "other"]] | None = (
        None
    )
    """How it is driven. Look: its head. Example: `"hex socket"`"""
    hex_across_flats: Length = None
    """Size of its hexagon. Look: the key that fits. Example: `"3/16 in"`"""
    temperature: TerminalDegrees | None = None
    """Its temperature rating. Look: beside it. Example: `"75 °C"`"""
    smallest: Size = None
    """Smallest wire it takes. Look: beside it. Example: `"8 AWG"`"""
    largest: Size = None
    """Largest wire it takes. Look: beside it. Example: `"1/0 AWG"`"""
    materials: TerminalMaterials | None = None
    """Metals it is marked for. Look: beside it: CU or AL/CU.
    Example: `"copper or aluminum"`"""
    marking: Text = None
    """Marking of the lug, as read. Look: on the lug. Example: `"AL9CU"`"""
    compound_required: YesNo = None
    """Whether its maker asks for oxide-inhibiting compound. Look: instructions.
    Example: `false`"""
    fine_strands: YesNo = None
    """Whether it is identified for fine-stranded wire. Look: beside it, or
    instructions. Example: `false`"""
    wires_in_it: Count = None
    """How many wires are in it. Look: at it, dead and by a qualified person.
    Example: `1`"""
    torque: Torque = None
    """Torque printed for it, with the unit as printed. Look: label first.
    Example: `"50 lbf·in"`"""
    torque_reached: Torque = None
    """Torque it was tightened to, where known before any record. Look: torque seal's
    tag. Example: `"50 lbf·in"`"""
    tightened_on: Day | None = None
    """Day on which it was last tightened. Look: torque seal's tag.
    Example: `2026-03-03`"""


class Circuit(Item):
    """A circuit or feeder as proposed or as it stands; what is left out is sized."""

    fed_from: Id | None = None
    """Id of the panel or service that feeds it. Look: where its breaker sits.
    Example: `"main_panel"`"""
    positions: tuple[Position, ...] = ()
    """Positions of its breaker. Look: numbers beside the handles. Example: `[27, 29]`
    """
    serves: tuple[Id, ...] = ()
    """Ids of what it feeds, where that is not the charger. Look: follow it.
    Example: `["second_charger"]`"""
    serves_whole_dwelling: YesNo = None
    """For a feeder: whether it carries the whole dwelling. Look: the house.
    Example: `false`"""
    overcurrent: OvercurrentDevice | None = None
    """Its overcurrent device."""
    conductor: Conductor | None = None
    """Conductors of the legs."""
    neutral: Conductor | None = None
    """Its neutral."""
    neutral_pulled: YesNo = None
    """Whether a neutral is pulled; a hard-wired 240 V charger needs none. Look: the
    plan. Example: `false`"""
    equipment_ground: EquipmentGround | None = None
    """Its equipment grounding conductor."""
    disconnect: Disconnect | None = None
    """Its disconnect at or before the charger."""
    sections: tuple[Section, ...] = ()
    """The run from panel to charger, cut where anything changes."""
    terminals: tuple[Terminal, ...] = ()
    """Every clamping point on the path."""
    white_conductor_reidentified: YesNo = None
    """Whether a white wire used for a leg is re-marked at both ends. Look: both ends.
    Example: `true`"""
    directory_text: Text = None
    """What the directory says of it. Look: panel door.
    Example: `"vehicle charger, outer garage wall"`"""
    bend_total: Angle = None
    """Sum of its bends, where single bends are not known. Look: the run.
    Example: `"270 deg"`"""

    @property
    def fitted_disconnect(self) -> Disconnect | None:
        """The disconnect; None where none is stated or the plan says there is none."""
        stated = self.disconnect
        none = stated is not None and stated.kind and stated.kind.value == "none"
        return None if none else stated
