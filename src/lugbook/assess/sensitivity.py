"""What would change the answer: every doubt tried over its plausible range.

One at a time ranks the doubts, with the other unknowns at their typical value: left
open, they would keep the headline at *cannot tell* whatever one of them were. All
together at their worst decides whether the headline can still fall; where it falls
short already, all together at their best decide whether it can still be lifted.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeAlias

from lugbook.assess.assessment import Assessment
from lugbook.assess.plan_changes import with_field
from lugbook.assess.sensitivity_ranges import (
    NOT_CHOSEN,
    Doubt,
    Ranges,
    Untried,
    doubts_of,
    plausible_ranges,
)
from lugbook.assess.spine import assess
from lugbook.codebook.edition import Edition
from lugbook.errors import LugbookError
from lugbook.finding import Finding, Outcome, Weight
from lugbook.premises.plan import Plan
from lugbook.readings.evidence import Evidence

__all__ = [
    "MOST_COMBINATIONS",
    "Influence",
    "Sensitivity",
    "Together",
    "Trial",
    "what_would_change",
]

MOST_COMBINATIONS = 64  # some 20 ms each; more are sampled, and it is said
_SEED = 1881  # any number; the same plan gives the same answer

_GRAVEST_FIRST = (
    Outcome.FALLS_SHORT,
    Outcome.CANNOT_TELL,
    Outcome.NARROW,
    Outcome.MEETS,
    Outcome.NOT_REQUIRED,
)
_PASSES = (Outcome.NARROW, Outcome.MEETS)
_SAME = 1e-9  # relative; two margins that differ by less are one
_EFFECTS = ("falls", "untold", "lifts", "outcome", "margin", "setting", "none")

Pick: TypeAlias = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Trial:
    """The answer with one doubt settled in one way, the others typical.

    Args:
        choice: What the doubt was taken as. [-]
        outcome: Outcome of the headline. [-]
        newly_short: Ids of findings that fall short now and did not before. [-]
        finding: The binding finding it moves that stands worst; None if none. [-]
        largest_prudent_a: Largest setting on the prudent reading. [A]
        largest_literal_a: Largest setting as worded. [A]
    """

    choice: str
    outcome: Outcome
    newly_short: tuple[str, ...]
    finding: Finding | None
    largest_prudent_a: float | None
    largest_literal_a: float | None


@dataclass(frozen=True, slots=True)
class Influence:
    """What one doubt alone can do to the answer.

    Args:
        doubt: The doubt. [-]
        effect: One of falls, untold, lifts, outcome, margin, setting, none. [-]
        worst: The trial with the worst answer. [-]
        best: The trial with the best. [-]
        trials: All of them, the typical one left out. [-]
    """

    doubt: Doubt
    effect: str
    worst: Trial
    best: Trial
    trials: tuple[Trial, ...]


@dataclass(frozen=True, slots=True)
class Together:
    """Doubts that change the answer only together.

    Args:
        picks: Field and choice of each of them; none of them can be left out. [-]
        outcome: Outcome of the headline then. [-]
        changed: Ids of the findings that no longer pass, or now do. [-]
    """

    picks: tuple[tuple[str, str], ...]
    outcome: Outcome
    changed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """What would change the answer.

    Args:
        outcome: Headline as the plan states it. [-]
        typical_outcome: Headline with every unknown at its typical value. [-]
        influences: Each doubt alone, the gravest first. [-]
        together: Doubts that change it only together; None if none were found. [-]
        can_fall: Whether a plausible combination takes a pass away. [-]
        can_rise: Whether one lifts an answer that falls short. [-]
        is_settled: Whether nothing unknown can change the answer. [-]
        sentence: The same in words. [-]
        search: How the combinations were searched. [-]
        untried: What may be otherwise and was not tried. [-]
        still_open: Ids of binding findings no typical value settles. [-]
        later: Number of questions that belong to a later stage. [-]
        evaluations: How many assessments were made. [-]
    """

    outcome: Outcome
    typical_outcome: Outcome
    influences: tuple[Influence, ...]
    together: Together | None
    can_fall: bool
    can_rise: bool
    is_settled: bool
    sentence: str
    search: str
    untried: tuple[Untried, ...]
    still_open: tuple[str, ...]
    later: int
    evaluations: int


def what_would_change(
    plan: Plan,
    evidence_of: Callable[[Plan], Evidence],
    rules: Edition,
    on: date,
    setting_a: float | None = None,
    *,
    ranges: Ranges | None = None,
) -> Sensitivity:
    """Which unknown or assumed things would change the answer?

    Args:
        plan: The house as stated. [-]
        evidence_of: Gives what a plan states of measurements. [-]
        rules: Edition with its local amendments. [-]
        on: The day of the assessment. [-]
        setting_a: Setting to ask about instead of the plan's. [A]
        ranges: Plausible ranges; those shipped if left out. [-]

    Returns:
        The doubts ranked, and whether they can change the answer together. [-]

    Raises:
        InputError: The setting asked about is no current the charger can be set to.
    """
    stated = assess(plan, evidence_of(plan), rules, on, setting_a)
    doubts, untried = doubts_of(plan, stated, ranges or plausible_ranges())
    house = _House(plan, evidence_of, rules, on, setting_a, doubts)
    typical = house.typical
    base = house.seen(typical)
    influences = sorted(
        (_influence(house, place, base) for place in range(len(doubts))),
        key=lambda each: _rank(each, base),
    )
    passes = base.outcome in _PASSES
    flips = _lifts if base.falls else _leaves_pass if passes else _falls
    alone = {
        place
        for place, doubt in enumerate(doubts)
        for choice in range(len(doubt.choices))
        if flips(house.seen(_moved(typical, place, choice)))
    }
    search = _Search(house, flips, worse=not base.falls, fixed=alone)
    pick = search.run()
    can_flip = bool(alone) or pick is not None
    open_unknowns = [each for each in untried if each.is_unknown]
    settled = (
        not can_flip
        and search.is_complete
        and not open_unknowns
        and base.outcome is not Outcome.CANNOT_TELL
    )
    still_open = tuple(sorted(base.ids_of(Outcome.CANNOT_TELL)))
    return Sensitivity(
        outcome=stated.headline.outcome,
        typical_outcome=base.outcome,
        influences=tuple(influences),
        together=None if pick is None else _together(house, pick, base),
        can_fall=passes and can_flip,
        can_rise=base.falls and can_flip,
        is_settled=settled,
        sentence=_sentence(
            stated.headline.outcome,
            base,
            len(alone),
            pick is not None,
            search,
            len(open_unknowns),
            still_open,
            is_chosen=all(each.why != NOT_CHOSEN for each in untried),
        ),
        search=search.how,
        untried=untried,
        still_open=still_open,
        later=sum(unknown.later for unknown in stated.unknowns),
        evaluations=house.evaluations + 1,
    )


# --- one assessment, cut down to what is compared ----------------------------------


@dataclass(frozen=True, slots=True)
class _Seen:
    """An answer: the headline, and every binding finding with its room."""

    outcome: Outcome
    binding: dict[str, Finding]
    largest_prudent_a: float | None
    largest_literal_a: float | None

    @property
    def falls(self) -> bool:
        return self.outcome is Outcome.FALLS_SHORT

    def ids_of(self, outcome: Outcome) -> set[str]:
        return {id for id, each in self.binding.items() if each.outcome is outcome}

    def room(self, id: str) -> tuple[int, float]:
        """Return how well a finding stands: its outcome, then its margin."""
        finding = self.binding.get(id)
        if finding is None:
            return len(_GRAVEST_FIRST), math.inf
        fraction = _fraction(finding)
        grade = _GRAVEST_FIRST.index(finding.outcome)
        return grade, math.inf if fraction is None else fraction


_NOTHING = _Seen(Outcome.CANNOT_TELL, {}, None, None)


def _fraction(finding: Finding) -> float | None:
    limit, margin = finding.limit, finding.margin
    if margin is None or not isinstance(limit, int | float) or not limit:
        return None
    return margin / abs(limit)


def _is_lower(one: tuple[int, float], other: tuple[int, float]) -> bool:
    """Return whether one finding stands worse than another, beyond rounding."""
    if one[0] != other[0]:
        return one[0] < other[0]
    return one[1] < other[1] and not math.isclose(one[1], other[1], rel_tol=_SAME)


def _no_better(one: _Seen, other: _Seen) -> bool:
    """Return whether no finding of one answer stands better than in the other."""
    ids = one.binding.keys() | other.binding.keys()
    return not any(_is_lower(other.room(id), one.room(id)) for id in ids)


class _House:
    """The plan with its doubts settled one way or another, each answer kept."""

    def __init__(
        self,
        plan: Plan,
        evidence_of: Callable[[Plan], Evidence],
        rules: Edition,
        on: date,
        setting_a: float | None,
        doubts: tuple[Doubt, ...],
    ) -> None:
        self.doubts = doubts
        self.typical: Pick = tuple(doubt.typical for doubt in doubts)
        self.evaluations = 0
        self._plan = plan
        self._evidence_of = evidence_of
        self._rules = rules
        self._on = on
        self._setting_a = setting_a
        self._kept: dict[tuple[Pick, bool], _Seen] = {}

    def seen(self, pick: Pick, *, brief: bool = False) -> _Seen:
        """Return the answer, in brief with no setting but the one asked about."""
        for key in ((pick, False), (pick, brief)):
            if key in self._kept:
                return self._kept[key]
        self.evaluations += 1
        self._kept[pick, brief] = seen = self._made(pick, brief)
        return seen

    def _made(self, pick: Pick, brief: bool) -> _Seen:
        plan = _one_step(self._plan) if brief else self._plan
        try:
            for doubt, place in zip(self.doubts, pick, strict=True):
                change = doubt.choices[place].change
                plan = plan if change is None else change(plan)
            evidence = self._evidence_of(plan)
            return _seen(assess(plan, evidence, self._rules, self._on, self._setting_a))
        except LugbookError:
            # Two choices that exclude each other, or a figure beyond a formula.
            return _NOTHING


def _one_step(plan: Plan) -> Plan:
    """Return the plan with no setting step but the setting: as judged, and sooner."""
    if plan.charger is None or plan.charger.setting is None:
        return plan
    return with_field(plan, ("charger", "setting_steps"), (plan.charger.setting,))


def _seen(assessment: Assessment) -> _Seen:
    headline = assessment.headline
    binding = {
        finding.id: finding
        for finding in assessment.findings
        if finding.weight in (Weight.STOP, Weight.MUST)
    }
    return _Seen(
        headline.outcome,
        binding,
        headline.largest_prudent_a,
        headline.largest_literal_a,
    )


# --- one at a time -----------------------------------------------------------------


def _moved(pick: Pick, place: int, choice: int) -> Pick:
    return (*pick[:place], choice, *pick[place + 1 :])


def _influence(house: _House, place: int, base: _Seen) -> Influence:
    doubt = house.doubts[place]
    trials = tuple(
        _trial(choice.label, house.seen(_moved(house.typical, place, number)), base)
        for number, choice in enumerate(doubt.choices)
        if number != doubt.typical
    )
    if not trials:  # one choice is all its range has
        trials = (_trial(doubt.choices[doubt.typical].label, base, base),)
    worst = min(trials, key=_gravity)
    best = max(trials, key=_gravity)
    effect = min((_effect(each, base) for each in trials), key=_EFFECTS.index)
    return Influence(doubt, effect, worst, best, trials)


def _trial(choice: str, seen: _Seen, base: _Seen) -> Trial:
    short = Outcome.FALLS_SHORT
    moved = [
        id
        for id in seen.binding.keys() | base.binding.keys()
        if _is_lower(seen.room(id), base.room(id))
        or _is_lower(base.room(id), seen.room(id))
    ]
    held = [id for id in sorted(moved) if id in seen.binding]
    gravest = min(held, key=seen.room, default=None)
    return Trial(
        choice=choice,
        outcome=seen.outcome,
        newly_short=tuple(sorted(seen.ids_of(short) - base.ids_of(short))),
        finding=None if gravest is None else seen.binding[gravest],
        largest_prudent_a=seen.largest_prudent_a,
        largest_literal_a=seen.largest_literal_a,
    )


def _gravity(trial: Trial) -> tuple[int, int, float, float, float]:
    """Return what trials are ranked by, the worst answer lowest."""
    margin = _fraction(trial.finding) if trial.finding else None
    return (
        _GRAVEST_FIRST.index(trial.outcome),
        -len(trial.newly_short),
        math.inf if margin is None else margin,
        trial.largest_prudent_a or 0.0,
        trial.largest_literal_a or 0.0,
    )


def _effect(trial: Trial, base: _Seen) -> str:
    was_passing = base.outcome in _PASSES
    if trial.outcome is Outcome.FALLS_SHORT and not base.falls:
        return "falls"
    if trial.outcome is Outcome.CANNOT_TELL and was_passing:
        return "untold"
    if trial.outcome in _PASSES and not was_passing:
        return "lifts"
    if trial.outcome is not base.outcome or trial.newly_short:
        return "outcome"
    if trial.finding:
        return "margin"
    settings = (trial.largest_prudent_a, trial.largest_literal_a)
    same = settings == (base.largest_prudent_a, base.largest_literal_a)
    return "none" if same else "setting"


def _rank(influence: Influence, base: _Seen) -> tuple[object, ...]:
    outcome, short, margin, prudent, literal = _gravity(influence.worst)
    lifts = base.falls and influence.effect == "lifts"
    moves = _EFFECTS.index(influence.effect)
    return outcome, short, not lifts, moves, margin, prudent, literal


# --- all together ------------------------------------------------------------------


def _falls(seen: _Seen) -> bool:
    return seen.falls


def _leaves_pass(seen: _Seen) -> bool:
    return seen.outcome not in _PASSES


def _lifts(seen: _Seen) -> bool:
    return seen.outcome in _PASSES


class _Search:
    """A search for a combination that flips the answer.

    Args:
        house: The house with its doubts. [-]
        flips: Whether an answer is the other one. [-]
        worse: Whether the other answer is the worse one. [-]
        fixed: Places of doubts that stay typical, since they flip it alone. [-]
    """

    def __init__(
        self,
        house: _House,
        flips: Callable[[_Seen], bool],
        *,
        worse: bool,
        fixed: set[int],
    ) -> None:
        self.house = house
        self.flips = flips
        self.worse = worse
        self.free = [n for n in range(len(house.doubts)) if n not in fixed]
        self.is_complete = True
        self.how = "nothing had to be combined"

    def run(self) -> Pick | None:
        """Return the smallest combination found; None if none was."""
        if len(self.free) < 2:
            return None
        pick = self._found()
        return None if pick is None else self._shrunk(pick)

    def _found(self) -> Pick | None:
        every = [range(len(doubt.choices)) for doubt in self.house.doubts]
        if self._number(every) <= MOST_COMBINATIONS:
            self.how = _tried(self._number(every))
            return self._first(self._combinations(every))
        extreme = "worst" if self.worse else "best"
        end = self._end()
        if self._flips(end):
            self.how = f"all at their {extreme} together"
            return end
        sure = [
            self._sure(place, end) if place in self.free else (end[place],)
            for place in range(len(self.house.doubts))
        ]
        kept = [
            choices if doubt.is_ordered else everything
            for doubt, choices, everything in zip(
                self.house.doubts, sure, every, strict=True
            )
        ]
        for options, rest in (
            (kept, f"the ordered ones at their {extreme} end"),
            (sure, f"those that work one way only at their {extreme} choice"),
        ):
            number = self._number(options)
            if number <= MOST_COMBINATIONS:
                self.how = f"{_tried(number)}, {rest}"
                return self._first(self._combinations(options))
        self.is_complete = False
        self.how = (
            f"{MOST_COMBINATIONS} of {self._number(sure)} combinations were tried, "
            f"drawn with the fixed seed {_SEED}; not every one"
        )
        return self._first(self._drawn(sure))

    def _flips(self, pick: Pick) -> bool:
        return self.flips(self.house.seen(pick, brief=True))

    def _first(self, picks: Iterable[Pick]) -> Pick | None:
        return next((pick for pick in picks if self._flips(pick)), None)

    def _number(self, options: Sequence[Sequence[int]]) -> int:
        return math.prod(len(options[place]) for place in self.free)

    def _combinations(self, options: Sequence[Sequence[int]]) -> list[Pick]:
        """Return every combination, those first that differ least from typical."""
        typical = self.house.typical
        chosen = [
            options[place] if place in self.free else (typical[place],)
            for place in range(len(typical))
        ]
        return sorted(itertools.product(*chosen), key=self._distance)

    def _distance(self, pick: Pick) -> int:
        pairs = zip(pick, self.house.typical, strict=True)
        return sum(one != other for one, other in pairs)

    def _end(self) -> Pick:
        """Return the pick of what is worst, or best, of each doubt alone."""
        pick = self.house.typical
        for place in self.free:
            pick = _moved(pick, place, self._extreme(self.house.typical, place))
        return pick

    def _extreme(self, around: Pick, place: int) -> int:
        def key(choice: int) -> tuple[object, ...]:
            seen = self.house.seen(_moved(around, place, choice), brief=True)
            rooms = sorted(seen.room(id) for id in seen.binding)
            return (*_grades(rooms), rooms)

        choices = range(len(self.house.doubts[place].choices))
        return min(choices, key=key) if self.worse else max(choices, key=key)

    def _sure(self, place: int, end: Pick) -> Sequence[int]:
        """Return the choices that have to be combined.

        One is enough where it is the extreme in every finding both around the
        typical house and around the one in which all stand at their extreme; where
        nothing moves in either, the extreme one stands for all.
        """
        choices = range(len(self.house.doubts[place].choices))
        extreme = end[place]
        for around in (self.house.typical, end):
            mine = self.house.seen(_moved(around, place, extreme), brief=True)
            for choice in choices:
                other = self.house.seen(_moved(around, place, choice), brief=True)
                one, two = (mine, other) if self.worse else (other, mine)
                if not _no_better(one, two):
                    return choices
        return (extreme,)

    def _drawn(self, options: Sequence[Sequence[int]]) -> Iterator[Pick]:
        draw = random.Random(_SEED)
        for _ in range(MOST_COMBINATIONS):
            pick = self.house.typical
            for place in self.free:
                pick = _moved(pick, place, draw.choice(options[place]))
            yield pick

    def _shrunk(self, pick: Pick) -> Pick:
        """Return the pick with every doubt put back that is not needed for it."""
        for place in self.free:
            less = _moved(pick, place, self.house.typical[place])
            if self._flips(less):
                pick = less
        return pick


def _tried(number: int) -> str:
    if number == 1:
        return "the one combination there is was tried"
    return f"every one of {number} combinations was tried"


def _grades(rooms: list[tuple[int, float]]) -> tuple[int, int]:
    """Return the worst outcome, and less for each finding that has it."""
    grades = [grade for grade, _ in rooms]
    gravest = min(grades, default=1)
    return gravest, -grades.count(gravest)


def _together(house: _House, pick: Pick, base: _Seen) -> Together:
    seen = house.seen(pick, brief=True)
    open_ = (Outcome.FALLS_SHORT, Outcome.CANNOT_TELL)
    changed = {
        id
        for id in seen.binding.keys() | base.binding.keys()
        if any((id in seen.ids_of(each)) != (id in base.ids_of(each)) for each in open_)
    }
    return Together(
        picks=tuple(
            (doubt.field, doubt.choices[choice].label)
            for doubt, choice in zip(house.doubts, pick, strict=True)
            if choice != doubt.typical
        ),
        outcome=seen.outcome,
        changed=tuple(sorted(changed)),
    )


# --- in words ----------------------------------------------------------------------


def _sentence(
    stated: Outcome,
    base: _Seen,
    alone: int,
    together: bool,
    search: _Search,
    unranged: int,
    still_open: tuple[str, ...],
    *,
    is_chosen: bool,
) -> str:
    if base.outcome is Outcome.CANNOT_TELL:
        number = len(still_open)
        points = "1 point" if number == 1 else f"{number} points"
        return (
            f"Even with every unknown at its typical value {points} cannot be told, "
            "so what would change the answer is not known."
        )
    verb = "lift the answer" if base.falls else "take the pass away"
    if alone:
        who = "1 thing alone" if alone == 1 else f"each of {alone} things alone"
        more = ", others only together" if together else ""
        return f"The answer is not settled: {who} can {verb}{more}."
    if together:
        return f"The answer is not settled: nothing alone, but several together {verb}."
    if not search.is_complete:
        return "No combination tried changes the answer, but not every one was tried."
    if unranged:
        those = "1 unknown has" if unranged == 1 else f"{unranged} unknowns have"
        return (
            f"Nothing tried changes the answer, but {those} no plausible range and "
            "could not be tried."
        )
    if base.falls:
        return (
            "Nothing unknown can change the answer: it falls short even with all of "
            "it at its best together."
        )
    if stated not in _PASSES:
        return (
            "Nothing unknown can change the answer: it passes even with all of it at "
            "its worst together. State the values, and the headline says so."
        )
    passes = (
        "Nothing unknown can change the answer: it passes even with all of it at its "
        "worst together."
    )
    if not is_chosen:
        return passes
    return f"{passes} As far as this plan goes, you can buy the parts."
