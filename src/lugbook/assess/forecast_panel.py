"""What breaker, lugs, neighbour, cover and the charger's terminals will warm to.

Ranges from priors, never single numbers: watts per pole, joints and panels differ.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from lugbook.assess.circuit_case import Case
from lugbook.assess.forecast_conductor import ambient_spread, touch_limit
from lugbook.assess.forecast_parts import Limit, Warmed, shifted
from lugbook.codebook.edition import Cell, Edition, Table
from lugbook.errors import OutOfRange
from lugbook.finding import (
    Citation,
    Finding,
    Line,
    Outcome,
    Status,
    Weight,
    Working,
    compare,
)
from lugbook.physics.breaker_rating import breaker_holding_current
from lugbook.physics.contact import PriorRange
from lugbook.physics.panel_heating import (
    PanelPoint,
    PointForecast,
    panel_forecast,
    pole_watts,
    scaled_limit_rise,
)
from lugbook.premises.panel import Panel
from lugbook.premises.stated import Stated

__all__ = ["PanelCase", "holding_finding", "panel_case_of", "panel_points"]

_PRIOR = Citation("physics-notes", "section 3.5", Status.COMMON_PRACTICE)
_HELD = Citation("breaker-rerating-tables", "holding currents", Status.CONFIRMED)
_POLE_UNCERTAINTY = 0.1  # of a millivolt reading over a clamp's current
_HANDLE = "breaker handle or user surface, non-metal"
_TERMINAL = "breaker terminal, standard rated"
_TERMINAL_100 = "breaker terminal, 100 % rated"
_DEGREES = {"60 °C": 60.0, "75 °C": 75.0, "90 °C": 90.0, "60/75 °C": 75.0}


@dataclass(frozen=True, slots=True)
class PanelCase:
    """The panel and the charger's end, as far as their warmth needs them.

    Args:
        panel: The panel that feeds the circuit; None if unknown. [-]
        breaker_a: Rating of the charger's breaker; None if unknown. [A]
        pole_ohm: Measured resistance of a pole; None takes the prior. [ohm]
        neighbours_loaded: Whether breakers beside it carry current; None if
            unknown. [-]
        charger_ambient: Air at the charger as stated; None if unknown. [°C]
        charger_ambient_path: Where that is stated. [-]
    """

    panel: Panel | None
    breaker_a: float | None
    pole_ohm: PriorRange | None
    neighbours_loaded: bool | None
    charger_ambient: Stated[float] | None
    charger_ambient_path: str


def panel_case_of(case: Case) -> PanelCase:
    """The panel's part of a circuit.

    Args:
        case: The circuit. [-]

    Returns:
        What its warmth needs. [-]
    """
    circuit, plan = case.circuit, case.plan
    fed_from = circuit.fed_from if circuit else None
    panel = next((each for each in plan.panels if each.id == fed_from), None)
    if panel is None and len(plan.panels) == 1:
        panel = plan.panels[0]
    device = circuit.overcurrent if circuit else None
    pole = device.pole_resistance if device else None
    sections = circuit.sections if circuit else ()
    last = sections[-1] if sections else None
    return PanelCase(
        panel=panel,
        breaker_a=case.judged_device_a,
        pole_ohm=None
        if pole is None
        else PriorRange(
            pole.value * (1 - _POLE_UNCERTAINTY),
            pole.value,
            pole.value * (1 + _POLE_UNCERTAINTY),
        ),
        neighbours_loaded=_neighbours_loaded(case, panel),
        charger_ambient=last.ambient if last else None,
        charger_ambient_path=f"circuit.sections.{last.id}.ambient" if last else "",
    )


def _neighbours_loaded(case: Case, panel: Panel | None) -> bool | None:
    """Whether a breaker beside the charger's carries a long load; None if unknown."""
    positions = set(case.circuit.positions if case.circuit else ())
    if panel is None or not positions:
        return None
    beside = {p + step for p in positions for step in (-2, 2)} - positions
    if panel.spaces is not None:
        beside = {p for p in beside if 1 <= p <= panel.spaces.value}
    beside = {p for p in beside if p >= 1}
    taken = {p: each for each in panel.breakers for p in each.positions}
    continuous = {
        load.id for load in case.plan.loads if load.continuous and load.continuous.value
    }
    if any(continuous.intersection(taken[p].serves) for p in beside if p in taken):
        return True
    free = set(panel.free_positions)
    return False if beside <= free else None


def panel_points(
    case: Case,
    limits: Edition,
    found: PanelCase,
    *,
    current_a: float,
    panel_w_per_m: float | None,
    charger_w_per_m: float | None,
) -> tuple[Warmed, ...]:
    """Every point of the panel, and the charger's terminals.

    Args:
        case: The circuit. [-]
        limits: The book of product limits. [-]
        found: The panel's part of it. [-]
        current_a: The current. [A]
        panel_w_per_m: Heat of one conductor where it leaves the panel; None if
            unknown. [W/m]
        charger_w_per_m: The same where it enters the charger. [W/m]

    Returns:
        The points. [-]
    """
    room = found.panel.ambient if found.panel else None
    room_path = f"panels.{found.panel.id}.ambient" if found.panel else "panels"
    face = _handle_limit(limits)
    cover = touch_limit(limits, metal=True)
    inside: tuple[tuple[PanelPoint, str, str, str, Limit], ...] = (
        (
            "breaker-lug",
            "terminal.breaker",
            "the breaker's lugs",
            "terminal",
            _lug_limit(case, limits, found, current_a, room),
        ),
        ("breaker-face", "face.breaker", "the breaker's face", "face", face),
        (
            "neighbour-face",
            "face.neighbour",
            "the face of the breaker beside it",
            "face",
            face,
        ),
        ("panel-cover", "surface.panel_cover", "the panel's cover", "surface", cover),
    )
    points = [
        _point(
            found,
            point,
            Warmed(name_id, name, kind, current_a, limit=limit),
            current_a,
            panel_w_per_m,
            room,
            room_path,
        )
        for point, name_id, name, kind, limit in inside
    ]
    points.append(
        _point(
            found,
            "charger-terminal",
            Warmed(
                "terminal.charger",
                "the charger's terminals",
                "terminal",
                current_a,
                limit=_charger_limit(case),
            ),
            current_a,
            charger_w_per_m,
            found.charger_ambient,
            found.charger_ambient_path or "circuit.sections",
        )
    )
    return tuple(points)


def _point(
    found: PanelCase,
    point: PanelPoint,
    plain: Warmed,
    current_a: float,
    w_per_m: float | None,
    ambient: Stated[float] | None,
    ambient_path: str,
) -> Warmed:
    if ambient is None:
        return replace(plain, missing=f"{ambient_path}: how hot it gets there")
    if found.breaker_a is None:
        return replace(plain, missing="circuit.overcurrent.rating")
    if w_per_m is None:
        missing = "circuit.conductor.size, or what its size depends on"
        return replace(plain, missing=missing)
    try:
        quiet = _forecast(found, point, current_a, w_per_m, ambient.value, loaded=False)
        busy = _forecast(found, point, current_a, w_per_m, ambient.value, loaded=True)
    except OutOfRange as error:
        return replace(plain, missing=f"a circuit that can be reckoned: {error}")
    span, drivers = _with_neighbours(found, quiet, busy)
    low_k, high_k = ambient_spread(ambient)
    if high_k + low_k > 0:
        span = shifted(span, low_k, high_k)
        drivers = (*drivers, "the air around it")
    return replace(
        plain,
        ambient_c=ambient.value,
        span=span,
        drivers=drivers,
        lines=_lines(
            found, point, quiet, current_a, w_per_m, f"{ambient.source}, {ambient_path}"
        ),
    )


def _forecast(
    found: PanelCase,
    point: PanelPoint,
    current_a: float,
    w_per_m: float,
    ambient_c: float,
    *,
    loaded: bool,
) -> PointForecast:
    return panel_forecast(
        point=point,
        current_a=current_a,
        breaker_rating_a=found.breaker_a or 0.0,
        conductor_w_per_m=w_per_m,
        ambient_c=ambient_c,
        neighbours_loaded=loaded,
        pole_resistance_ohm=found.pole_ohm,
    )


def _with_neighbours(
    found: PanelCase, quiet: PointForecast, busy: PointForecast
) -> tuple[PriorRange, tuple[str, ...]]:
    """Return the range: unknown neighbours raise its high end only."""
    if found.neighbours_loaded is True:
        return busy.temperature_c, busy.drivers
    if found.neighbours_loaded is False:
        return quiet.temperature_c, quiet.drivers
    span = quiet.temperature_c
    high_c = max(span.high, busy.temperature_c.high)
    return PriorRange(span.low, span.median, high_c), busy.drivers


def _lines(
    found: PanelCase,
    point: PanelPoint,
    quiet: PointForecast,
    current_a: float,
    w_per_m: float,
    ambient_source: str,
) -> tuple[Line, ...]:
    room_c = quiet.temperature_c.median - quiet.rise_k.median
    lines = [
        Line("air of the room", room_c, "°C", source=ambient_source),
        Line("current", current_a, "A", source="the setting"),
    ]
    if point != "charger-terminal":
        watts = quiet.pole_w
        lines.append(
            Line(
                "heat of one pole",
                watts.median,
                "W",
                "current² × resistance of a pole",
                f"from {watts.low:.1f} W to {watts.high:.1f} W",
                "plan, circuit.overcurrent.pole_resistance"
                if found.pole_ohm
                else _PRIOR,
            )
        )
    if point in ("breaker-lug", "charger-terminal"):
        lines.append(Line("heat of one conductor", w_per_m, "W/m"))
    lines.append(
        Line(
            "rise above the room",
            quiet.rise_k.median,
            "K",
            "prior, scaled with the heat",
            f"from {quiet.rise_k.low:.0f} K to {quiet.rise_k.high:.0f} K",
            _PRIOR,
        )
    )
    words = {
        True: "loaded: they add up to 13 K",
        False: "free or idle",
        None: "unknown: they raise the high end",
    }
    if point != "charger-terminal":
        lines.append(Line("breakers beside it", words[found.neighbours_loaded]))
    return tuple(lines)


def _handle_limit(limits: Edition) -> Limit:
    table = limits.table("terminal-rise")
    row = table.row(_HANDLE)
    limit_c = table.cell(row, "absolute_c") or 0.0
    cited = _standard(table, row)
    line = Line("handle or user surface of plastic", limit_c, "°C", source=cited)
    return Limit(limit_c, limit_c, (line,), cited)


def _standard(table: Table, row: tuple[Cell, ...]) -> Citation:
    """Return the citation of a row that names its own standard."""
    standard, clause = table.text(row, "standard"), table.text(row, "clause")
    return replace(table.cite(row), locator=f"{standard} {clause}")


def _lug_limit(
    case: Case,
    limits: Edition,
    found: PanelCase,
    current_a: float,
    room: Stated[float] | None,
) -> Limit:
    """The marking of lug and wire; the product's own type-test limit beside it.

    The type test is in open air at rated current. Scaled to the current it lies near
    what a sound lug in a panel shows, so it serves to judge a reading, where the air
    in the panel is known, and not to refuse a plan.
    """
    device = case.circuit.overcurrent if case.circuit else None
    own = device.terminal_temperature if device else None
    marked = _marking_limit(case, own, "breaker")
    table = limits.table("terminal-rise")
    full = bool(device and device.rated_100_percent and device.rated_100_percent.value)
    row = table.row(_TERMINAL_100 if full else _TERMINAL)
    rise_k = table.cell(row, "rise_k") or 0.0
    lines = list(marked.lines)
    lines.append(
        Line(
            "type-test rise at rated current, open air",
            rise_k,
            "K",
            source=_standard(table, row),
        )
    )
    rating_a = found.breaker_a
    if rating_a is not None and 0.04 * rating_a <= current_a <= rating_a:
        scaled = scaled_limit_rise(
            limit_rise_k=rise_k, rating_a=rating_a, current_a=current_a
        )
        lines.append(
            Line(
                "the same at this current, above the air in the panel",
                f"{scaled.low:.0f} K to {scaled.high:.0f} K",
                "",
                "rise × (current ÷ rating)^n, n from 2 to 1.6",
                f"{rise_k:g} K × ({current_a:g} ÷ {rating_a:g})^n",
                "for judging a reading later",
            )
        )
    if room is not None:
        at_rated_c = table.cell(row, "absolute_c") or marked.sure_c
        sure_c = min(marked.sure_c, at_rated_c)
        hopeful_c = min(marked.hopeful_c, at_rated_c)
        return Limit(sure_c, hopeful_c, tuple(lines), marked.citation)
    return Limit(marked.sure_c, marked.hopeful_c, tuple(lines), marked.citation)


def _charger_limit(case: Case) -> Limit:
    charger = case.plan.charger
    own = charger.terminal_temperature if charger else None
    return _marking_limit(case, own, "charger")


def _marking_limit(case: Case, own: Stated[str] | None, what: str) -> Limit:
    """Limit by a terminal's own marking and the circuit's column, the lower."""
    device_a = case.judged_device_a or 0.0
    column_c, line = case.column_c(device_a)
    hopeful_c, _ = case.column_c(device_a, hopeful=True)
    lines = [line]
    sure_c, best_c = float(column_c), float(hopeful_c)
    if own is not None:
        marked_c = _DEGREES[own.value]
        label = f"marking of the {what}'s terminals"
        lines.insert(0, Line(label, marked_c, "°C", source=own.source))
        sure_c, best_c = min(sure_c, marked_c), min(best_c, marked_c)
    citation = line.source if isinstance(line.source, Citation) else None
    return Limit(sure_c, best_c, tuple(lines), citation)


def holding_finding(
    case: Case, limits: Edition, found: PanelCase, current_a: float
) -> Finding | None:
    """Whether the breaker holds the setting in the panel's own hot air.

    Args:
        case: The circuit. [-]
        limits: The book of product limits. [-]
        found: The panel's part of it. [-]
        current_a: The setting. [A]

    Returns:
        The finding; None where the device is a fuse or nothing is known of it. [-]
    """
    if case.device_kind != "circuit breaker" or found.breaker_a is None:
        return None
    room = found.panel.ambient if found.panel else None
    calibrated = limits.rule("breaker-calibration-ambient")
    held: PriorRange | None = None
    lines: tuple[Line, ...] = ()
    if room is not None:
        try:
            watts = pole_watts(rating_a=found.breaker_a, current_a=current_a)
            air = _forecast(
                found, "panel-air", current_a, 0.0, room.value, loaded=False
            )
            held = breaker_holding_current(
                rating_a=found.breaker_a,
                local_ambient_c=air.temperature_c.high,
                calibration_c=calibrated.number("ambient_c"),
            )
            lines = (
                Line("rating", found.breaker_a, "A"),
                Line("air of the room", room.value, "°C", source=room.source),
                Line("heat of one pole", watts.median, "W", "", "", _PRIOR),
                Line(
                    "air beside the breaker, high end",
                    air.temperature_c.high,
                    "°C",
                    "room + rise in the panel",
                    f"{room.value:g} °C + {air.rise_k.high:.1f} K",
                    _PRIOR,
                ),
                Line(
                    "calibrated at",
                    calibrated.number("ambient_c"),
                    "°C",
                    source=calibrated.citation,
                ),
                Line(
                    "current it holds there",
                    held.low,
                    "A",
                    "rating × ((T − air) ÷ (T − calibration))^(1/1.8)",
                    f"from {held.low:.0f} A to {held.high:.0f} A",
                    _HELD,
                ),
            )
        except OutOfRange:
            held = None
    found_a = None if held is None else held.low
    result = compare(found=current_a, limit=found_a)
    return Finding(
        id="forecast.breaker_holding",
        question="Does the breaker hold the setting in the warm air of the panel?",
        outcome=result.outcome,
        weight=Weight.ADVICE,
        found=current_a,
        limit=found_a,
        unit="A",
        margin=result.margin,
        citation=_HELD,
        working=Working("What the breaker holds in warm air", lines),
        next=_holding_next(result.outcome),
    )


def _holding_next(outcome: Outcome) -> str:
    if outcome is Outcome.FALLS_SHORT:
        return "It may trip on hot days: lower the setting or cool the room."
    if outcome is Outcome.NARROW:
        return "It may trip on the hottest days; leave the spaces beside it free."
    if outcome is Outcome.CANNOT_TELL:
        return "State how hot the panel's room gets (panels.*.ambient)."
    return ""
