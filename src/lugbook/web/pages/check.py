"""The assessment of a plan, as the terminal gives it, on one page."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from urllib.parse import urlencode

from lugbook import actions
from lugbook.assess.assessment import Assessment, CapacityRow
from lugbook.codebook.edition import editions
from lugbook.errors import Fault, InputError
from lugbook.finding import Citation, Finding, Outcome, Status, Weight, Working
from lugbook.premises.plan import Plan, read_plan
from lugbook.report.figures import setting_text
from lugbook.report.finding_lists import is_later
from lugbook.web.pages import words
from lugbook.web.pages.dot_plot import dot_plots
from lugbook.web.pages.heat_plot import heat_plots
from lugbook.web.rendering import render

__all__ = [
    "Choices",
    "Group",
    "answered",
    "check_page",
    "choices_of",
    "fault_page",
    "groups",
    "unconfirmed",
]


@dataclass(frozen=True, slots=True)
class Choices:
    """What may be asked, and what is asked now.

    Args:
        steps_a: Setting steps of the charger; empty if not stated. [A]
        planned_a: Setting in the plan. [A]
        asked_a: Setting asked for instead; None for the plan's own. [A]
        editions: Editions held. [-]
        planned_edition: Edition in the plan. [-]
        asked_edition: Edition asked for instead; None for the plan's own. [-]
    """

    steps_a: tuple[float, ...]
    planned_a: float | None
    asked_a: float | None
    editions: tuple[str, ...]
    planned_edition: str | None
    asked_edition: str | None

    @property
    def query(self) -> str:
        """What asks the same of another page; empty for the plan's own."""
        asked = {
            "setting": "" if self.asked_a is None else f"{self.asked_a:g}",
            "edition": self.asked_edition or "",
        }
        told = urlencode({name: said for name, said in asked.items() if said})
        return f"?{told}" * bool(told)


@dataclass(frozen=True, slots=True)
class Group:
    """Findings that ask the same of the person."""

    title: str
    note: str
    findings: tuple[Finding, ...]
    is_later: bool = False


def check_page(path: Path, setting: str, edition: str) -> tuple[int, str]:
    """The page about a plan file, read afresh.

    Args:
        path: The plan file. [-]
        setting: Setting asked for, as typed; empty for the plan's own. [A]
        edition: Edition asked for; empty for the plan's own. [-]

    Returns:
        Status of the answer, and the page. [-]

    Raises:
        InputError: Setting or edition cannot be used.
    """
    answer = answered(path, setting, edition)
    if isinstance(answer, str):
        return 422, answer
    return 200, _assessment_page(path, *answer)


def answered(
    path: Path, setting: str, edition: str
) -> tuple[Assessment, Choices] | str:
    """The assessment a page is about, with what was asked of it.

    Args:
        path: The plan file. [-]
        setting: Setting asked for, as typed; empty for the plan's own. [A]
        edition: Edition asked for; empty for the plan's own. [-]

    Returns:
        Both, or the page that lists what must be mended first. [-]

    Raises:
        InputError: Setting or edition cannot be used.
    """
    try:
        plan = read_plan(path)
    except InputError as error:
        return fault_page(path, error.faults)
    choices = choices_of(plan, setting, edition)
    try:
        found = actions.check(
            path, edition=choices.asked_edition, setting_a=choices.asked_a
        )
    except InputError as error:
        return fault_page(path, error.faults, choices)
    return found, choices


def fault_page(
    path: Path, faults: tuple[Fault, ...], choices: Choices | None = None
) -> str:
    """The page that lists what must be mended in a plan file.

    Args:
        path: The plan file. [-]
        faults: Everything wrong with it. [-]
        choices: What may be asked once it is mended. [-]

    Returns:
        The page. [-]
    """
    return render("faults.html", file=path.name, faults=faults, choices=choices)


def groups(findings: tuple[Finding, ...]) -> tuple[Group, ...]:
    """Findings by what they ask of the person, gravest first; empty ones left out.

    Args:
        findings: In reading order. [-]

    Returns:
        Groups, each in reading order. [-]
    """
    short = [f for f in findings if f.outcome is Outcome.FALLS_SHORT]
    sorted_out = (
        Group(
            "What stops",
            "Do not energise, or switch off, until this is mended.",
            tuple(f for f in short if f.weight is Weight.STOP),
        ),
        Group(
            "What must be done",
            "Before it is lawful or fit to use.",
            tuple(f for f in short if f.weight is Weight.MUST),
        ),
        Group(
            "What is narrow",
            "It passes with little room: within 5 % of the limit, or 5 K.",
            tuple(f for f in findings if f.outcome is Outcome.NARROW),
        ),
        Group(
            "What cannot be told",
            "Something is missing. Nothing passes on a missing figure.",
            tuple(
                f
                for f in findings
                if f.outcome is Outcome.CANNOT_TELL and not is_later(f)
            ),
        ),
        Group(
            "Advice",
            "Not asked for by the book, but better.",
            tuple(f for f in short if f.weight is Weight.ADVICE),
        ),
        Group(
            "What to look at on site",
            "Before and during the work; it does not weigh on the answer yet.",
            tuple(f for f in findings if is_later(f)),
            is_later=True,
        ),
    )
    return tuple(group for group in sorted_out if group.findings)


def unconfirmed(found: Assessment) -> tuple[Citation, ...]:
    """Book places the assessment rests on that no second text confirmed.

    Args:
        found: The assessment. [-]

    Returns:
        Each place once, in reading order. [-]
    """
    cited = (c for c in _citations(found) if c.status is not Status.CONFIRMED)
    return tuple(dict.fromkeys(cited))


def _citations(found: Assessment) -> Iterator[Citation]:
    for finding in (*found.findings, *(item.finding for item in found.circuit)):
        if finding.citation:
            yield finding.citation
        if finding.working:
            yield from finding.working.citations()
    for working in (found.service_rating, *_workings(found.capacity)):
        yield from working.citations()


def _workings(rows: tuple[CapacityRow, ...]) -> Iterator[Working]:
    for row in rows:
        yield row.working


def _not_drawn(rows: tuple[CapacityRow, ...]) -> tuple[str, ...]:
    """Return the methods that have no dot, each once."""
    return tuple(
        dict.fromkeys(words.method(row) for row in rows if row.amperes is None)
    )


def choices_of(plan: Plan, setting: str, edition: str) -> Choices:
    """What may be asked of a plan, and what is asked.

    Args:
        plan: The house. [-]
        setting: Setting as typed; empty for the plan's own. [-]
        edition: Edition as typed; empty for the plan's own. [-]

    Returns:
        The choices. [-]

    Raises:
        InputError: Setting or edition cannot be used.
    """
    charger = plan.charger
    planned = charger.setting if charger else None
    steps = {step.value for step in charger.setting_steps} if charger else set()
    if steps and planned:
        steps.add(planned.value)
    return Choices(
        steps_a=tuple(sorted(steps)),
        planned_a=planned.value if planned else None,
        asked_a=_asked_setting(setting, tuple(sorted(steps))),
        editions=editions(),
        planned_edition=plan.rules.edition,
        asked_edition=_asked_edition(edition),
    )


def _asked_setting(typed: str, steps_a: tuple[float, ...]) -> float | None:
    if not typed.strip():
        return None
    try:
        setting_a = float(typed)
    except ValueError:
        setting_a = math.nan
    if steps_a:
        accepted = f"one of {', '.join(setting_text(step) for step in steps_a)}"
        fits = setting_a in steps_a
    else:
        accepted = "a current in amperes above 0 and at most 80, as in 32"
        fits = 0 < setting_a <= 80
    if not fits:
        raise InputError(Fault("setting", repr(typed[:40]), accepted))
    return setting_a


def _asked_edition(typed: str) -> str | None:
    if not typed.strip():
        return None
    if typed not in editions():
        accepted = f"one of {', '.join(editions())}"
        raise InputError(Fault("edition", repr(typed[:40]), accepted))
    return typed


def _assessment_page(path: Path, found: Assessment, choices: Choices) -> str:
    shown = groups(found.findings)
    elsewhere = {
        *(finding for group in shown for finding in group.findings),
        *(part.finding for part in found.circuit),
    }
    return render(
        "check.html",
        file=path.name,
        found=found,
        choices=choices,
        groups=shown,
        others=tuple(f for f in found.findings if f not in elsewhere),
        capacity=tuple(
            (name, tuple(rows))
            for name, rows in groupby(found.capacity, key=words.method)
        ),
        plots=dot_plots(found.capacity),
        heat_plots=heat_plots(found.forecast),
        not_drawn=_not_drawn(found.capacity),
        refused=any(not row.permitted for row in found.capacity),
        spanned=any(row.span_a for row in found.capacity),
        unconfirmed=unconfirmed(found),
    )
