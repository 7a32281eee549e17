"""Write the reference pages that come out of the package itself.

    python tools/generate_docs.py            write them
    python tools/generate_docs.py --check    say which differ, and fail if any does

A page is a function that returns its text, entered in PAGES under its path; a test
compares every committed page with a fresh one.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path

REPO = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(REPO / "src"), str(REPO / "tools")]

from coverage_page import coverage_page  # noqa: E402  the path above finds it
from edition_pages import editions_page  # noqa: E402
from lugbook.premises.describe import field_texts, kind_of, tables  # noqa: E402
from lugbook.premises.plan import Plan, json_schema  # noqa: E402
from physics_pages import physics_page, residual_plot  # noqa: E402

Page = Callable[[], str]


def plan_schema() -> str:
    """Return the JSON Schema of the plan file."""
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


def plan_file() -> str:
    """Return the reference of the plan file: principles, an example, every field."""
    parts = [(REPO / "docs/parts/plan-file-opening.md").read_text(encoding="utf-8")]
    example = (REPO / "examples/smallest/plan.toml").read_text(encoding="utf-8")
    parts.append(f"```toml\n{example}```\n\n## Every table and field\n")
    parts += [_table(*entry) for entry in tables(Plan)]
    return "\n".join(parts)


def _table(name: str, model: type, listed: bool) -> str:
    title = f"[[{name}]]" if listed else f"[{name}]" if name else "Top of the file"
    heading = f"### `{title}`" if name else f"### {title}"
    doc = " ".join((model.__doc__ or "").split())
    texts = field_texts(model)
    rows = ["| field | what it is | accepted | where to look | example |"]
    rows.append("|---|---|---|---|---|")
    for field, info in model.model_fields.items():  # type: ignore[attr-defined]
        kind, text = kind_of(info.annotation), texts[field]
        key = "schema" if field == "schema_version" else field
        accepted = kind.words + (" †" if kind.stated else "")
        must = ", required" if info.is_required() else ""
        example = f"`{text.example}`" if text.example else ""
        cells = (f"`{key}`{must}", text.meaning, accepted, text.look, example)
        rows.append(
            "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
        )
    return "\n".join((heading, "", doc, "", *rows, ""))


PAGES: dict[str, Page] = {
    "docs/reference/plan.schema.json": plan_schema,
    "docs/reference/plan-file.md": plan_file,
    "docs/reference/coverage.md": coverage_page,
    "docs/reference/editions.md": editions_page,
    "docs/reference/physics.md": physics_page,
    "docs/explanation/heat-residuals.svg": residual_plot,
}


def differing(root: Path = REPO) -> list[str]:
    """Return the paths of pages that are not as freshly made."""
    found = []
    for path, page in PAGES.items():
        file = root / path
        if not file.exists() or file.read_text(encoding="utf-8") != page():
            found.append(path)
    return found


def main(arguments: list[str]) -> int:
    """Write the pages, or only compare them; return the exit status."""
    if arguments == ["--check"]:
        stale = differing()
        for path in stale:
            print(f"{path} differs; run python tools/generate_docs.py")
        return 1 if stale else 0
    if arguments:
        print(__doc__)
        return 2
    for path, page in PAGES.items():
        file = REPO / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(page(), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
