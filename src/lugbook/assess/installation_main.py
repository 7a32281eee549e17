"""Does the main protect what stands behind it: the panel's bus, the service's wire?"""

from __future__ import annotations

from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.installation_parts import Check, Sheet, value_of
from lugbook.assess.service_rating import service_panels
from lugbook.codebook.nfpa70.conductors import (
    table_ampacity,
    whole_house_conductor_rating_a,
)
from lugbook.codebook.nfpa70.overcurrent import next_standard_rating
from lugbook.errors import LugbookError
from lugbook.finding import Line, SignalWord, Weight

__all__ = ["inspect_main"]

_COLUMN_C = 75


def inspect_main(sheet: Sheet) -> None:
    """Write whether a main larger than bus or conductor leaves them unprotected.

    The service rating is the least of its parts; a load below it does not yet mean
    that the main would open before the weakest of them burns.

    Args:
        sheet: The sheet. [-]
    """
    service = sheet.plan.service
    if service is None:
        return
    if service.split_bus_mains:
        _ask_for_section(sheet)
        return
    checks: list[Check] = []
    lines: list[Line] = []
    own_a = value_of(service.main.rating) if service.main else None
    panels = service_panels(sheet.plan)
    for panel in panels:
        stated = [
            each for each in (own_a, value_of(panel.main_rating)) if each is not None
        ]
        bus_a = value_of(panel.bus_rating)
        if not stated or bus_a is None:
            continue
        checks.append(_check(sheet, min(stated), bus_a, f"the bus of {panel.id}"))
        lines.append(Line(f"bus of {panel.id}", bus_a, "A", source="plan"))
    first_a = own_a
    if first_a is None and len(panels) == 1:
        first_a = value_of(panels[0].main_rating)
    allowed = _conductor_allows(sheet)
    if first_a is not None and allowed is not None:
        checks.append(_check(sheet, first_a, allowed[0], "the service conductors"))
        lines.append(allowed[1])
    meter_a = value_of(service.meter_base_rating)
    if first_a is not None and meter_a is not None:
        checks.append(_meter_check(sheet, first_a, meter_a))
        lines.append(Line("meter base", meter_a, "A", source="plan"))
    sheet.answer(
        "panel.main_protects",
        "Does the main open before what it protects is overloaded?",
        checks,
        lines=(Line("main", first_a, "A", source="plan"), *lines),
    )


def _ask_for_section(sheet: Sheet) -> None:
    """Write that nobody knows which of several mains the charger's breaker is behind.

    The mains together are the service's rating; the one before the charger's breaker
    may be far smaller, as the main for lighting of such panels is.
    """
    sheet.answer(
        "panel.split_bus",
        "Behind which main of the split bus does the charger's breaker sit?",
        [
            fact_check(
                None,
                found=None,
                limit="a main of its own, or one that bears it with all beside it",
                citation=sheet.citation("main-protects"),
                next="Have a licensed electrician name the section and reckon what "
                "hangs behind its main: here only all mains together are laid beside "
                "the load.",
            )
        ],
        open_weight=Weight.MUST,
    )


def _check(sheet: Sheet, main_a: float, limit_a: float, what: str) -> Check:
    return check(
        found=(main_a, main_a),
        limit=(limit_a, limit_a),
        unit="A",
        citation=sheet.citation("main-protects"),
        next=(
            f"Have the main changed to {limit_a:g} A or less, or {what} replaced: it "
            "lets through more than they bear, for as long as the load lasts."
        ),
        signal=SignalWord.WARNING,
    )


def _meter_check(sheet: Sheet, main_a: float, limit_a: float) -> Check:
    return check(
        found=(main_a, main_a),
        limit=(limit_a, limit_a),
        unit="A",
        citation=sheet.citation("main-protects"),
        next=(
            "Ask the utility whether the meter base suits so large a main: it is "
            "rated for less. Nobody else opens it."
        ),
        weight=Weight.ADVICE,
    )


def _conductor_allows(sheet: Sheet) -> tuple[float, Line] | None:
    """Return the largest main the service conductors allow; None if not known."""
    service = sheet.plan.service
    wire = service.conductor if service else None
    size, material = (
        (value_of(wire.size), value_of(wire.material)) if wire else (None, None)
    )
    if wire is None or size is None or material is None:
        return None
    sets = int(wire.parallel_sets.value) if wire.parallel_sets else 1
    try:
        whole = whole_house_conductor_rating_a(
            edition=sheet.edition, size=size, material=material, sets=sets
        )
        own = table_ampacity(
            edition=sheet.edition, size=size, material=material, column_c=_COLUMN_C
        )
        above = next_standard_rating(
            edition=sheet.edition, at_least_a=own.amount * sets
        )
    except LugbookError:
        return None
    allowed_a = max(whole.amount, above.amount)
    line = Line(
        f"largest main for service conductors of {size} {material}",
        allowed_a,
        "A",
        "the whole-dwelling size, or the standard rating next above its ampacity",
        f"{whole.amount:g} A, {above.amount:g} A",
        whole.lines[-1].source,
    )
    return allowed_a, line
