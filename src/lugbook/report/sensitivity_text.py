"""What would change the answer, as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lugbook.assess.compare import PlannedLoad
from lugbook.assess.sensitivity import Influence, Sensitivity, Trial
from lugbook.assess.sensitivity_ranges import Origin
from lugbook.finding import Outcome
from lugbook.report.figures import finding_texts, proven_text
from lugbook.report.paper import Paper

__all__ = ["planned_text", "sensitivity_text"]

_INDENT = " " * 5
_DEEPER = " " * 7
_TRIED_AS = {
    Origin.UNKNOWN: "unknown, else taken as",
    Origin.ASSUMED: "assumed",
    Origin.TOLD: "told",
    Origin.GUESSED: "guessed",
    Origin.RANGED: "given with a range,",
}


def sensitivity_text(sensitivity: Sensitivity, paper: Paper) -> str:
    """The doubts ranked, what they do together, and what was not tried.

    Args:
        sensitivity: What would change the answer. [-]
        paper: What it is written on. [-]

    Returns:
        Text ending in a line end. [-]
    """
    moving = [each for each in sensitivity.influences if each.effect != "none"]
    lines = [
        *paper.wrap("What would change the answer"),
        paper.rule(),
        *paper.wrap(sensitivity.sentence),
        *_method(sensitivity, paper),
    ]
    for number, influence in enumerate(moving, 1):
        lines += ["", *_influence(number, influence, paper)]
    lines += _together(sensitivity, paper)
    lines += _rest(sensitivity, paper)
    return "\n".join(lines) + "\n"


def planned_text(planned: Sequence[PlannedLoad], paper: Paper) -> str:
    """The answer once planned loads are there.

    Args:
        planned: One row a planned load, and one for all. [-]
        paper: What it is written on. [-]

    Returns:
        Text ending in a line end; nothing where nothing is planned. [-]
    """
    if not planned:
        return ""
    lines = ["", *paper.wrap("With what is planned")]
    for each in planned:
        headline = each.assessment.headline
        year = f" ({each.year})" * (each.year is not None)
        prudent = proven_text(headline.largest_prudent_a)
        lines += paper.wrap(
            f"{' and '.join(each.ids)}{year}: {headline.outcome.words}. "
            f"{headline.sentence} Largest setting, prudent: {prudent}.",
            first=f" {paper.mark(headline.outcome)}  ",
            rest=_DEEPER,
        )
    return "\n".join(lines) + "\n"


def _method(sensitivity: Sensitivity, paper: Paper) -> Iterator[str]:
    tried = len(sensitivity.influences)
    if not tried:
        yield from paper.wrap("Nothing that weighs is unknown, assumed or guessed.")
        return
    things = "1 thing" if tried == 1 else f"{tried} things"
    typical = sensitivity.typical_outcome.words
    yield from paper.wrap(
        f"{things} tried over the plausible range, one at a time, the other unknowns "
        f"at their typical value (then: {typical}). Together: {sensitivity.search}. "
        f"{sensitivity.evaluations} assessments."
    )


def _influence(number: int, influence: Influence, paper: Paper) -> Iterator[str]:
    doubt = influence.doubt
    taken = doubt.choices[doubt.typical].label
    as_ = "" if taken == "as assumed" else f" {taken}"
    yield from paper.wrap(
        f"{doubt.field} ({_TRIED_AS[doubt.origin]}{as_})",
        first=f"{number:3}  ",
        rest=_INDENT,
    )
    yield from _trial(influence.worst, paper)
    if influence.effect == "lifts":
        yield from _trial(influence.best, paper)
    look = doubt.look.rstrip(".")
    asked = doubt.question if doubt.origin is Origin.UNKNOWN else ""
    yield from paper.wrap(f"{asked} Look: {look}.".strip(), first=_INDENT, rest=_INDENT)


def _trial(trial: Trial, paper: Paper) -> Iterator[str]:
    words = f"{trial.choice}: {trial.outcome.words}"
    finding = trial.finding
    if finding is not None:
        found, limit = finding_texts(finding)
        against = f" against {limit}" * bool(limit)
        told = f", {found}{against}" * bool(found)
        word = "" if finding.outcome is trial.outcome else f" {finding.outcome.words}"
        words += f"; {finding.id}{word}{told}"
    if trial.outcome in (Outcome.MEETS, Outcome.NARROW):
        words += f"; largest setting {proven_text(trial.largest_prudent_a)}"
    yield from paper.wrap(
        f"{words}.", first=f"{_INDENT}{paper.mark(trial.outcome)}  ", rest=" " * 11
    )


def _together(sensitivity: Sensitivity, paper: Paper) -> Iterator[str]:
    together = sensitivity.together
    if together is None:
        return
    picks = ", ".join(f"{field} = {choice}" for field, choice in together.picks)
    changed = f" in {', '.join(together.changed)}" * bool(together.changed)
    yield ""
    yield from paper.wrap("Only together")
    yield from paper.wrap(
        f"{picks}: {together.outcome.words}{changed}. None of these alone does it.",
        first=f"{_INDENT}{paper.mark(together.outcome)}  ",
        rest=" " * 11,
    )


def _rest(sensitivity: Sensitivity, paper: Paper) -> Iterator[str]:
    idle = [
        each.doubt.field for each in sensitivity.influences if each.effect == "none"
    ]
    unknown = [each.field for each in sensitivity.untried if each.is_unknown]
    held = [each.field for each in sensitivity.untried if not each.is_unknown]
    parts = (
        ("Changes nothing", idle),
        ("Unknown, and no plausible range held, so not tried", unknown),
        ("Still cannot be told", list(sensitivity.still_open)),
        ("Taken as given without a field to vary, or not chosen yet", held),
    )
    if any(names for _, names in parts) or sensitivity.later:
        yield ""
    for title, names in parts:
        if names:
            yield from paper.wrap(f"{title}: {', '.join(names)}.", rest="  ")
    if sensitivity.later:
        questions = "question" if sensitivity.later == 1 else "questions"
        yield from paper.wrap(
            f"{sensitivity.later} {questions} of the work itself belong to a later "
            "stage and were not varied; lugbook check --working lists them.",
            rest="  ",
        )
