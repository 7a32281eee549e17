"""What the charger's maker and its plug ask for beyond the rules of the circuit."""

from __future__ import annotations

from lugbook.assess.circuit_parts import fact_check
from lugbook.assess.installation_parts import Sheet, value_of
from lugbook.finding import Line, SignalWord, Weight

__all__ = ["inspect_charger"]

_STURDY = "industrial"


def inspect_charger(sheet: Sheet) -> None:
    """Write what there is to say of the breaker prescribed and of the receptacle.

    Args:
        sheet: The sheet. [-]
    """
    _breaker_prescribed(sheet)
    _receptacle_grade(sheet)


def _breaker_prescribed(sheet: Sheet) -> None:
    """Write whether the device is of the type that the charger's maker prescribes."""
    charger = sheet.plan.charger
    wanted = value_of(charger.breaker_type_prescribed) if charger else None
    if wanted is None:
        return
    device = sheet.circuit.overcurrent if sheet.circuit else None
    kind = value_of(device.type) if device else None
    same = kind is not None and kind.strip().casefold() == wanted.strip().casefold()
    sheet.answer(
        "place.breaker_prescribed",
        "Is the breaker of the type that the charger's maker prescribes?",
        (
            fact_check(
                # Two names of one thing may differ: only a person can say they do not.
                True if same else None,
                found=kind,
                limit=wanted,
                citation=sheet.citation("equipment-listing", "instructions_followed"),
                next=(
                    f"The maker asks for: {wanted}. Compare that with the breaker; "
                    "its instructions are part of its listing."
                ),
            ),
        ),
        unknown=(
            (
                "circuit.overcurrent.type",
                "Of which type is the breaker?",
                "its face or side, against the charger's installation manual",
            ),
        ),
        open_weight=Weight.MUST if sheet.is_proposed else Weight.ADVICE,
    )


def _receptacle_grade(sheet: Sheet) -> None:
    """Write whether the receptacle bears hours of current, night after night.

    No rule before 2026 asks for more than its rating; jaws of the household grade
    that loosen are what burns.
    """
    charger = sheet.plan.charger
    if charger is None or value_of(charger.connection) != "receptacle":
        return
    grade = value_of(charger.receptacle_grade)
    listed = value_of(charger.receptacle_listed_for_vehicles)
    pulls = value_of(charger.unplugged_per_year)
    passes: bool | None = None
    if listed or grade == _STURDY:
        passes = True
    elif grade is not None:
        passes = False
    sheet.answer(
        "place.receptacle_grade",
        "Does the receptacle bear hours of charging, night after night?",
        (
            fact_check(
                passes,
                found="listed for vehicle charging" if listed else grade,
                limit="listed for vehicle charging, or of industrial grade",
                citation=None,
                next=(
                    "Read the grade on the receptacle's package or face."
                    if passes is None
                    else "Have it changed for one of industrial grade, or the charger "
                    "wired in: thin jaws loosen, heat and burn. Feel its face after "
                    "an hour of charging. Common practice, no source."
                ),
                weight=Weight.ADVICE,
                signal=SignalWord.WARNING,
            ),
        ),
        lines=(
            Line(
                "unplugged in a year",
                None if pulls is None else float(pulls),
                "times",
                source="plan, charger.unplugged_per_year",
            ),
        ),
        unknown=(
            (
                "charger.receptacle_grade",
                "Of which grade is the receptacle?",
                "its package, or the print on its face",
            ),
        ),
        weight=Weight.ADVICE,
        done="Leave it plugged in: jaws wear with every pull.",
    )
