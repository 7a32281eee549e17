"""The price list that circuits are compared with: read strictly, edited by the person.

The list shipped is invented and says so. What a list does not price is not searched,
so that a person who cannot buy a thing leaves its row out.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from lugbook.errors import Fault, InputError
from lugbook.premises.circuit import CABLES, RACEWAYS
from lugbook.quantities import CONDUCTOR_SIZES

__all__ = ["CableRow", "Prices", "parse_prices", "shipped_prices"]

MATERIALS = ("copper", "aluminum")
ROUTES = ("load management", "larger service", "new feeder, its panel")
_FORM = "a price list of the shape of the one shipped (lugbook/assess/prices.toml)"


@dataclass(frozen=True, slots=True)
class CableRow:
    """A cable that may be bought.

    Args:
        method: Wiring method as the plan names it. [-]
        insulation: Type letters of its conductors, or "as the cable". [-]
        size: Conductor size. [-]
        per_ft: Price of a foot by material; absent where it is not sold. [currency]
        hours_per_ft: Hours to run a foot. [h]
    """

    method: str
    insulation: str
    size: str
    per_ft: Mapping[str, float]
    hours_per_ft: float


@dataclass(frozen=True, slots=True)
class Prices:
    """A price list.

    Args:
        title: What it says of itself. [-]
        invented: Whether it says that its figures are invented. [-]
        currency: Currency of every price. [-]
        rough_fractions: Shares of a cost from which to which it is told. [-]
        wire_waste_fraction: Wire bought beyond the run. [-]
        raceway_waste_fraction: Raceway bought beyond the run. [-]
        fittings_fraction: Fittings as a share of the raceway. [-]
        price_per_hour: Price of an hour. [currency]
        base_hours: Hours that every circuit takes. [h]
        disconnect_hours: Hours that a disconnect takes. [h]
        permit: Fee of the permit. [currency]
        conductors: Price of a foot of conductor, by size and material. [currency]
        insulations: Factor on it, by type letters, in the order of the list. [-]
        raceways: Price of a foot and hours a foot, by raceway and trade size. [-]
        cables: Cables that may be bought. [-]
        devices: Rows of rating up to, breaker, breaker with ground-fault protection,
            disconnect. [A, then currency]
        routes: Other ways, from and to. [currency]
    """

    title: str
    invented: bool
    currency: str
    rough_fractions: tuple[float, float]
    wire_waste_fraction: float
    raceway_waste_fraction: float
    fittings_fraction: float
    price_per_hour: float
    base_hours: float
    disconnect_hours: float
    permit: float
    conductors: Mapping[tuple[str, str], float]
    insulations: Mapping[str, float]
    raceways: Mapping[tuple[str, str], tuple[float, float]]
    cables: tuple[CableRow, ...]
    devices: tuple[tuple[float, float, float, float], ...]
    routes: Mapping[str, tuple[float, float]]

    def device_prices(self, rating_a: float) -> tuple[float, float, float] | None:
        """Price of a breaker, of one with ground-fault protection, of a disconnect.

        Args:
            rating_a: Rating. [A]

        Returns:
            The three; None where the list ends below the rating. [currency]
        """
        return next((row[1:] for row in self.devices if rating_a <= row[0]), None)


@cache
def shipped_prices() -> Prices:
    """The price list shipped with the package; it is invented and says so."""
    path = Path(__file__).with_name("prices.toml")
    return parse_prices(path.read_text(encoding="utf-8"), name=path.name)


def parse_prices(text: str, *, name: str) -> Prices:
    """The price list in a TOML text.

    Args:
        text: The text. [-]
        name: Name of the file, for the sentences. [-]

    Returns:
        The list. [-]

    Raises:
        InputError: The text is no price list; the first fault is given.
    """
    try:
        tree = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as error:
        raise InputError(Fault(name, f"not TOML ({error})", _FORM)) from error
    reader = _Reader(name, tree)
    prices = Prices(
        title=reader.text("title"),
        invented=reader.yes_no("invented"),
        currency=reader.text("currency"),
        rough_fractions=(
            reader.number("rough", "low_fraction"),
            reader.number("rough", "high_fraction"),
        ),
        wire_waste_fraction=reader.number("waste", "wire_fraction"),
        raceway_waste_fraction=reader.number("waste", "raceway_fraction"),
        fittings_fraction=reader.number("waste", "fittings_fraction"),
        price_per_hour=reader.number("labor", "price_per_hour"),
        base_hours=reader.number("labor", "base_hours"),
        disconnect_hours=reader.number("labor", "disconnect_hours"),
        permit=reader.number("labor", "permit"),
        conductors=_conductors(reader),
        insulations={
            str(word): float(factor)
            for word, factor in reader.rows(
                "insulation", insulation=None, price_factor=_positive
            )
        },
        raceways={
            (str(word), str(trade)): (float(price), float(hours))
            for word, trade, price, hours in reader.rows(
                "raceway",
                raceway=RACEWAYS.__contains__,
                trade_size=None,
                price_per_ft=_price,
                hours_per_ft=_price,
            )
        },
        cables=_cables(reader),
        devices=tuple(
            sorted(
                (float(up_to), float(breaker), float(protecting), float(switch))
                for up_to, breaker, protecting, switch in reader.rows(
                    "overcurrent",
                    rating_up_to_a=_positive,
                    breaker=_price,
                    breaker_ground_fault=_price,
                    disconnect=_price,
                )
            )
        ),
        routes={
            str(word): (float(low), float(high))
            for word, low, high in reader.rows(
                "routes", route=ROUTES.__contains__, low=_price, high=_price
            )
        },
    )
    reader.refuse_unknown()
    low, high = prices.rough_fractions
    if not low <= 1.0 <= high:
        given = f"{low:g} to {high:g}"
        raise InputError(Fault(f"{name}, rough", given, "a range around 1"))
    return prices


def _conductors(reader: _Reader) -> dict[tuple[str, str], float]:
    rows = reader.rows(
        "conductor",
        size=CONDUCTOR_SIZES.__contains__,
        copper_per_ft=_price_or_none,
        aluminum_per_ft=_price_or_none,
    )
    return {
        (str(size), material): float(price)
        for size, *both in rows
        for material, price in zip(MATERIALS, both, strict=True)
        if price != "-"
    }


def _cables(reader: _Reader) -> tuple[CableRow, ...]:
    rows = reader.rows(
        "cable",
        cable=CABLES.__contains__,
        insulation=None,
        size=CONDUCTOR_SIZES.__contains__,
        copper_per_ft=_price_or_none,
        aluminum_per_ft=_price_or_none,
        hours_per_ft=_price,
    )
    return tuple(
        CableRow(
            method=str(method),
            insulation=str(insulation),
            size=str(size),
            per_ft={
                material: float(price)
                for material, price in zip(MATERIALS, both, strict=True)
                if price != "-"
            },
            hours_per_ft=float(hours),
        )
        for method, insulation, size, *both, hours in rows
    )


def _number(given: object) -> bool:
    is_number = isinstance(given, int | float) and not isinstance(given, bool)
    return is_number and math.isfinite(given)  # type: ignore[arg-type]


def _price(given: Any) -> bool:
    return _number(given) and 0 <= given <= 1e7


def _positive(given: Any) -> bool:
    return _number(given) and 0 < given <= 1e7


def _price_or_none(given: Any) -> bool:
    return given == "-" or _price(given)


_Test = Callable[[Any], bool] | None


class _Reader:
    """Takes what is known out of a tree and refuses the rest."""

    def __init__(self, name: str, tree: dict[str, Any]) -> None:
        self.name = name
        self.tree = tree
        self.seen: set[str] = set()

    def text(self, key: str) -> str:
        """Return a text at the top."""
        found = self._at(key)
        if not isinstance(found, str) or not found.strip():
            raise self._fault(key, found, "text in quotes")
        return found

    def yes_no(self, key: str) -> bool:
        """Return a yes or no at the top."""
        found = self._at(key)
        if not isinstance(found, bool):
            raise self._fault(key, found, "true or false")
        return found

    def number(self, table: str, key: str) -> float:
        """Return a number of 0 or more in a table."""
        found = self._at(f"{table}.{key}")
        if not _price(found):
            raise self._fault(f"{table}.{key}", found, "a number of 0 or more")
        return float(found)

    def rows(self, table: str, **columns: _Test) -> list[list[Any]]:
        """Return the rows of a table whose columns are as they must be."""
        stated = self._at(f"{table}.columns")
        if stated != list(columns):
            raise self._fault(f"{table}.columns", stated, str(list(columns)))
        found = self._at(f"{table}.rows")
        if not isinstance(found, list):
            raise self._fault(f"{table}.rows", found, "a list of rows")
        for number, row in enumerate(found, 1):
            where = f"{table}, row {number}"
            if not isinstance(row, list) or len(row) != len(columns):
                raise self._fault(where, row, f"{len(columns)} cells")
            for cell, (column, test) in zip(row, columns.items(), strict=True):
                accepted = test(cell) if test else isinstance(cell, str)
                if not accepted:
                    raise self._fault(f"{where}, {column}", cell, _ACCEPTED[column])
        return found

    def refuse_unknown(self) -> None:
        """Refuse keys that nothing was read from: likely a misspelling."""
        for key, held in self.tree.items():
            inner = held if isinstance(held, dict) else {"": held}
            for name in inner:
                path = f"{key}.{name}" if name else key
                if path not in self.seen:
                    raise self._fault(path, "a key that no price list has", _FORM)

    def _at(self, path: str) -> Any:
        self.seen.add(path)
        found: Any = self.tree
        for step in path.split("."):
            found = found.get(step) if isinstance(found, dict) else None
        return found

    def _fault(self, field: str, given: object, accepted: str) -> InputError:
        words = "missing" if given is None else str(given)[:60]
        return InputError(Fault(f"{self.name}, {field}", words, accepted))


_ACCEPTED = {
    "size": 'a size, as in "3 AWG"',
    "copper_per_ft": 'a price of a foot, or "-" where there is none',
    "aluminum_per_ft": 'a price of a foot, or "-" where there is none',
    "insulation": "type letters",
    "price_factor": "a number above 0",
    "raceway": ", ".join(RACEWAYS),
    "trade_size": 'a trade size, as in "1-1/4"',
    "price_per_ft": "a price of a foot",
    "hours_per_ft": "hours a foot",
    "cable": ", ".join(CABLES),
    "rating_up_to_a": "a rating in amperes",
    "breaker": "a price",
    "breaker_ground_fault": "a price",
    "disconnect": "a price",
    "route": ", ".join(ROUTES),
    "low": "a price",
    "high": "a price",
}
