"""The wires themselves: the alloy of aluminum, and telling them apart by colour."""

from __future__ import annotations

from lugbook.assess.circuit_parts import fact_check
from lugbook.assess.installation_parts import Check, Sheet, fact, value_of
from lugbook.finding import SignalWord
from lugbook.premises.circuit import CABLES

__all__ = ["inspect_wires"]


def inspect_wires(sheet: Sheet) -> None:
    """Write what there is to say of metals and colours.

    Args:
        sheet: The sheet. [-]
    """
    if sheet.case.run:
        _aluminum(sheet)
        _identification(sheet)


def _aluminum(sheet: Sheet) -> None:
    """Write whether aluminum is of the alloy for building wire."""
    rule = sheet.edition.rule("aluminum-conductor")
    conductor = sheet.circuit.conductor if sheet.circuit else None
    if conductor is None or value_of(conductor.material) != "aluminum":
        return
    alloy = value_of(conductor.alloy)
    wanted = rule.text("alloy_series")
    sheet.answer(
        "run.aluminum",
        "Is the aluminum of the alloy for building wire, and joined as it must be?",
        (
            fact_check(
                None if alloy is None else wanted.lower() in alloy.lower(),
                found=alloy,
                limit=wanted,
                citation=rule.citation,
                next=(
                    "Read the print on the jacket: the alloy stands there."
                    if alloy is None
                    else f"Take wire of {wanted} alloy: older aluminum creeps under a "
                    "screw, and the joint heats."
                ),
                signal=SignalWord.WARNING,
            ),
        ),
        unknown=(
            (
                "circuit.conductor.alloy",
                "Which alloy is the aluminum?",
                "print along the jacket: AA-8000",
            ),
        ),
        done=(
            "Brush the ends, use compound where the terminal's maker asks for it, one "
            "wire to a hole, and set the printed torque."
        ),
    )


def _identification(sheet: Sheet) -> None:
    """Write whether the next person can tell the wires apart."""
    circuit = sheet.circuit
    if circuit is None:
        return
    white = sheet.edition.rule("white-reidentified")
    colors = sheet.edition.rule("conductor-identification")
    checks: list[Check] = []
    color = value_of(circuit.conductor.color) if circuit.conductor else None
    in_cable = any(laid.method in CABLES for laid in sheet.case.run)
    reserved = (*colors.words("neutral_colors"), *colors.words("grounding_colors"))
    if color is not None:
        plain = color.strip().lower()
        is_reserved = plain in reserved
        is_white = plain in colors.words("neutral_colors")
        marked = value_of(circuit.white_conductor_reidentified)
        passes: bool | None = not is_reserved
        if is_white and in_cable:
            passes = marked
        checks.append(
            fact_check(
                passes,
                found=f"{plain}{', re-marked' if is_white and marked else ''}",
                limit="no white, gray or green leg, but re-marked white in a cable",
                citation=(white if is_white else colors).citation,
                next=(
                    "Re-mark the white wire at every place where it can be seen."
                    if is_white and in_cable
                    else "Take wire of another colour for the legs: the next person "
                    "takes this one for neutral or ground and touches it."
                ),
                signal=SignalWord.WARNING,
            )
        )
    elif circuit.white_conductor_reidentified is not None:
        checks.append(
            fact(
                circuit.white_conductor_reidentified,
                found=("re-marked", "white, unmarked"),
                limit="re-marked at each place where it can be seen",
                citation=white.citation,
                short="Re-mark the white wire at every place where it can be seen.",
                open_="",
                signal=SignalWord.WARNING,
            )
        )
    elif in_cable:
        checks.append(
            fact_check(
                None,
                found=None,
                limit="a white leg re-marked",
                citation=white.citation,
                next=(
                    "State whether a white wire serves as a leg, and whether it is "
                    "re-marked at both ends."
                ),
            )
        )
    sheet.answer(
        "run.identification",
        "Can the next person tell legs, neutral and ground apart?",
        checks,
        unknown=(
            (
                "circuit.white_conductor_reidentified",
                "Is a white wire that serves as a leg re-marked?",
                "both ends, covers off, by a qualified person",
            ),
        ),
    )
