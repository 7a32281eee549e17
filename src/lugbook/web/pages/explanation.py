"""The explanations, as pages: how a circuit is judged, what heats, why torque matters.

The pages are the project's own Markdown files; raw HTML in them is not passed on.
"""

from __future__ import annotations

from markdown_it import MarkdownIt
from markupsafe import Markup

from lugbook.web.leaves import explanations, folder
from lugbook.web.rendering import render

__all__ = ["drawing", "explanation_page"]

_WIDE = '<div class="wide" tabindex="0" role="region" aria-label="Table"><table>'


def explanation_page(name: str) -> str | None:
    """An explanation as a page.

    Args:
        name: Its name in the address. [-]

    Returns:
        The page as HTML; None if there is no such explanation. [-]
    """
    if name not in explanations():
        return None
    text = folder().joinpath(f"{name}.md").read_text(encoding="utf-8")
    return render(
        "explanation.html",
        title=explanations()[name],
        text=Markup(_html(text)),
        others={key: title for key, title in explanations().items() if key != name},
    )


def drawing(name: str) -> bytes | None:
    """A drawing that an explanation shows.

    Args:
        name: File name of an SVG drawing. [-]

    Returns:
        The drawing; None if there is none of that name. [-]
    """
    for entry in folder().iterdir():
        if entry.name == name and name.endswith(".svg"):
            return entry.read_bytes()
    return None


def _html(text: str) -> str:
    """Return Markdown as HTML without styles, links kept inside the pages."""
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = reader.parse(text)
    for token in tokens:
        token.attrs.pop("style", None)
        for inner in token.children or ():
            target = inner.attrs.get("href")
            if isinstance(target, str) and target.endswith(".md"):
                inner.attrs["href"] = target.rsplit("/", 1)[-1].removesuffix(".md")
    html = str(reader.renderer.render(tokens, reader.options, {}))
    return html.replace("<table>", _WIDE).replace("</table>", "</table></div>")
