"""Every working of an assessment as ruled tables: what `--working` adds."""

from __future__ import annotations

from collections.abc import Iterator

from lugbook.assess.assessment import Assessment
from lugbook.finding import Citation, Line, Working
from lugbook.report.figures import amount_text
from lugbook.report.paper import Column, Paper

__all__ = ["source_text", "working_lines", "workings"]

_COLUMNS = (
    Column("line", wraps=True),
    Column("in symbols, and with numbers", wraps=True),
    Column("amount", figures=True),
    Column("unit"),
    Column("source", wraps=True),
)


def workings(assessment: Assessment) -> tuple[tuple[str, Working], ...]:
    """The workings of an assessment, each once, with what it is the working of.

    Args:
        assessment: The assessment. [-]

    Returns:
        Pairs of a heading and a working, in reading order. [-]
    """
    named: dict[Working, str] = {assessment.service_rating: "service rating"}
    for row in assessment.capacity:
        named.setdefault(row.working, f"capacity, {row.method}")
    for item in assessment.circuit:
        if item.finding.working:
            named.setdefault(item.finding.working, f"circuit, {item.item}")
    for finding in assessment.findings:
        if finding.working:
            named.setdefault(finding.working, f"finding {finding.id}")
    return tuple((name, working) for working, name in named.items() if working.lines)


def working_lines(working: Working, paper: Paper) -> list[str]:
    """A working as a ruled table.

    Args:
        working: The working. [-]
        paper: What it is written on. [-]

    Returns:
        Lines. [-]
    """
    rows = [
        (
            line.label,
            "\n".join(_formula(line)),
            _amount(line),
            line.unit,
            source_text(line.source),
        )
        for line in working.lines
    ]
    return [*paper.wrap(working.title), *paper.table(_COLUMNS, rows)]


def source_text(source: Citation | str | None) -> str:
    """Where a number comes from, with how well a book's value is known.

    Args:
        source: Citation, somebody's word, or nothing. [-]

    Returns:
        One line; empty for a line that only combines those above it. [-]
    """
    if isinstance(source, Citation):
        return f"{source} ({source.status.value})"
    return source or ""


def _formula(line: Line) -> Iterator[str]:
    if line.symbols:
        yield line.symbols
    if line.numbers:
        yield f"= {line.numbers}" if line.symbols else line.numbers


def _amount(line: Line) -> str:
    return amount_text(line.amount)
