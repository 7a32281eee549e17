"""The coverage page: each item of the trade, and what of the tool serves it."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

SERVED = Path(__file__).resolve().parent / "coverage.toml"


def items() -> dict[str, dict[str, Any]]:
    """Return the items by their number, in the order of the job."""
    return tomllib.loads(SERVED.read_text(encoding="utf-8"))


def coverage_page() -> str:
    """Return the coverage page."""
    rows = [
        "# Coverage",
        "",
        "Every item of the trade from first thought to finished wiring, and the "
        "findings that serve it. An item without a finding says why. Findings are "
        "listed in [findings](findings.md).",
        "",
        "| item | question | findings | how far |",
        "|---|---|---|---|",
    ]
    for number, entry in items().items():
        ids = ", ".join(f"`{each}`" for each in entry["ids"]) or "none"
        rows.append(
            f"| {number} | {entry['item']} | {ids} | {entry['says'] or 'whole'} |"
        )
    return "\n".join(rows) + "\n"
