"""Capacity by method and the parts of the circuit, each as a ruled table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lugbook.assess.assessment import Assessment, CapacityRow
from lugbook.finding import Outcome, Weight
from lugbook.report.capacity_plot import Scale, scale_of
from lugbook.report.closed_words import (
    charger_word,
    hvac_word,
    item_name,
    method_word,
)
from lugbook.report.figures import load_and_limit, setting_text
from lugbook.report.paper import Column, Paper

__all__ = [
    "capacity_table",
    "circuit_table",
    "is_shown",
    "methods_compared",
    "sized_parts",
]

_PLOT_WIDTH = 80  # of paper, from which on the small plot has room
_CAPACITY = (
    Column("method", wraps=True),
    Column("reading", wraps=True),
    Column("charger", wraps=True),
    Column("heating", wraps=True),
    Column("amperes", figures=True),
    Column("largest", figures=True),
    Column("", drawn=True),  # the mark
    Column("answer", wraps=True),
)


def capacity_table(
    assessment: Assessment, paper: Paper, *, every_reading: bool = False
) -> Iterator[str]:
    """Every method at the setting, a line for each reading.

    Args:
        assessment: The assessment. [-]
        paper: What it is written on. [-]
        every_reading: Whether those a person rarely needs are shown too. [-]

    Returns:
        Lines. [-]
    """
    if not assessment.capacity:
        return
    shown = [row for row in assessment.capacity if every_reading or is_shown(row)]
    setting = setting_text(assessment.headline.setting_a)
    limit = _limit(shown)
    enough = "; one method that passes is enough" * _differ(shown)
    words = f"Service, charger at {setting}, limit {limit}{enough}"
    yield from ("", *paper.wrap(words))
    scale = None if every_reading else _scale(shown, paper)
    if scale is None:
        cells = [_capacity_cells(row, paper) for row in shown]
        yield from paper.table(_CAPACITY, cells)
    else:
        columns = (
            Column("method", wraps=True),
            Column("reading"),
            Column("amperes", figures=True),
            Column("largest", figures=True),
            Column(scale.axis(), drawn=True),
            Column("answer"),
        )
        yield from paper.table(columns, [_plotted_cells(row, scale) for row in shown])
        yield from paper.wrap(_legend(shown))
    seen = set()
    for row in shown:
        words = f"{method_word(row.method)}: {row.reason}."
        if row.reason and words not in seen:
            seen.add(words)
            yield from paper.wrap(words, rest="  ")


def methods_compared(assessment: Assessment, paper: Paper) -> Iterator[str]:
    """Why the methods differ here, and what each says, proves and assumes.

    Args:
        assessment: The assessment. [-]
        paper: What it is written on. [-]

    Returns:
        Lines. [-]
    """
    if assessment.differences:
        yield from ("", *paper.wrap("Why the methods differ for this house"))
    for sentence in assessment.differences:
        yield from paper.wrap(sentence, first="  ", rest="  ")
    if assessment.methods:
        yield from ("", *paper.wrap("What each method says, proves and assumes"))
    for text in assessment.methods:
        yield from paper.wrap(f"{text.title}. {text.says}", first="  ", rest="    ")
        yield from paper.wrap(f"Proves: {text.proves}", first="    ", rest="    ")
        yield from paper.wrap(f"Assumes: {text.assumes}", first="    ", rest="    ")


def is_shown(row: CapacityRow) -> bool:
    """Whether a row is a method's own wording or its plainest prudent reading.

    Args:
        row: The row. [-]

    Returns:
        True for rows of the one-screen answer. [-]
    """
    return row.literal or (row.prudent and row.interpretation.charger == "outside")


def circuit_table(assessment: Assessment, paper: Paper) -> Iterator[str]:
    """Every part of the circuit: stated, minimum, answer.

    Args:
        assessment: The assessment. [-]
        paper: What it is written on. [-]

    Returns:
        Lines. [-]
    """
    if not assessment.circuit:
        return
    columns = (
        Column("item", wraps=True),
        Column("stated", wraps=True),
        Column("minimum", wraps=True),
        Column("", drawn=True),
        Column("answer"),
    )
    rows = [
        (
            item_name(item),
            item.stated or "left out",
            item.minimum or "unknown",
            paper.mark(item.finding.outcome),
            item.finding.outcome.words,
        )
        for item in assessment.circuit
    ]
    yield from ("", *paper.wrap("Circuit"), *paper.table(columns, rows))


def sized_parts(assessment: Assessment, paper: Paper) -> Iterator[str]:
    """What the circuit must have where the plan leaves it open.

    Args:
        assessment: The assessment. [-]
        paper: What it is written on. [-]

    Returns:
        Lines. [-]
    """
    parts = [
        f"{item_name(item)}: {item.minimum}"
        for item in assessment.circuit
        if item.stated is None
        and item.minimum not in (None, "none")
        and item.finding.weight is not Weight.ADVICE
    ]
    if parts:
        yield from paper.wrap(
            f"To be provided, as the plan leaves it open: {'; '.join(parts)}."
        )


def _scale(rows: Sequence[CapacityRow], paper: Paper) -> Scale | None:
    return scale_of(rows) if paper.width >= _PLOT_WIDTH else None


def _plotted_cells(row: CapacityRow, scale: Scale) -> tuple[str, ...]:
    word = row.outcome.words if row.permitted else "not permitted"
    return (
        method_word(row.method),
        _reading(row),
        _load_and_limit(row)[0].removesuffix(" A"),
        _largest(row),
        scale.line(row),
        word,
    )


def _legend(rows: Sequence[CapacityRow]) -> str:
    """Return what the words and marks of the plotted table mean."""
    words = "Worded: the rule's own text; prudent: all in full"
    if any(row.span_a for row in rows):
        words += "; dashes: the heavier leg"
    return f"{words}."


def _differ(rows: Sequence[CapacityRow]) -> bool:
    """Whether some of the rows that may decide pass and others fall short."""
    decides = {row.outcome for row in rows if row.permitted and row.prudent}
    passes = decides & {Outcome.MEETS, Outcome.NARROW}
    return Outcome.FALLS_SHORT in decides and bool(passes)


def _capacity_cells(row: CapacityRow, paper: Paper) -> tuple[str, ...]:
    word = row.outcome.words if row.permitted else "not permitted"
    return (
        method_word(row.method),
        _reading(row),
        charger_word(row.interpretation.charger),
        hvac_word(row.interpretation.hvac),
        _load_and_limit(row)[0].removesuffix(" A"),
        _largest(row),
        paper.mark(row.outcome),
        word,
    )


def _limit(rows: Sequence[CapacityRow]) -> str:
    """Return the limit, which is one for all rows, with the digits it needs."""
    return max((_load_and_limit(row)[1] for row in rows), key=len)


def _load_and_limit(row: CapacityRow) -> tuple[str, str]:
    if row.amperes is None:
        return "unknown", "" if row.limit_a is None else setting_text(row.limit_a)
    if row.limit_a is None:
        return load_and_limit(row.amperes, row.amperes)[0], "unknown"
    return load_and_limit(row.amperes, row.limit_a)


def _largest(row: CapacityRow) -> str:
    if row.largest_setting_a is not None:
        return setting_text(row.largest_setting_a).removesuffix(" A")
    if not row.permitted:
        return "-"
    return "unknown" if row.outcome is Outcome.CANNOT_TELL else "none"


def _reading(row: CapacityRow) -> str:
    if row.literal:
        return "both" if row.prudent else "worded"
    return "prudent" if row.prudent else "other"
