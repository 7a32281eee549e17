"""How is it built? Everything an inspector would look at beside load and circuit.

The subjects are in the modules `installation_*`; each writes its findings on one sheet.
"""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.assessment import Assumption, Unknown
from lugbook.assess.capacity import Wish
from lugbook.assess.circuit_case import case_of
from lugbook.assess.installation_bends import inspect_bends
from lugbook.assess.installation_breaker import inspect_breaker
from lugbook.assess.installation_charger import inspect_charger
from lugbook.assess.installation_enclosures import inspect_enclosures
from lugbook.assess.installation_grounding import (
    inspect_detached,
    inspect_service_ground,
)
from lugbook.assess.installation_main import inspect_main
from lugbook.assess.installation_management import inspect_management
from lugbook.assess.installation_panel import inspect_panel
from lugbook.assess.installation_paper import inspect_papers
from lugbook.assess.installation_parts import Sheet
from lugbook.assess.installation_place import inspect_place
from lugbook.assess.installation_run import inspect_run
from lugbook.assess.installation_shared import inspect_shared
from lugbook.assess.installation_sources import inspect_sources
from lugbook.assess.installation_wires import inspect_wires
from lugbook.codebook.edition import Edition, open_edition
from lugbook.finding import Finding
from lugbook.premises.plan import Plan

__all__ = ["NOT_INSPECTED", "Inspection", "inspect"]

_LIMITS = "2026"  # the one edition held of the limits of product standards


@dataclass(frozen=True, slots=True)
class Inspection:
    """What was found on the installation.

    Args:
        findings: In reading order. [-]
        unknowns: What is needed and nobody stated, later stages marked. [-]
        assumptions: What was taken as given. [-]
    """

    findings: tuple[Finding, ...]
    unknowns: tuple[Unknown, ...]
    assumptions: tuple[Assumption, ...]


NOT_INSPECTED = Inspection((), (), ())


def inspect(plan: Plan, edition: Edition, wish: Wish) -> Inspection:
    """Everything an inspector would look at beside load and circuit.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        wish: The charging current. [-]

    Returns:
        The inspection. [-]
    """
    sheet = Sheet(
        plan=plan,
        edition=edition,
        limits=open_edition(_LIMITS, book="product_limits"),
        wish=wish,
        case=case_of(plan, edition, wish),
    )
    for subject in (
        inspect_panel,
        inspect_main,
        inspect_breaker,
        inspect_service_ground,
        inspect_sources,
        inspect_bends,
        inspect_run,
        inspect_wires,
        inspect_enclosures,
        inspect_place,
        inspect_charger,
        inspect_management,
        inspect_shared,
        inspect_detached,
        inspect_papers,
    ):
        subject(sheet)
    return Inspection(
        tuple(sheet.findings), tuple(sheet.unknowns), tuple(sheet.assumptions)
    )
