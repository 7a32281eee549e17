"""Two assessments side by side, as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from lugbook.assess.assessment import Assessment, CapacityRow
from lugbook.assess.compare import (
    CapacityChange,
    Comparison,
    FieldChange,
    FindingChange,
)
from lugbook.finding import Finding
from lugbook.report.closed_words import charger_word, hvac_word, method_word
from lugbook.report.figures import (
    edition_text,
    finding_texts,
    load_and_limit,
    proven_text,
    setting_text,
)
from lugbook.report.paper import Column, Paper
from lugbook.report.workings import source_text

__all__ = [
    "amounts_words",
    "comparison_text",
    "finding_words",
    "input_words",
    "row_words",
    "side_words",
]

_INDENT = " " * 5
_MOST_AMOUNTS = 12  # figures that move without changing an answer, then counted


def comparison_text(
    comparison: Comparison, paper: Paper, *, every_line: bool = False
) -> str:
    """What differs, the inputs first, then the findings, then the methods.

    Args:
        comparison: Two assessments side by side. [-]
        paper: What it is written on. [-]
        every_line: Whether figures that change no answer are all shown. [-]

    Returns:
        Text ending in a line end. [-]
    """
    lines = [
        *_head("A", comparison.first, paper),
        *_head("B", comparison.second, paper),
        *_inputs(comparison, paper),
        *_findings(comparison, paper, every_line),
        *_capacity(comparison, paper),
    ]
    if comparison.is_same:
        lines += ["", *paper.wrap("No finding and no figure differs.")]
    return "\n".join(lines) + "\n"


def _head(letter: str, assessment: Assessment, paper: Paper) -> Iterator[str]:
    headline = assessment.headline
    setting = setting_text(headline.setting_a)
    name = f"{assessment.name}, " * bool(assessment.name)
    yield from paper.wrap(
        f"{name}{edition_text(assessment.edition)}, {setting}",
        first=f"{letter}    ",
        rest=_INDENT,
    )
    yield from paper.wrap(
        f"{headline.outcome.words.upper()}. {side_words(assessment)}",
        first=f"{paper.mark(headline.outcome)} ",
        rest=_INDENT,
    )


def side_words(assessment: Assessment) -> str:
    """The answer of one side, in words.

    Args:
        assessment: The side. [-]

    Returns:
        Sentences. [-]
    """
    headline = assessment.headline
    return (
        f"{headline.sentence} Largest setting: "
        f"{proven_text(headline.largest_prudent_a)} prudent, "
        f"{proven_text(headline.largest_literal_a)} as worded."
    )


def _inputs(comparison: Comparison, paper: Paper) -> Iterator[str]:
    changes = (*comparison.conditions, *comparison.fields)
    if not changes:
        return
    yield from ("", *paper.wrap("What was put in"))
    columns = (
        Column("field", wraps=True),
        Column("A", wraps=True),
        Column("B", wraps=True),
    )
    yield from paper.table(columns, [input_words(each) for each in changes])


def input_words(change: FieldChange) -> tuple[str, str, str]:
    """A field or condition that differs, in words.

    Args:
        change: It on both sides. [-]

    Returns:
        Its name, and what each side says. [-]
    """
    one, two = (
        "not said" if said is None else _said(change.field, said)
        for said in (change.first, change.second)
    )
    return change.field, one, two


def _said(field: str, said: str) -> str:
    return edition_text(said) if field == "edition" else said


def _findings(comparison: Comparison, paper: Paper, every_line: bool) -> Iterator[str]:
    amounts = [each for each in comparison.findings if each.kind == "amounts"]
    others = [each for each in comparison.findings if each.kind != "amounts"]
    if others:
        yield from ("", *paper.wrap("Findings whose answer differs"))
        for change in others:
            yield from _finding(change, paper)
    shown = amounts if every_line else amounts[:_MOST_AMOUNTS]
    if shown:
        yield from ("", *paper.wrap("Same answer, other figures or clause"))
        for change in shown:
            yield from paper.wrap(amounts_words(change), first="  ", rest=_INDENT)
    if len(amounts) > len(shown):
        left = len(amounts) - len(shown)
        yield from paper.wrap(f"and {left} more, with --working", first="  ")


def _finding(change: FindingChange, paper: Paper) -> Iterator[str]:
    yield from paper.wrap(change.id, first="  ", rest=_INDENT)
    for letter, finding in (("A", change.first), ("B", change.second)):
        if finding is None:
            yield from paper.wrap(
                "not asked", first=f"    {letter}       ", rest=" " * 12
            )
            continue
        yield from paper.wrap(
            finding_words(finding),
            first=f"    {letter} {paper.mark(finding.outcome)}  ",
            rest=" " * 12,
        )


def finding_words(finding: Finding) -> str:
    """The answer of a finding with figures and clause, in words.

    Args:
        finding: The finding. [-]

    Returns:
        Words. [-]
    """
    found, limit = finding_texts(finding)
    figures = f": {found} against {limit}" if found and limit else f": {found or limit}"
    cited = source_text(finding.citation)
    clause = f", {cited}" * bool(cited)
    return f"{finding.outcome.words}{figures * bool(found or limit)}{clause}"


def amounts_words(change: FindingChange) -> str:
    """How the figures or clauses of a finding differ, in words.

    Args:
        change: The finding on both sides. [-]

    Returns:
        Words. [-]
    """
    first, second = change.first, change.second
    if first is None or second is None:  # pragma: no cover - such a kind is another
        return change.id
    one, two = finding_texts(first), finding_texts(second)
    parts = []
    if {"found", "limit"} & set(change.differs):
        parts.append(f"A {_pair(*one)}, B {_pair(*two)}")
    if "citation" in change.differs:
        here, there = source_text(first.citation), source_text(second.citation)
        parts.append(f"A {here or 'no clause'}, B {there or 'no clause'}")
    if "weight" in change.differs:
        parts.append(f"A {first.weight.value}, B {second.weight.value}")
    return f"{change.id}: {'; '.join(parts)}"


def _pair(found: str, limit: str) -> str:
    if found and limit:
        return f"{found} of {limit}"
    return found or limit or "unknown"


def _capacity(comparison: Comparison, paper: Paper) -> Iterator[str]:
    if not comparison.capacity:
        return
    yield from ("", *paper.wrap("Service, method by method"))
    columns = (
        Column("method", wraps=True),
        Column("charger", wraps=True),
        Column("heating", wraps=True),
        Column("A", wraps=True),
        Column("B", wraps=True),
    )
    rows = [_row(each) for each in comparison.capacity]
    yield from paper.table(columns, rows)


def _row(change: CapacityChange) -> tuple[str, ...]:
    return (
        method_word(change.method),
        charger_word(change.charger),
        hvac_word(change.hvac),
        row_words(change.first),
        row_words(change.second),
    )


def row_words(row: CapacityRow | None) -> str:
    """The answer of a method under one reading, in words.

    Args:
        row: The row; None where the edition has none. [-]

    Returns:
        Words. [-]
    """
    if row is None:
        return "no such row"
    if not row.permitted:
        return "not permitted"
    largest = proven_text(row.largest_setting_a)
    if row.amperes is None or row.limit_a is None:
        return f"{row.outcome.words}; largest {largest}"
    load, limit = load_and_limit(row.amperes, row.limit_a)
    return f"{load} of {limit}, {row.outcome.words}; largest {largest}"
