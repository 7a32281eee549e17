"""What would change the answer, as a page."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from pathlib import Path

from lugbook import actions
from lugbook.assess.assessment import Assessment
from lugbook.report import sensitivity_text
from lugbook.web.pages.check import Choices, answered
from lugbook.web.rendering import render

__all__ = ["what_if_page"]

_REST = "<!-- rest -->"
_log = logging.getLogger(__name__)


def what_if_page(path: Path, setting: str, edition: str) -> tuple[int, Iterable[str]]:
    """The page of what would change the answer, read afresh.

    Its head, with the answer as stated and what is being tried, is ready at once. The
    rest takes a second or more and comes when it is asked for.

    Args:
        path: The plan file. [-]
        setting: Setting asked for; empty for the plan's own. [-]
        edition: Edition asked for; empty for the plan's own. [-]

    Returns:
        Status of the answer, and the page in pieces. [-]

    Raises:
        InputError: Setting or edition cannot be used.
    """
    answer = answered(path, setting, edition)
    if isinstance(answer, str):
        return 422, (answer,)
    return 200, _pieces(path, *answer)


def _pieces(path: Path, stated: Assessment, choices: Choices) -> Iterator[str]:
    page = render(
        "what_if.html", file=path.name, stated=stated, choices=choices, rest=_REST
    )
    head, _, tail = page.partition(_REST)
    yield head
    try:
        yield _rest(path, stated, choices)
    except Exception:
        # The head is out with its status, so the page itself has to say it.
        _log.exception("What would change the answer could not be found out.")
        yield render("what_if_found.html", found=None)
    yield tail


def _rest(path: Path, stated: Assessment, choices: Choices) -> str:
    found, planned = actions.what_would_change(
        path, edition=choices.asked_edition, setting_a=choices.asked_a
    )
    return render(
        "what_if_found.html",
        found=found,
        moving=[each for each in found.influences if each.effect != "none"],
        planned=planned,
        questions={finding.id: finding.question for finding in stated.findings},
        texts=sensitivity_text,
    )
