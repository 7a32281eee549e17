"""Two plans, editions or settings side by side, as a page."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from lugbook import actions
from lugbook.errors import Fault, InputError
from lugbook.premises.plan import Plan, read_plan
from lugbook.report import closed_words, compare_text
from lugbook.web.pages.check import Choices, choices_of, fault_page
from lugbook.web.rendering import render

__all__ = ["Asked", "compare_page"]

_MOST_PLANS = 40  # in the plan's own folder; more are not offered


@dataclass(frozen=True, slots=True)
class Asked:
    """What the two sides are asked to be.

    Args:
        setting_a: Setting of side A, as typed; empty for the plan's own. [-]
        edition_a: Edition of side A; empty for the plan's own. [-]
        setting_b: The same of side B. [-]
        edition_b: The same of side B. [-]
        plan_b: Name of another plan in the same folder; empty for the same. [-]
        planned: Whether planned loads are taken as there in B. [-]
    """

    setting_a: str = ""
    edition_a: str = ""
    setting_b: str = ""
    edition_b: str = ""
    plan_b: str = ""
    planned: bool = False


def compare_page(path: Path, asked: Asked) -> tuple[int, str]:
    """The page of two answers side by side, read afresh.

    Args:
        path: The plan file; the only other files read are plans beside it. [-]
        asked: What the two sides are. [-]

    Returns:
        Status of the answer, and the page. [-]

    Raises:
        InputError: A setting, an edition or the other plan cannot be used.
    """
    try:
        plan = read_plan(path)
    except InputError as error:
        return 422, fault_page(path, error.faults)
    others, unread = _plans_beside(path)
    if asked.plan_b and asked.plan_b not in others:
        accepted = ", ".join(others) or "no other plan lies beside this one"
        raise InputError(Fault("plan_b", repr(asked.plan_b[:40]), accepted))
    plan_b = others.get(asked.plan_b, plan)
    sides = (
        choices_of(plan, asked.setting_a, asked.edition_a),
        choices_of(plan_b, asked.setting_b, asked.edition_b),
    )
    found = None
    if asked != Asked():
        path_b = path.parent / asked.plan_b if asked.plan_b else path
        try:
            found = actions.compare(
                _side(path, sides[0]), _side(path_b, sides[1], planned=asked.planned)
            )
        except InputError as error:
            return 422, fault_page(path, error.faults)
    return 200, render(
        "compare.html",
        file=path.name,
        name=plan.name,
        found=found,
        others=tuple(others),
        sides=sides,
        asked=asked,
        has_planned=any(load.state == "planned" for load in plan_b.loads),
        unread=unread,
        texts=compare_text,
        closed=closed_words,
    )


def _side(path: Path, choices: Choices, *, planned: bool = False) -> actions.Side:
    return actions.Side(path, choices.asked_edition, choices.asked_a, planned)


def _plans_beside(path: Path) -> tuple[dict[str, Plan], int]:
    """Return the other plans in the folder by name, and how many files are none."""
    files = [
        each
        for each in sorted(path.parent.glob("*.toml"))
        if each.name != path.name and not each.is_symlink()
    ]
    found: dict[str, Plan] = {}
    for each in files[:_MOST_PLANS]:
        with suppress(InputError):
            found[each.name] = read_plan(each)
    return found, len(files[:_MOST_PLANS]) - len(found)
