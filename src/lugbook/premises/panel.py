"""Panels: ratings, breakers by position, what was found on opening them."""

from typing import Literal

from lugbook.premises.base import Id, Item, Part
from lugbook.premises.circuit import TerminalDegrees
from lugbook.premises.fields import (
    Amperes,
    Celsius,
    Count,
    FaultAmperes,
    Length,
    Position,
    ServedArea,
    Size,
    Text,
    Torque,
    Words,
    Year,
    YesNo,
)
from lugbook.premises.stated import Stated

__all__ = ["Breaker", "Condition", "Panel"]

Condition = Literal[
    "clean",
    "corroded bus",
    "burnt stab",
    "water marks",
    "melted insulation",
    "open knockouts",
    "missing filler",
    "smell of burning",
    "breaker family under recall",
    "aluminum branch conductors",
    "two wires under one screw",
    "label not legible",
]


class Breaker(Part):
    """A breaker in its position or positions."""

    positions: tuple[Position, ...]
    """Numbers of the spaces it takes. Look: numbers beside the handles.
    Example: `[5, 7]`"""
    poles: Count = None
    """Its poles: one for 120 V, two for 240 V. Look: handles tied together.
    Example: `2`"""
    rating: Amperes = None
    """Number on its handle. Look: handle. Example: `"30 A"`"""
    type: Text = None
    """Type printed on it. Look: its side or face. Example: `"type P (invented)"`"""
    interrupting_rating: FaultAmperes = None
    """Fault current it can break. Look: its label: AIC or 10 kA. Example: `"10 kA"`"""
    tandem: YesNo = None
    """Whether two breakers share one space. Look: two handles in one space.
    Example: `false`"""
    leg: Literal["A", "B", "both"] | None = None
    """Leg it takes from. Look: clamp or meter, by a qualified person. Example: `"both"`
    """
    serves: tuple[Id, ...] = ()
    """Ids of what it serves. Look: directory; better, switch it off and see.
    Example: `["dryer"]`"""
    directory_text: Text = None
    """What the directory says of it. Look: panel door. Example: `"dryer"`"""
    terminal_torque: Torque = None
    """Torque printed on it. Look: its face or side. Example: `"35 lbf·in"`"""


class Panel(Item):
    """A panelboard in its enclosure."""

    fed_from: Id | None = None
    """Id of the service or feeder that feeds it. Look: where its main wires come from.
    Example: `"service"`"""
    place: Text = None
    """Where it hangs. Look: the house. Example: `"garage, inner wall"`"""
    room: (
        Stated[
            Literal[
                "garage",
                "basement",
                "utility room",
                "hall",
                "kitchen",
                "living space",
                "clothes closet",
                "bathroom",
                "over steps",
                "outdoors",
                "accessory building",
            ]
        ]
        | None
    ) = None
    """Kind of room, some of which are forbidden. Look: the house. Example: `"garage"`
    """
    maker: Text = None
    """Maker's name on the label, to look for recalls. Look: label inside the door.
    Example: `"invented"`"""
    model: Text = None
    """Model or catalogue number. Look: label inside the door.
    Example: `"P-200 (invented)"`"""
    made: Year | None = None
    """Year in which it was made or fitted. Look: label, or the permit record.
    Example: `1986`"""
    main_kind: Stated[Literal["main breaker", "main lugs"]] | None = None
    """Whether it has a main breaker of its own or only lugs. Look: the largest handle.
    Example: `"main breaker"`"""
    main_rating: Amperes = None
    """Number on its main breaker. Look: handle. Example: `"200 A"`"""
    bus_rating: Amperes = None
    """Rating of its bus bars, not of its main. Look: label inside the door: maximum
    amperes. Example: `"200 A"`"""
    spaces: Count = None
    """How many spaces it has. Look: numbers beside the handles. Example: `30`"""
    free_positions: tuple[Position, ...] = ()
    """Numbers of the spaces that are free. Look: filler plates.
    Example: `[27, 28, 29, 30]`"""
    tandem_allowed_positions: tuple[Position, ...] = ()
    """Spaces in which its label allows tandem breakers. Look: diagram on the label.
    Example: `[19, 20]`"""
    breaker_types_on_label: tuple[Words, ...] = ()
    """Types of breaker its label names. Look: label inside the door.
    Example: `["type P (invented)"]`"""
    largest_breaker_on_label: Amperes = None
    """Largest branch breaker its label allows. Look: label inside the door.
    Example: `"125 A"`"""
    stab_limit: Amperes = None
    """Largest sum of the breakers on one stab. Look: label inside the door.
    Example: `"200 A"`"""
    interrupting_rating: FaultAmperes = None
    """Short-circuit rating of the whole. Look: label inside the door.
    Example: `"22 kA"`"""
    series_rating: FaultAmperes = None
    """Short-circuit rating with the main or fuse named on its series-rating label.
    Look: label inside the door. Example: `"22 kA"`"""
    series_rated_types: tuple[Words, ...] = ()
    """Types of breaker named on that series-rating label. Look: label inside the door.
    Example: `["type P (invented)"]`"""
    listed_100_percent: YesNo = None
    """Whether the assembly is listed for 100 % continuous load; house panels hardly
    ever are. Look: label. Example: `false`"""
    split_bus: YesNo = None
    """Whether it has several mains and no single one. Look: up to six handles at the
    top. Example: `false`"""
    terminal_temperature: TerminalDegrees | None = None
    """Temperature rating its label gives for terminals. Look: label inside the door.
    Example: `"75 °C"`"""
    main_lug_torque: Torque = None
    """Torque printed for its main lugs. Look: label inside the door.
    Example: `"250 lbf·in"`"""
    main_lug_smallest: Size = None
    """Smallest wire its main lugs take. Look: label inside the door. Example: `"4 AWG"`
    """
    main_lug_largest: Size = None
    """Largest wire its main lugs take. Look: label inside the door.
    Example: `"250 kcmil"`"""
    neutral_bonded: YesNo = None
    """Whether neutral and enclosure are joined in it: only at the service. Look: green
    screw or strap, by a qualified person. Example: `true`"""
    separate_grounding_bar: YesNo = None
    """Whether grounding conductors have a bar of their own. Look: bars, by a qualified
    person. Example: `true`"""
    neutrals_share_holes: YesNo = None
    """Whether any hole of the neutral bar holds two neutrals. Look: neutral bar, by a
    qualified person. Example: `false`"""
    condition: tuple[Condition, ...] = ()
    """What was found; write `["clean"]` after looking. Some words stop everything.
    Look: cover off, by a qualified person. Example: `["clean"]`"""
    ambient: Celsius = None
    """Hottest the room gets. Look: thermometer on the hottest day. Example: `"95 °F"`
    """
    enclosure_type: Text = None
    """Type of its enclosure. Look: label: type 1 indoors, 3R outdoors. Example: `"1"`
    """
    working_depth: Length = None
    """Clear depth before it. Look: tape measure. Example: `"4 ft"`"""
    working_width: Length = None
    """Clear width before it. Look: tape measure. Example: `"36 in"`"""
    working_height: Length = None
    """Clear height before it. Look: tape measure. Example: `"7 ft"`"""
    highest_handle: Length = None
    """Height of its highest handle above the floor. Look: tape measure.
    Example: `"5 ft 8 in"`"""
    bending_space: Length = None
    """Clear distance from the main or branch terminals to the wall they face. Look:
    tape measure, by a qualified person. Example: `"6 in"`"""
    floor_area_served: ServedArea = None
    """For a panel behind a feeder: floor area of the rooms to live in whose lights and
    receptacles it feeds; 0 ft² for a garage or shop. Look: switch it off and walk.
    Example: `"400 ft²"`"""
    small_appliance_circuits: Count = None
    """For a panel behind a feeder: 20 A circuits of kitchen, pantry and dining
    receptacles in it. Look: its directory. Example: `0`"""
    laundry_circuits: Count = None
    """For a panel behind a feeder: 20 A circuits of laundry receptacles in it. Look:
    its directory. Example: `0`"""
    breakers: tuple[Breaker, ...] = ()
    """Its breakers by position."""
