"""Load management and shared current: what it watches, and how it fails."""

from __future__ import annotations

from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.installation_parts import Check, Sheet, fact, value_of
from lugbook.codebook.nfpa70.overcurrent import continuous_minimum_a
from lugbook.finding import Line, SignalWord, Weight
from lugbook.premises.equipment import LoadManagement
from lugbook.premises.stated import Stated

__all__ = ["inspect_management"]

# Keep anyone who is not meant to from raising the limit.
_RESTRICTING = (
    "cover that needs a tool",
    "lock",
    "password",
    "behind a locked door",
    "installer switch inside",
)
_ON_A_CIRCUIT = "branch circuit"


def inspect_management(sheet: Sheet) -> None:
    """Write what there is to say of load management.

    Args:
        sheet: The sheet. [-]
    """
    system = sheet.plan.load_management
    if system is None:
        return
    _limit(sheet, system)
    _fallback(sheet, system)
    _yes_or_no(sheet, system)
    _restricted(sheet, system)


def _watched_a(sheet: Sheet, system: LoadManagement) -> tuple[float | None, str]:
    """Return the rating of the device over what the system watches, and its name."""
    watches, plan = value_of(system.watches), sheet.plan
    if watches == _ON_A_CIRCUIT:
        return sheet.case.judged_device_a, "the circuit's overcurrent device"
    if watches == "feeder":
        feeder = next((f for f in plan.feeders if f.id == system.watched_id), None)
        device = feeder.overcurrent if feeder else None
        return value_of(device.rating) if device else None, "the feeder's device"
    if watches == "service":
        main = plan.service.main if plan.service else None
        stated = value_of(main.rating) if main else None
        own = value_of(plan.panels[0].main_rating) if plan.panels else None
        return stated if stated is not None else own, "the main"
    return None, "the device over what it watches"


def _share(sheet: Sheet, amount_a: float) -> float:
    """Return the device a continuous current needs, as the rule has it."""
    return continuous_minimum_a(
        edition=sheet.edition, current_a=amount_a, rule="continuous-load-overcurrent"
    ).amount


def _against_device(
    sheet: Sheet, amount_a: float | None, device_a: float | None, *, next: str
) -> Check:
    needed_a = None if amount_a is None else _share(sheet, amount_a)
    return check(
        found=(needed_a, needed_a),
        limit=(device_a, device_a),
        unit="A",
        citation=sheet.citation("energy-management-limit"),
        next=next,
        signal=SignalWord.WARNING,
    )


def _limit(sheet: Sheet, system: LoadManagement) -> None:
    device_a, name = _watched_a(sheet, system)
    limit_a = value_of(system.limit)
    rule = sheet.edition.rule("continuous-load-overcurrent")
    factor = rule.number("continuous_factor")
    sheet.answer(
        "management.limit",
        "Is the limit low enough for what it watches, for hours on end?",
        (
            _against_device(
                sheet,
                limit_a,
                device_a,
                next=(
                    f"State its limit, what it watches, and the rating of {name}."
                    if limit_a is None or device_a is None
                    else f"Set the limit to {device_a / factor:g} A or less: held for "
                    f"hours, more trips or heats {name}."
                ),
            ),
        ),
        lines=(
            Line("limit", limit_a, "A", source="plan, load_management.limit"),
            Line(
                "device it needs",
                None if limit_a is None else _share(sheet, limit_a),
                "A",
                "limit × factor",
                f"factor {factor:g}",
                rule.citation,
            ),
            Line(name, device_a, "A", source="plan"),
        ),
        unknown=tuple(
            (f"load_management.{field}", asked, look)
            for field, asked, look, stated in (
                ("limit", "Which current does it keep under?", "settings", limit_a),
                (
                    "watches",
                    "What does it measure: service, feeder or branch circuit?",
                    "where its sensors sit",
                    system.watches,
                ),
            )
            if stated is None
        ),
        open_weight=Weight.MUST,
    )


def _fallback(sheet: Sheet, system: LoadManagement) -> None:
    """Write the sum of the currents its members fall back to when the link is lost."""
    device_a, name = _watched_a(sheet, system)
    stated = [each.value for each in system.fallback_currents]
    complete = bool(stated) and len(stated) == len(system.members)
    sum_a = sum(stated) if complete else None
    factor = sheet.edition.rule("continuous-load-overcurrent").number(
        "continuous_factor"
    )
    sheet.answer(
        "management.fallback",
        "If the link is lost, do the currents it falls back to still fit?",
        (
            _against_device(
                sheet,
                sum_a,
                device_a,
                next=(
                    "State the fallback current of each member, in the order of "
                    "load_management.members."
                    if sum_a is None or device_a is None
                    else "Lower the fallback currents: together at most "
                    f"{device_a / factor:g} A, or a lost link overloads {name}."
                ),
            ),
        ),
        lines=(
            Line(
                "sum of the fallback currents",
                sum_a,
                "A",
                "sum",
                " + ".join(f"{each:g}" for each in stated) + " A" if stated else "",
                "plan, load_management.fallback_currents",
            ),
            Line(
                "device it needs",
                None if sum_a is None else _share(sheet, sum_a),
                "A",
                "sum × factor",
                f"factor {factor:g}",
                sheet.edition.rule("continuous-load-overcurrent").citation,
            ),
        ),
        unknown=(
            (
                "load_management.fallback_currents",
                "To which current does each member fall back when the link is lost?",
                "the manual of each",
            ),
        ),
        open_weight=Weight.MUST,
    )


def _yes_or_no(sheet: Sheet, system: LoadManagement) -> None:
    """Write the questions about the system that are answered yes or no."""
    limit_rule = sheet.citation("energy-management-limit")
    label_rule = sheet.citation("energy-management-label")
    asked: tuple[tuple[str, str, Stated[bool] | None, str, str, Weight], ...] = (
        (
            "sensors",
            "Does it measure both legs?",
            system.sensors_on_both_legs,
            "Have a sensor fitted on each leg: what runs on the other leg is not seen.",
            "sensors_on_both_legs",
            Weight.MUST,
        ),
        (
            "listing",
            "Is it listed for limiting current?",
            system.listed,
            "Take one that is listed for it: only then may its limit count.",
            "listed",
            Weight.MUST,
        ),
        (
            "fails_low",
            "Does a lost sensor or link lower the current?",
            system.fails_low,
            "Do not rely on it: with the link lost it lets the current rise. Take one "
            "that falls back low, and test it by pulling sensor and link.",
            "fails_low",
            Weight.MUST,
        ),
        (
            "directory",
            "Does a sign name what it controls?",
            system.directory_posted,
            "Post a durable sign beside the panel that names what it controls.",
            "directory_posted",
            Weight.ADVICE,
        ),
    )
    for name, question, stated, short, field, open_weight in asked:
        sheet.answer(
            f"management.{name}",
            question,
            (
                fact(
                    stated,
                    found=("yes", "no"),
                    limit="yes",
                    citation=label_rule if name == "directory" else limit_rule,
                    short=short,
                    open_=f"State load_management.{field}.",
                    signal=None if name == "directory" else SignalWord.WARNING,
                ),
            ),
            unknown=((f"load_management.{field}", question, "manual or settings"),),
            open_weight=open_weight,
        )


def _restricted(sheet: Sheet, system: LoadManagement) -> None:
    means = system.limit_restricted_by
    passes = any(each in _RESTRICTING for each in means) if means else None
    sheet.answer(
        "management.restricted",
        "Is the limit kept from being raised by anyone?",
        (
            fact_check(
                passes,
                found=", ".join(means) or None,
                limit="cover, lock, password or locked door",
                citation=sheet.citation("energy-management-limit"),
                next=(
                    "State what keeps the limit from being raised."
                    if passes is None
                    else "Put the limit behind a password, a lock or a cover that "
                    "needs a tool: raised by a guest it protects nothing."
                ),
            ),
        ),
        unknown=(
            (
                "load_management.limit_restricted_by",
                "What keeps the limit from being raised by anyone?",
                "its manual",
            ),
        ),
        open_weight=Weight.MUST,
    )
