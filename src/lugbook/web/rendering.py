"""Pages from templates, with the filters that write numbers and marks."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from lugbook.report import closed_words, figures, torque_text, work_text
from lugbook.web.leaves import explanations
from lugbook.web.pages import words

__all__ = ["PAGES", "render"]

# Every page of a plan, in the order of the job: address, and its name in the row.
PAGES = (
    ("/", "Check"),
    ("/what-if", "What would change it"),
    ("/need", "Need"),
    ("/options", "Options"),
    ("/installation", "Installation"),
    ("/compare", "Compare"),
)


def render(template: str, **named: Any) -> str:
    """Return a page.

    Args:
        template: Name of the template. [-]
        named: What the template shows. [-]

    Returns:
        The page as HTML. [-]
    """
    return _templates.get_template(template).render(**named)


def _day(on: date) -> str:
    return f"{on.day} {on:%B %Y}"


def _finished(shown: Any) -> Any:
    """Tie figures to their units in every text, and leave markup as it is."""
    plain = isinstance(shown, str) and not isinstance(shown, Markup)
    return words.tied(shown) if plain else shown


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_finished,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["explanations"] = explanations
    made.globals["pages"] = PAGES
    made.filters.update(
        day=_day,
        figure=figures.amount_text,
        pair=figures.finding_texts,
        setting=figures.setting_text,
        proven=figures.proven_text,
        degrees=figures.degrees_text,
        span=figures.range_text,
        share=figures.share_text,
        volts=figures.volts_text,
        watts=figures.watts_text,
        kwh=figures.energy_text,
        load=words.load_and_limit,
        torque=torque_text.torque_lines,
        tool=torque_text.tool_text,
        grounds=work_text.grounds_text,
        open_points=work_text.open_text,
        ready=work_text.paper_text,
        told=work_text.entry_text,
        item=words.item,
        book=words.book,
        charger=closed_words.charger_name,
        sentence=words.sentence,
        breakable=words.breakable,
    )
    return made


_templates = _environment()
