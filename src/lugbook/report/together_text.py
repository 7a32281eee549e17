"""House and charging nights together on a terminal: a line a setting and start."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor

from lugbook.assess.together import LimitRow, Pair, Together, TogetherRow
from lugbook.assess.together_findings import TogetherBasis
from lugbook.report.figures import share_text
from lugbook.report.paper import Column, Paper
from lugbook.report.workings import working_lines

__all__ = [
    "highest_text",
    "late_text",
    "limit_head",
    "pair_text",
    "record_text",
    "shown_rows",
    "together_text",
]

_INDENT = " " * 7


def together_text(found: Together, paper: Paper, *, working: bool = False) -> str:
    """What happens when the house's record and the charging nights come together.

    Args:
        found: What was found. [-]
        paper: What it is written on. [-]
        working: Whether every line behind the numbers is added. [-]

    Returns:
        Text ending in a line end. [-]
    """
    lines = ["House and charging nights together", paper.rule()]
    for sentence in found.sentences:
        lines += paper.wrap(sentence)
    for unknown in found.unknowns:
        lines += paper.wrap(
            f"{unknown.field}: {unknown.question} Look: {unknown.look}.",
            first="- ",
            rest="  ",
        )
    basis = found.basis
    if basis is None:
        return "\n".join(lines) + "\n"
    lines += ["", *_findings(found, paper)]
    lines += ["", *_table(found, basis, paper, every=working)]
    lines += ["", *_limit_table(found, basis, paper, every=working)]
    lines += ["", *paper.wrap(record_text(basis))]
    for each in found.assumptions:
        why = f" ({each.why})" if working else ""
        lines += paper.wrap(f"{each.text}{why}", first="- ", rest="  ")
    if working:
        lines += ["", *working_lines(found.working, paper)]
        for finding in found.findings:
            if finding.working is not None:
                lines += ["", *working_lines(finding.working, paper)]
    return "\n".join(lines) + "\n"


def record_text(basis: TogetherBasis) -> str:
    """What the counts rest on, in a sentence.

    Args:
        basis: The record and the limits. [-]

    Returns:
        A sentence. [-]
    """
    alone = highest_text(basis.house_highest_a)
    return (
        f"From {basis.file}: {basis.days:.0f} days in steps of "
        f"{basis.interval_s / 60:g} min; the house alone reached {alone} A. A chance "
        "drawn from one record, kept apart from the code's own test."
    )


def pair_text(pair: Pair, digits: int = 0) -> str:
    """A least and a most, as one number where they do not differ.

    Args:
        pair: Both. [any unit]
        digits: Digits behind the point. [-]

    Returns:
        Text without unit. [-]

    Example:
        >>> pair_text((0.0, 3.0)), pair_text((2.0, 2.0)), pair_text((0.0, 0.2))
        ('0 to 3', '2', '0 to <1')
    """
    least, most = (_number(each, digits) for each in pair)
    return least if least == most else f"{least} to {most}"


def _number(amount: float, digits: int) -> str:
    least = 10.0**-digits
    if 0 < amount < least / 2:
        return f"<{least:g}"
    return f"{amount:,.{digits}f}"


def _findings(found: Together, paper: Paper) -> Iterator[str]:
    for finding in found.findings:
        yield from paper.wrap(
            f"{finding.question} {finding.next}".rstrip(),
            first=f" {paper.mark(finding.outcome)}  ",
            rest=_INDENT,
        )


def shown_rows(found: Together, *, every: bool = False) -> tuple[TogetherRow, ...]:
    """The rows worth a look: those that serve, or all where none does.

    Args:
        found: What was found. [-]
        every: Whether all are wanted. [-]

    Returns:
        The rows. [-]
    """
    if every or found.basis is None:
        return found.rows
    accepted = found.basis.accepted + 0.5  # as mornings are shown, in whole numbers
    serving = tuple(
        row
        for row in found.rows
        if row.setting_a >= (found.basis.serving_a or 0.0)
        and row.mornings_missed < accepted
    )
    return serving or found.rows


def highest_text(pair: Pair) -> str:
    """The highest current, rounded up so that it never hides an overload.

    Args:
        pair: Least and most. [A]

    Returns:
        Text without unit. [-]

    Example:
        >>> highest_text((177.5, 200.1))
        '178 to 201'
    """
    return pair_text((float(ceil(pair[0])), float(ceil(pair[1]))))


def _table(
    found: Together, basis: TogetherBasis, paper: Paper, *, every: bool
) -> Iterator[str]:
    low, high = f"{basis.continuous_a:g} A", f"{basis.rating_a:g} A"
    columns = (
        Column("set", figures=True),
        Column("started", wraps=True),
        Column(f"over {low}"),
        Column("longest", figures=True),
        Column(f"over {high}"),
        Column("highest"),
        Column("missed", figures=True),
    )
    rows = shown_rows(found, every=every)
    yield from paper.table(columns, [_row(found, each) for each in rows])
    left_out = len(found.rows) - len(rows)
    yield from paper.wrap(
        f"A year: quarter hours over {low} (the share that may flow for hours) and "
        f"over {high} (the rating); longest, h without a break over {low}; highest, A; "
        "missed, mornings a car leaves short of full. Of two numbers the first is for "
        "legs alike, the second for legs apart."
        + (
            f" Left out: {left_out} {'row' if left_out == 1 else 'rows'} with "
            "mornings missed; --working shows every one."
        )
        * bool(left_out)
    )


def _row(found: Together, each: TogetherRow) -> tuple[str, ...]:
    return (
        f"{each.setting_a:g} A",
        found.rule_words(each.rule),
        pair_text(each.quarters_over_80),
        f"{each.longest_over_80_h[1]:.4g}",
        pair_text(each.quarters_over_100),
        highest_text(each.highest_a),
        f"{each.mornings_missed:.0f}",
    )


def limit_head(basis: TogetherBasis) -> str:
    """What the limit is and where it comes from.

    Args:
        basis: The record and the limits. [-]

    Returns:
        A sentence. [-]
    """
    kept = f"house and charger under {basis.limit_a:g} A"
    if basis.limit_is_stated:
        return f"With the limit the plan states, {kept}."
    return f"What if a device kept {kept}?"


def late_text(basis: TogetherBasis) -> str:
    """What acting late means, in a sentence.

    Args:
        basis: The record and the limits. [-]

    Returns:
        A sentence. [-]
    """
    return (
        f"Over, and highest: for a device that acts {basis.late_by_s / 60:g} min late, "
        "the finest this record can show; a listed one acts in seconds. With its "
        "sensor lost it must fall to a current that fits on top of the house's "
        f"{ceil(basis.house_highest_a[1])} A: at most "
        f"{floor(max(0.0, basis.rating_a - basis.house_highest_a[1]))} A here."
    )


def _limit_table(
    found: Together, basis: TogetherBasis, paper: Paper, *, every: bool
) -> Iterator[str]:
    yield from paper.wrap(limit_head(basis))
    columns = (
        Column("set", figures=True),
        Column("energy served", figures=True),
        Column("missed", figures=True),
        Column(f"h over {basis.limit_a:g} A"),
        Column(f"h over {basis.rating_a:g} A"),
        Column("highest"),
    )
    shown = {row.setting_a for row in shown_rows(found, every=every)}
    yield from paper.table(
        columns,
        [_limit_row(each) for each in found.limit_rows if each.setting_a in shown],
    )
    yield from paper.wrap(late_text(basis))


def _limit_row(each: LimitRow) -> tuple[str, ...]:
    return (
        f"{each.setting_a:g} A",
        share_text(each.served_fraction, 1),
        f"{each.mornings_missed:.0f}",
        pair_text(each.late_over_limit_h, 1),
        pair_text(each.late_over_100_h, 1),
        highest_text(each.late_highest_a),
    )
