"""How tight, by which figure, with which tool: every terminal on the path.

The sheet is made before the work and filled in at it. A torque comes from the
equipment; only where nothing is printed does the book's own table stand in, and the
sheet says so. What stays live is never offered for tightening.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from lugbook.assess.torque_terminals import Clamp, clamps_of
from lugbook.assess.torque_tools import (
    TORQUE_UNITS,
    ToolUse,
    best_use,
    question_reading,
    tool_use,
)
from lugbook.codebook.edition import Edition, Rule, open_edition
from lugbook.codebook.nfpa70.torque import (
    DefaultTorque,
    default_torques,
    must_tool_be_calibrated,
)
from lugbook.finding import (
    Citation,
    Finding,
    Line,
    Outcome,
    SignalWord,
    Weight,
    Working,
    compare,
)
from lugbook.premises.plan import Plan
from lugbook.premises.stated import Stated
from lugbook.quantities import Quantity, in_unit, show

__all__ = [
    "TorqueSheet",
    "TorqueTerminal",
    "question_reading",
    "torque_in_units",
    "torque_sheet",
]

_LIMITS = "2026"  # the one edition held of the limits of product standards
_UNIT = "lbf·in"  # what most labels print; used where no tool says otherwise
_PASSES = (Outcome.MEETS, Outcome.NARROW)


@dataclass(frozen=True, slots=True)
class TorqueTerminal:
    """One line of the sheet.

    Args:
        number: Its number on the sheet and on the plan, T1 first. [-]
        id: Its id in the plan, or one made of its place. [-]
        name: Where it is and which conductor it holds, in words. [-]
        at: Closed word for the place. [-]
        on: Conductor it holds. [-]
        equipment: What it is part of: a panel's id, or the place itself. [-]
        size: Size of the conductor; None if not known. [-]
        material: Its metal; None if not known. [-]
        target_n_m: Torque to set; None if not known. [N·m]
        basis: "printed", "default" (the book's table) or "unknown". [-]
        basis_text: Where the torque comes from, or where to look. [-]
        citation: The table, where it stands in. [-]
        choices: Torques the table gives, where it takes more to choose. [-]
        tool: The tool to take; None where none is at hand or no torque known. [-]
        unit: Unit to show first: the tool's own. [-]
        live: Why it is not to be touched and whom to call; empty if it may be. [-]
        reached_n_m: Torque the plan says was reached. [N·m]
        reached_text: The same as it was typed, and in the tool's unit. [-]
        finding: What follows. [-]
    """

    number: str
    id: str
    name: str
    at: str
    on: str
    equipment: str
    size: str | None
    material: str | None
    target_n_m: float | None
    basis: str
    basis_text: str
    citation: Citation | None
    choices: tuple[str, ...]
    tool: ToolUse | None
    unit: str
    live: str
    reached_n_m: float | None
    reached_text: str
    finding: Finding


@dataclass(frozen=True, slots=True)
class TorqueSheet:
    """Every terminal on the path, in the order of the path.

    Args:
        name: The house. [-]
        edition: Key of the edition. [-]
        on: The day. [-]
        terminals: The lines. [-]
        means: How the book wants a printed torque reached. [-]
        means_citation: Where it says so. [-]
        rules: What holds for every terminal, in sentences. [-]
    """

    name: str
    edition: str
    on: date
    terminals: tuple[TorqueTerminal, ...]
    means: str
    means_citation: Citation
    rules: tuple[str, ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The finding of each terminal, in the order of the sheet."""
        return tuple(terminal.finding for terminal in self.terminals)

    @property
    def defects(self) -> tuple[Finding, ...]:
        """Findings on what was already tightened wrongly, or in a doubtful unit."""
        return tuple(
            finding
            for finding in self.findings
            if finding.weight is not Weight.ADVICE and finding.outcome not in _PASSES
        )


def torque_sheet(plan: Plan, edition: Edition, on: date) -> TorqueSheet:
    """Every terminal on the path with its torque, where from, and with which tool.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        on: The day, which decides whether a calibration still holds. [-]

    Returns:
        The sheet. [-]
    """
    limits = open_edition(_LIMITS, book="product_limits")
    rule = edition.rule("torque-means")
    tool = (
        "a calibrated torque tool"
        if must_tool_be_calibrated(edition=edition)
        else "an approved means, such as a calibrated torque tool"
    )
    over = limits.rule("torque-overshoot").number("over_fraction")
    return TorqueSheet(
        name=plan.name,
        edition=edition.key,
        on=on,
        terminals=tuple(
            _terminal(plan, edition, limits, on, f"T{number}", clamp)
            for number, clamp in enumerate(clamps_of(plan), 1)
        ),
        means=f"A printed torque is reached with {tool}.",
        means_citation=rule.citation,
        rules=(
            "Make dead, lock, and prove dead on every pair before a cover is opened.",
            "All strands in, one wire to a hole; pull up once, slowly, and stop at the "
            "click.",
            f"More than {100 * over:g} % over: replace the connector, never loosen it "
            "back.",
            "Mark each with torque seal; do not go round again another day: a joint "
            "relaxes, and checking later says nothing.",
        ),
    )


def torque_in_units(torque_n_m: float, first: str = _UNIT) -> str:
    """A torque in every unit, that of the tool before the others.

    Args:
        torque_n_m: The torque. [N·m]
        first: Unit to show first. [-]

    Returns:
        Text. [-]

    Example:
        >>> torque_in_units(22.597, "N·m")
        '22.6 N·m (200 lbf·in, 16.67 lbf·ft)'
    """
    rest = [unit for unit in TORQUE_UNITS if unit != first]
    others = ", ".join(show(torque_n_m, Quantity.TORQUE, unit) for unit in rest)
    return f"{show(torque_n_m, Quantity.TORQUE, first)} ({others})"


# --- one terminal ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Target:
    """The torque of one clamp, and where it comes from."""

    torque_n_m: float | None
    basis: str
    text: str
    citation: Citation | None
    lines: tuple[Line, ...]
    choices: tuple[str, ...] = ()


def _terminal(
    plan: Plan, edition: Edition, limits: Edition, on: date, number: str, clamp: Clamp
) -> TorqueTerminal:
    target = _target(edition, clamp)
    use = None
    if target.torque_n_m is not None and not clamp.service_side:
        use = best_use(
            tuple(
                tool_use(
                    wrench=wrench, target_n_m=target.torque_n_m, limits=limits, on=on
                )
                for wrench in plan.wrenches
            )
        )
    live = _live(plan, clamp) if clamp.service_side else ""
    unit = use.unit if use and use.unit else _own_unit(plan)
    return TorqueTerminal(
        number=number,
        id=clamp.id,
        name=clamp.name,
        at=clamp.at,
        on=clamp.on,
        equipment=clamp.equipment,
        size=clamp.size,
        material=clamp.material,
        target_n_m=target.torque_n_m,
        basis=target.basis,
        basis_text=target.text,
        citation=target.citation,
        choices=target.choices,
        tool=use,
        unit=unit,
        live=live,
        reached_n_m=clamp.reached.value if clamp.reached else None,
        reached_text=_reached_text(clamp.reached, unit),
        finding=_finding(number, clamp, target, use, limits, unit, live),
    )


def _reached_text(reached: Stated[float] | None, unit: str) -> str:
    if reached is None:
        return ""
    shown = show(reached.value, Quantity.TORQUE, unit)
    return shown if reached.text in ("", shown) else f"{reached.text} ({shown})"


def _own_unit(plan: Plan) -> str:
    """Return the unit of the tools at hand; the labels' own where none is stated."""
    units = [wrench.reads_in.value for wrench in plan.wrenches if wrench.reads_in]
    return str(units[0]) if units else _UNIT


def _target(edition: Edition, clamp: Clamp) -> _Target:
    if clamp.printed is not None:
        typed = clamp.printed.text or "a stated torque"
        line = Line(
            "torque printed",
            in_unit(clamp.printed.value, Quantity.TORQUE, _UNIT),
            _UNIT,
            numbers=typed,
            source=f"plan, {clamp.printed_at}, {clamp.printed.how.value}",
        )
        text = f"printed {typed} ({clamp.printed.how.value})"
        return _Target(clamp.printed.value, "printed", text, None, (line,))
    found = default_torques(
        edition=edition,
        kind=clamp.kind,
        size=clamp.size,
        across_flats_m=clamp.across_flats_m,
        split_bolt=clamp.at == "splice",
    )
    lines = tuple(each.line for each in found)
    if len(found) == 1:
        return _from_table(found[0])
    look = f"not read; look: {clamp.look}"
    if clamp.at == "meter base":
        look = "not for you to read: it is under the utility's seal"
    if not found:
        return _Target(None, "unknown", look, None, lines)
    choices = tuple(
        f"{show(each.torque_n_m, Quantity.TORQUE, _UNIT)}: {each.screw}"
        for each in found
    )
    low, high = (
        show(each.torque_n_m, Quantity.TORQUE, _UNIT) for each in (found[0], found[-1])
    )
    text = f"{look}; the table gives {low} to {high}, by the screw: measure it"
    return _Target(None, "unknown", text, None, lines, choices)


def _from_table(found: DefaultTorque) -> _Target:
    where, status = found.citation.locator, found.citation.status.value
    text = f"nothing printed: {where} for {found.screw}, {status}"
    return _Target(found.torque_n_m, "default", text, found.citation, (found.line,))


def _live(plan: Plan, clamp: Clamp) -> str:
    """Say why a service-side clamp is left alone, and whom to call."""
    named = plan.service.utility if plan.service else None
    utility = str(named.value) if named else "the utility"
    if clamp.at == "meter base":
        return f"Not by you: sealed and live. Call {utility}."
    outdoor = plan.service.emergency_disconnect if plan.service else None
    if outdoor is not None and outdoor.value is True:
        return (
            "Not by you while live: it is dead only with the outdoor emergency "
            "disconnect open, locked, and proven so by an electrician. Else call "
            f"{utility}."
        )
    return (
        "Not by you while live, and switching the main off leaves it live. An "
        f"electrician does it after {utility} has cut the supply: call both."
    )


def _finding(
    number: str,
    clamp: Clamp,
    target: _Target,
    use: ToolUse | None,
    limits: Edition,
    unit: str,
    live: str,
) -> Finding:
    if clamp.reached is not None and target.torque_n_m is not None:
        judged = _Judged(clamp, target, unit, live)
        return judged.reached(limits, clamp.reached.value, target.torque_n_m)
    lines = target.lines + (use.lines if use else ())
    outcome = Outcome.CANNOT_TELL if use is None else use.outcome
    next_step = ""
    if live:
        outcome, next_step = Outcome.NOT_REQUIRED, live
    elif target.torque_n_m is None:
        next_step = f"Find its torque. {_sentence(target.text)}"
    elif use is None:
        next_step = (
            "State the torque wrench or screwdriver at hand: its scale, its age."
        )
    elif outcome not in _PASSES:
        verb = "Check" if outcome is Outcome.CANNOT_TELL else "Take another tool than"
        next_step = f"{verb} {use.wrench}: {use.why}."
    return Finding(
        id=f"torque.{clamp.id}",
        question=f"Is the torque of {number} known, and can it be set with a tool at "
        f"hand: {clamp.name}?",
        outcome=outcome,
        weight=Weight.ADVICE,
        found=None if use is None else use.wrench,
        limit=(
            None
            if target.torque_n_m is None
            else show(target.torque_n_m, Quantity.TORQUE, unit)
        ),
        citation=target.citation,
        working=Working(f"Torque of {clamp.name}", lines) if lines else None,
        next=next_step,
        signal=SignalWord.DANGER if live else None,
    )


@dataclass(frozen=True, slots=True)
class _Judged:
    """A clamp that was tightened already: its torque against the target."""

    clamp: Clamp
    target: _Target
    unit: str
    live: str

    def reached(
        self, limits: Edition, reached_n_m: float, target_n_m: float
    ) -> Finding:
        over, under = limits.rule("torque-overshoot"), limits.rule("torque-undershoot")
        over_fraction = over.number("over_fraction")
        under_fraction = under.number("under_fraction")
        most_n_m = target_n_m * (1 + over_fraction)
        least_n_m = target_n_m * (1 - under_fraction)
        high = compare(found=reached_n_m, limit=most_n_m, kind="series")
        low = compare(
            found=reached_n_m, limit=least_n_m, direction="at least", kind="series"
        )
        asked = question_reading(target_n_m=target_n_m, reading_n_m=reached_n_m)
        most_line = self._line("most", most_n_m, f"× {1 + over_fraction:g}", over)
        least_line = self._line("least", least_n_m, f"× {1 - under_fraction:g}", under)
        outcome: Outcome
        if high.outcome is Outcome.FALLS_SHORT:
            outcome, limit_n_m, rule = high.outcome, most_n_m, over
            next_step = (
                "Replace the connector and cut back the wire's end: never loosen it "
                "back."
            )
        elif low.outcome is Outcome.FALLS_SHORT:
            outcome, limit_n_m, rule = low.outcome, least_n_m, under
            next_step = "Make it dead, prove it dead, and pull it up to its torque."
        else:
            outcome, limit_n_m, rule = Outcome.MEETS, most_n_m, over
            next_step = ""
        if asked is not None:
            outcome = Outcome.CANNOT_TELL
            next_step = f"{asked} If it is right: {_lower(next_step)}"
        if self.live and next_step:
            next_step = f"{self.live} Tell them: {_lower(next_step)}"
        reached_line = Line(
            "torque reached",
            in_unit(reached_n_m, Quantity.TORQUE, self.unit),
            self.unit,
            source=f"plan, circuit.terminals.{self.clamp.id}.torque_reached",
        )
        return Finding(
            id=f"torque.{self.clamp.id}",
            question=f"Was {self.clamp.name} tightened to its torque?",
            outcome=outcome,
            weight=Weight.MUST,
            found=in_unit(reached_n_m, Quantity.TORQUE, self.unit),
            limit=in_unit(limit_n_m, Quantity.TORQUE, self.unit),
            unit=self.unit,
            margin=in_unit(
                min(most_n_m - reached_n_m, reached_n_m - least_n_m),
                Quantity.TORQUE,
                self.unit,
            ),
            citation=rule.citation,
            working=Working(
                f"Torque of {self.clamp.name}",
                (*self.target.lines, reached_line, least_line, most_line),
            ),
            next=next_step,
            signal=SignalWord.WARNING if outcome is Outcome.FALLS_SHORT else None,
        )

    def _line(self, end: str, amount_n_m: float, numbers: str, rule: Rule) -> Line:
        return Line(
            f"{end} that will do",
            in_unit(amount_n_m, Quantity.TORQUE, self.unit),
            self.unit,
            numbers=f"target {numbers}",
            source=rule.citation,
        )


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def _lower(text: str) -> str:
    return f"{text[:1].lower()}{text[1:]}"
