"""The reference page of rules and tables by edition, out of the codebook."""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tools")]

import edition_changes  # noqa: E402  the path above finds it
from lugbook.codebook.edition import editions  # noqa: E402

OPENING = ROOT / "docs" / "parts" / "editions-opening.md"
CHANGES = ROOT / "tests" / "validation" / "edition_changes.toml"


def editions_page() -> str:
    """Return the reference of rules and tables by edition."""
    opening = OPENING.read_text(encoding="utf-8")
    return "\n".join([opening, *_changes(), *_kind("rule"), *_kind("table")])


def _changes() -> Iterator[str]:
    listed = tomllib.loads(CHANGES.read_text(encoding="utf-8"))
    for pair, places in listed.items():
        older, newer = pair.split("-")
        yield f"## What changed from {older} to {newer}\n"
        yield "| rule or table | what differs | why |"
        yield "|---|---|---|"
        for place, change in places.items():
            yield f"| {place} | {', '.join(change['what'])} | {change['why']} |"
        yield ""


def _kind(kind: str) -> Iterator[str]:
    yield f"## {kind.capitalize()}s\n"
    by_year = {year: edition_changes.entries(year) for year in editions()}
    newest = by_year[editions()[-1]]
    for place in sorted(place for place in newest if place.startswith(f"{kind} ")):
        entries = {year: held[place] for year, held in by_year.items()}
        heading = newest[place].get("question") or newest[place]["title"]
        yield f"### {place.removeprefix(f'{kind} ')}\n"
        yield f"{heading}\n"
        yield "| edition | printed at | status | compared with |"
        yield "|---|---|---|---|"
        yield from _rows(entries)
        yield ""


def _rows(entries: dict[str, dict[str, Any]]) -> Iterator[str]:
    """Yield one row for each run of editions that say the same."""
    told: dict[tuple[str, ...], list[str]] = {}
    for year, entry in entries.items():
        told.setdefault(_told(entry), []).append(year)
    for cells, years in told.items():
        yield f"| {', '.join(years)} | {' | '.join(cells)} |"


def _told(entry: dict[str, Any]) -> tuple[str, str, str]:
    where = str(entry["locator"]) or "–"
    if entry.get("absent", False):
        where = f"no such rule ({where})" if entry["locator"] else "no such rule"
    status = str(entry["status"])
    weaker = entry.get("from_memory") or list(entry.get("row_status", {}))
    if weaker and status == "confirmed":
        status += f"; from memory: {', '.join(weaker)}"
    return where, status, str(entry["confirmed_by"]) or "–"
