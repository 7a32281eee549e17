"""What to buy for a chosen circuit, what the permit asks, and in which order to work.

Hours and cost are rough and say so; quantities follow the stated run with the waste of
the price list. Nothing here is a verdict: `check` on the candidate's plan is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lugbook.assess.circuit_equipment import disconnect_item, label_item
from lugbook.assess.circuit_overcurrent import adjusted_setting_item
from lugbook.assess.options_cost import LEGS, cable_price
from lugbook.assess.options_prices import Prices
from lugbook.assess.options_space import (
    NEW_DISCONNECT_MARK,
    Candidate,
    case_with,
)
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.installation import support_limits
from lugbook.errors import MissingEntry
from lugbook.finding import Citation, Outcome, SignalWord, Status
from lugbook.premises.circuit import RACEWAYS, Section
from lugbook.premises.plan import Plan
from lugbook.quantities import Quantity, in_unit

__all__ = ["Caution", "Part", "PartsList", "PermitItem", "parts_of"]

_STICK_FT = 10.0  # common practice, no source: the length raceway is sold in


@dataclass(frozen=True, slots=True)
class Part:
    """One thing to buy.

    Args:
        name: What it is. [-]
        size: Its size or rating. [-]
        quantity: How much, waste included. [unit]
        unit: "ft", "piece" or "set". [-]
        listing: Listing or mark that it needs. [-]
        cost: Rough cost of all of it; None where the list has no price. [currency]
    """

    name: str
    size: str
    quantity: float
    unit: str
    listing: str
    cost: float | None


@dataclass(frozen=True, slots=True)
class PermitItem:
    """One paper that a permit desk may ask for.

    Args:
        name: What it is. [-]
        where: Where to get it. [-]
    """

    name: str
    where: str


@dataclass(frozen=True, slots=True)
class Caution:
    """One thing to mind, in the order of work.

    Args:
        signal: Signal word; None for a plain step. [-]
        text: What to do. [-]
    """

    signal: SignalWord | None
    text: str


@dataclass(frozen=True, slots=True)
class PartsList:
    """Everything for one circuit.

    Args:
        candidate: The circuit. [-]
        parts: What to buy; the charger itself is not priced. [-]
        hours: Rough hours of work. [h]
        labor: Rough cost of the work. [currency]
        permit: Rough fee of the permit. [currency]
        cost: Rough cost of all; None where a part has no price. [currency]
        papers: What the permit desk may ask for. [-]
        cautions: In the order of work, dead first. [-]
    """

    candidate: Candidate
    parts: tuple[Part, ...]
    hours: float | None
    labor: float | None
    permit: float
    cost: float | None
    papers: tuple[PermitItem, ...]
    cautions: tuple[Caution, ...]


def parts_of(
    plan: Plan, edition: Edition, candidate: Candidate, prices: Prices
) -> PartsList:
    """Parts, hours and papers of a circuit.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        candidate: The circuit. [-]
        prices: The price list. [-]

    Returns:
        The list. [-]
    """
    run, hours = _run(plan, edition, candidate, prices)
    disconnect = _disconnect(plan, edition, candidate, prices)
    parts = (
        _device(candidate, prices),
        *run,
        *((disconnect,) if disconnect else ()),
        *_labels(plan, edition, candidate),
        Part(
            "charger", f"set to {candidate.setting_a:g} A", 1, "piece", "listed", None
        ),
    )
    whole = hours + prices.base_hours
    whole += prices.disconnect_hours if disconnect else 0.0
    costs = [part.cost for part in parts if part.name != "charger"]
    labor = whole * prices.price_per_hour
    total = sum(math.nan if cost is None else cost for cost in costs)
    total += labor + prices.permit
    return PartsList(
        candidate=candidate,
        parts=parts,
        hours=_known(whole),
        labor=_known(labor),
        permit=prices.permit,
        cost=_known(total),
        papers=_papers(plan, edition),
        cautions=_cautions(plan, candidate),
    )


def _known(number: float) -> float | None:
    return number if math.isfinite(number) else None


def _device(candidate: Candidate, prices: Prices) -> Part:
    found = prices.device_prices(candidate.overcurrent_a)
    protects = ", with ground-fault protection" if candidate.ground_fault else ""
    return Part(
        name="overcurrent device",
        size=f"{candidate.overcurrent_a:g} A, 2 poles{protects}",
        quantity=1,
        unit="piece",
        listing="listed, and of a type named on the panel's label",
        cost=None if found is None else found[1 if candidate.ground_fault else 0],
    )


def _run(
    plan: Plan, edition: Edition, candidate: Candidate, prices: Prices
) -> tuple[list[Part], float]:
    case = case_with(plan, edition, candidate)
    feet: dict[str, float] = {}
    for laid in case.run:
        length_ft = (
            math.nan
            if laid.length_m is None
            else in_unit(laid.length_m, Quantity.LENGTH, "ft")
        )
        method = laid.method or ""
        feet[method] = feet.get(method, 0.0) + length_ft
    parts: list[Part] = []
    hours = 0.0
    for method, length_ft in feet.items():
        if method in RACEWAYS:
            per_ft, per_hour = prices.raceways.get(
                (method, candidate.trade_size or ""), (math.nan, math.nan)
            )
            hours += length_ft * per_hour
            parts += _raceway(edition, candidate, method, length_ft, per_ft, prices)
        else:
            per_ft, per_hour = cable_price(candidate, method, prices)
            hours += length_ft * per_hour
            parts.append(_cable(candidate, method, length_ft, per_ft, prices))
    in_raceway_ft = sum(ft for method, ft in feet.items() if method in RACEWAYS)
    if in_raceway_ft:
        parts += _wires(candidate, in_raceway_ft, prices)
    return parts, hours


def _raceway(
    edition: Edition,
    candidate: Candidate,
    method: str,
    length_ft: float,
    per_ft: float,
    prices: Prices,
) -> list[Part]:
    bought_ft = length_ft * (1 + prices.raceway_waste_fraction)
    trade = candidate.trade_size
    size = f"{method} {trade}"
    return [
        Part(
            name=f"raceway, lengths of {_STICK_FT:g} ft: {_sticks(bought_ft)}",
            size=size,
            quantity=bought_ft,
            unit="ft",
            listing="listed; marked with type and trade size",
            cost=_known(bought_ft * per_ft),
        ),
        Part(
            name=f"fittings, and supports {_supports(edition, method, trade)}",
            size=size,
            quantity=1,
            unit="set",
            listing="listed for this raceway; raintight where it is wet",
            cost=_known(bought_ft * per_ft * prices.fittings_fraction),
        ),
    ]


def _sticks(bought_ft: float) -> str:
    return f"{math.ceil(bought_ft / _STICK_FT)}" if math.isfinite(bought_ft) else "?"


def _supports(edition: Edition, method: str, trade: str | None) -> str:
    try:
        near_in, every_in, _ = support_limits(
            edition=edition, method=method, trade_size=trade
        )
    except MissingEntry:
        return "as its article asks"
    return f"within {near_in:g} in of each box and every {every_in / 12:g} ft"


def _cable(
    candidate: Candidate, method: str, length_ft: float, per_ft: float, prices: Prices
) -> Part:
    bought_ft = length_ft * (1 + prices.wire_waste_fraction)
    return Part(
        name=f"{method}, with its equipment grounding conductor",
        size=f"{candidate.size} {candidate.material}",
        quantity=bought_ft,
        unit="ft",
        listing=f"listed; grounding wire of {candidate.ground_size or '?'} or more",
        cost=_known(bought_ft * per_ft),
    )


def _wires(candidate: Candidate, length_ft: float, prices: Prices) -> list[Part]:
    bought_ft = length_ft * (1 + prices.wire_waste_fraction)
    leg = prices.conductors.get((candidate.size, candidate.material), math.nan)
    leg *= prices.insulations.get(candidate.insulation, math.nan)
    size = candidate.ground_size or "?"
    ground = prices.conductors.get((size, "copper"), math.nan)
    return [
        Part(
            name="conductors of the legs, two",
            size=candidate.conductor,
            quantity=LEGS * bought_ft,
            unit="ft",
            listing="listed; type letters and size printed on the jacket",
            cost=_known(LEGS * bought_ft * leg),
        ),
        Part(
            name="equipment grounding conductor, green or bare",
            size=f"{size} copper",
            quantity=bought_ft,
            unit="ft",
            listing="listed",
            cost=_known(bought_ft * ground),
        ),
    ]


def _disconnect(
    plan: Plan, edition: Edition, candidate: Candidate, prices: Prices
) -> Part | None:
    case = case_with(plan, edition, candidate)
    item = disconnect_item(case)
    fitted = case.circuit.fitted_disconnect if case.circuit else None
    if fitted is None and item.finding.outcome is Outcome.NOT_REQUIRED:
        return None
    found = prices.device_prices(candidate.overcurrent_a)
    return Part(
        name="disconnect",
        size=item.stated or item.minimum or "as its duty asks",
        quantity=1,
        unit="piece",
        listing=(
            f"listed; terminals marked {NEW_DISCONNECT_MARK}; can be locked open; type "
            "3R or better outdoors"
        ),
        cost=None if found is None else found[2],
    )


def _labels(plan: Plan, edition: Edition, candidate: Candidate) -> list[Part]:
    case = case_with(plan, edition, candidate)
    texts = [("circuit directory", label_item(case).minimum)]
    setting = adjusted_setting_item(case)
    if setting is not None and setting.minimum:
        texts.append(("charger", setting.minimum))
    return [
        Part(
            f"label, {where}",
            f'"{text}"',
            1,
            "piece",
            "durable, not hand-written",
            0.0,
        )
        for where, text in texts
        if text
    ]


def _papers(plan: Plan, edition: Edition) -> tuple[PermitItem, ...]:
    """Return what a permit desk asks for (common practice, no source)."""
    book = str(Citation(edition.key, "", Status.CONFIRMED)).rstrip()
    found = [
        ("address and who does the work", "you"),
        (
            f"load calculation, its method and the edition ({book})",
            "`lugbook check PLAN --working`",
        ),
        ("one-line diagram, service to charger", "the plan's panels and circuit"),
        ("photograph of the panel and of its label", "at the panel, cover on"),
        ("charger's data sheet and installation instructions", "its maker"),
        ("list of wire, raceway, device and disconnect", "this list"),
        ("way of the run, and where it passes walls and soil", "a sketch"),
        ("available fault current, with its date", "the utility's letter"),
        ("texts of the labels", "this list"),
    ]
    if plan.load_management is not None:
        found.append(("load management: listing, limit, what it watches", "its maker"))
    if any(s.place and s.place.value == "underground" for s in _sections(plan)):
        found.append(("inspection of the open trench", "before it is filled"))
    found.append(("rough inspection before cover, and the final one", "the authority"))
    return tuple(PermitItem(name, where) for name, where in found)


def _sections(plan: Plan) -> tuple[Section, ...]:
    return plan.circuit.sections if plan.circuit else ()


def _cautions(plan: Plan, candidate: Candidate) -> tuple[Caution, ...]:
    """Return the cautions in the order of work (common practice, no source)."""
    steps = [
        (
            SignalWord.DANGER,
            "The line side of the main stays live when the main is off. Whoever may "
            "not work on it leaves its cover shut and calls the utility or a "
            "qualified person.",
        ),
        (
            None,
            "Get the permit. Have the service lugs shielded or the service cut off "
            "before the panel is opened.",
        ),
        (
            SignalWord.DANGER,
            "Switch the main off, lock it, and prove dead: try the tester on something "
            "live, on the place of work from leg to leg and to ground, then on "
            "something live again.",
        ),
    ]
    if any(s.place and s.place.value == "underground" for s in _sections(plan)):
        steps.append(
            (SignalWord.WARNING, "Have buried services marked before you dig.")
        )
    steps += [
        (SignalWord.WARNING, "Look for cables and pipes before you drill or cut."),
        (
            None,
            f"Lay {candidate.raceway} in full before wire is pulled; take the burrs "
            "off every cut.",
        ),
        (
            None,
            f"Pull {candidate.conductor} with the grounding conductor "
            f"({candidate.ground_size or 'size open'} copper).",
        ),
    ]
    if candidate.material == "aluminum":
        steps.append(
            (
                SignalWord.CAUTION,
                "Only lugs and connectors marked for aluminum, one wire each.",
            )
        )
    steps += [
        (
            SignalWord.WARNING,
            "Tighten every terminal to the torque marked on it, with a wrench, while "
            "dead; write down what was reached.",
        ),
        (
            None,
            "Before it is live: continuity of the grounding conductor, no path from "
            "leg to leg or to ground, nothing left in the panel, covers on.",
        ),
        (
            SignalWord.CAUTION,
            "First charge at the lowest setting; then hours at "
            f"{candidate.setting_a:g} A while temperatures are read.",
        ),
    ]
    return tuple(Caution(signal, text) for signal, text in steps)
