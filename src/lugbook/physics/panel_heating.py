"""What breaker, lugs, neighbours, cover and charger terminals will warm to, as ranges.

Nothing here is exact: watts per pole, joints and panels differ, and no measured
residential panel was found in public texts. So a forecast is a range from 5 to 95 %,
built from priors in `panel-priors.toml`, and a measurement replaces it.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from lugbook.errors import OutOfRange
from lugbook.physics.contact import PriorRange, TerminalPlace, joint_signs
from lugbook.physics.elementwise import require_between

__all__ = [
    "PanelPoint",
    "PointForecast",
    "panel_forecast",
    "pole_resistance",
    "pole_watts",
    "rise_at_other_current",
    "scaled_limit_rise",
]

PanelPoint = Literal[
    "breaker-face",
    "breaker-lug",
    "charger-terminal",
    "neighbour-face",
    "panel-air",
    "panel-cover",
    "raceway",
]
PanelKind = Literal["closed", "in-cabinet", "open-cover"]

_INSIDE_PANEL = frozenset(
    {"breaker-face", "breaker-lug", "neighbour-face", "panel-air", "panel-cover"}
)
_TERMINALS = frozenset({"breaker-lug", "charger-terminal"})


@dataclass(frozen=True, slots=True)
class PointForecast:
    """Where one point will settle.

    Args:
        point: Which point. [-]
        rise_k: Rise above the room. [K]
        temperature_c: Temperature. [°C]
        pole_w: Watts in each pole that the forecast rests on. [W]
        drivers: What makes the range wide, the largest first. [-]
    """

    point: PanelPoint
    rise_k: PriorRange
    temperature_c: PriorRange
    pole_w: PriorRange
    drivers: tuple[str, ...]


@cache
def _priors() -> dict[str, Any]:
    text = files("lugbook.physics").joinpath("panel-priors.toml").read_text("utf-8")
    return tomllib.loads(text)


def _prior(*keys: str) -> PriorRange:
    found: Any = _priors()
    for key in keys:
        found = found[key]
    low, median, high = found["range"]
    return PriorRange(low, median, high)


def pole_resistance(*, rating_a: float) -> PriorRange:
    """Resistance of one pole of a thermal-magnetic breaker, as a prior.

    Args:
        rating_a: Rating printed on the handle. [A]

    Returns:
        Resistance, 5 to 95 %. [ohm]

    Raises:
        OutOfRange: Rating outside 15 to 125 A.

    Valid for:
        Common plug-in and bolt-on breakers; between rows the next smaller rating is
        used, which errs hot.

    Source:
        iec-60898-1, power loss table (upper bound, from memory); one maker's figure;
        typical values are common practice, no source

    Checked by:
        test_pole_watts_stay_in_the_known_band

    Example:
        >>> pole_resistance(rating_a=100.0).median
        0.0008
    """
    require_between("Breaker rating", rating_a, 15.0, 125.0, "A")
    rows = _priors()["pole"]["rows"]
    _rating, low, median, high = [row for row in rows if row[0] <= rating_a][-1]
    return PriorRange(low / 1e3, median / 1e3, high / 1e3)


def pole_watts(*, rating_a: float, current_a: float) -> PriorRange:
    """Heat of one pole at a current, as a prior.

    Args:
        rating_a: Rating printed on the handle. [A]
        current_a: Current through the pole. [A]

    Returns:
        Heat, 5 to 95 %. [W]

    Raises:
        OutOfRange: Rating outside 15 to 125 A, or current above 1.2 times the rating.

    Valid for:
        As `pole_resistance`.

    Source:
        As `pole_resistance`

    Checked by:
        test_pole_watts_stay_in_the_known_band

    Example:
        >>> round(pole_watts(rating_a=100.0, current_a=80.0).median, 2)
        5.12
    """
    ohm = pole_resistance(rating_a=rating_a)
    require_between(
        "Current over rating", current_a / rating_a, 0.0, 1.2, "",
        "Above that the breaker trips before it settles.",
    )  # fmt: skip
    square = current_a * current_a
    return PriorRange(ohm.low * square, ohm.median * square, ohm.high * square)


def rise_at_other_current(
    *, rise_k: float, current_a: float, other_current_a: float
) -> PriorRange:
    """A settled rise carried to another current.

    Rise goes with current to a power between 1.6 and 2. Downwards the small power is
    the hot one, upwards the large one; the range holds both.

    Args:
        rise_k: Settled rise at the known current. [K]
        current_a: Current at which it settled. [A]
        other_current_a: Current wanted. [A]

    Returns:
        Rise at the other current. [K]

    Raises:
        OutOfRange: Currents not above zero, or more than 2.5 times apart.

    Valid for:
        Settled rises of breakers, lugs, terminals and raceways in still air. Scaling
        from less than 40 % of the wanted current is refused: a reading that weak
        proves nothing.

    Source:
        iec-61439-1, 10.10 (n = 1.64); n = 1.8 and 2 are from memory

    Checked by:
        test_one_exponent_reconciles_two_readings_of_one_breaker

    Example:
        >>> scaled = rise_at_other_current(rise_k=30.0, current_a=80.0,
        ...     other_current_a=64.0)
        >>> round(scaled.low, 1), round(scaled.median, 1), round(scaled.high, 1)
        (19.2, 19.9, 21.0)
    """
    require_between("Rise", rise_k, 0.0, 200.0, "K")
    require_between("Known current", current_a, 0.1, 400.0, "A")
    require_between("Other current", other_current_a, 0.1, 400.0, "A")
    ratio = other_current_a / current_a
    require_between(
        "Other over known current", ratio, 0.04, 2.5, "",
        "Measure at 40 % of the wanted current or more.",
    )  # fmt: skip
    power = _prior("exponent")
    low, high = sorted((rise_k * ratio**power.low, rise_k * ratio**power.high))
    return PriorRange(low, rise_k * ratio**power.median, high)


def scaled_limit_rise(
    *, limit_rise_k: float, rating_a: float, current_a: float
) -> PriorRange:
    """A rise limit that a standard sets at rated current, at part of that current.

    Args:
        limit_rise_k: Limit at rated current. [K]
        rating_a: Rated current. [A]
        current_a: Current at which something was measured or forecast. [A]

    Returns:
        What the limit corresponds to; the low end is the strict reading. [K]

    Raises:
        OutOfRange: Current outside 4 to 100 % of the rating.

    Valid for:
        Comparing a rise at part load with a type-test limit; the standard itself tests
        at full current only.

    Source:
        iec-61439-1, 10.10

    Checked by:
        test_a_50_k_limit_at_80_percent

    Example:
        >>> scaled = scaled_limit_rise(limit_rise_k=50.0, rating_a=100.0,
        ...     current_a=80.0)
        >>> round(scaled.low, 1), round(scaled.high, 1)
        (32.0, 35.0)
    """
    require_between("Current over rating", current_a / rating_a, 0.04, 1.0, "")
    return rise_at_other_current(
        rise_k=limit_rise_k, current_a=rating_a, other_current_a=current_a
    )


def panel_forecast(
    *,
    point: PanelPoint,
    current_a: float,
    breaker_rating_a: float,
    conductor_w_per_m: float,
    ambient_c: float,
    joint_times: float = 1.0,
    panel: PanelKind = "closed",
    neighbours_loaded: bool = False,
    pole_resistance_ohm: PriorRange | None = None,
) -> PointForecast:
    """Where a point of panel or charger will settle, from 5 to 95 %.

    The reference rise is scaled with the pole's watts, or away from the breaker with
    the conductor's; a lug takes half of each. A bad joint adds its own heat at its
    terminal; other loaded breakers add what they add.

    Args:
        point: Which point. [-]
        current_a: Current, for three hours or more. [A]
        breaker_rating_a: Rating of the charger's breaker. [A]
        conductor_w_per_m: Heat of one circuit conductor at this current, as
            `heating_of_conductors` gives it for all of them. [W/m]
        ambient_c: Air of the room. [°C]
        joint_times: Joint resistance over that of a sound joint, at a terminal. [-]
        panel: Kind of panel. [-]
        neighbours_loaded: Whether other breakers carry much current meanwhile. [-]
        pole_resistance_ohm: Measured or printed resistance of a pole; None takes the
            prior of the rating. [ohm]

    Returns:
        Rise and temperature with what drives them. [-]

    Raises:
        OutOfRange: Current, rating, ambient or joint outside their ranges, or a bad
            joint asked for at a point that has none.

    Valid for:
        Two-pole thermal-magnetic breakers of 15 to 125 A in a home panel, conductors
        as the code sizes them, ambient -20 to 60 °C. A forecast for choosing, not a
        verdict: a measurement replaces it.

    Source:
        physics-notes, section 3.5 (simulator medians and ranges), section 3.4 (air)

    Checked by:
        test_forecast_at_the_reference_gives_the_reference
        test_owner_readings_of_a_100_a_breaker_lie_in_the_band
        test_owner_readings_of_30_a_breakers_lie_in_the_band

    Example:
        >>> face = panel_forecast(point="breaker-face", current_a=80.0,
        ...     breaker_rating_a=100.0, conductor_w_per_m=4.75,
        ...     ambient_c=20.0)
        >>> round(face.rise_k.low), round(face.rise_k.median), round(face.rise_k.high)
        (18, 23, 35)
    """
    require_between("Ambient", ambient_c, -20.0, 60.0, "°C")
    require_between("Heat of a conductor", conductor_w_per_m, 0.0, 50.0, "W/m")
    if joint_times != 1.0 and point not in _TERMINALS:
        raise OutOfRange(
            f"A bad joint was asked for at {point}, which has no joint; accepted: "
            "breaker-lug or charger-terminal."
        )
    pole_w = _watts(breaker_rating_a, current_a, pole_resistance_ohm)
    base = _base_rise(point, conductor_w_per_m, pole_w, panel)
    idle = _prior("idle") if neighbours_loaded and point in _INSIDE_PANEL else None
    joint = _joint_rise(point, joint_times, current_a)
    rise_k = _combined(base, idle, joint)
    drivers = _drivers(base, idle, joint)
    temperature_c = PriorRange(
        ambient_c + rise_k.low, ambient_c + rise_k.median, ambient_c + rise_k.high
    )
    return PointForecast(point, rise_k, temperature_c, pole_w, drivers)


def _watts(
    rating_a: float, current_a: float, measured: PriorRange | None
) -> PriorRange:
    prior = pole_watts(rating_a=rating_a, current_a=current_a)
    if measured is None:
        return prior
    require_between("Pole resistance", measured.median, 1e-5, 0.2, "ohm")
    square = current_a * current_a
    return PriorRange(
        measured.low * square, measured.median * square, measured.high * square
    )


def _base_rise(
    point: PanelPoint,
    conductor_w_per_m: float,
    pole_w: PriorRange,
    panel: PanelKind,
) -> PriorRange:
    rise = _prior("rise", point)
    power = _prior("exponent")
    factor = _priors()["panel"][panel]["factor"] if point in _INSIDE_PANEL else 1.0
    ratio = _heat_ratio(point, conductor_w_per_m, pole_w)
    # Watts go with the square of the current, so they take half the exponent.
    low, high = sorted((ratio ** (power.low / 2), ratio ** (power.high / 2)))
    middle = ratio ** (power.median / 2)
    spread = (1.0, 1.0)
    if point in _INSIDE_PANEL:
        spread = _extra_spread(pole_w, power.median / 2)
    return PriorRange(
        factor * rise.low * low * spread[0],
        factor * rise.median * middle,
        factor * rise.high * high * spread[1],
    )


def _heat_ratio(
    point: PanelPoint, conductor_w_per_m: float, pole_w: PriorRange
) -> float:
    """Return the heat that warms a point, over that of the reference."""
    reference = _priors()["reference"]
    pole: float = pole_w.median / reference["pole_watts"]
    conductor: float = conductor_w_per_m / reference["conductor_w_per_m"]
    if point == "breaker-lug":
        return 0.5 * (pole + conductor)
    return pole if point in _INSIDE_PANEL else conductor


def _extra_spread(pole_w: PriorRange, power: float) -> tuple[float, float]:
    """Return how much wider this breaker's watts are than the reference breaker's."""
    known_low, known_high = _priors()["reference"]["pole_spread"]
    low = pole_w.low / pole_w.median / known_low
    high = pole_w.high / pole_w.median / known_high
    return min(1.0, low**power), max(1.0, high**power)


def _joint_rise(
    point: PanelPoint, joint_times: float, current_a: float
) -> PriorRange | None:
    if joint_times == 1.0:
        return None
    place = (
        TerminalPlace.breaker_lug()
        if point == "breaker-lug"
        else TerminalPlace.charger_terminal()
    )
    return joint_signs(
        place=place, resistance_times=joint_times, current_a=current_a
    ).extra_rise_k


def _combined(*parts: PriorRange | None) -> PriorRange:
    """Sum of independent parts: middles add, half-widths add as squares."""
    known = [part for part in parts if part is not None]
    middle = sum(part.median for part in known)
    below: float = sum((part.median - part.low) ** 2 for part in known) ** 0.5
    above: float = sum((part.high - part.median) ** 2 for part in known) ** 0.5
    return PriorRange(max(0.0, middle - below), middle, middle + above)


def _drivers(
    base: PriorRange, idle: PriorRange | None, joint: PriorRange | None
) -> tuple[str, ...]:
    named = (
        ("watts of the breaker and air of the panel", base),
        ("other loaded breakers", idle),
        ("the joint", joint),
    )
    wide = [(part.high - part.low, name) for name, part in named if part is not None]
    return tuple(name for _width, name in sorted(wide, reverse=True))
