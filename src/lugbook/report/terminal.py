"""The answer on one screen of a terminal; with `--working`, all that is behind it."""

from __future__ import annotations

from collections.abc import Iterator

from lugbook.assess.assessment import Assessment, Headline
from lugbook.finding import Outcome
from lugbook.report.answer_tables import (
    capacity_table,
    circuit_table,
    is_shown,
    methods_compared,
    sized_parts,
)
from lugbook.report.figures import edition_text, proven_text
from lugbook.report.finding_lists import (
    INDENT,
    advice,
    finding_section,
    findings_with,
    grave_sections,
    is_later,
    untold_count,
    untold_section,
)
from lugbook.report.forecast_tables import forecast_section
from lugbook.report.paper import Paper
from lugbook.report.workings import working_lines, workings

__all__ = ["answer", "full_answer"]

_LONGEST = 12  # entries of a list that may be cut; shorter until all fits the screen


def answer(assessment: Assessment, paper: Paper) -> str:
    """The answer that fits one screen.

    Stops and musts are always given whole; what is narrow, not known or only advised
    is cut as far as the screen asks for, with the number left out.

    Args:
        assessment: The assessment. [-]
        paper: What it is written on. [-]

    Returns:
        Text ending in a line end. [-]
    """
    lines: list[str] = []
    for most in range(_LONGEST, -1, -1):
        lines = _answer_lines(assessment, paper, most)
        if len(lines) <= paper.height:
            break
    return "\n".join(lines) + "\n"


def _answer_lines(assessment: Assessment, paper: Paper, most: int) -> list[str]:
    """Return the lines with lists cut; at nought what is open is only counted."""
    narrow = findings_with(assessment, Outcome.NARROW)
    untold, most = most, max(1, most)
    return [
        *_head(assessment, paper),
        *grave_sections(assessment, paper),
        *finding_section(
            "Narrow: it passes with little room", narrow, paper, most=most, brief=True
        ),
        *untold_section(assessment, paper, most=untold),
        *finding_section("Advice", advice(assessment), paper, most=most),
        *_settings(assessment, paper),
        *sized_parts(assessment, paper),
        *forecast_section(assessment, paper, most=most),
        *capacity_table(assessment, paper),
        *_tail(assessment, paper, open_is_counted=untold == 0),
    ]


def full_answer(assessment: Assessment, paper: Paper) -> str:
    """The answer with every finding, every reading and every working.

    Args:
        assessment: The assessment. [-]
        paper: What it is written on. [-]

    Returns:
        Text ending in a line end. [-]
    """
    lines = [
        *_head(assessment, paper),
        *grave_sections(assessment, paper),
        *finding_section("Narrow", findings_with(assessment, Outcome.NARROW), paper),
        *untold_section(assessment, paper),
        *finding_section("Advice", advice(assessment), paper),
        *finding_section(
            "Meets", findings_with(assessment, Outcome.MEETS), paper, brief=True
        ),
        *finding_section(
            "Not required",
            findings_with(assessment, Outcome.NOT_REQUIRED),
            paper,
            brief=True,
        ),
        *_settings(assessment, paper),
        *capacity_table(assessment, paper),
        *capacity_table(assessment, paper, every_reading=True),
        *methods_compared(assessment, paper),
        *circuit_table(assessment, paper),
        *forecast_section(assessment, paper),
        *_assumptions(assessment, paper),
    ]
    for name, working in workings(assessment):
        lines += ["", *paper.wrap(f"Working of {name}"), paper.rule()]
        lines += working_lines(working, paper)
    return "\n".join(lines) + "\n"


def _head(assessment: Assessment, paper: Paper) -> Iterator[str]:
    headline = assessment.headline
    day = f"{assessment.on.day} {assessment.on:%B %Y}"
    amended = f" amended by {', '.join(assessment.amendments)}," * bool(
        assessment.amendments
    )
    name = f"{assessment.name}, " * bool(assessment.name)
    edition = edition_text(assessment.edition)
    yield from paper.wrap(f"{name}{edition},{amended} {day}")
    yield paper.rule()
    yield from paper.wrap(
        f"{headline.outcome.words.upper()}. {headline.sentence}",
        first=f"{paper.mark(headline.outcome)}   ",
        rest=INDENT,
    )
    if headline.unconfirmed_values:
        yield from paper.wrap(
            f"It rests on {_counted(headline.unconfirmed_values, 'book value')} not "
            "confirmed by a second text.",
            first=INDENT,
            rest=INDENT,
        )


def _settings(assessment: Assessment, paper: Paper) -> Iterator[str]:
    headline = assessment.headline
    yield ""
    if _nothing_proven(headline):
        yield "Largest setting: none proven."
        return
    prudent = proven_text(headline.largest_prudent_a)
    literal = proven_text(headline.largest_literal_a)
    words = (
        f"Largest setting: {prudent} on the prudent reading (charger outside the "
        f"demand factor, heating and cooling counted), {literal} as worded."
    )
    if assessment.circuit:
        alone = proven_text(headline.service_largest_prudent_a)
        worded = proven_text(headline.service_largest_literal_a)
        both = alone if alone == worded else f"{alone} and {worded}"
        carried = proven_text(headline.circuit_largest_a)
        why = f" ({headline.circuit_reason})" if headline.circuit_reason else ""
        words += (
            f" The service alone: {both}; the circuit as described: {carried}{why}."
        )
    yield from paper.wrap(words)


def _nothing_proven(headline: Headline) -> bool:
    return (
        headline.service_largest_prudent_a is None
        and headline.service_largest_literal_a is None
        and headline.circuit_largest_a is None
    )


def _assumptions(assessment: Assessment, paper: Paper) -> Iterator[str]:
    if not assessment.assumptions:
        return
    yield from ("", *paper.wrap("Taken as given"))
    for assumed in assessment.assumptions:
        yield from paper.wrap(
            f"{assumed.text} ({assumed.why})", first=INDENT, rest=INDENT
        )


def _tail(
    assessment: Assessment, paper: Paper, *, open_is_counted: bool
) -> Iterator[str]:
    still_open = untold_count(assessment) if open_is_counted else 0
    hidden = sum(not is_shown(row) for row in assessment.capacity)
    later = sum(is_later(finding) for finding in assessment.findings)
    parts = [f"{still_open} still open"] * bool(still_open)
    parts += [f"{later} thing{'s' * (later != 1)} to look at on site"] * bool(later)
    parts += [
        _counted(number, noun)
        for number, noun in (
            (hidden, "more reading of the methods"),
            (len(assessment.circuit), "part of the circuit"),
            (len(assessment.assumptions), "assumption"),
        )
        if number
    ]
    parts.append("all arithmetic")
    yield ""
    yield from paper.wrap(f"With --working: {', '.join(parts)}.")


def _counted(number: int, noun: str) -> str:
    head, _, tail = noun.partition(" of ")
    plural = f"{head}{'' if number == 1 else 's'}"
    return f"{number} {plural} of {tail}" if tail else f"{number} {plural}"
