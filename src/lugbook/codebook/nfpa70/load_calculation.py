"""Calculated load of a dwelling: Article 220 (Article 120 in the 2026 edition).

Every function takes an edition and plain numbers and returns volt-amperes with the
lines of the working. What belongs in which list is decided in `assess`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from lugbook.codebook.edition import Edition, Rule
from lugbook.errors import MissingEntry, OutOfRange
from lugbook.finding import Line, Reckoned
from lugbook.quantities import Quantity, in_unit

__all__ = [
    "CountedCurrent",
    "Heating",
    "cooking_demand",
    "counted_charger_current",
    "dryer_demand",
    "existing_hvac",
    "fastened_appliances",
    "general_load",
    "largest_motor",
    "lighting_demand",
    "measured_demand",
    "motor_full_load_current",
    "optional_heating_kinds_va",
    "optional_hvac",
    "standard_vehicle_load",
    "tiered",
]


@dataclass(frozen=True, slots=True)
class Heating:
    """Connected heating and cooling of a dwelling, each kind by its nameplate.

    Args:
        cooling_va: Cooling equipment, heat pumps apart. [VA]
        heat_pump_va: Heat pumps. [VA]
        supplemental_va: Supplemental electric heat of heat pumps. [VA]
        supplemental_with_compressor: Whether both may run at once. [-]
        central_va: Central electric heat. [VA]
        separate_va: Separately controlled electric heating units. [VA]
        separate_count: How many such units have their own control. [-]
        storage_va: Electric thermal storage heat. [VA]
    """

    cooling_va: float = 0.0
    heat_pump_va: float = 0.0
    supplemental_va: float = 0.0
    supplemental_with_compressor: bool = True
    central_va: float = 0.0
    separate_va: float = 0.0
    separate_count: int = 0
    storage_va: float = 0.0

    @property
    def compressor_va(self) -> float:
        """Heat-pump load that runs beside its supplemental heat, in VA."""
        return self.heat_pump_va if self.supplemental_with_compressor else 0.0

    @property
    def connected_heating_va(self) -> float:
        """All heating that may run at once by nameplate, in VA."""
        pump = max(self.compressor_va + self.supplemental_va, self.heat_pump_va)
        return pump + self.central_va + self.separate_va + self.storage_va

    @property
    def connected_cooling_va(self) -> float:
        """All cooling that may run at once by nameplate, in VA."""
        return self.cooling_va + self.heat_pump_va


@dataclass(frozen=True, slots=True)
class CountedCurrent:
    """The current at which supply equipment counts, and why.

    Args:
        current_a: Current that counts. [A]
        is_setting: Whether the lower setting counts instead of the nameplate. [-]
        line: Line for the working. [-]
    """

    current_a: float
    is_setting: bool
    line: Line = field(repr=False)


def general_load(
    *,
    edition: Edition,
    floor_area_m2: float,
    small_appliance_count: int,
    laundry_count: int,
    whole_dwelling: bool = True,
) -> Reckoned:
    """How much general load does a dwelling count before any demand factor?

    Floor area at the unit load, with at least the required small-appliance and
    laundry circuits; a feeder for a part of it counts what it feeds.

    Args:
        edition: Edition of the rules. [-]
        floor_area_m2: Floor area by outside dimensions. [m²]
        small_appliance_count: Small-appliance branch circuits. [-]
        laundry_count: Laundry branch circuits. [-]
        whole_dwelling: Whether it is all of a dwelling. [-]

    Returns:
        Load. [VA]

    Raises:
        OutOfRange: The area or a count is negative.

    Rule:
        dwelling-lighting, small-appliance-circuits, laundry-circuit

    Checked by:
        annex-d examples in tests/validation

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> round(general_load(edition=open_edition("2023"), floor_area_m2=178.374,
        ...     small_appliance_count=2, laundry_count=1).amount)
        10260
    """
    counts = (floor_area_m2, small_appliance_count, laundry_count)
    if not all(each >= 0 for each in counts):
        raise OutOfRange("a floor area or a count of circuits below zero has no load")
    lighting = edition.rule("dwelling-lighting")
    unit_va = lighting.number("va_per_ft2")
    area_ft2 = in_unit(floor_area_m2, Quantity.AREA, "ft²")
    lines = [
        Line(
            "general lighting and receptacles",
            area_ft2 * unit_va,
            "VA",
            "floor area × unit load",
            f"{area_ft2:,.0f} ft² × {unit_va:g} VA/ft²",
            lighting.citation,
        )
    ]
    counted = (
        ("small-appliance circuits", "small-appliance-circuits", small_appliance_count),
        ("laundry circuits", "laundry-circuit", laundry_count),
    )
    for label, name, count in counted:
        rule = edition.rule(name)
        each_va = rule.number("va_per_circuit")
        least = int(rule.number("minimum_count")) if whole_dwelling else 0
        number = max(count, least)
        lines.append(
            Line(
                label,
                number * each_va,
                "VA",
                "circuits × load each",
                f"{number} × {each_va:,.0f} VA",
                rule.citation,
            )
        )
    return Reckoned(_sum(lines), tuple(lines))


def tiered(*, rule: Rule, load_va: float, label: str) -> Reckoned:
    """What remains of a load under a rule with a first tier and a remainder?

    Args:
        rule: A rule with first_va, first_factor and remainder_factor. [-]
        load_va: Load before the factors. [VA]
        label: What the load is called in the working. [-]

    Returns:
        Load after the factors. [VA]

    Raises:
        OutOfRange: The load is negative.

    Rule:
        optional-dwelling, existing-dwelling-no-hvac, existing-dwelling-hvac

    Checked by:
        annex-d examples in tests/validation
    """
    _refuse_negative([load_va])
    first_va = rule.number("first_va")
    first = min(load_va, first_va) * rule.number("first_factor")
    rest_factor = rule.number("remainder_factor")
    rest_va = max(load_va - first_va, 0.0)
    lines = (
        Line(
            f"{label}, first {first_va:,.0f} VA",
            first,
            "VA",
            "at 100 %",
            f"{min(load_va, first_va):,.0f} VA × {rule.number('first_factor'):g}",
            rule.citation,
        ),
        Line(
            f"{label}, remainder",
            rest_va * rest_factor,
            "VA",
            f"at {rest_factor:.0%}",
            f"{rest_va:,.0f} VA × {rest_factor:g}",
            rule.citation,
        ),
    )
    return Reckoned(_sum(lines), lines)


def lighting_demand(*, edition: Edition, general_va: float) -> Reckoned:
    """What remains of the general load under the standard method's demand table?

    Args:
        edition: Edition of the rules. [-]
        general_va: General load, small-appliance and laundry circuits included. [VA]

    Returns:
        Load after the demand factors. [VA]

    Raises:
        OutOfRange: The load is negative.

    Rule:
        table lighting-demand

    Checked by:
        annex-d examples; every boundary in tests/codebook
    """
    _refuse_negative([general_va])
    table = edition.table("lighting-demand")
    lines: list[Line] = []
    below_va = 0.0
    for row in table.rows:
        up_to_va, factor = float(row[0]), float(row[1])
        part_va = min(general_va, up_to_va) - below_va
        if part_va <= 0 and lines:
            break
        ends = f"up to {up_to_va:,.0f} VA" if math.isfinite(up_to_va) else "the rest"
        lines.append(
            Line(
                f"general load, {ends}",
                part_va * factor,
                "VA",
                f"at {factor:.0%}",
                f"{part_va:,.0f} VA × {factor:g}",
                table.cite(row),
            )
        )
        below_va = up_to_va
    return Reckoned(_sum(lines), tuple(lines))


def dryer_demand(*, edition: Edition, nameplates_va: Sequence[float]) -> Reckoned:
    """What do the household clothes dryers count in the standard method?

    Args:
        edition: Edition of the rules. [-]
        nameplates_va: Nameplate of each dryer. [VA]

    Returns:
        Load. [VA]

    Raises:
        OutOfRange: A nameplate is negative.

    Rule:
        dryer, table dryer-demand

    Checked by:
        annex-d examples; every boundary in tests/codebook
    """
    if not nameplates_va:
        return Reckoned(0.0, ())
    _refuse_negative(nameplates_va)
    rule, table = edition.rule("dryer"), edition.table("dryer-demand")
    least_va = rule.number("minimum_va")
    total_va = sum(max(each, least_va) for each in nameplates_va)
    row = table.at_most(len(nameplates_va))
    _, base, less, above = (float(cell) for cell in row)
    factor = base - less * (len(nameplates_va) - above)
    each = Line(
        "dryers, at least the minimum each",
        total_va,
        "VA",
        f"the larger of nameplate and {least_va:,.0f} VA, each",
        " + ".join(f"{max(each, least_va):,.0f}" for each in nameplates_va),
        rule.citation,
    )
    if factor == 1:
        return Reckoned(total_va, (each,))
    demand = Line(
        "dryers after demand factor",
        total_va * factor,
        "VA",
        "sum × factor for their number",
        f"{total_va:,.0f} VA × {factor:g}",
        table.cite(row),
    )
    return Reckoned(total_va * factor, (each, demand))


def cooking_demand(*, edition: Edition, nameplates_va: Sequence[float]) -> Reckoned:
    """What do the household cooking appliances count in the standard method?

    The smallest of what the table permits: all by column C, raised for ranges over
    12 kW; or the small ones by columns A and B and the others by column C. An
    appliance beyond the table counts by nameplate.

    Args:
        edition: Edition of the rules. [-]
        nameplates_va: Nameplate of each range, oven and cooktop. [VA]

    Returns:
        Load. [VA]

    Raises:
        OutOfRange: A nameplate is negative.

    Rule:
        table range-demand, range-over-12, range-unequal, range-small

    Checked by:
        annex-d examples; every boundary in tests/codebook
    """
    _refuse_negative(nameplates_va)
    small_rule = edition.rule("range-small")
    in_table_over_va = small_rule.number("over_va")
    beyond_va = edition.rule("range-over-12").number("through_va")
    tabled = [x for x in nameplates_va if in_table_over_va < x <= beyond_va]
    others = [x for x in nameplates_va if x > beyond_va or 0 < x <= in_table_over_va]
    beyond = tuple(
        Line(
            "cooking appliance outside the table, by nameplate",
            each,
            "VA",
            source=edition.table("range-demand").citation,
        )
        for each in others
    )
    if not tabled:
        return Reckoned(_sum(beyond), beyond)
    small = [x for x in tabled if x <= small_rule.number("through_va")]
    large = [x for x in tabled if x > small_rule.number("through_va")]
    ways = [_column_c(edition, tabled)]
    if small:
        by_small = _columns_a_and_b(edition, small)
        by_large = _column_c(edition, large) if large else Reckoned(0.0, ())
        ways.append(
            Reckoned(
                by_small.amount + by_large.amount, (*by_small.lines, *by_large.lines)
            )
        )
    best = min(ways, key=lambda way: way.amount)
    return Reckoned(best.amount + _sum(beyond), (*best.lines, *beyond))


def fastened_appliances(
    *, edition: Edition, nameplates_va: Sequence[float]
) -> Reckoned:
    """What do appliances fastened in place count in the standard method?

    Args:
        edition: Edition of the rules. [-]
        nameplates_va: Nameplate of each; none of the excluded kinds. [VA]

    Returns:
        Load. [VA]

    Raises:
        OutOfRange: A nameplate is negative.

    Rule:
        fastened-appliances

    Checked by:
        annex-d examples; every boundary in tests/codebook
    """
    _refuse_negative(nameplates_va)
    if not any(nameplates_va):
        return Reckoned(0.0, ())
    rule = edition.rule("fastened-appliances")
    least_va = rule.number("minimum_va")
    large = [x for x in nameplates_va if x >= least_va and x > 0]
    small = [x for x in nameplates_va if 0 < x < least_va]
    reduced = len(large) >= rule.number("minimum_count")
    factor = rule.number("factor") if reduced else 1.0
    lines = [
        Line(
            f"appliances fastened in place ({len(large)})",
            sum(large) * factor,
            "VA",
            f"sum × {factor:g}",
            f"{sum(large):,.0f} VA × {factor:g}",
            rule.citation,
        )
    ]
    if small:
        lines.append(
            Line(
                f"smaller appliances fastened in place ({len(small)}), whole",
                sum(small),
                "VA",
                f"under {least_va:g} VA no factor applies",
                f"{sum(small):,.0f} VA",
                rule.citation,
            )
        )
    return Reckoned(_sum(lines), tuple(lines))


def largest_motor(*, edition: Edition, motors_va: Sequence[float]) -> Reckoned:
    """How much is added for the largest motor?

    Args:
        edition: Edition of the rules. [-]
        motors_va: Load of each motor, current × voltage. [VA]

    Returns:
        Addition. [VA]

    Raises:
        OutOfRange: A motor load is negative.

    Rule:
        motor-largest

    Checked by:
        annex-d examples in tests/validation
    """
    _refuse_negative(motors_va)
    if not motors_va:
        return Reckoned(0.0, ())
    rule = edition.rule("motor-largest")
    factor, largest_va = rule.number("factor"), max(motors_va)
    line = Line(
        "added for the largest motor",
        largest_va * factor,
        "VA",
        f"{factor:.0%} of it",
        f"{largest_va:,.0f} VA × {factor:g}",
        rule.citation,
    )
    return Reckoned(line_amount(line), (line,))


def motor_full_load_current(
    *, edition: Edition, power_hp: float, voltage_v: float
) -> Reckoned:
    """Which current does a single-phase motor of a horsepower count?

    The table's row, or the next larger one for a power between two.

    Args:
        edition: Edition of the rules. [-]
        power_hp: Power on the motor's plate. [hp]
        voltage_v: Voltage it runs at. [V]

    Returns:
        Full-load current. [A]

    Raises:
        MissingEntry: The table holds no motor so large, or no such voltage.

    Rule:
        table motor-full-load-current

    Checked by:
        tests/assess/test_load_list.py, by hand
    """
    table = edition.table("motor-full-load-current")
    column = next(
        (name for name, low, high in _MOTOR_COLUMNS if low <= voltage_v <= high), None
    )
    # Plates round the fractions: 0.33 hp is the row of 1/3.
    row = next(
        (row for row in table.rows if _horsepower(row[0]) >= power_hp - 0.005), None
    )
    if column is None or row is None or not power_hp > 0:
        raise MissingEntry(
            f"{table.citation} prints no motor of {power_hp:g} hp at {voltage_v:g} V"
        )
    current_a = table.cell(row, column) or 0.0
    line = Line(
        f"full-load current of {row[0]} hp", current_a, "A", source=table.cite(row)
    )
    return Reckoned(current_a, (line,))


_MOTOR_COLUMNS = (
    ("full_load_115v_a", 110, 127),
    ("full_load_200v_a", 200, 200),
    ("full_load_208v_a", 201, 219),
    ("full_load_230v_a", 220, 240),
)


def _horsepower(printed: str | float) -> float:
    """Return a printed power such as 1-1/2 as a number."""
    whole, _, rest = str(printed).rpartition("-")
    over, _, under = rest.partition("/")
    return float(whole or 0) + float(over) / float(under or 1)


def standard_vehicle_load(
    *, edition: Edition, charger_va: float, nameplate_known: bool = True
) -> Reckoned:
    """What does one vehicle supply equipment count in the standard method?

    Args:
        edition: Edition of the rules. [-]
        charger_va: Load at the current that counts. [VA]
        nameplate_known: Whether that load is known. [-]

    Returns:
        Load. [VA]

    Raises:
        OutOfRange: The load is negative.

    Rule:
        vehicle-charging

    Checked by:
        tests/codebook/test_load_calculation.py, by hand
    """
    _refuse_negative([charger_va])
    rule = edition.rule("vehicle-charging")
    variant = rule.text("variant")
    floor_va = 0.0
    if variant == "larger-of-minimum-and-nameplate" or (
        variant == "nameplate-or-minimum-if-unknown" and not nameplate_known
    ):
        floor_va = rule.number("minimum_va")
    counted_va = max(charger_va, floor_va)
    symbols = f"the larger of it and {floor_va:,.0f} VA" if floor_va else "as it counts"
    line = Line(
        "vehicle charging",
        counted_va,
        "VA",
        symbols,
        f"{charger_va:,.0f} VA",
        rule.citation,
    )
    return Reckoned(counted_va, (line,))


def optional_hvac(*, edition: Edition, heating: Heating) -> Reckoned:
    """Which heating or cooling load does the optional method add?

    The largest of the printed selections.

    Args:
        edition: Edition of the rules. [-]
        heating: Connected heating and cooling. [-]

    Returns:
        Load. [VA]

    Rule:
        optional-dwelling-hvac

    Checked by:
        annex-d examples in tests/validation
    """
    rule = edition.rule("optional-dwelling-hvac")
    separate = _separate_factor(rule, heating)
    selections = (
        (
            "cooling",
            (
                (heating.cooling_va, "cooling_factor"),
                (heating.heat_pump_va, "cooling_factor"),
            ),
        ),
        ("heat pump", ((heating.heat_pump_va, "heat_pump_factor"),)),
        (
            "heat pump with supplemental heat",
            (
                (heating.compressor_va, "heat_pump_factor"),
                (heating.supplemental_va, "heat_pump_supplemental_factor"),
            ),
        ),
        (
            "central electric heat",
            ((heating.central_va, "central_electric_heat_factor"),),
        ),
        (
            f"electric heat, {heating.separate_count} separately controlled",
            ((heating.separate_va, separate),),
        ),
        ("thermal storage heat", ((heating.storage_va, "thermal_storage_factor"),)),
    )
    return _largest_selection(rule, selections)


def optional_heating_kinds_va(
    *, edition: Edition, heating: Heating
) -> tuple[float, ...]:
    """What does each kind of heating come to in the optional method, for itself?

    Args:
        edition: Edition of the rules. [-]
        heating: Connected heating and cooling. [-]

    Returns:
        Load of each kind present, at its factor. [VA]

    Rule:
        optional-dwelling-hvac

    Checked by:
        tests/assess/test_capacity_findings.py, by hand
    """
    rule = edition.rule("optional-dwelling-hvac")
    number = rule.number
    supplemental_va = heating.supplemental_va * number("heat_pump_supplemental_factor")
    pump_va = max(
        heating.heat_pump_va * number("heat_pump_factor"),
        heating.compressor_va * number("heat_pump_factor") + supplemental_va,
    )
    kinds_va = (
        pump_va,
        heating.central_va * number("central_electric_heat_factor"),
        heating.separate_va * number(_separate_factor(rule, heating)),
        heating.storage_va * number("thermal_storage_factor"),
    )
    return tuple(each for each in kinds_va if each > 0)


def _separate_factor(rule: Rule, heating: Heating) -> str:
    many = heating.separate_count >= rule.number("separate_heat_many_count")
    return "separate_heat_many_factor" if many else "separate_heat_few_factor"


def existing_hvac(
    *, edition: Edition, heating: Heating
) -> tuple[tuple[Reckoned, float], ...]:
    """Which heating or cooling stands outside the tiers of the existing-dwelling rule?

    Heating or cooling, but not both: the caller takes whichever makes more.

    Args:
        edition: Edition of the rules. [-]
        heating: Connected heating and cooling. [-]

    Returns:
        For each of the two its load at its factors, and the part that joins the other
        loads in the tiers (four or more separately controlled heating units). [VA]

    Rule:
        existing-dwelling-hvac

    Checked by:
        teaching examples in tests/validation
    """
    rule = edition.rule("existing-dwelling-hvac")
    many = heating.separate_count >= rule.number("separate_heat_many_count")
    inside_va = heating.separate_va if many else 0.0
    separate_va = 0.0 if many else heating.separate_va
    pump_va = max(heating.compressor_va + heating.supplemental_va, heating.heat_pump_va)
    cooling = (
        "cooling",
        (
            (heating.cooling_va, "cooling_factor"),
            (heating.heat_pump_va, "cooling_factor"),
        ),
    )
    warmth = (
        "heating",
        (
            (pump_va, "central_heat_factor"),
            (heating.central_va + heating.storage_va, "central_heat_factor"),
            (separate_va, "separate_heat_few_factor"),
        ),
    )
    return (
        (_largest_selection(rule, (cooling,)), 0.0),
        (_largest_selection(rule, (warmth,)), inside_va),
    )


def measured_demand(*, edition: Edition, maximum_va: float) -> Reckoned:
    """What does an existing load count by its measured maximum?

    Args:
        edition: Edition of the rules. [-]
        maximum_va: Maximum demand of the record. [VA]

    Returns:
        Load. [VA]

    Raises:
        OutOfRange: The demand is negative.

    Rule:
        measured-demand

    Checked by:
        teaching examples in tests/validation
    """
    _refuse_negative([maximum_va])
    rule = edition.rule("measured-demand")
    factor = rule.number("demand_factor")
    line = Line(
        "existing load by its measured maximum",
        maximum_va * factor,
        "VA",
        f"maximum demand × {factor:g}",
        f"{maximum_va:,.0f} VA × {factor:g}",
        rule.citation,
    )
    return Reckoned(maximum_va * factor, (line,))


def counted_charger_current(
    *,
    edition: Edition,
    nameplate_a: float,
    setting_a: float,
    restrictions: Sequence[str],
    hard_wired: bool,
) -> CountedCurrent:
    """At which current does supply equipment count when it is set below nameplate?

    Args:
        edition: Edition of the rules. [-]
        nameplate_a: Nameplate current. [A]
        setting_a: Current it is set to. [A]
        restrictions: Names of the ways the setting is restricted. [-]
        hard_wired: Whether it is fastened in place and wired in. [-]

    Returns:
        The current that counts. [A]

    Raises:
        OutOfRange: A current is not positive.

    Rule:
        adjusted-rating

    Checked by:
        tests/codebook/test_load_calculation.py
    """
    if not (nameplate_a > 0 and setting_a > 0):
        raise OutOfRange("a nameplate or setting of no current counts nothing")
    rule = edition.rule("adjusted-rating")
    variant = rule.text("variant")
    accepted = set(rule.words("restrictions"))
    restricted = bool(accepted & set(restrictions))
    lower_counts = {
        "nameplate-counts": False,
        "fixed-restricted": restricted and hard_wired,
        "restricted-any": restricted,
    }[variant]
    is_setting = setting_a < nameplate_a and lower_counts
    counted_a = setting_a if is_setting or setting_a >= nameplate_a else nameplate_a
    why = "setting, restricted" if is_setting else "nameplate"
    line = Line("charger current that counts", counted_a, "A", why, "", rule.citation)
    return CountedCurrent(counted_a, is_setting, line)


def line_amount(line: Line) -> float:
    """Return the number of a line that is known to hold one, in the line's unit."""
    if not isinstance(line.amount, int | float):
        raise OutOfRange(f"the line {line.label} holds no number")
    return float(line.amount)


def _column_c(edition: Edition, nameplates_va: Sequence[float]) -> Reckoned:
    table = edition.table("range-demand")
    row = table.at_most(len(nameplates_va))
    fixed_kw = table.cell(row, "column_c_fixed_kw") or 0.0
    each_kw = table.cell(row, "column_c_per_appliance_kw") or 0.0
    demand_va = 1000 * (fixed_kw + each_kw * len(nameplates_va))
    lines = [
        Line(
            f"cooking appliances ({len(nameplates_va)}), column C",
            demand_va,
            "VA",
            "maximum demand for their number",
            " + ".join(f"{each:,.0f}" for each in nameplates_va) + " VA",
            table.cite(row),
        )
    ]
    equal = len(set(nameplates_va)) == 1
    rule = edition.rule("range-over-12" if equal else "range-unequal")
    floor_va = edition.rule("range-over-12").number("over_va")
    average_va = sum(max(x, floor_va) for x in nameplates_va) / len(nameplates_va)
    over_kw = (average_va - floor_va) / 1000
    steps = math.floor(over_kw)
    if over_kw - steps >= rule.number("major_fraction"):
        steps += 1
    if steps:
        share = steps * rule.number("increase_per_kw_factor")
        lines.append(
            Line(
                f"raised for {steps} kW over {floor_va / 1000:g} kW",
                demand_va * share,
                "VA",
                f"{rule.number('increase_per_kw_factor'):.0%} a kW or major fraction",
                f"{demand_va:,.0f} VA × {share:g}",
                rule.citation,
            )
        )
    return Reckoned(_sum(lines), tuple(lines))


def _columns_a_and_b(edition: Edition, nameplates_va: Sequence[float]) -> Reckoned:
    table, rule = edition.table("range-demand"), edition.rule("range-small")
    from_va = rule.number("column_b_from_va")
    groups = (
        ("A", "column_a_factor", [x for x in nameplates_va if x < from_va]),
        ("B", "column_b_factor", [x for x in nameplates_va if x >= from_va]),
    )
    lines = []
    for letter, column, group in groups:
        if not group:
            continue
        row = table.at_most(len(group))
        factor = table.cell(row, column) or 1.0
        lines.append(
            Line(
                f"cooking appliances ({len(group)}), column {letter}",
                sum(group) * factor,
                "VA",
                "sum × factor for their number",
                f"{sum(group):,.0f} VA × {factor:g}",
                table.cite(row),
            )
        )
    return Reckoned(_sum(lines), tuple(lines))


def _largest_selection(
    rule: Rule,
    selections: Sequence[tuple[str, Sequence[tuple[float, str]]]],
) -> Reckoned:
    """Return the largest of several sums of load × factor, with its line."""
    best = ("", 0.0, "")
    for label, parts in selections:
        amount = sum(load_va * rule.number(factor) for load_va, factor in parts)
        numbers = " + ".join(
            f"{load_va:,.0f} VA × {rule.number(factor):g}"
            for load_va, factor in parts
            if load_va
        )
        if amount > best[1]:
            best = (label, amount, numbers)
    label, amount, numbers = best
    if not label:
        return Reckoned(0.0, ())
    line = Line(
        f"largest of heating and cooling: {label}",
        amount,
        "VA",
        "nameplate × factor",
        numbers,
        rule.citation,
    )
    return Reckoned(amount, (line,))


def _sum(lines: Sequence[Line]) -> float:
    return math.fsum(line_amount(line) for line in lines)


def _refuse_negative(loads_va: Sequence[float]) -> None:
    for load_va in loads_va:
        if not load_va >= 0:
            raise OutOfRange(f"a load of {load_va:g} VA; give a number of at least 0")
