"""Invented houses for the tests of loads and capacity, as the plan file's own tables.

The plain house: 1,500 ft², so 4,500 + 2 × 1,500 + 1,500 = 9,000 VA of general load
(2026: 3,000 + 4,500 = 7,500 VA), a service of 200 A in all its parts, a charger of
32 A that cannot be raised, and no other load.
"""

from __future__ import annotations

from copy import deepcopy
from datetime import date
from typing import Any

from lugbook.actions import evidence_of
from lugbook.assess.assessment import Assessment, CapacityRow
from lugbook.assess.capacity import capacity_rows, wish_of
from lugbook.assess.load_list import LoadList, gather
from lugbook.assess.service_rating import rate_service
from lugbook.assess.spine import assess
from lugbook.codebook.edition import open_edition
from lugbook.finding import Finding
from lugbook.premises.plan import Plan
from lugbook.readings.evidence import Evidence

ON = date(2026, 11, 25)
Tree = dict[str, Any]

_PLAIN: Tree = {
    "dwelling": {
        "kind": "one-family",
        "floor_area": "1500 ft²",
        "small_appliance_circuits": 2,
        "laundry_circuits": 1,
        "loads_complete": True,
        "not_present": ["solar", "battery"],
    },
    "service": {
        "id": "service",
        "system": "120/240 V split-phase",
        "meter_base_rating": "200 A",
        "main": {"rating": "200 A"},
        "conductor": {"material": "aluminum", "size": "4/0 AWG"},
    },
    "panels": [{"id": "main_panel", "fed_from": "service", "bus_rating": "200 A"}],
    "loads": [],
    "charger": {
        "id": "charger",
        "connection": "hard-wired",
        "nameplate": "32 A",
        "voltage": "240 V",
    },
}


def house(*loads: Tree, **tables: Any) -> Tree:
    """Return the plain house with loads, and with tables laid over its own."""
    tree = deepcopy(_PLAIN)
    tree["loads"] = [{"id": f"load_{n}", **load} for n, load in enumerate(loads)]
    for name, table in tables.items():
        if isinstance(table, dict) and name in tree:
            tree[name] = {**tree[name], **table}
        else:
            tree[name] = table
    return tree


def load(kind: str, va: float | None = None, **fields: Any) -> Tree:
    """Return a load's table."""
    return {
        "kind": kind,
        **({} if va is None else {"nameplate": f"{va:.6f} VA"}),
        **fields,
    }


def plan_of(tree: Tree) -> Plan:
    """Return the plan of a tree as TOML would give it."""
    return Plan.model_validate({**tree, "schema_version": 1})


def judged(
    tree: Tree, year: str = "2023", setting_a: float | None = None
) -> Assessment:
    """Return the whole assessment."""
    plan = plan_of(tree)
    return assess(plan, evidence_of(plan), open_edition(year), ON, setting_a)


def rows_of(
    tree: Tree,
    year: str = "2023",
    setting_a: float | None = None,
    evidence: Evidence | None = None,
) -> tuple[CapacityRow, ...]:
    """Return the capacity rows alone, without circuit and forecast."""
    plan, edition = plan_of(tree), open_edition(year)
    return capacity_rows(
        plan=plan,
        edition=edition,
        evidence=evidence_of(plan) if evidence is None else evidence,
        loads=gather(plan, edition),
        rating=rate_service(plan, edition),
        wish=wish_of(plan, setting_a),
    )


def row_of(
    rows: tuple[CapacityRow, ...],
    method: str,
    charger: str = "outside",
    hvac: str = "counted",
) -> CapacityRow:
    """Return one row by its three words."""
    return next(
        row
        for row in rows
        if (row.method, row.interpretation.charger, row.interpretation.hvac)
        == (method, charger, hvac)
    )


def loads_of(tree: Tree, year: str = "2023") -> LoadList:
    """Return the list of loads alone."""
    return gather(plan_of(tree), open_edition(year))


def finding_of(found: Assessment, id: str) -> Finding:
    """Return one finding by its id."""
    return next(finding for finding in found.findings if finding.id == id)
