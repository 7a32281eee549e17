"""What circuits cost and how long they take, roughly, by the price list."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lugbook.assess.options_prices import Prices
from lugbook.assess.options_rules import Grid
from lugbook.assess.options_space import Assembly, Candidate, Way
from lugbook.premises.circuit import RACEWAYS
from lugbook.quantities import CONDUCTOR_SIZES, Quantity, in_unit

__all__ = ["LEGS", "cable_price", "costs_of_grid", "run_hours", "run_price"]

Numbers = NDArray[np.float64]
LEGS = 2  # two conductors of the circuit; the grounding wire is the third


def costs_of_grid(grid: Grid, prices: Prices) -> tuple[Numbers, Numbers]:
    """Cost and hours of the grid's circuits, the charger itself left out.

    Args:
        grid: The candidates, judged. [-]
        prices: The price list. [-]

    Returns:
        Cost and hours, in the order of `grid.circuits`; NaN where a length is not
        stated. [currency, h]
    """
    setting, device, assembly = grid.circuits.T
    used = np.unique(assembly)
    run, hours = np.full((2, len(grid.assemblies)), np.nan)
    raceway_ft = np.zeros(len(grid.ways))
    for place, way in enumerate(grid.ways):
        raceway_ft[place] = sum(ft for m, ft in _stretches(way) if m in RACEWAYS)
    for one in used.tolist():
        each = grid.assemblies[one]
        way = grid.ways[each.way]
        run[one], hours[one] = (
            run_price(way, each, prices),
            run_hours(way, each, prices),
        )
    way_of = np.array([each.way for each in grid.assemblies], np.int64)
    ground_ft = raceway_ft[way_of[assembly]] * (1 + prices.wire_waste_fraction)
    ground = _by_ground(prices)[grid.ground]
    devices = np.array([_devices(prices, a) for a in grid.ratings_a]).reshape(-1, 3)
    protects = grid.ground_fault[setting, device]
    breaker = np.where(protects, devices[device, 1], devices[device, 0])
    fits = grid.disconnect[setting, device]
    switch = np.where(fits, devices[device, 2], 0.0)
    whole_hours = prices.base_hours + hours[assembly] + fits * prices.disconnect_hours
    cost = (
        run[assembly]
        + np.where(ground_ft > 0, ground * ground_ft, 0.0)
        + breaker
        + switch
        + whole_hours * prices.price_per_hour
        + prices.permit
    )
    return cost, whole_hours


def _by_ground(prices: Prices) -> Numbers:
    """Return the price of a foot of copper by place of its size; the last: none."""
    amounts = [prices.conductors.get((s, "copper"), np.nan) for s in CONDUCTOR_SIZES]
    return np.array([*amounts, np.nan])


def _devices(prices: Prices, rating_a: float) -> tuple[float, float, float]:
    return prices.device_prices(rating_a) or (np.nan, np.nan, np.nan)


def _stretches(way: Way) -> Sequence[tuple[str, float]]:
    return [
        (
            laid.method or "",
            np.nan
            if laid.length_m is None
            else in_unit(laid.length_m, Quantity.LENGTH, "ft"),
        )
        for laid in way.case.run
    ]


def run_price(way: Way, each: Assembly, prices: Prices) -> float:
    """Price of the run's raceway or cable and of the legs' wire, with waste.

    Args:
        way: How the run is laid. [-]
        each: Trade size and conductor. [-]
        prices: The price list. [-]

    Returns:
        Price; NaN where a length is not stated or a part is not priced. [currency]
    """
    total = 0.0
    for method, feet in _stretches(way):
        if method in RACEWAYS:
            per_ft, _ = prices.raceways.get(
                (method, each.trade_size or ""), (np.nan, np.nan)
            )
            shell = 1 + prices.raceway_waste_fraction
            total += feet * per_ft * shell * (1 + prices.fittings_fraction)
            wire = prices.conductors.get((each.size, each.material), np.nan)
            wire *= prices.insulations.get(way.insulation, np.nan)
            total += feet * LEGS * wire * (1 + prices.wire_waste_fraction)
        else:
            total += (
                feet
                * _cable(way, each, method, prices)[0]
                * (1 + prices.wire_waste_fraction)
            )
    return total


def run_hours(way: Way, each: Assembly, prices: Prices) -> float:
    """Hours to lay the run and pull its wire.

    Args:
        way: How the run is laid. [-]
        each: Trade size and conductor. [-]
        prices: The price list. [-]

    Returns:
        Hours; NaN where a length is not stated or a part is not priced. [h]
    """
    total = 0.0
    for method, feet in _stretches(way):
        if method in RACEWAYS:
            key = (method, each.trade_size or "")
            total += feet * prices.raceways.get(key, (np.nan, np.nan))[1]
        else:
            total += feet * _cable(way, each, method, prices)[1]
    return total


def cable_price(
    candidate: Candidate, method: str, prices: Prices
) -> tuple[float, float]:
    """Price and hours of a foot of a candidate's cable.

    Args:
        candidate: The circuit. [-]
        method: The cable. [-]
        prices: The price list. [-]

    Returns:
        Both; NaN where it is not priced. [currency, h]
    """
    insulation = candidate.insulation if candidate.method == method else None
    return _per_ft(method, candidate.size, candidate.material, insulation, prices)


def _cable(
    way: Way, each: Assembly, method: str, prices: Prices
) -> tuple[float, float]:
    # Where methods are mixed the letters are those of the raceway's wire.
    insulation = way.insulation if way.method == method else None
    return _per_ft(method, each.size, each.material, insulation, prices)


def _per_ft(
    method: str, size: str, material: str, insulation: str | None, prices: Prices
) -> tuple[float, float]:
    for row in prices.cables:
        alike = insulation is None or row.insulation == insulation
        if (
            (row.method, row.size) == (method, size)
            and alike
            and material in row.per_ft
        ):
            return row.per_ft[material], row.hours_per_ft
    return np.nan, np.nan
