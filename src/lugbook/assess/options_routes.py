"""Priced ways out: a lower setting, sharing, a larger service, a new feeder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from lugbook.assess.capacity import wish_of
from lugbook.assess.options_prices import Prices
from lugbook.assess.options_space import Candidate
from lugbook.premises.plan import Plan

__all__ = ["Route", "routes_of"]


class _Priced(Protocol):
    """A circuit with its cost."""

    @property
    def cost(self) -> float | None:
        """Rough cost without the charger."""

    @property
    def candidate(self) -> Candidate:
        """What is chosen."""


@dataclass(frozen=True, slots=True)
class Route:
    """One way, with what it costs roughly.

    Args:
        name: Closed word for it. [-]
        setting_a: Setting of the charger on it. [A]
        says: What it is and what it asks, in sentences. [-]
        circuit: The cheapest circuit on it, in words; empty: none is lawful. [-]
        low: Least it costs, the circuit included, the charger not; None if
            unknown. [currency]
        high: Most it costs. [currency]
        is_needed: Whether the service refuses the setting without it. [-]
        meets_need: Whether it has the cars ready; None if unknown. [-]
    """

    name: str
    setting_a: float
    says: str
    circuit: str
    low: float | None
    high: float | None
    is_needed: bool
    meets_need: bool | None


def routes_of(
    plan: Plan,
    prices: Prices,
    *,
    cheapest: Mapping[float, _Priced | None],
    least_a: float | None,
    service_a: float | None,
    service_untold: bool,
) -> tuple[Route, ...]:
    """The ways to charge at this house, each with a rough price.

    Args:
        plan: The house. [-]
        prices: The price list. [-]
        cheapest: The cheapest circuit by setting, whether or not the service carries
            it. [A]
        least_a: Smallest setting that has the cars ready; None if unknown. [A]
        service_a: Largest setting the service carries; None: none. [A]
        service_untold: Whether what it carries beyond that cannot be told. [-]

    Returns:
        Routes, the one that asks least first. [-]
    """
    wished_a = wish_of(plan, None).setting_a
    if wished_a is None:
        return ()
    beyond = service_a is None or wished_a > service_a
    short, untold = beyond and not service_untold, beyond and service_untold
    route = _Router(prices, cheapest, least_a)
    found = []
    lower_a = _lower(cheapest, least_a, service_a, wished_a)
    if lower_a is not None:
        found.append(
            route.to("lower setting", lower_a, _lower_says(lower_a, least_a), False)
        )
    found.append(
        route.to("the setting wished for", wished_a, _plain(short, untold), False)
    )
    limit = "" if service_a is None else f" of {service_a:g} A"
    found.append(
        route.to(
            "load management",
            wished_a,
            "A listed system with sensors on both legs keeps the charger under what "
            f"the service has left{limit if short else ''}, and lowers it when a "
            "sensor or the link fails. The limit set counts in the load calculation, "
            "not the charger's nameplate, where the edition allows it."
            + _asked(short, untold),
            short,
        )
    )
    found.append(
        route.to(
            "larger service",
            wished_a,
            "The utility and a permit are needed; weeks to months."
            + _asked(short, untold),
            short,
        )
    )
    found.append(
        route.to(
            "new feeder, its panel",
            wished_a,
            "The same run as a feeder to a small panel near the charger, for a second "
            "charger later. Priced, not judged: its neutral and its load are for the "
            "designer.",
            False,
        )
    )
    return tuple(found)


def _lower(
    cheapest: Mapping[float, object],
    least_a: float | None,
    service_a: float | None,
    wished_a: float,
) -> float | None:
    """Return the setting that is enough, or else the largest that is carried."""
    carried = [
        a
        for a, found in cheapest.items()
        if found is not None and service_a is not None and a <= service_a
    ]
    if least_a is not None and least_a in carried and least_a < wished_a:
        return least_a
    return max((a for a in carried if a < wished_a), default=None)


def _lower_says(setting_a: float, least_a: float | None) -> str:
    if setting_a == least_a:
        return (
            "The smallest step that has the cars ready, as `lugbook need` reckons it."
        )
    return "The largest step below the one wished for that the service carries."


def _asked(short: bool, untold: bool) -> str:
    if untold:
        return " Whether it is needed cannot be told yet."
    if short:
        return " One of the two is needed: the service refuses the setting."
    return " Not needed here: the service carries the setting."


def _plain(short: bool, untold: bool) -> str:
    if untold:
        return "Whether the service carries it cannot be told yet."
    if short:
        return "Not lawful by itself: the service does not carry it."
    return "The service carries it on the prudent reading."


class _Router:
    def __init__(
        self,
        prices: Prices,
        cheapest: Mapping[float, _Priced | None],
        least_a: float | None,
    ) -> None:
        self.prices = prices
        self.cheapest = cheapest
        self.least_a = least_a

    def to(self, name: str, setting_a: float, says: str, needed: bool) -> Route:
        """Return a route: the cheapest circuit at a setting, and what is added."""
        circuit = self.cheapest.get(setting_a)
        cost = None if circuit is None else circuit.cost
        low, high = self.prices.rough_fractions
        more = self.prices.routes.get(name, (0.0, 0.0))
        return Route(
            name=name,
            setting_a=setting_a,
            says=says,
            circuit="" if circuit is None else circuit.candidate.words,
            low=None if cost is None else cost * low + more[0],
            high=None if cost is None else cost * high + more[1],
            is_needed=needed,
            meets_need=None if self.least_a is None else setting_a >= self.least_a,
        )
