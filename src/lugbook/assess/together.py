"""What happens when the house's record and the charging nights come together?

Every night of the record is charged by the cars' habits, at every setting and under
every start rule, and what house and charger draw together is counted against the
service rating and the share of it that may flow for hours. This is a statement of
chance about a house that goes on as it was recorded. It is no test of the code, and
no finding of it is more than advice. Pure: no files, no clock.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from lugbook.assess.assessment import Assumption, Unknown
from lugbook.assess.capacity import wish_of
from lugbook.assess.need import Need, SettingNeed
from lugbook.assess.need_cars import Supplied, assumed, cars_of, garage_of
from lugbook.assess.service_rating import rate_service
from lugbook.assess.together_findings import (
    TogetherBasis,
    together_assumptions,
    together_findings,
    together_working,
)
from lugbook.codebook.edition import Edition, open_edition
from lugbook.demand.nights import (
    AT_ONCE,
    LATE,
    Course,
    StartRule,
    by_clock_and_weekday,
    evenings,
    limited,
    replayed,
)
from lugbook.finding import Finding, Working
from lugbook.premises.driving import Tariff
from lugbook.premises.plan import Plan
from lugbook.readings.evidence import UnreadFile

if TYPE_CHECKING:
    from lugbook.demand.charging import CarUse, Nights
    from lugbook.demand.cleaning import Record
    from lugbook.demand.house_current import HouseCurrent

__all__ = [
    "Evenings",
    "LimitRow",
    "Pair",
    "Together",
    "TogetherRow",
    "together",
    "without_record",
]

Pair = tuple[float, float]
"""The least and the most that the record allows."""

_LIMITS = "2026"  # the one edition held of the limits of product standards
_YEAR_DAYS = 365.0
_QUARTERS_PER_HOUR = 4
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_HEAVY_FRACTION = 0.25  # of all nights over: an evening that stands out, our choice
_ROUNDING = 1e-9  # of a mean over replays, not a margin


@dataclass(frozen=True, slots=True)
class TogetherRow:
    """House and charging together at one setting under one start rule, for a year.

    Quarter hours hold the house's own without any charging; nights are those on which
    charging runs while house and charger are over. Where the record is longer than a
    year counts are for a mean year, where it is shorter for what was recorded.

    Args:
        setting_a: The setting. [A]
        rule: Id of the start rule. [-]
        quarters_over_80: Quarter hours over the share that may flow for hours. [-]
        quarters_over_100: Quarter hours over the rating. [-]
        nights_over_80: Nights with one over that share. [-]
        nights_over_100: Nights with one over the rating. [-]
        chance_over_100_fraction: Chance of at least one such night a year. [-]
        longest_over_80_h: Longest time without a break over that share. [h]
        highest_a: Highest current. [A]
        excess_kwh: Energy over the rating. [kWh]
        mornings_missed: Mornings a car leaves short of full. [-]
        independent_over_80: Quarter hours over that share by the closed form. [-]
        independent_over_100: The same over the rating. [-]
    """

    setting_a: float
    rule: str
    quarters_over_80: Pair
    quarters_over_100: Pair
    nights_over_80: Pair
    nights_over_100: Pair
    chance_over_100_fraction: Pair
    longest_over_80_h: Pair
    highest_a: Pair
    excess_kwh: Pair
    mornings_missed: float
    independent_over_80: Pair
    independent_over_100: Pair


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One setting with a device that keeps house and charger under a limit, a year.

    Args:
        setting_a: The setting. [A]
        served_fraction: Energy given, over what is given without the device. [-]
        mornings_missed: Mornings a car leaves short of full. [-]
        late_over_limit_h: Hours over the limit where the device acts late. [h]
        late_over_100_h: Hours over the rating then. [h]
        late_highest_a: Highest current then. [A]
    """

    setting_a: float
    served_fraction: float
    mornings_missed: float
    late_over_limit_h: Pair
    late_over_100_h: Pair
    late_highest_a: Pair


@dataclass(frozen=True, slots=True)
class Evenings:
    """The evenings on which most nights over the lower limit begin.

    Args:
        setting_a: The setting. [A]
        days: Names of the weekdays. [-]
        nights: Nights over on these evenings, at most. [-]
        of_nights: Nights over on all evenings, at most. [-]
        left_over: Nights over a year if nothing charges on them, at most. [-]
        mornings_missed: Mornings missed then. [-]
        runs_for_hours: Loads that the plan says run for hours. [-]
    """

    setting_a: float
    days: tuple[str, ...]
    nights: float
    of_nights: float
    left_over: float
    mornings_missed: float
    runs_for_hours: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Together:
    """House and charging nights together.

    Args:
        basis: The record and the limits. [-]
        rules: Id and words of each start rule. [-]
        rows: Each setting under each rule. [-]
        limit_rows: Each setting with a limit kept. [-]
        evenings: Evenings that stand out at the setting asked for; None if none. [-]
        serving: Smallest setting that serves and stays under the lower limit, with
            its rule; None: none does. [-]
        sentences: The answer in words. [-]
        findings: What follows, all advice. [-]
        working: The numbers it rests on. [-]
        assumptions: What was taken as given. [-]
        unknowns: What it needs and nobody stated; with one there are no rows. [-]
    """

    basis: TogetherBasis | None
    rules: tuple[tuple[str, str], ...]
    rows: tuple[TogetherRow, ...]
    limit_rows: tuple[LimitRow, ...]
    evenings: Evenings | None
    serving: TogetherRow | None
    sentences: tuple[str, ...]
    findings: tuple[Finding, ...]
    working: Working
    assumptions: tuple[Assumption, ...]
    unknowns: tuple[Unknown, ...]

    def row(self, setting_a: float, rule: str) -> TogetherRow | None:
        """Return one row; None if there is none."""
        return next(
            (r for r in self.rows if r.setting_a == setting_a and r.rule == rule), None
        )

    def rule_words(self, rule: str) -> str:
        """Return a start rule in words."""
        return dict(self.rules).get(rule, rule)


def together(
    plan: Plan, rules: Edition, need: Need, record: Record, *, file: str
) -> Together:
    """House and charging nights together.

    Args:
        plan: The house. [-]
        rules: Edition with its local amendments. [-]
        need: What the cars need, by `assess.need`. [-]
        record: The house's cleaned record. [-]
        file: Name of the record's file. [-]

    Returns:
        What happens; nothing while driving, rating or voltage is unknown. [-]
    """
    rating = rate_service(plan, rules)
    unknowns = [*need.unknowns]
    if rating.least_known_a is None:
        unknowns += rating.unknowns
    volts = wish_of(plan, None).voltage_v
    if not need.settings or rating.least_known_a is None or volts is None:
        return _untold(tuple(unknowns))
    replay = _Replay(plan, rules, need, record, volts)
    basis = replay.basis(file, rating.least_known_a, rating.limit_a is None)
    rows = tuple(row for step in need.settings for row in replay.rows(step, basis))
    limit_rows = tuple(replay.limit_row(step, basis) for step in need.settings)
    standing_out = replay.evenings(basis)
    serving = _serving(rows, basis)
    findings = together_findings(need, basis, rows, limit_rows, plan)
    named = tuple((rule.id, words) for rule, words in replay.rules)
    return Together(
        basis=basis,
        rules=named,
        rows=rows,
        limit_rows=limit_rows,
        evenings=standing_out,
        serving=serving,
        sentences=_sentences(need, basis, rows, dict(named), serving, standing_out),
        findings=findings,
        working=together_working(need, basis, rows, rating.governs),
        assumptions=together_assumptions(basis, record),
        unknowns=(),
    )


def without_record(unread: Sequence[UnreadFile]) -> Together:
    """What is told where no meter file of a plan can be used.

    Args:
        unread: The files, each with why. [-]

    Returns:
        That it cannot be told, and why. [-]
    """
    return _untold(
        tuple(
            Unknown(
                "meter_files",
                f"{each.path} cannot be used: {each.why}.",
                "`lugbook demand` on the file says more",
                later=True,
            )
            for each in unread
        )
    )


def _untold(unknowns: tuple[Unknown, ...]) -> Together:
    return Together(
        basis=None,
        rules=(),
        rows=(),
        limit_rows=(),
        evenings=None,
        serving=None,
        sentences=("House and charging together cannot be told yet.",),
        findings=(),
        working=Working("House and charging together", ()),
        assumptions=(),
        unknowns=unknowns,
    )


def start_rules(tariff: Tariff | None) -> tuple[tuple[StartRule, str], ...]:
    """The start rules tried, each with its words.

    Args:
        tariff: The tariff; None if none is stated. [-]

    Returns:
        At once, at midnight, when the cheapest hours start, as late as will do. [-]
    """
    found = [(AT_ONCE, "at once"), (StartRule("at_00_00", 0), "at 00:00")]
    timed = [
        window
        for window in (tariff.windows if tariff else ())
        if window.starts is not None and window.price_per_kwh is not None
    ]
    if timed:
        cheapest = min(
            timed, key=lambda w: w.price_per_kwh.value if w.price_per_kwh else 0
        )
        minutes = int(cheapest.starts.value) if cheapest.starts else 0
        if minutes:
            clock = f"{minutes // 60:02d}:{minutes % 60:02d}"
            rule = StartRule("at_cheapest", minutes * 60)
            found.append((rule, f"at {clock}, the cheapest hours"))
    return (*found, (LATE, "as late as will do"))


class _Replay:
    """The record with the cars' nights, laid over each other setting by setting."""

    def __init__(
        self, plan: Plan, rules: Edition, need: Need, record: Record, volts: float
    ) -> None:
        from lugbook.demand.house_current import QUARTER_S, house_current

        self.plan, self.rules_of, self.need, self.record = plan, rules, need, record
        self.volts = volts
        self.house: HouseCurrent = house_current(record, voltage_v=volts)
        fine_s = record.interval_s
        is_fine = fine_s < QUARTER_S and QUARTER_S % fine_s == 0
        self.fine: HouseCurrent = (
            house_current(record, voltage_v=volts, step_s=fine_s)
            if is_fine
            else self.house
        )
        self.first_day, self.evening_count = evenings(self.house)
        self.years = max(1.0, self.evening_count / _YEAR_DAYS)
        self.rules = start_rules(plan.tariff)
        outlooks = tuple(s.outlook for s in need.settings if s.outlook is not None)
        self._garage, self._supplied = garage_of(plan), Supplied(volts, outlooks)
        self._drawn: dict[CarUse, Nights] = {}
        self._at_once: dict[float, Course] = {}

    def basis(self, file: str, rating_a: float, least_known: bool) -> TogetherBasis:
        """Return the record and the limits."""
        import numpy as np

        limits = open_edition(_LIMITS, book="product_limits")
        share = limits.rule("standard-breaker-continuous")
        pilot = limits.rule("control-pilot")
        continuous_a = rating_a * share.number("fraction")
        system = self.plan.load_management
        stated = system.limit.value if system and system.limit else None
        fallbacks = [each.value for each in system.fallback_currents] if system else []
        pair = (self.house.least_a, self.house.most_a)
        return TogetherBasis(
            file=file,
            interval_s=self.record.interval_s,
            days=self.house.known_days,
            evenings=self.evening_count,
            years=self.years,
            replays=int(assumed("year", "replays")),
            seed=int(assumed("year", "seed")),
            has_legs=self.record.legs_w is not None,
            voltage_v=self.volts,
            rating_a=rating_a,
            rating_is_least_known=least_known,
            continuous_a=continuous_a,
            continuous_hours=share.number("hours"),
            continuous_citation=share.citation,
            house_highest_a=_pair(float(np.nanmax(each)) for each in pair),
            house_over_80=_pair(
                float((each > continuous_a).sum()) / self.years for each in pair
            ),
            limit_a=continuous_a if stated is None else stated,
            limit_is_stated=stated is not None,
            smallest_a=pilot.number("slope_low_a_per_percent")
            * pilot.number("low_from_percent"),
            fallback_a=sum(fallbacks) if fallbacks else None,
            late_by_s=self.fine.step_s,
            accepted=sum(self.need.accepted),
            serving_a=self.need.smallest_setting_a,
        )

    def _nights(self, setting_a: float) -> tuple[Nights, ...]:
        from lugbook.demand.charging import nights_of

        found = []
        uses = cars_of(self._garage, self._supplied, setting_a)
        for number, use in enumerate(uses):
            if use not in self._drawn:
                self._drawn[use] = nights_of(
                    use,
                    first_day=self.first_day,
                    nights=self.evening_count,
                    replays=int(assumed("year", "replays")),
                    seed=int(assumed("year", "seed")) + number,
                )
            found.append(self._drawn[use])
        return tuple(found)

    def _courses(
        self,
        step: SettingNeed,
        basis: TogetherBasis,
        rules: Sequence[StartRule],
        without: frozenset[int] = frozenset(),
    ) -> tuple[Course, ...]:
        return replayed(
            self.house,
            self._nights(step.setting_a),
            setting_a=step.setting_a,
            voltage_v=step.power_kw * 1000 / step.drawn_a,
            limits_a=(basis.continuous_a, basis.rating_a),
            rules=rules,
            without_evenings=without,
        )

    def rows(self, step: SettingNeed, basis: TogetherBasis) -> list[TogetherRow]:
        """Return one setting under every rule."""
        rules = [rule for rule, _ in self.rules]
        found = self._courses(step, basis, rules)
        self._at_once[step.setting_a] = found[0]
        return [
            self._row(step, rule, course, basis)
            for rule, course in zip(rules, found, strict=True)
        ]

    def _row(
        self,
        step: SettingNeed,
        rule: StartRule,
        course: Course,
        basis: TogetherBasis,
    ) -> TogetherRow:
        over = course.over.mean(axis=2) / self.years
        nights = course.nights_over.mean(axis=2) / self.years
        independent = (
            by_clock_and_weekday(
                self.house,
                course,
                current_a=step.drawn_a,
                limits_a=(basis.continuous_a, basis.rating_a),
            )
            / self.years
        )
        return TogetherRow(
            setting_a=step.setting_a,
            rule=rule.id,
            quarters_over_80=_pair(over[0]),
            quarters_over_100=_pair(over[1]),
            nights_over_80=_pair(nights[0]),
            nights_over_100=_pair(nights[1]),
            chance_over_100_fraction=_pair(-math.expm1(-each) for each in nights[1]),
            longest_over_80_h=_pair(course.longest_s[0] / 3600),
            highest_a=course.highest_a,
            excess_kwh=_pair(course.excess_kwh.mean(axis=1) / self.years),
            mornings_missed=float(course.missed.mean()) / self.years,
            independent_over_80=_pair(independent[0]),
            independent_over_100=_pair(independent[1]),
        )

    def limit_row(self, step: SettingNeed, basis: TogetherBasis) -> LimitRow:
        """Return one setting with a device that keeps both under the limit."""
        nights = self._nights(step.setting_a)
        volts = step.power_kw * 1000 / step.drawn_a
        course = limited(
            self.fine,
            nights,
            setting_a=step.setting_a,
            voltage_v=volts,
            limit_a=basis.limit_a,
            smallest_a=basis.smallest_a,
            limits_a=(basis.limit_a, basis.rating_a),
        )
        hours = course.over.mean(axis=2) / self.years * self.fine.step_s / 3600
        whole = float(self._at_once[step.setting_a].energy_kwh.mean())
        return LimitRow(
            setting_a=step.setting_a,
            served_fraction=float(course.energy_kwh.mean()) / whole if whole else 1.0,
            mornings_missed=float(course.missed.mean()) / self.years,
            late_over_limit_h=_pair(hours[0]),
            late_over_100_h=_pair(hours[1]),
            late_highest_a=course.highest_a,
        )

    def evenings(self, basis: TogetherBasis) -> Evenings | None:
        """Return the evenings that stand out at the setting asked for."""
        step = next(
            (s for s in self.need.settings if s.setting_a == self.need.asked_a), None
        )
        if step is None:
            return None
        usual = self._at_once[step.setting_a]
        by_day = (usual.weekday_nights_over[0, 1] / self.years).tolist()
        whole = sum(by_day)
        heavy = [
            at for at, nights in enumerate(by_day) if nights > _HEAVY_FRACTION * whole
        ]
        if whole < 1 or not heavy:
            return None
        without = self._courses(step, basis, (AT_ONCE,), frozenset(heavy))[0]
        return Evenings(
            setting_a=step.setting_a,
            days=tuple(_DAYS[at] for at in heavy),
            nights=sum(by_day[at] for at in heavy),
            of_nights=whole,
            left_over=float(without.nights_over[0, 1].mean()) / self.years,
            mornings_missed=float(without.missed.mean()) / self.years,
            runs_for_hours=tuple(
                load.kind
                for load in self.plan.loads
                if load.continuous is not None and load.continuous.value is True
            ),
        )


def _pair(amounts: Any) -> Pair:
    least, most = (float(each) for each in amounts)
    return least, most


def _serving(rows: Sequence[TogetherRow], basis: TogetherBasis) -> TogetherRow | None:
    """Return the smallest setting that serves and adds nothing over the lower limit.

    A record may hold no winter: what does not serve a whole year does not serve.
    """
    if basis.serving_a is None:
        return None
    return next(
        (
            row
            for row in rows
            if row.setting_a >= basis.serving_a
            and row.mornings_missed <= basis.accepted + _ROUNDING
            and row.quarters_over_80[1] <= basis.house_over_80[1] + _ROUNDING
        ),
        None,
    )


def _sentences(
    need: Need,
    basis: TogetherBasis,
    rows: Sequence[TogetherRow],
    words: dict[str, str],
    serving: TogetherRow | None,
    standing_out: Evenings | None,
) -> tuple[str, ...]:
    """Return the answer in words, the setting asked for first."""
    a_year = "a year" if basis.days >= _YEAR_DAYS - 1 else "in the days recorded"
    said = []
    asked = [row for row in rows if row.setting_a == need.asked_a]
    if asked:
        said.append(_asked(asked, basis, words, a_year))
    if standing_out is not None:
        said.append(_evening_words(standing_out, basis, a_year))
    small = next((r for r in rows if r.setting_a == need.smallest_setting_a), None)
    if small is not None and small not in asked:
        said.append(
            f"At {small.setting_a:g} A, the smallest that serves, starting at once: "
            f"{_count(small.quarters_over_80)} quarter hours {a_year} over "
            f"{basis.continuous_a:g} A, none longer than "
            f"{small.longest_over_80_h[1]:.3g} h at a time."
            if small.quarters_over_80[1] > 0
            else f"At {small.setting_a:g} A, the smallest that serves, house and "
            f"charger stay under {basis.continuous_a:g} A even when it starts at once."
        )
    if serving is not None:
        said.append(
            f"The smallest setting that has the cars ready and keeps both under "
            f"{basis.continuous_a:g} A throughout: {serving.setting_a:g} A, started "
            f"{words[serving.rule]}."
        )
    else:
        said.append(
            "No setting and start rule has the cars ready and keeps both under "
            f"{basis.continuous_a:g} A throughout."
        )
    said.append("A schedule is not a guarantee: only a hard limit is.")
    return tuple(said)


def _asked(
    asked: Sequence[TogetherRow],
    basis: TogetherBasis,
    words: dict[str, str],
    a_year: str,
) -> str:
    pieces = []
    for row in asked:
        if row.quarters_over_80[1] <= 0:
            pieces.append(
                f"started {words[row.rule]}, none over {basis.continuous_a:g} A"
            )
            continue
        pieces.append(
            f"started {words[row.rule]}, {_count(row.nights_over_80)} nights {a_year} "
            f"over {basis.continuous_a:g} A and {_count(row.nights_over_100)} over "
            f"{basis.rating_a:g} A, at most {math.ceil(row.highest_a[1])} A"
        )
    return f"At {asked[0].setting_a:g} A: {'; '.join(pieces)}."


def _evening_words(found: Evenings, basis: TogetherBasis, a_year: str) -> str:
    days = " or ".join(f"a {day}" for day in found.days)
    said = (
        f"Of the nights over {basis.continuous_a:g} A, up to {found.nights:.0f} of "
        f"{found.of_nights:.0f} begin on {days}. Not charging on those evenings leaves "
        f"{_round(found.left_over)}"
    )
    missed = (
        f", and the car short of full on {_round(found.mornings_missed)} mornings"
        if found.mornings_missed > _ROUNDING
        else ", and misses no morning"
    )
    loads = " and ".join(found.runs_for_hours)
    lock = (
        f" If it is the {loads} that runs then, keep it off while the car charges: "
        "that misses no morning."
        if loads
        else ""
    )
    return f"{said}{missed} {a_year}.{lock}"


def _count(pair: Pair) -> str:
    """Return a pair of counts in words; the first at equal legs, the second not."""
    least, most = _round(pair[0]), _round(pair[1])
    return least if least == most else f"{least} to {most}"


def _round(count: float) -> str:
    return "under 1" if 0 < count < 0.5 else f"{count:.0f}"
