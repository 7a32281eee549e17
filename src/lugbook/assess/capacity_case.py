"""What every method of the load calculation shares: the wish, the case, one reading."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from lugbook.assess.load_list import LoadList
from lugbook.codebook.edition import Edition
from lugbook.finding import Line, Reckoned
from lugbook.readings.evidence import Evidence

__all__ = [
    "Case",
    "Reading",
    "Wish",
    "charger_va",
    "charger_voltage_v",
    "continuous_line",
]


@dataclass(frozen=True, slots=True)
class Wish:
    """The charging current asked for, as far as it is stated.

    Args:
        setting_a: Setting asked about. [A]
        nameplate_a: Nameplate of the supply equipment. [A]
        steps_a: Settings it offers, ascending. [A]
        restrictions: Ways its setting is restricted, in the codebook's words. [-]
        restriction_said: Whether the plan says anything about it. [-]
        hard_wired: Whether it is wired in; None if not said. [-]
        voltage_v: Voltage it works at. [V]
        charger_said: Whether the plan has a charger at all. [-]
    """

    setting_a: float | None
    nameplate_a: float | None
    steps_a: tuple[float, ...]
    restrictions: tuple[str, ...]
    restriction_said: bool
    hard_wired: bool | None
    voltage_v: float | None
    charger_said: bool = True


@dataclass(frozen=True, slots=True)
class Case:
    """Everything a method needs but the charger's current.

    Args:
        edition: Edition of the rules. [-]
        loads: The house's loads. [-]
        evidence: What was measured. [-]
        wish: The charging current. [-]
        voltage_v: Nominal voltage between the legs. [V]
        general: General load before demand. [VA]
    """

    edition: Edition
    loads: LoadList
    evidence: Evidence
    wish: Wish
    voltage_v: float
    general: Reckoned


@dataclass(frozen=True, slots=True)
class Reading:
    """A method under one interpretation, as a function of the charger's current.

    Args:
        method: Closed word for the method. [-]
        charger: Where the charger stands. [-]
        hvac: What of heating and cooling counts. [-]
        literal: Whether it is the rule as worded. [-]
        reckon: The load at a current. [VA]
        refused: Why it may not be used for this house; empty if it may. [-]
        unknown: Why it has no figure; empty if it has. [-]
        open_question: What the plan leaves open. [-]
        reckon_most: What the load may come to by that, at the most. [VA]
        unproven: Why its figure carries no pass; empty if it may. [-]
        reckon_least: What it comes to at the least, proven or not. [VA]
        reckon_span: What the measured load comes to on the more loaded leg, at the
            least and at the most. [VA]
    """

    method: str
    charger: str
    hvac: str
    literal: bool
    reckon: Callable[[float], Reckoned]
    refused: str = ""
    unknown: str = ""
    open_question: str = ""
    reckon_most: Callable[[float], Reckoned] | None = None
    unproven: str = ""
    reckon_least: Callable[[float], Reckoned] | None = None
    reckon_span: tuple[Callable[[float], Reckoned], ...] = ()

    @property
    def prudent(self) -> bool:
        """Return whether charger, heating and cooling all count in full."""
        return self.charger != "inside" and self.hvac == "counted"


def charger_va(case: Case, counted_a: float) -> float:
    """The charger's load.

    Args:
        case: The case. [-]
        counted_a: Current at which it counts. [A]

    Returns:
        Load. [VA]
    """
    return counted_a * charger_voltage_v(case)


def charger_voltage_v(case: Case) -> float:
    """The voltage the charger's current is taken at: its label's, or more.

    A charger labelled 208 V draws its amperes on a 240 V service all the same.

    Args:
        case: The case. [-]

    Returns:
        Voltage. [V]
    """
    return max(case.wish.voltage_v or 0.0, case.voltage_v)


def continuous_line(
    case: Case, continuous_va: float, what: str = "every continuous load"
) -> Line:
    """The line that adds to continuous loads what makes 125 % of them.

    Args:
        case: The case. [-]
        continuous_va: The continuous loads. [VA]
        what: What they are. [-]

    Returns:
        The line. [-]
    """
    rule = case.edition.rule("continuous-factor-calculation")
    extra = rule.number("continuous_factor") - 1
    return Line(
        "added for continuous loads",
        continuous_va * extra,
        "VA",
        f"{extra:.0%} of {what}",
        f"{continuous_va:,.0f} VA × {extra:g}",
        rule.citation,
    )
