"""House and charging nights together, as a section of the page on need."""

from __future__ import annotations

from markupsafe import Markup

from lugbook.assess.together import Together
from lugbook.report import together_text
from lugbook.web.pages.together_plot import together_plots
from lugbook.web.rendering import render

__all__ = ["together_section"]


def together_section(found: Together | None) -> Markup | None:
    """The section, rendered.

    Args:
        found: What was found; None where the plan names no meter file. [-]

    Returns:
        Markup; None where there is nothing to show. [-]
    """
    if found is None:
        return None
    rows = together_text.shown_rows(found)
    shown = {row.setting_a for row in rows}
    return Markup(
        render(
            "together.html",
            nights=found,
            rows=rows,
            limit_rows=[each for each in found.limit_rows if each.setting_a in shown],
            plots=together_plots(found),
            texts=together_text,
        )
    )
