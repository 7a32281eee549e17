"""The largest setting the circuit as stated may carry, found by trying the steps."""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.circuit_case import Case, CountedRange, counted_range
from lugbook.assess.circuit_conductor import stated_limits
from lugbook.assess.circuit_overcurrent import POLES
from lugbook.assess.circuit_receptacle import receptacle_rating_a
from lugbook.codebook.nfpa70.overcurrent import (
    continuous_minimum_a,
    next_standard_rating,
)
from lugbook.errors import MissingEntry
from lugbook.finding import Outcome, compare, worst

__all__ = ["Largest", "largest_setting"]

_PASSES = (Outcome.MEETS, Outcome.NARROW)


@dataclass(frozen=True, slots=True)
class Largest:
    """The largest setting step, and why no more.

    Args:
        setting_a: The step; None where none may or it cannot be told. [A]
        reason: Why no larger step, in words. [-]
    """

    setting_a: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class _Limit:
    """One comparison a setting must pass: its outcome, and its words."""

    outcome: Outcome
    words: str


def largest_setting(case: Case) -> Largest:
    """The largest setting step the circuit as stated may carry.

    Args:
        case: The circuit. [-]

    Returns:
        The step and the reason. [A]
    """
    steps = _steps(case)
    if not steps:
        return Largest(None, "no setting is stated, so none can be tried")
    blocked = _protection_blocks(case)
    if blocked is not None:
        return blocked
    nearest, untold = "", ""
    for step_a in sorted(steps, reverse=True):
        limits = _limits(case, step_a, case.device_a)
        outcome = worst(tuple(each.outcome for each in limits))
        if outcome in _PASSES:
            return Largest(step_a, nearest or "the charger offers no larger setting")
        gravest = next(each for each in limits if each.outcome is outcome)
        verb = "falls short" if outcome is Outcome.FALLS_SHORT else "cannot be told"
        nearest = f"{step_a:g} A {verb}: {gravest.words}{_counts(case, step_a)}"
        if outcome is Outcome.CANNOT_TELL:
            untold = untold or nearest
    return Largest(None, f"no setting can be shown to pass; {untold or nearest}")


def _counts(case: Case, step_a: float) -> str:
    """Return words where a step counts, or may count, at another current."""
    counted = _range(case, step_a)
    if counted.high_a is None:
        return "; the nameplate is not stated"
    if counted.high_a <= step_a:
        return ""
    how = "counts" if counted.low_a == counted.high_a else "may count"
    return f"; the nameplate of {counted.high_a:g} A {how}"


def _range(case: Case, step_a: float) -> CountedRange:
    return counted_range(
        case.edition, case.wish, step_a, nameplate_open=case.circuit is not None
    )


def _steps(case: Case) -> tuple[float, ...]:
    """Return the settings to try: those offered, or setting and nameplate."""
    wish = case.wish
    offered = set(wish.steps_a)
    if not offered:
        offered = {a for a in (wish.setting_a, wish.nameplate_a) if a is not None}
    most_a = wish.nameplate_a
    return tuple(
        sorted(a for a in offered if a > 0 and (most_a is None or a <= most_a))
    )


def _protection_blocks(case: Case) -> Largest | None:
    """Return a refusal at every setting where the device outgrows its conductor."""
    if case.device_a is None:
        return None
    maximum_a = _maximum_a(case)
    if maximum_a is not None and not _at_most(case.device_a, maximum_a):
        return Largest(
            None,
            "at no setting: the overcurrent device is larger than the charger allows "
            f"({case.device_a:g} A, at most {maximum_a:g} A)",
        )
    device = case.circuit.overcurrent if case.circuit else None
    if device is not None and device.poles and device.poles.value != POLES:
        return Largest(None, f"at no setting: the device must have {POLES} poles")
    receptacle_a = receptacle_rating_a(case)
    if receptacle_a is not None and not _at_most(case.device_a, receptacle_a):
        return Largest(
            None,
            "at no setting: the overcurrent device is larger than the receptacle "
            f"({case.device_a:g} A, {receptacle_a:g} A)",
        )
    if case.size is None:
        return None
    hopeful = stated_limits(case, hopeful=True, device_a=case.device_a)
    if hopeful is None or hopeful.device_a is None:
        return None
    if _at_most(case.device_a, hopeful.device_a):
        return None
    return Largest(
        None,
        "at no setting: the overcurrent device is larger than the conductor allows; "
        + _with_smaller_device(case, hopeful.device_a),
    )


def _with_smaller_device(case: Case, allowed_a: float) -> str:
    """Return which step would pass with the largest device the conductor allows."""
    if allowed_a <= 0:
        return "its insulation may carry nothing where it lies"
    for step_a in sorted(_steps(case), reverse=True):
        limits = _limits(case, step_a, allowed_a)
        if worst(tuple(each.outcome for each in limits)) in _PASSES:
            return f"with a {allowed_a:g} A device: {step_a:g} A"
    return f"with a {allowed_a:g} A device no setting passes either"


def _limits(case: Case, step_a: float, device_a: float | None) -> tuple[_Limit, ...]:
    """Return every comparison a setting must pass on the circuit as stated."""
    counted = _range(case, step_a)
    low_a, high_a = counted.low_a, counted.high_a
    need = (_needed(case, low_a), _needed(case, high_a))
    kind = case.device_kind
    limits: list[_Limit] = []
    if case.circuit is None:
        # Nothing is stated that could cap it, save the charger itself.
        device_a = None
    if device_a is not None:
        limits.append(
            _both(need, (device_a, device_a), f"a {device_a:g} A overcurrent device")
        )
    rating_a = device_a or _next_rating(case, need[1] or need[0], kind)
    maximum_a = _maximum_a(case)
    if maximum_a is not None and rating_a is not None:
        limits.append(
            _both(
                (rating_a, rating_a),
                (maximum_a, maximum_a),
                f"the charger allows a device of {maximum_a:g} A",
            )
        )
    if case.size is not None and rating_a is not None:
        limits.extend(_conductor_limits(case, (low_a, high_a), need, rating_a))
    receptacle_a = receptacle_rating_a(case)
    if receptacle_a is not None:
        limits.append(
            _both(
                need, (receptacle_a, receptacle_a), f"a {receptacle_a:g} A receptacle"
            )
        )
    disconnect = case.circuit.fitted_disconnect if case.circuit else None
    for stated in (disconnect.rating, disconnect.fuse_rating) if disconnect else ():
        if stated is not None:
            words = f"a {stated.value:g} A disconnect"
            limits.append(_both(need, (stated.value, stated.value), words))
    if not limits:
        unsure = high_a is None
        outcome = Outcome.CANNOT_TELL if unsure else Outcome.MEETS
        limits.append(_Limit(outcome, "the nameplate is not stated"))
    return tuple(limits)


def _conductor_limits(
    case: Case,
    current: tuple[float, float | None],
    need: tuple[float | None, float | None],
    rating_a: float,
) -> list[_Limit]:
    hopeful = stated_limits(case, hopeful=True, device_a=rating_a)
    sure = stated_limits(case, hopeful=False, device_a=rating_a)
    size = f"{case.size} {case.material}"
    if hopeful is None or sure is None:
        return [_Limit(Outcome.CANNOT_TELL, f"the ampacity table has no {size}")]
    untold = f": {sure.missing[0]} is not stated" if sure.missing else ""
    at = f" in section {sure.worst_section}" if sure.worst_section else ""
    return [
        _both(
            need,
            (hopeful.terminal_a, sure.terminal_a),
            f"{size} at the terminals, {_amperes(sure.terminal_a)}{untold}",
        ),
        _both(
            current,
            (hopeful.use_a, sure.use_a),
            f"{size}{at}, {_amperes(sure.use_a)}{untold}",
        ),
        _both(
            (rating_a, rating_a),
            (hopeful.device_a, sure.device_a),
            f"{size}{at} allows a device of {_amperes(sure.device_a)}{untold}",
        ),
    ]


def _both(
    found: tuple[float | None, float | None],
    limit: tuple[float | None, float | None],
    words: str,
) -> _Limit:
    best = compare(found=found[0], limit=limit[0], kind="series").outcome
    least = compare(found=found[1], limit=limit[1], kind="series").outcome
    if best is not Outcome.FALLS_SHORT and least is Outcome.FALLS_SHORT:
        return _Limit(Outcome.CANNOT_TELL, words)
    return _Limit(best if best is Outcome.FALLS_SHORT else least, words)


def _at_most(found: float, limit: float) -> bool:
    return compare(found=found, limit=limit, kind="series").outcome is Outcome.MEETS


def _needed(case: Case, current_a: float | None) -> float | None:
    if current_a is None:
        return None
    return continuous_minimum_a(edition=case.edition, current_a=current_a).amount


def _next_rating(case: Case, at_least_a: float | None, kind: str) -> float | None:
    if at_least_a is None:
        return None
    try:
        return next_standard_rating(
            edition=case.edition, at_least_a=at_least_a, kind=kind
        ).amount
    except MissingEntry:
        return None


def _maximum_a(case: Case) -> float | None:
    charger = case.plan.charger
    if charger is None or charger.maximum_overcurrent is None:
        return None
    return charger.maximum_overcurrent.value


def _amperes(amount: float | None) -> str:
    return "unknown" if amount is None else f"{amount:.4g} A"
