"""How much current the cars need, as a page."""

from __future__ import annotations

from pathlib import Path

from lugbook import actions
from lugbook.errors import InputError
from lugbook.web.pages.check import fault_page
from lugbook.web.rendering import render

__all__ = ["need_page"]


def need_page(path: Path, edition: str) -> tuple[int, str]:
    """The page of the charging need, read afresh.

    Args:
        path: The plan file. [-]
        edition: Edition asked for; empty for the plan's own. [-]

    Returns:
        Status of the answer, and the page. [-]
    """
    # Imported when first asked for: numpy would slow down the start of every page.
    from lugbook.report import need_text
    from lugbook.web.pages.need_plot import need_plots
    from lugbook.web.pages.together import together_section

    try:
        found = actions.need(path, edition=edition or None)
        nights = actions.together(path, found, edition=edition or None)
    except InputError as error:
        return 422, fault_page(path, error.faults)
    return 200, render(
        "need.html",
        file=path.name,
        found=found,
        plots=need_plots(found),
        texts=need_text,
        together=together_section(nights),
    )
