"""Inspections of invented plans, built from a few words, for the tests beside it."""

from __future__ import annotations

from circuit_plans import charger, circuit, plan, section

from lugbook.assess.capacity import wish_of
from lugbook.assess.installation import Inspection, inspect
from lugbook.codebook.edition import open_edition
from lugbook.finding import Finding


def inspected(*tables: str, year: str = "2023", amended: tuple[str, ...] = ()):
    """Return the inspection of a plan of the tables given."""
    house = plan(*tables)
    return inspect(house, open_edition(year, amended_by=amended), wish_of(house, None))


def finding(found: Inspection, name: str) -> Finding:
    """Return the one finding of an id."""
    held = [each for each in found.findings if each.id == name]
    assert len(held) == 1, [each.id for each in found.findings]
    return held[0]


def outcome(name: str, *tables: str, year: str = "2023") -> str:
    """Return the outcome of one finding of a plan."""
    return finding(inspected(*tables, year=year), name).outcome.value


def panel(*lines: str, breakers: str = "") -> str:
    """Return the panel's table."""
    head = ["[[panels]]", 'id = "main_panel"', 'fed_from = "service"']
    return "\n".join([*head, *lines, breakers, ""])


def breaker(positions: list[int], rating: float, *lines: str) -> str:
    """Return one breaker of the panel above it."""
    head = ["[[panels.breakers]]", f"positions = {positions}"]
    return "\n".join([*head, f'rating = "{rating:g} A"', *lines, ""])


def run(*sections: str, **given: object) -> str:
    """Return a circuit of these sections."""
    return circuit(sections="\n".join(sections), **given)


__all__ = [
    "breaker",
    "charger",
    "circuit",
    "finding",
    "inspected",
    "outcome",
    "panel",
    "run",
    "section",
]
