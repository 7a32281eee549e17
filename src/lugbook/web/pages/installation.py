"""What is carried to the panel: order of work, torque sheet, papers, as a page."""

from __future__ import annotations

from pathlib import Path

from markupsafe import Markup

from lugbook.report.torque_plan import torque_plan
from lugbook.web.pages.check import answered
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
    answer = answered(path, setting, edition)
    if isinstance(answer, str):
        return 422, answer
    found, choices = answer
    drawing = torque_plan(found.torque, alone=False) if found.torque else ""
    return 200, render(
        "installation.html",
        file=path.name,
        found=found,
        choices=choices,
        terminal_plan=Markup(drawing),
    )
