"""Capacity by method and the parts of the circuit, each as a ruled table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lugbook.assess.assessment import Assessment, CapacityRow, CircuitItem
from lugbook.finding import Outcome, Weight
from lugbook.report.figures import load_and_limit, setting_text
from lugbook.report.paper import Column, Paper

__all__ = ["capacity_table", "circuit_table", "is_shown", "sized_parts"]

_CAPACITY = (
    Column("method", wraps=True),
    Column("reading", wraps=True),
    Column("charger", wraps=True),
    Column("heating", wraps=True),
    Column("amperes", figures=True),
    Column("largest", figures=True),
    Column(""),  # the mark, which must not be wrapped
    Column("answer", wraps=True),
)
_CHARGER_WORDS = {"inside": "inside", "outside": "outside", "outside_125": "at 125 %"}
_HVAC_WORDS = {"counted": "counted", "not_counted": "left out"}


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
    yield from ("", *paper.wrap(f"Service, charger at {setting}, limit {limit}"))
    yield from paper.table(_CAPACITY, [_capacity_cells(row, paper) for row in shown])
    seen = set()
    for row in shown:
        words = f"{_method(row)}: {row.reason}."
        if row.reason and words not in seen:
            seen.add(words)
            yield from paper.wrap(words, rest="  ")


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
        Column(""),
        Column("answer"),
    )
    rows = [
        (
            _item(item),
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
        f"{_item(item)}: {item.minimum}"
        for item in assessment.circuit
        if item.stated is None
        and item.minimum not in (None, "none")
        and item.finding.weight is not Weight.ADVICE
    ]
    if parts:
        yield from paper.wrap(
            f"To be provided, as the plan leaves it open: {'; '.join(parts)}."
        )


def _capacity_cells(row: CapacityRow, paper: Paper) -> tuple[str, ...]:
    word = row.outcome.words if row.permitted else "not permitted"
    return (
        _method(row),
        _reading(row),
        _CHARGER_WORDS[row.interpretation.charger],
        _HVAC_WORDS[row.interpretation.hvac],
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


def _method(row: CapacityRow) -> str:
    return row.method.replace("_", ", ")


def _reading(row: CapacityRow) -> str:
    if row.literal:
        return "both" if row.prudent else "worded"
    return "prudent" if row.prudent else "other"


def _item(item: CircuitItem) -> str:
    """Return the name of a part, with the section or terminal it is about."""
    about = item.finding.id.partition(f"{item.item}.")[2]
    name = f"{item.item}, {about}" if about else item.item
    return name.replace("_", " ")
