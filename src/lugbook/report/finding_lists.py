"""Findings as headed lists, the gravest first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lugbook.assess.assessment import Assessment, Unknown
from lugbook.finding import Finding, Outcome, Weight
from lugbook.report.figures import finding_texts
from lugbook.report.paper import Paper
from lugbook.report.workings import source_text

__all__ = [
    "INDENT",
    "advice",
    "finding_section",
    "findings_with",
    "grave_sections",
    "is_later",
    "untold_count",
    "untold_section",
]

INDENT = " " * 7
_INSTALLATION = (
    "panel",
    "run",
    "place",
    "sources",
    "management",
    "detached",
    "paper",
)


def grave_sections(assessment: Assessment, paper: Paper) -> Iterator[str]:
    """What stops and what must be done, always whole.

    Args:
        assessment: The assessment. [-]
        paper: What it is written on. [-]

    Returns:
        Lines. [-]
    """
    short = findings_with(assessment, Outcome.FALLS_SHORT)
    stops = [finding for finding in short if finding.weight is Weight.STOP]
    musts = [finding for finding in short if finding.weight is Weight.MUST]
    yield from finding_section("Stop: do not energise, or switch off", stops, paper)
    yield from finding_section("Must be done before it is lawful or safe", musts, paper)


def findings_with(assessment: Assessment, outcome: Outcome) -> list[Finding]:
    """The findings of one outcome, in reading order.

    Args:
        assessment: The assessment. [-]
        outcome: The outcome. [-]

    Returns:
        Findings. [-]
    """
    return [finding for finding in assessment.findings if finding.outcome is outcome]


def advice(assessment: Assessment) -> list[Finding]:
    """The findings that fall short but are only advice.

    Args:
        assessment: The assessment. [-]

    Returns:
        Findings. [-]
    """
    short = findings_with(assessment, Outcome.FALLS_SHORT)
    return [finding for finding in short if finding.weight is Weight.ADVICE]


def finding_section(
    title: str,
    findings: Sequence[Finding],
    paper: Paper,
    *,
    most: int | None = None,
    brief: bool = False,
) -> Iterator[str]:
    """A headed list of findings; nothing at all when there are none.

    Args:
        title: The heading. [-]
        findings: The findings. [-]
        paper: What it is written on. [-]
        most: How many are shown before the rest is counted; all if left out. [-]
        brief: Whether what to do next is left out. [-]

    Returns:
        Lines. [-]
    """
    if not findings:
        return
    yield from ("", *paper.wrap(title))
    shown = findings[:most]
    for finding in shown:
        yield from _finding(finding, paper, brief=brief)
    yield from _left_out(len(findings) - len(shown), paper)


def untold_section(
    assessment: Assessment, paper: Paper, *, most: int | None = None
) -> Iterator[str]:
    """What cannot be told and must be, then the inputs nobody stated, then the rest.

    Args:
        assessment: The assessment. [-]
        paper: What it is written on. [-]
        most: How many of the last two are shown before the rest is counted, at
            nought by `untold_count`; all if left out. [-]

    Returns:
        Lines. [-]
    """
    asked = [unknown.question for unknown in assessment.unknowns]
    binding: list[list[str]] = []
    advised: list[list[str]] = []
    later: list[list[str]] = []
    for finding in findings_with(assessment, Outcome.CANNOT_TELL):
        # A signal word never stands alone, without what to do about it.
        repeats = not finding.signal and any(
            question in finding.next for question in asked
        )
        entry = _finding(finding, paper, brief=repeats)
        if finding.weight is not Weight.ADVICE:
            binding.append(entry)
        elif is_later(finding):
            later.append(entry)
        else:
            advised.append(entry)
    now = [_unknown(each, paper) for each in assessment.unknowns if not each.later]
    entries = [*binding, *now, *advised]
    if most == 0:  # where to look for one thing stays
        entries = entries[: len(binding) + bool(now)]
    if most is None:
        entries += later
        entries += [_unknown(each, paper) for each in assessment.unknowns if each.later]
    if not entries:
        return
    yield from ("", *paper.wrap("Cannot be told yet, and where to look"))
    shown = entries if not most else entries[: len(binding) + most]
    for entry in shown:
        yield from entry
    yield from _left_out(len(entries) - len(shown), paper)


def untold_count(assessment: Assessment) -> int:
    """How much is open and not shown where the list is cut to nought.

    Args:
        assessment: The assessment. [-]

    Returns:
        Findings that are advice, and all inputs nobody stated but one. [-]
    """
    advised = [
        finding
        for finding in findings_with(assessment, Outcome.CANNOT_TELL)
        if finding.weight is Weight.ADVICE and not is_later(finding)
    ]
    unknown = sum(not each.later for each in assessment.unknowns)
    return len(advised) + max(0, unknown - 1)


def is_later(finding: Finding) -> bool:
    """Whether a finding waits for somebody to look, before or during the work.

    What of the installation decides already has a weight that binds.

    Args:
        finding: The finding. [-]

    Returns:
        True for what the one-screen answer only counts. [-]
    """
    of_the_work = finding.id.partition(".")[0] in _INSTALLATION
    return (
        of_the_work
        and finding.outcome is Outcome.CANNOT_TELL
        and finding.weight is Weight.ADVICE
    )


def _left_out(number: int, paper: Paper) -> list[str]:
    if not number:
        return []
    return paper.wrap(f"and {number} more, with --working", first=INDENT, rest=INDENT)


def _finding(finding: Finding, paper: Paper, *, brief: bool) -> list[str]:
    """Return what was found, and below it what to do behind its signal word."""
    signal = f"{finding.signal.value}: " if finding.signal else ""
    cited = source_text(finding.citation)
    words = f"{_about(finding)}{finding.question}{_verdict(finding)}"
    words += f" {cited}." * bool(cited)
    told_below = bool(finding.next) and not brief
    if signal and not told_below:
        words = signal + words
    lines = paper.wrap(words, first=f" {paper.mark(finding.outcome)}  ", rest=INDENT)
    if told_below:
        lines += paper.wrap(f"{signal}{finding.next}", first=INDENT, rest=INDENT)
    return lines


def _about(finding: Finding) -> str:
    """Return which section, terminal or reading a finding is about, if one."""
    subject, *about = finding.id.split(".")[1:] or ("",)
    return f"{', '.join(about).replace('_', ' ')}: " if subject and about else ""


def _verdict(finding: Finding) -> str:
    found, limit = finding_texts(finding)
    if limit and isinstance(finding.limit, str):
        return f" {found}; asked for: {limit}." if found else f" Asked for: {limit}."
    if found and limit:
        return f" {found} against {limit}."
    if found:
        return f" {found}."
    return f" Limit {limit}." if limit else ""


def _unknown(unknown: Unknown, paper: Paper) -> list[str]:
    return paper.wrap(
        f"{unknown.question} Look: {unknown.look} ({unknown.field}).",
        first=f" {paper.mark(Outcome.CANNOT_TELL)}  ",
        rest=INDENT,
    )
