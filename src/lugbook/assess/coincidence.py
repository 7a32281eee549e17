"""Will the main hold on the heaviest evening? Loads that run together, by the clock.

No rule asks for this. A service may be lawful by a demand factor and its main still
trip, since the factor supposes that loads take turns and charging does not.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from lugbook.assess.assessment import Assumption
from lugbook.assess.capacity import Wish
from lugbook.assess.circuit_parts import Check, check
from lugbook.assess.load_list import COOLING, HEATING, LoadList, system_voltage_v
from lugbook.assess.service_rating import service_panels
from lugbook.codebook.edition import Edition, Rule
from lugbook.finding import Finding, Line, Outcome, Weight, Working, worst
from lugbook.premises.driving import Car
from lugbook.premises.load import Load
from lugbook.premises.plan import Plan
from lugbook.premises.stated import Stated

__all__ = ["Span", "Together", "coincidence", "runs_together"]

_DAY_S = 86_400.0
_WINTER = 1.0  # a car without a winter factor takes the same all year
_MOST_EXCLUSIVE = 12  # interlocked loads of which every choice is tried
_HOUR_S = 3600.0
_MINUTE_S = 60.0
_HOLDS, _FOR_HOURS = "breaker-trip-band", "standard-breaker-continuous"
_OTHER_CHARGER = "vehicle charging"


@dataclass(frozen=True, slots=True)
class Span:
    """A load as it runs on the day looked at.

    Args:
        id: Its id. [-]
        name: What it is called. [-]
        current_a: Its full current, from leg to leg. [A]
        is_long: Whether it runs for hours on end. [-]
        start_s: When it starts, from midnight; None if nobody said. [s]
        lasts_s: How long it runs; None if nobody said. [s]
        never_with: Ids that an interlock keeps off while it runs. [-]
    """

    id: str
    name: str
    current_a: float
    is_long: bool
    start_s: float | None
    lasts_s: float | None
    never_with: frozenset[str]

    @property
    def is_timed(self) -> bool:
        """Whether start and length are both stated."""
        return self.start_s is not None and self.lasts_s is not None

    def runs_at(self, moment_s: float) -> bool:
        """Whether it runs at a moment; one whose times nobody stated always may."""
        if self.start_s is None or self.lasts_s is None:
            return True
        return (moment_s - self.start_s) % _DAY_S < min(self.lasts_s, _DAY_S)


@dataclass(frozen=True, slots=True)
class Together:
    """What runs at once at the worst moment of the day.

    Args:
        spans: Loads that run, the largest first. [-]
        long_a: Current of those that run for hours. [A]
        peak_a: Current of all of them. [A]
        start_s: When it begins; None if nothing in it has a time. [s]
        lasts_s: How long the long ones run together; None if nobody said. [s]
    """

    spans: tuple[Span, ...]
    long_a: float
    peak_a: float
    start_s: float | None
    lasts_s: float | None


def coincidence(
    *, plan: Plan, limits: Edition, loads: LoadList, wish: Wish
) -> tuple[tuple[Finding, ...], tuple[Assumption, ...]]:
    """Whether the main holds when what runs for hours meets the evening's largest load.

    Args:
        plan: The house. [-]
        limits: Limits of product standards. [-]
        loads: The house's loads. [-]
        wish: The charging current. [-]

    Returns:
        One finding, an advice, and what was taken as given; nothing where main,
        voltage or setting is not stated. [-]
    """
    main_a, volts = _main_a(plan), system_voltage_v(plan)
    if main_a is None or volts is None or wish.setting_a is None:
        return (), ()
    spans = _spans(plan, loads, wish, volts)
    peak, long = runs_together(spans), runs_together(spans, for_hours=True)
    checks = _checks(peak, long, main_a, limits, is_known=_is_known(loads))
    outcome = worst(tuple(each.outcome for each in checks))
    same = [each for each in checks if each.outcome is outcome]
    gravest = min(same, key=lambda each: each.margin or 0.0)
    finding = Finding(
        id="capacity.coincidence",
        question="Does the main hold when all that runs for hours meets the evening?",
        outcome=outcome,
        weight=Weight.ADVICE,
        found=gravest.found,
        limit=gravest.limit,
        unit="A",
        margin=gravest.margin,
        citation=gravest.citation,
        working=Working("What runs at once", _lines(peak, long, main_a, limits)),
        next=_next(peak if gravest is checks[0] else long, plan, outcome),
    )
    return (finding,), _assumptions(spans, peak)


def _is_known(loads: LoadList) -> bool:
    """Return whether every load that could run is known."""
    asked = ("loads.", "dwelling.loads_complete", "dwelling.not_present")
    return not any(each.field.startswith(asked) for each in loads.unknowns)


def _checks(
    peak: Together, long: Together, main_a: float, limits: Edition, *, is_known: bool
) -> tuple[Check, ...]:
    """Return the main at its rating, then for hours where they run that long."""
    holds, for_hours = (limits.rule(each) for each in (_HOLDS, _FOR_HOURS))

    def against(found_a: float, rule: Rule, share: str) -> Check:
        limit_a = main_a * rule.number(share)
        return check(
            found=(found_a, found_a if is_known else None),
            limit=(limit_a, limit_a),
            unit="A",
            citation=rule.citation,
            next="",
            kind="fraction",
            weight=Weight.ADVICE,
        )

    first = against(peak.peak_a, holds, "holds_fraction")
    least_s = for_hours.number("hours") * _HOUR_S
    if long.lasts_s is not None and long.lasts_s < least_s:
        return (first,)
    return first, against(long.long_a, for_hours, "fraction")


def _lines(
    peak: Together, long: Together, main_a: float, limits: Edition
) -> tuple[Line, ...]:
    holds, for_hours = (limits.rule(each) for each in (_HOLDS, _FOR_HOURS))
    share, hours = for_hours.number("fraction"), for_hours.number("hours")
    lasts_h = None if long.lasts_s is None else long.lasts_s / _HOUR_S
    within_h = holds.number("trips_within_over_50_a_hours")
    return (
        *(_line(span) for span in peak.spans),
        Line("all at once", peak.peak_a, "A", "sum"),
        Line(
            "it begins",
            "at any time" if peak.start_s is None else _clock(peak.start_s),
            source="plan" if peak.start_s is not None else "no time is stated",
        ),
        Line("of these for hours", long.long_a, "A", "sum of those marked so"),
        Line(
            "they run together for at most",
            lasts_h,
            "h",
            source="plan" if lasts_h is not None else "nobody stated it",
        ),
        Line("main", main_a, "A", source="plan"),
        Line(
            f"main, for {hours:g} hours and more",
            main_a * share,
            "A",
            "rating × share",
            f"{main_a:g} A × {share:g}",
            for_hours.citation,
        ),
        Line(
            "it must have tripped at",
            main_a * holds.number("trips_fraction"),
            "A",
            f"within {within_h:g} hours",
            source=holds.citation,
        ),
    )


# --- what runs when -------------------------------------------------------------


def runs_together(spans: Iterable[Span], *, for_hours: bool = False) -> Together:
    """The worst moment of a day, interlocks kept.

    At each moment: every load with stated times that runs then, every long one whose
    times nobody stated, and the largest ordinary one of those.

    Args:
        spans: The loads. [-]
        for_hours: Whether the worst is that of the long ones, not of all. [-]

    Returns:
        What runs at the worst moment. [-]

    Example:
        >>> kiln = Span("kiln", "kiln", 48, True, None, None, frozenset())
        >>> van = Span("van", "van", 80, True, None, None, frozenset())
        >>> runs_together((kiln, van)).peak_a
        128
    """
    held = tuple(spans)
    moments = {each.start_s for each in held if each.start_s is not None} or {0.0}
    return max(
        (_at(held, moment) for moment in sorted(moments)),
        key=lambda each: (
            (each.long_a, each.peak_a) if for_hours else (each.peak_a, each.long_a)
        ),
    )


def _at(spans: tuple[Span, ...], moment_s: float) -> Together:
    running = [each for each in spans if each.runs_at(moment_s)]
    certain = [each for each in running if each.is_long or each.is_timed]
    ordinary = [each for each in running if not (each.is_long or each.is_timed)]
    choices = [_allowed([*certain, *extra]) for extra in ([], *([o] for o in ordinary))]
    chosen = max(choices, key=lambda each: sum(span.current_a for span in each))
    chosen = sorted(chosen, key=lambda each: -each.current_a)
    long = [each for each in chosen if each.is_long]
    timed = [each for each in chosen if each.is_timed]
    return Together(
        spans=tuple(chosen),
        long_a=sum(each.current_a for each in long),
        peak_a=sum(each.current_a for each in chosen),
        start_s=moment_s if timed else None,
        lasts_s=_lasts(long, moment_s),
    )


def _lasts(long: list[Span], moment_s: float) -> float | None:
    """Return the longest that all the long ones can still run; None if none says."""
    left = [
        each.lasts_s
        if each.start_s is None
        else each.lasts_s - (moment_s - each.start_s) % _DAY_S
        for each in long
        if each.lasts_s is not None
    ]
    return min(left, default=None)


def _allowed(spans: list[Span]) -> list[Span]:
    """Return the heaviest choice of loads of which no two are interlocked."""
    pairs = [
        (one.id, other.id)
        for one, other in combinations(spans, 2)
        if other.id in one.never_with or one.id in other.never_with
    ]
    bound = [each for each in spans if any(each.id in pair for pair in pairs)]
    if not bound or len(bound) > _MOST_EXCLUSIVE:
        return spans
    free = [each for each in spans if each not in bound]
    choices = (
        choice
        for size in range(1, len(bound) + 1)
        for choice in combinations(bound, size)
        if not any(
            {one.id, other.id} in map(set, pairs)
            for one, other in combinations(choice, 2)
        )
    )
    best = max(choices, key=lambda each: sum(span.current_a for span in each))
    return [*free, *best]


def _spans(plan: Plan, loads: LoadList, wish: Wish, volts: float) -> list[Span]:
    counted = {
        each.id: each for each in (*loads.appliances, *loads.hvac, *loads.vehicles)
    }
    season = _season(plan, {key: each.va for key, each in counted.items()})
    spans = [_charger(plan, wish, volts)]
    for load in plan.loads:
        held = counted.get(load.id)
        if held is None or not held.va or load.state in ("removed", "planned"):
            continue
        if load.kind in (*HEATING, *COOLING) and load.id not in season:
            continue
        spans.append(_span(load, held.va / volts, load.id in season))
    return spans


def _span(load: Load, current_a: float, is_season: bool) -> Span:
    way = load.current_when_running.value if load.current_when_running else None
    stated = load.continuous is not None and load.continuous.value
    is_long = stated or load.kind == _OTHER_CHARGER or (is_season and way is None)
    return Span(
        id=load.id,
        name=(load.name or load.kind).partition(",")[0],
        current_a=current_a,
        is_long=is_long or way == "steady",
        start_s=_seconds(load.usually_from),
        lasts_s=load.usually_for.value if load.usually_for else None,
        never_with=frozenset(load.never_with),
    )


def _seconds(clock: Stated[float] | None) -> float | None:
    """Return a time of day in seconds; the plan holds minutes from midnight."""
    return None if clock is None else clock.value * _MINUTE_S


def _season(plan: Plan, va_of: dict[str, float]) -> frozenset[str]:
    """Return the ids of the larger of heating and cooling, which never meet."""
    sides = []
    for kinds in (HEATING, COOLING):
        ids = [
            each.id
            for each in plan.loads
            if each.kind in kinds and each.state in ("existing", "proposed")
        ]
        sides.append((sum(va_of.get(each, 0.0) for each in ids), ids))
    return frozenset(max(sides, key=lambda side: side[0])[1])


def _charger(plan: Plan, wish: Wish, volts: float) -> Span:
    at_v = wish.voltage_v or volts
    current_a = wish.setting_a or 0.0
    starts = [
        start for car in plan.cars if (start := _seconds(car.home_at)) is not None
    ]
    lasts = [_charging_s(car, current_a * at_v) for car in plan.cars]
    whole = sum(each for each in lasts if each is not None)
    told = bool(lasts) and all(each is not None for each in lasts)
    return Span(
        id=plan.charger.id if plan.charger else "charger",
        name="charger",
        current_a=current_a,
        is_long=True,
        start_s=min(starts, default=None),
        lasts_s=whole if told else None,
        never_with=frozenset(),
    )


def _charging_s(car: Car, charger_w: float) -> float | None:
    """Return how long a car charges on its worst ordinary day; None if not known."""
    if car.distance_per_day is None or car.energy_per_distance is None:
        return None
    energy_kwh = car.distance_per_day.value * car.energy_per_distance.value
    energy_kwh *= car.winter_factor.value if car.winter_factor else _WINTER
    if car.measured_at != "wall":
        efficiency = car.charging_efficiency
        if efficiency is None or efficiency.value <= 0:
            return None
        energy_kwh /= efficiency.value
    power_w = charger_w
    if car.onboard_power is not None and car.onboard_power.value > 0:
        power_w = min(power_w, car.onboard_power.value)
    return energy_kwh * 1000 / power_w * 3600 if power_w > 0 else None


# --- what follows ---------------------------------------------------------------


def _main_a(plan: Plan) -> float | None:
    """Return the main's rating; None where there is not one main."""
    service = plan.service
    stated = [panel.main_rating for panel in service_panels(plan) if panel.main_rating]
    if service is not None and service.main is not None and service.main.rating:
        stated.append(service.main.rating)
    return min((each.value for each in stated), default=None)


def _next(together: Together, plan: Plan, outcome: Outcome) -> str:
    first, *others = [each.name for each in together.spans]
    names = f"{first} with {', '.join(others)}" if others else first
    if outcome is Outcome.CANNOT_TELL:
        return "Not every load is known; what is known fits."
    if outcome is Outcome.MEETS:
        return "No rule asks this, and it makes no load calculation pass."
    way = (
        "The load management stated must hold it down: try it."
        if plan.load_management is not None
        else "Let charging begin later, lower its setting, or have load management "
        "watch the main."
    )
    close = "come close to what the main is made for"
    over = "are more than the main is made for: it trips, or grows old hot"
    says = over if outcome is Outcome.FALLS_SHORT else close
    return f"{names[:1].upper()}{names[1:]} {says}. {way}"


def _line(span: Span) -> Line:
    when = "any time, none is stated"
    if span.start_s is not None:
        when = f"from {_clock(span.start_s)}"
        if span.lasts_s is not None:
            when += f" for {span.lasts_s / 3600:.1f} h"
    return Line(
        span.name,
        span.current_a,
        "A",
        "full current",
        f"{'for hours' if span.is_long else 'ordinary'}; {when}",
        "plan",
    )


def _clock(moment_s: float) -> str:
    minutes = round(moment_s / 60) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _assumptions(spans: list[Span], together: Together) -> tuple[Assumption, ...]:
    untimed = [each.name for each in together.spans if not each.is_timed]
    found = []
    if untimed:
        found.append(
            Assumption(
                "coincidence-any-time",
                f"For the heaviest evening these may run at any time, each at its full "
                f"current: {', '.join(untimed)}.",
                "no times are stated (usually_from, usually_for); errs high",
            )
        )
    if any(each.is_long and each is not spans[0] for each in together.spans):
        found.append(
            Assumption(
                "coincidence-for-hours",
                "What is stated as continuous, and the larger of heating and cooling, "
                "runs for hours without a pause.",
                "true on the coldest or hottest night; errs high on others",
            )
        )
    return tuple(found)
