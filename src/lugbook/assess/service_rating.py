"""What the service may carry: the least of main, bus, conductor and meter base."""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.assessment import Assumption, Unknown
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.conductors import whole_house_conductor_rating_a
from lugbook.errors import MissingEntry
from lugbook.finding import Line, Working
from lugbook.premises.panel import Panel
from lugbook.premises.plan import Plan
from lugbook.premises.service import Service
from lugbook.premises.stated import Stated

__all__ = ["ServiceRating", "rate_service", "service_panels"]


@dataclass(frozen=True, slots=True)
class ServiceRating:
    """The service rating and what it rests on.

    Args:
        limit_a: Least of all parts; None while one of them is unknown. [A]
        least_known_a: Least of the known parts: the rating is no higher. [A]
        governs: Name of the part that is least among the known ones. [-]
        working: The parts. [-]
        unknowns: Parts nobody stated. [-]
        assumptions: What was taken as given. [-]
        main_a: Rating of a single main; None if unknown or there is none. [A]
        conductor_a: What the service conductors may carry; None if unknown. [A]
    """

    limit_a: float | None
    least_known_a: float | None
    governs: str
    working: Working
    unknowns: tuple[Unknown, ...]
    assumptions: tuple[Assumption, ...]
    main_a: float | None = None
    conductor_a: float | None = None


@dataclass(frozen=True, slots=True)
class _Part:
    name: str
    line: Line | None
    unknown: Unknown | None = None

    @property
    def rating_a(self) -> float | None:
        amount = self.line.amount if self.line else None
        return float(amount) if isinstance(amount, int | float) else None


def service_panels(plan: Plan) -> tuple[Panel, ...]:
    """Panels fed straight from the service.

    Args:
        plan: The house. [-]

    Returns:
        The panels, in the order of the plan. [-]
    """
    service_id = plan.service.id if plan.service else None
    return tuple(panel for panel in plan.panels if panel.fed_from == service_id)


def rate_service(plan: Plan, edition: Edition) -> ServiceRating:
    """The service rating of a house.

    Args:
        plan: The house. [-]
        edition: Edition of the rules, for the service conductor. [-]

    Returns:
        The rating, unknown as long as one of its four parts is. [-]
    """
    service = plan.service or Service(id="service")
    assumptions: list[Assumption] = []
    panels = service_panels(plan)
    if len(panels) > 1:
        assumptions.append(
            Assumption(
                "several-panels-as-the-smallest",
                "The whole house is laid beside the smallest of its panels: "
                f"{', '.join(panel.id for panel in panels)}.",
                "how the load divides between them is not reckoned; errs high",
            )
        )
    parts = (
        _main(service, plan),
        _bus(plan),
        _conductor(service, edition, assumptions),
        _meter_base(service),
    )
    lines = [part.line for part in parts if part.line]
    known = [(part.rating_a, part.name) for part in parts if part.rating_a is not None]
    unknowns = tuple(part.unknown for part in parts if part.unknown)
    least = min(known, default=None)
    if least and not unknowns:
        lines.append(Line("service rating", least[0], "A", "the least of the parts"))
    elif least:
        missing = ", ".join(part.name for part in parts if part.unknown)
        lines.append(
            Line("service rating", None, "A", "the least of the parts", f"? {missing}")
        )
    return ServiceRating(
        limit_a=least[0] if least and not unknowns else None,
        least_known_a=least[0] if least else None,
        governs=least[1] if least else "",
        working=Working("Service rating", tuple(lines)),
        unknowns=unknowns,
        assumptions=tuple(assumptions),
        main_a=None if service.split_bus_mains else parts[0].rating_a,
        conductor_a=parts[2].rating_a,
    )


def _main(service: Service, plan: Plan) -> _Part:
    """Return the main: the least of those a plan states one after the other."""
    at_panels = [p.main_rating for p in service_panels(plan) if p.main_rating]
    if service.main and service.main.rating:
        return _least_main([service.main.rating, *at_panels])
    ratings = [main.rating for main in service.split_bus_mains]
    if ratings and all(ratings):
        amounts = [rating.value for rating in ratings if rating]
        return _Part(
            "main",
            Line(
                "mains of the split bus",
                sum(amounts),
                "A",
                "sum of the mains",
                " + ".join(f"{each:g} A" for each in amounts),
                "plan, service.split_bus_mains",
            ),
        )
    if at_panels and not ratings:
        return _least_main(at_panels)
    return _Part(
        "main",
        None,
        Unknown(
            "service.main.rating",
            "What is the rating of the main?",
            "the number on the handle of the main breaker, or on the main fuses",
        ),
    )


def _least_main(ratings: list[Stated[float]]) -> _Part:
    least = min(ratings, key=lambda stated: stated.value)
    line = Line("main overcurrent device", least.value, "A", source=least.source)
    return _Part("main", line)


def _bus(plan: Plan) -> _Part:
    panels = service_panels(plan)
    ratings = [panel.bus_rating for panel in panels]
    if not panels or not all(ratings):
        return _Part(
            "bus",
            None,
            Unknown(
                "panels.bus_rating",
                "What is the panel's bus rated?",
                "the maker's label inside the panel door, not the main's handle",
            ),
        )
    least = min((r for r in ratings if r), key=lambda stated: stated.value)
    return _Part("bus", Line("panel bus", least.value, "A", source=least.source))


def _conductor(
    service: Service, edition: Edition, assumptions: list[Assumption]
) -> _Part:
    unknown = Unknown(
        "service.conductor",
        "Which size and material are the service conductors?",
        "the print on the cable jacket above the meter, or the panel's main lugs seen "
        "by a qualified person; these stay live with the main off",
    )
    owner = service.conductor_owner.value if service.conductor_owner else None
    conductor = service.conductor
    if conductor is None and owner == "utility":
        assumptions.append(
            Assumption(
                "service-conductor-is-the-utilitys",
                "The service conductors belong to the utility and do not limit the "
                "rating here.",
                "stated owner; the load letter asks the utility whether they suffice",
            )
        )
        line = Line("service conductor", "the utility's", source="plan, stated owner")
        return _Part("service conductor", line)
    if conductor is None or conductor.size is None or conductor.material is None:
        return _Part("service conductor", None, unknown)
    sets = int(conductor.parallel_sets.value) if conductor.parallel_sets else 1
    if sets < 1:
        return _Part("service conductor", None, unknown)
    column_c = _column_c(service, edition)
    try:
        reckoned = whole_house_conductor_rating_a(
            edition=edition,
            size=conductor.size.value,
            material=conductor.material.value,
            sets=sets,
            column_c=column_c,
        )
    except MissingEntry:
        return _Part("service conductor", None, unknown)
    assumptions.append(
        Assumption(
            "service-conductor-carries-the-whole-house",
            "The service conductors carry the whole house, have "
            f"{column_c} °C terminals, and need no ambient correction or "
            "adjustment.",
            "the conditions of the whole-dwelling rule; a hot or shared run lowers it",
        )
    )
    return _Part("service conductor", reckoned.lines[-1])


def _column_c(service: Service, edition: Edition) -> int:
    """Return the column that the main's mark and the insulation allow."""
    rule = edition.rule("terminal-temperature")
    small_c, large_c = (rule.number(f"column_{word}_c") for word in ("small", "large"))
    marked = service.main.terminal_temperature if service.main else None
    held = marked is not None and marked.value == f"{small_c:g} °C"
    return int(
        small_c if held or _insulation_below(large_c, service, edition) else large_c
    )


def _insulation_below(column_c: float, service: Service, edition: Edition) -> bool:
    insulation = service.conductor.insulation if service.conductor else None
    if insulation is None:
        return False
    table = edition.table("insulation-type")
    warmest = [
        table.cell(row, "dry_c")
        for row in table.rows
        if row[0] in insulation.value.split("/")
    ]
    return any(degrees is not None and degrees < column_c for degrees in warmest)


def _meter_base(service: Service) -> _Part:
    if service.meter_base_rating is None:
        return _Part(
            "meter base",
            None,
            Unknown(
                "service.meter_base_rating",
                "What is the meter base rated?",
                "the label on or in the meter enclosure; ask the utility, and do not "
                "break its seal",
            ),
        )
    stated = service.meter_base_rating
    return _Part(
        "meter base", Line("meter base", stated.value, "A", source=stated.source)
    )
