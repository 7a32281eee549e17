"""Every lawful circuit on the run that the plan states, as a page."""

from __future__ import annotations

from pathlib import Path

from lugbook import actions
from lugbook.errors import Fault, InputError
from lugbook.web.pages.check import fault_page
from lugbook.web.rendering import render

__all__ = ["options_page"]


def options_page(path: Path, edition: str, parts: str) -> tuple[int, str]:
    """The page of the circuits that may be built, read afresh.

    Args:
        path: The plan file. [-]
        edition: Edition asked for; empty for the plan's own. [-]
        parts: Number of a circuit whose parts are asked for; empty for none. [-]

    Returns:
        Status of the answer, and the page. [-]

    Raises:
        InputError: The number is none.
    """
    number = _number(parts)
    # Imported when first asked for: numpy would slow down the start of every page.
    from lugbook.assess.options_rules import RULES
    from lugbook.finding import Outcome

    try:
        found = actions.options(path, edition=edition or None)
    except InputError as error:
        return 422, fault_page(path, error.faults)
    chosen = (
        None
        if number is None
        else actions.parts(path, number, found, edition=edition or None)
    )
    return 200, render(
        "options.html",
        file=path.name,
        found=found,
        titles=dict(RULES),
        rows=[(place + 1, found.pareto[place]) for place in found.shown],
        number=number,
        edition=edition,
        parts=None if chosen is None else chosen[0],
        judged=None if chosen is None else chosen[1],
        meets=Outcome.MEETS,
        falls_short=Outcome.FALLS_SHORT,
        cannot_tell=Outcome.CANNOT_TELL,
    )


def _number(typed: str) -> int | None:
    if not typed:
        return None
    if not (typed.isascii() and typed.isdigit() and len(typed) < 8):
        raise InputError(Fault("parts", repr(typed[:20]), "the number of a circuit"))
    return int(typed)
