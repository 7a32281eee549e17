"""The sheet for the work as plain text, to be printed and taken along."""

from __future__ import annotations

from collections.abc import Iterator

from lugbook.assess.load_letter import LetterEntry
from lugbook.assess.work_parts import (
    InspectorQuestion,
    PermitPaper,
    WorkSheet,
    WorkStep,
)
from lugbook.quantities import Quantity, show
from lugbook.report.figures import amount_text, edition_text, finding_texts
from lugbook.report.paper import Paper
from lugbook.report.workings import source_text

__all__ = [
    "answer_text",
    "entry_text",
    "grounds_text",
    "open_text",
    "paper_text",
    "work_text",
]

_INDENT = "     "
_BLANK = "____________________"
_SHOWN = {
    "A": (Quantity.CURRENT, "A"),
    "V": (Quantity.VOLTAGE, "V"),
    "VA": (Quantity.APPARENT_POWER, "kVA"),
}
_STATES = {
    "ready": "in the plan",
    "missing": "not complete",
    "bring": "bring it",
}


def work_text(sheet: WorkSheet, paper: Paper) -> str:
    """The sheet: order of work, stop signs, inspector's list, papers, letter.

    Args:
        sheet: The sheet. [-]
        paper: What it is written on. [-]

    Returns:
        Text ending in a line end. [-]
    """
    day = f"{sheet.on.day} {sheet.on:%B %Y}"
    name = f"{sheet.name}, " * bool(sheet.name)
    lines = [
        *paper.wrap(f"Sheet for the work: {name}{edition_text(sheet.edition)}, {day}"),
        paper.rule(),
        *_order(sheet, paper),
        *_stops(sheet, paper),
        *_inspector(sheet, paper),
        *_papers(sheet, paper),
        *_letter(sheet, paper),
    ]
    return "\n".join(lines) + "\n"


def answer_text(question: InspectorQuestion) -> str:
    """What the plan answers to one question of the inspector.

    Args:
        question: The question. [-]

    Returns:
        Outcome, figures and clause in a few words; that nothing is judged. [-]
    """
    if question.outcome is None:
        return "the plan has no answer yet"
    rest = grounds_text(question)
    return f"{question.outcome.words}, {rest}" if rest else question.outcome.words


def grounds_text(question: InspectorQuestion) -> str:
    """What an answer to the inspector rests on, without its outcome.

    Args:
        question: The question. [-]

    Returns:
        What it is about, figures and clause; empty where nothing is judged. [-]
    """
    decides = question.answer
    if decides is None:
        return ""
    found, limit = finding_texts(decides)
    if limit and isinstance(decides.limit, str):
        figures = "; ".join(filter(None, (found, f"asked for: {limit}")))
    else:
        figures = f"{found} against {limit}" if found and limit else found
        figures = figures or f"limit {limit}" * bool(limit)
    about = ", ".join(decides.id.split(".")[2:]).replace("_", " ")
    return ", ".join(filter(None, (about, figures, source_text(decides.citation))))


def open_text(step: WorkStep) -> str:
    """What is not settled yet and belongs to a step, as questions.

    Args:
        step: The step. [-]

    Returns:
        Each question once; empty where all is settled. [-]
    """
    torques = sum(each.id.startswith("torque.") for each in step.open_points)
    asked = [each for each in step.open_points if not each.id.startswith("torque.")]
    sentences = [each.question for each in asked]
    if torques:
        sentences.append(f"Torque or tool of {torques} terminals on the torque sheet.")
    return " ".join(dict.fromkeys(sentences))


def paper_text(paper: PermitPaper) -> str:
    """How far one paper of the permit packet is.

    Args:
        paper: The paper. [-]

    Returns:
        Text. [-]

    Example:
        >>> paper_text(PermitPaper("route", "missing", ("circuit.sections",), ""))
        'not complete: circuit.sections'
    """
    missing = f": {'; '.join(paper.missing)}" if paper.missing else ""
    return f"{_STATES[paper.state]}{missing}"


def entry_text(entry: LetterEntry) -> str:
    """One figure of the letter to the utility, or room to write it.

    Args:
        entry: The line of the letter. [-]

    Returns:
        Text; a blank where nobody stated it. [-]

    Example:
        >>> entry_text(LetterEntry("new load", 19200.0, "VA"))
        '19.2 kVA'
    """
    if entry.amount is None:
        return _BLANK
    if isinstance(entry.amount, str):
        return entry.amount
    if entry.unit in _SHOWN:
        return show(entry.amount, *_SHOWN[entry.unit])
    return f"{amount_text(entry.amount)} {entry.unit}".rstrip()


def _head(title: str, aside: str, paper: Paper) -> list[str]:
    return ["", *paper.wrap(title), paper.rule(), *(paper.wrap(aside) if aside else ())]


def _order(sheet: WorkSheet, paper: Paper) -> Iterator[str]:
    aside = "HOLD: nobody goes on before it is so."
    yield from _head("Order of work, dead first", aside, paper)
    for step in sheet.steps:
        yield from ("", *_step(step, paper))


def _step(step: WorkStep, paper: Paper) -> Iterator[str]:
    signal = f"{step.signal.value}: " if step.signal else ""
    yield from paper.wrap(
        f"{signal}{step.title} ({step.who})", first=f"{step.number:>3}  ", rest=_INDENT
    )
    for sentence in step.does:
        yield from paper.wrap(sentence, first=_INDENT, rest=_INDENT)
    if step.hold:
        yield from paper.wrap(f"HOLD: {step.hold}", first=_INDENT, rest=_INDENT)
    if step.open_points:
        yield from paper.wrap(
            f"Not settled yet: {open_text(step)}",
            first=_INDENT,
            rest=_INDENT,
        )


def _stops(sheet: WorkSheet, paper: Paper) -> Iterator[str]:
    aside = "No figure in this tool overrides one of these."
    yield from _head("Stop, and call", aside, paper)
    for sign in sheet.stops:
        seen = "SEEN: " if sign.seen else ""
        yield from paper.wrap(
            f"{seen}{sign.sign}: {sign.act}", first="  -  ", rest=_INDENT
        )
    if any(sign.seen is None for sign in sheet.stops):
        yield from paper.wrap("Nobody has said that they were looked for.")


def _inspector(sheet: WorkSheet, paper: Paper) -> Iterator[str]:
    aside = "The order is common practice; each answer is the plan's own."
    yield from _head("What the inspector asks", aside, paper)
    for question in sheet.inspector:
        yield from paper.wrap(
            question.question, first=f"{question.number:>3}  ", rest=_INDENT
        )
        for words in (answer_text(question), question.says):
            if words:
                yield from paper.wrap(words, first=_INDENT, rest=_INDENT)
        yield from paper.wrap(
            f"At hand: {question.at_hand}.", first=_INDENT, rest=_INDENT
        )


def _papers(sheet: WorkSheet, paper: Paper) -> Iterator[str]:
    aside = "Common practice; each permit desk has a list of its own."
    yield from _head("Papers for the permit desk", aside, paper)
    for each in sheet.papers:
        yield from paper.wrap(
            f"{each.name}: {paper_text(each).rstrip('?')}. From: {each.where}.",
            first="  -  ",
            rest=_INDENT,
        )


def _letter(sheet: WorkSheet, paper: Paper) -> Iterator[str]:
    yield from _head("Letter to the utility", "", paper)
    yield from paper.wrap(
        "A load for charging a vehicle is to be added at the service named below. "
        "Please say in writing whether it can be supplied."
    )
    yield ""
    width = max(len(entry.label) for entry in sheet.letter.entries) + 2
    is_narrow = paper.width < width + len(_BLANK) + 2
    for entry in sheet.letter.entries:
        if is_narrow:
            yield from paper.wrap(f"{entry.label}:", first="  ", rest="  ")
            yield from paper.wrap(entry_text(entry), first=_INDENT, rest=_INDENT)
        else:
            yield from paper.wrap(
                entry_text(entry), first=f"  {entry.label.ljust(width)}", rest=_INDENT
            )
    yield ""
    for number, question in enumerate(sheet.letter.questions, 1):
        yield from paper.wrap(question, first=f"{number:>3}  ", rest=_INDENT)
    yield from ("", f"Name and date {_BLANK}")
