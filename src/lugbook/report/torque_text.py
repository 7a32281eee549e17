"""The torque sheet as plain text: to be printed, taken along, and written on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from lugbook.assess.torque import TorqueSheet, TorqueTerminal
from lugbook.assess.torque_tools import TORQUE_UNITS
from lugbook.finding import Outcome
from lugbook.quantities import Quantity, show
from lugbook.report.figures import edition_text
from lugbook.report.paper import Column, Paper

__all__ = ["numbers_text", "tool_text", "torque_lines", "torque_text"]

_INDENT = "     "
_COLUMNS = (
    Column(""),
    Column("terminal", wraps=True),
    Column("wire", wraps=True),
    Column("torque", wraps=True),
    Column("as-left"),
    Column("name"),
    Column("date"),
)
_BLANKS = (10, 12, 8)  # characters to write on, for as-left, name and date
_NOT_YOURS = ("not by you", "-", "-")


def torque_text(sheet: TorqueSheet, paper: Paper) -> str:
    """The sheet: warnings first, then every terminal with room to write.

    Args:
        sheet: The sheet. [-]
        paper: What it is written on. [-]

    Returns:
        Text ending in a line end. [-]
    """
    day = f"{sheet.on.day} {sheet.on:%B %Y}"
    name = f"{sheet.name}, " * bool(sheet.name)
    lines = [
        *paper.wrap(f"Torque sheet: {name}{edition_text(sheet.edition)}, {day}"),
        paper.rule(),
        *_not_yours(sheet, paper),
        *paper.wrap(f"{sheet.means} ({sheet.means_citation.locator})"),
        *(line for rule in sheet.rules for line in paper.wrap(rule)),
        "",
        *paper.table(_COLUMNS, [_row(each) for each in sheet.terminals]),
        *_section("Where each torque comes from", _origins(sheet), paper),
        *_section("With which tool", _tools(sheet), paper),
        *_section("Already tightened", _reached(sheet), paper),
        *_to_write_on(paper),
    ]
    return "\n".join(lines) + "\n"


def torque_lines(torque_n_m: float, first: str) -> tuple[str, ...]:
    """A torque in every unit, that of the tool first.

    Args:
        torque_n_m: The torque. [N·m]
        first: Unit to show first. [-]

    Returns:
        A text for each unit. [-]

    Example:
        >>> torque_lines(22.597, "N·m")
        ('22.6 N·m', '200 lbf·in', '16.67 lbf·ft')
    """
    units = (first, *(unit for unit in TORQUE_UNITS if unit != first))
    return tuple(show(torque_n_m, Quantity.TORQUE, unit) for unit in units)


def tool_text(terminal: TorqueTerminal) -> str:
    """What to say of the tool for a terminal; empty where it has none to set.

    Args:
        terminal: The terminal. [-]

    Returns:
        A sentence. [-]
    """
    use = terminal.tool
    if terminal.live or terminal.target_n_m is None:
        return ""
    if use is None:
        return "no torque wrench or screwdriver is stated."
    if use.in_range is Outcome.FALLS_SHORT:
        return f"none at hand will do. {use.wrench}: {use.why}."
    if use.calibrated is Outcome.FALLS_SHORT:
        return f"{use.wrench} must be calibrated first: {use.why}."
    return f"{use.wrench}, but {use.why}." if use.why else f"{use.wrench} will do."


def numbers_text(numbers: Iterable[str]) -> str:
    """Numbers of terminals, runs of three and more drawn together.

    Args:
        numbers: Numbers, in order. [-]

    Returns:
        Text. [-]

    Example:
        >>> numbers_text(["T1", "T2", "T3", "T5", "T8", "T9"])
        'T1 to T3, T5, T8, T9'
    """
    runs: list[list[int]] = []
    for number in (int(each.removeprefix("T")) for each in numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    words = []
    for run in runs:
        if len(run) > 2:
            words.append(f"T{run[0]} to T{run[-1]}")
        else:
            words += [f"T{number}" for number in run]
    return ", ".join(words)


def _row(terminal: TorqueTerminal) -> tuple[str, ...]:
    wire = "\n".join(filter(None, (terminal.size, terminal.material))) or "?"
    torque = "________"
    if terminal.target_n_m is not None:
        torque = "\n".join(torque_lines(terminal.target_n_m, terminal.unit))
    blanks = _NOT_YOURS if terminal.live else tuple("_" * each for each in _BLANKS)
    # An empty line under each leaves room for a hand.
    return (terminal.number, f"{terminal.name}\n", f"{wire}\n", f"{torque}\n", *blanks)


def _to_write_on(paper: Paper) -> Iterator[str]:
    yield ""
    for label in ("Tool used", "Its calibration, day", "Sealed and closed by", "Notes"):
        yield ""
        yield f"{label} ".ljust(paper.width, "_")
    yield from ("", "_" * paper.width)


def _not_yours(sheet: TorqueSheet, paper: Paper) -> Iterator[str]:
    for numbers, live in _grouped(sheet, lambda each: each.live):
        yield from paper.wrap(f"DANGER {numbers}: {live}", rest=_INDENT)
        yield ""


def _origins(sheet: TorqueSheet) -> Iterator[tuple[str, str]]:
    for numbers, text in _grouped(sheet, lambda each: each.basis_text):
        yield numbers, f"{text}."


def _tools(sheet: TorqueSheet) -> Iterator[tuple[str, str]]:
    yield from _grouped(sheet, tool_text)


def _reached(sheet: TorqueSheet) -> Iterator[tuple[str, str]]:
    for terminal in sheet.terminals:
        if terminal.reached_text and terminal.target_n_m is not None:
            outcome, next_step = terminal.finding.outcome, terminal.finding.next
            said = f"{terminal.reached_text} reached: {outcome.words}. {next_step}"
            yield terminal.number, said


def _grouped(
    sheet: TorqueSheet, text_of: Callable[[TorqueTerminal], str]
) -> Iterator[tuple[str, str]]:
    """Yield each text once, with the numbers of the terminals it is about."""
    groups: dict[str, list[str]] = {}
    for terminal in sheet.terminals:
        groups.setdefault(text_of(terminal), []).append(terminal.number)
    for text, numbers in groups.items():
        if text:
            yield numbers_text(numbers), text


def _section(
    title: str, entries: Iterable[tuple[str, str]], paper: Paper
) -> Iterator[str]:
    told = list(entries)
    if not told:
        return
    yield from ("", *paper.wrap(title), paper.rule())
    for numbers, text in told:
        yield from paper.wrap(f"{numbers}: {text}", rest=_INDENT)
