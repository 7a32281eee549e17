"""What would change the answer, as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lugbook.assess.compare import PlannedLoad
from lugbook.assess.sensitivity import Influence, Sensitivity, Trial
from lugbook.assess.sensitivity_ranges import Origin
from lugbook.finding import Outcome
from lugbook.report.figures import finding_texts, proven_text
from lugbook.report.paper import Paper

__all__ = [
    "doubt_words",
    "method_words",
    "planned_text",
    "planned_words",
    "rest_words",
    "sensitivity_text",
    "trial_words",
]

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
        *paper.wrap(method_words(sensitivity)),
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
        lines += paper.wrap(
            planned_words(each),
            first=f" {paper.mark(each.assessment.headline.outcome)}  ",
            rest=_DEEPER,
        )
    return "\n".join(lines) + "\n"


def planned_words(planned: PlannedLoad) -> str:
    """The answer once some planned loads are there, in words.

    Args:
        planned: The row. [-]

    Returns:
        Sentences. [-]
    """
    headline = planned.assessment.headline
    year = f" ({planned.year})" * (planned.year is not None)
    prudent = proven_text(headline.largest_prudent_a)
    return (
        f"{' and '.join(planned.ids)}{year}: {headline.outcome.words}. "
        f"{headline.sentence} Largest setting, prudent: {prudent}."
    )


def doubt_words(influence: Influence) -> str:
    """What a doubt is taken as while others are tried, in words.

    Args:
        influence: The doubt with its trials. [-]

    Returns:
        Words, such as "unknown, else taken as 200 A". [-]
    """
    doubt = influence.doubt
    taken = doubt.choices[doubt.typical].label
    return _TRIED_AS[doubt.origin] + ("" if taken == "as assumed" else f" {taken}")


def trial_words(trial: Trial) -> str:
    """The answer with a doubt settled in one way, in words.

    Args:
        trial: The trial. [-]

    Returns:
        A sentence. [-]
    """
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
    return f"{words}."


def method_words(sensitivity: Sensitivity) -> str:
    """How the doubts were tried, in words.

    Args:
        sensitivity: What would change the answer. [-]

    Returns:
        Sentences. [-]
    """
    tried = len(sensitivity.influences)
    if not tried:
        return "Nothing that weighs is unknown, assumed or guessed."
    things = "1 thing" if tried == 1 else f"{tried} things"
    typical = sensitivity.typical_outcome.words
    return (
        f"{things} tried over the plausible range, one at a time, the other unknowns "
        f"at their typical value (then: {typical}). Together: {sensitivity.search}. "
        f"{sensitivity.evaluations} assessments."
    )


def rest_words(sensitivity: Sensitivity) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What changes nothing, was not tried or stays open, under a title each.

    Args:
        sensitivity: What would change the answer. [-]

    Returns:
        Titles with fields; those without a field are left out. [-]
    """
    idle = [e.doubt.field for e in sensitivity.influences if e.effect == "none"]
    unknown = [each.field for each in sensitivity.untried if each.is_unknown]
    held = [each.field for each in sensitivity.untried if not each.is_unknown]
    parts = (
        ("Changes nothing", tuple(idle)),
        ("Unknown, and no plausible range held, so not tried", tuple(unknown)),
        ("Still cannot be told", tuple(sensitivity.still_open)),
        ("Taken as given without a field to vary, or not chosen yet", tuple(held)),
    )
    return tuple(part for part in parts if part[1])


def _influence(number: int, influence: Influence, paper: Paper) -> Iterator[str]:
    doubt = influence.doubt
    yield from paper.wrap(
        f"{doubt.field} ({doubt_words(influence)})",
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
    first = f"{_INDENT}{paper.mark(trial.outcome)}  "
    yield from paper.wrap(trial_words(trial), first=first, rest=" " * 11)


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
    parts = rest_words(sensitivity)
    if parts or sensitivity.later:
        yield ""
    for title, names in parts:
        yield from paper.wrap(f"{title}: {', '.join(names)}.", rest="  ")
    if sensitivity.later:
        questions = "question" if sensitivity.later == 1 else "questions"
        yield from paper.wrap(
            f"{sensitivity.later} {questions} of the work itself belong to a later "
            "stage and were not varied; lugbook check --working lists them.",
            rest="  ",
        )
