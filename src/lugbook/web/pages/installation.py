"""What is carried to the panel: order of work, torque sheet, papers, as a page."""

from __future__ import annotations

from pathlib import Path

from markupsafe import Markup

from lugbook import actions
from lugbook.errors import InputError
from lugbook.premises.plan import read_plan
from lugbook.report.torque_plan import torque_plan
from lugbook.web.pages.check import choices_of, fault_page
from lugbook.web.rendering import render

__all__ = ["installation_page"]


def installation_page(path: Path, setting: str, edition: str) -> tuple[int, str]:
    """The page of the work itself, read afresh.

    Args:
        path: The plan file. [-]
        setting: Setting asked for; empty for the plan's own. [-]
        edition: Edition asked for; empty for the plan's own. [-]

    Returns:
        Status of the answer, and the page. [-]

    Raises:
        InputError: Setting or edition cannot be used.
    """
    try:
        plan = read_plan(path)
    except InputError as error:
        return 422, fault_page(path, error.faults)
    choices = choices_of(plan, setting, edition)
    try:
        found = actions.check(
            path, edition=choices.asked_edition, setting_a=choices.asked_a
        )
    except InputError as error:
        return 422, fault_page(path, error.faults, choices)
    drawing = torque_plan(found.torque, alone=False) if found.torque else ""
    return 200, render(
        "installation.html",
        file=path.name,
        found=found,
        choices=choices,
        terminal_plan=Markup(drawing),
    )
