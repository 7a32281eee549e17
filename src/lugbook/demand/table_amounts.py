"""How much the readings of a table are: units, counters, legs, what is impossible."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from lugbook.demand.arrays import commonest
from lugbook.demand.opened import unusable
from lugbook.demand.series import Flow, MeterSeries, Quantity
from lugbook.demand.table_header import Amount, unit_of
from lugbook.demand.table_numbers import numbers
from lugbook.demand.table_state import MOST_BAD_FRACTION, Table, TableTimes, shown

if TYPE_CHECKING:
    from lugbook.demand.series import Floats, Integers

__all__ = [
    "IMPOSSIBLE_W",
    "LEAST_HOUSE_W",
    "LEG_V",
    "MOST_HOUSE_W",
    "MOST_REPEATED_FRACTION",
    "QUICK_S",
    "REVERSED_FRACTION",
    "kilowatt_text",
    "series_of",
]

LEG_V = 120.0  # nominal, leg to neutral of a 120/240 V service
# A house's average power, to tell units apart: data.md 1.7, common practice.
LEAST_HOUSE_W, MOST_HOUSE_W = 100.0, 10_000.0
QUICK_S = 300  # below it a table without a unit is a logger's, of power
MOST_REPEATED_FRACTION = 0.05  # of rows, to be corrections and not other meters
# What no house draws: over the largest service of one and two families, 800 A at
# 240 V (common practice, no source). Meters write such numbers for an error.
IMPOSSIBLE_W = 200_000.0
REVERSED_FRACTION = 0.99  # of readings below zero: a clamp that was put on reversed


def kilowatt_text(power_w: float) -> str:
    """A power that may be wrong by thousands, to three digits and never as 1e+04.

    Args:
        power_w: The power. [W]

    Returns:
        Text with its unit. [-]

    Example:
        >>> kilowatt_text(12_537_940.0), kilowatt_text(3.03)
        ('12,500 kW', '0.00303 kW')
    """
    return f"{float(f'{power_w / 1000:.3g}'):,.12g} kW"


def series_of(
    table: Table,
    times: TableTimes,
    found: list[tuple[Amount, Floats]],
    quality: Integers,
    rows: Integers,
) -> Iterator[MeterSeries]:
    """The series of the chosen columns, both legs made into one.

    Args:
        table: The table. [-]
        times: When its readings were. [-]
        found: The chosen columns with their numbers. [-]
        quality: Codes of quality. [-]
        rows: Places of the rows to take. [-]

    Yields:
        One after another. [-]

    Raises:
        InputError: The columns show no demand of a house.
    """
    import numpy as np

    step_s = commonest(times.duration_s)
    first = found[0][0]
    if len(found) > 1 and found[1][0].leg:
        yield _legs(table, times, found, quality, rows)
        return
    for amount, column in found:
        kind, factor = _kind(table, amount, column, step_s)
        if amount.leg in ("A", "B") and kind != "current":
            table.say(
                "legs",
                f'"{amount.title}" is of one leg only: the house draws more',
                "a file with both legs shows the whole",
                asks=True,
            )
        if kind == "current":
            raise unusable(
                table.name,
                f'"{amount.title}" is the current of one conductor only',
                "The current of both legs is needed.",
            )
        held = _possible(table, amount, column * factor, kind, times)
        held = _drawn_forward(table, amount, held, len(found))
        kept: Any = rows[~np.isnan(held[rows])]
        missing = len(rows) - len(kept)
        if missing and amount is first:
            table.leave_out(f"{missing} rows", "no amount")
        count = len(kept)
        if count == len(held):
            kept = slice(None)  # all rows: nothing need be copied
        start_s, held = times.start_s[kept], held[kept]
        if amount is first and not table.options.unit:
            _ask_of_size(table, amount, held, kind, step_s)
        _refuse_several(table, start_s, held)
        quantity = Quantity.ENERGY if kind == "energy" else Quantity.REAL_POWER
        if kind == "energy" and _is_counter(amount, held, step_s):
            quantity = Quantity.REGISTER
        net = amount.net or (bool((held < 0).any()) and len(found) == 1)
        yield MeterSeries(
            name=f'column "{amount.title}"',
            point=table.point,
            quantity=quantity,
            flow=Flow.REVERSE
            if amount.reverse or table.is_reverse
            else Flow.NET
            if net
            else Flow.FORWARD,
            is_electricity=True,
            why_not="",
            start_s=start_s,
            duration_s=_held(table, start_s, times.duration_s[kept], quantity),
            amount=held,
            quality=quality[kept],
            rank=np.zeros(count, dtype=np.int64),
        )


def _possible(
    table: Table, amount: Amount, column: Floats, kind: str, times: TableTimes
) -> Floats:
    """Return a column in Wh or W without what no house can draw."""
    import numpy as np

    step_s = commonest(times.duration_s)
    if kind == "energy" and _is_counter(amount, column[~np.isnan(column)], step_s):
        return column
    power_w = column * (3600 / times.duration_s if kind == "energy" else 1.0)
    beyond = np.abs(power_w) > IMPOSSIBLE_W
    if not beyond.any() or beyond.mean() > MOST_BAD_FRACTION + 1 / len(beyond):
        return column  # none, or so many that the unit must be another: asked below
    table.leave_out(
        f"{int(beyond.sum())} readings",
        f'"{amount.title}" beyond {IMPOSSIBLE_W / 1000:.0f} kW, more than any house '
        "draws: a meter's mark of an error",
    )
    return np.where(beyond, np.nan, column)


def _drawn_forward(
    table: Table, amount: Amount, column: Floats, columns: int
) -> Floats:
    """Return a column turned round where a clamp was put on the other way."""
    import numpy as np

    flowing = column[~np.isnan(column) & (column != 0)]
    is_turned = len(flowing) and (flowing < 0).mean() >= REVERSED_FRACTION
    if (
        not is_turned
        or amount.reverse
        or amount.net
        or (amount.kind == "energy" and columns > 1)
    ):
        return column
    table.say(
        "direction",
        f'"{amount.title}" is below zero nearly throughout: taken as drawn, as by a '
        "clamp put on the other way round",
        "if it really flows to the grid, this record shows no demand",
        asks=True,
    )
    return -column


def _ask_of_size(
    table: Table, amount: Amount, column: Floats, kind: str, step_s: int
) -> None:
    """Ask about an average that is not a house's: the unit may be another."""
    import numpy as np

    if not len(column) or not amount.kind:
        return  # a unit that was inferred has been asked about
    mean = float(np.abs(column).mean())
    if kind == "energy" and _is_counter(amount, column, step_s):
        steps = np.diff(column)
        # Without its setbacks and leaps, unless there is nothing else.
        usual = (steps >= 0) & (steps * 3600 / step_s <= IMPOSSIBLE_W)
        mean = float(steps[usual].sum() if usual.any() else np.abs(steps).sum())
        mean /= len(column)
    mean_w = mean * (3600 / step_s if kind == "energy" else 1)
    if not LEAST_HOUSE_W <= mean_w <= MOST_HOUSE_W:
        table.say(
            "unit",
            f'by the unit of "{amount.title}" the house averages '
            f"{kilowatt_text(mean_w)}, and a house averages 0.3 to 5 kW: is the unit "
            "right?",
            "--unit, to say another",
            asks=True,
        )


def _refuse_several(table: Table, start_s: Integers, column: Floats) -> None:
    """Refuse a table with several amounts for most times: appliances, or channels."""
    import numpy as np

    if (start_s[1:] > start_s[:-1]).all():
        return
    order = np.argsort(start_s, kind="stable")
    same = np.diff(start_s[order]) == 0
    differing = same & (np.diff(column[order]) != 0)
    if differing.sum() > MOST_REPEATED_FRACTION * len(column):
        raise unusable(
            table.name,
            f"{int(differing.sum()):,} of {len(column):,} rows give another amount for "
            "a time already given, as for several appliances or meters",
            "Keep the rows of the whole house only.",
        )


def _held(
    table: Table, start_s: Integers, duration_s: Integers, quantity: Quantity
) -> Integers:
    """Return durations; a power that is written only when it changes holds on."""
    import numpy as np

    if quantity is not Quantity.REAL_POWER or len(start_s) < 3:
        return duration_s
    if table.options.interval_s:
        return duration_s
    steps = np.diff(start_s)
    usual = commonest(duration_s)
    if (steps == usual).mean() > 0.9 or (steps <= 0).any():
        return duration_s
    table.say(
        "interval", f"uneven: each row holds until the next, {5 * usual:,} s at most"
    )
    return np.append(np.minimum(steps, 5 * usual), usual)


def _leg_volts(table: Table, leg: str) -> float | Floats:
    """Return the voltage of a leg: as told, as its column says, or nominal."""
    import numpy as np

    words = "whether the power factor is below 1 is not seen"
    if table.options.leg_v is not None:
        table.say("legs", f"amperes, each times {table.options.leg_v:g} V; {words}")
        return table.options.leg_v
    volts = table.columns.volts
    place = volts.get(leg, volts.get(""))
    if place is not None:
        column = numbers(table.cells[place], delimiter=table.header.delimiter).amounts
        usual = float(np.nanmedian(column)) if not np.isnan(column).all() else 0.0
        for between, least, most in ((1, 100, 140), (2, 200, 280)):
            if least <= usual <= most:
                title = table.header.titles[place]
                half = "half of " if between == 2 else ""
                used = f'column "{shown(title)}"'
                table.left_out[:] = [
                    each for each in table.left_out if each.what != used
                ]
                table.say("legs", f'amperes, each times {half}"{title}"; {words}')
                return np.where(np.isnan(column), usual, column) / between
    table.say(
        "legs",
        f"amperes of both legs, each times {LEG_V:g} V, the nominal voltage: whether "
        f"it sagged is not seen, and {words}",
        "--leg-volts, to say another",
    )
    return LEG_V


def _legs(
    table: Table,
    times: TableTimes,
    found: list[tuple[Amount, Floats]],
    quality: Integers,
    rows: Integers,
) -> MeterSeries:
    import numpy as np

    powers = []
    for amount, column in found[:2]:
        kind, factor = _kind(table, amount, column, commonest(times.duration_s))
        turned = column
        if kind == "current":
            powers.append(column * factor * _leg_volts(table, amount.leg))
            continue
        turned = _drawn_forward(table, amount, column, 1)
        if kind == "energy":
            factor *= 3600 / commonest(times.duration_s)
        powers.append(turned * factor)
    if not table.options.unit:
        total = powers[0][rows] + powers[1][rows]
        _ask_of_size(table, found[0][0], total[~np.isnan(total)], "power", 1)
    both = rows[~np.isnan(powers[0][rows]) & ~np.isnan(powers[1][rows])]
    if len(both) < len(rows):
        table.leave_out(f"{len(rows) - len(both)} rows", "one leg without an amount")
    leg_a, leg_b = powers[0][both], powers[1][both]
    return MeterSeries(
        name=f'legs "{found[0][0].title}" and "{found[1][0].title}"',
        point=table.point,
        quantity=Quantity.REAL_POWER,
        flow=Flow.FORWARD,
        is_electricity=True,
        why_not="",
        start_s=times.start_s[both],
        duration_s=_held(
            table, times.start_s[both], times.duration_s[both], Quantity.REAL_POWER
        ),
        amount=leg_a + leg_b,
        quality=quality[both],
        rank=np.zeros(len(both), dtype=np.int64),
        legs_w=(leg_a, leg_b),
    )


def _kind(
    table: Table, amount: Amount, column: Floats, step_s: int
) -> tuple[str, float]:
    """Return what a column is of and its factor to Wh or W, saying how it is known."""
    import numpy as np

    if table.options.unit:
        kind, factor = unit_of(table.options.unit)
        if not kind:
            raise unusable(
                table.name, f"unit {table.options.unit!r} is none of kWh, Wh, kW, W, A"
            )
        table.say("unit", f"{table.options.unit}, as you said")
        return kind, factor
    if amount.kind:
        return amount.kind, amount.factor
    place = table.columns.times.get("unit")
    if place is not None:
        units = {unit_of(cell) for cell in set(table.cells[place]) if cell.strip()}
        if len(units) == 1:
            return units.pop()
        raise unusable(table.name, "rows of several units")
    if len(table.units_in_cells) == 1:
        unit = next(iter(table.units_in_cells))
        table.say("unit", f"{unit}, as it stands behind the amounts")
        return unit_of(unit)
    if table.units_in_cells:
        raise unusable(table.name, "rows of several units")
    mean = float(np.abs(np.nanmean(column))) if (~np.isnan(column)).any() else 0.0
    if _counts_up(column[~np.isnan(column)]):
        mean = (float(np.nanmax(column)) - float(np.nanmin(column))) / max(
            len(column), 1
        )
    power_words = re.search(r"power|demand|load|watt", amount.title, re.IGNORECASE)
    units_in_turn = ["kWh", "Wh", "kW", "W"]
    # Clamps and quick loggers write power; meters write energy.
    if power_words or amount.leg or step_s < QUICK_S:
        units_in_turn = ["kW", "W", "kWh", "Wh"]
    fitting: list[tuple[str, float]] = []
    for unit in units_in_turn:
        kind, factor = unit_of(unit)
        power_w = mean * factor * (3600 / step_s if kind == "energy" else 1)
        if LEAST_HOUSE_W <= power_w <= MOST_HOUSE_W:
            fitting.append((unit, power_w))
    if fitting:
        (unit, power_w), *others = fitting
        also = "".join(
            f"; in {other} it would average {other_w / 1000:.2g} kW"
            for other, other_w in others
            if round(other_w) != round(power_w)
        )
        table.say(
            "unit",
            f'"{amount.title}" does not say its unit: taken as {unit}, by which the '
            f"house averages {power_w / 1000:.2g} kW{also}",
            "--unit, to say another",
            asks=True,
        )
        return unit_of(unit)
    raise unusable(
        table.name,
        f'"{amount.title}" does not say its unit, and none makes it a house',
    )


def _is_counter(amount: Amount, energy_wh: Floats, step_s: int) -> bool:
    """Return whether a column counts up, by its heading or by its course.

    Usage that happens to climb for a day is still a house's usage; what a counter
    shows is far more than a house uses in an interval.
    """
    import numpy as np

    if amount.counter:
        return True
    if not _counts_up(energy_wh):
        return False
    mean_w = float(energy_wh.mean()) * 3600 / step_s
    risen_w = float(np.diff(energy_wh).clip(min=0).mean()) * 3600 / step_s
    return risen_w >= LEAST_HOUSE_W or not LEAST_HOUSE_W <= mean_w <= MOST_HOUSE_W


def _counts_up(column: Floats) -> bool:
    """Return whether a column is a counter: it hardly ever falls, and gets large."""
    import numpy as np

    if len(column) < 24:
        return False
    steps = np.diff(column)
    rising = steps[steps > 0]
    if not len(rising) or (steps < 0).sum() > max(1, 0.01 * len(steps)):
        return False
    return bool(np.median(column) > 20 * np.median(rising))
