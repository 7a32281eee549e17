"""The load calculation a second time: slow, in exact fractions, from the sources.

Written from the editions' texts as public pages quote them, and from the plan file's
own page, by a hand that had not read src/lugbook/assess or src/lugbook/codebook, and
held against ten houses worked by hand before it was laid beside them. It shares nothing
with them but the words of methods and readings. Every rule is followed in the plainest
way, and whatever nobody stated is taken at the least and at the most.

Where a text leaves open what a house may do, both versions go by one convention; it is
named here as such, and errs high:
- a permission is not used where the plan may not prove it: an interlock between loads
  other than heating and cooling, another charger's lower setting, the 1/4 hp of 220.53
  for a motor under 500 W, the charger among the appliances at 75 % before 2023;
- 125 % adds a quarter of every load the plan calls continuous, counted or not;
- heaters of nobody knows how many thermostats count as few;
- a list of conditions not shown to be met leaves measured demand open, not refused.

Where a figure is not in a table of slow_tables, its clause stands beside it. The
numbers are those of 2017 to 2023; Article 120 of 2026 keeps the suffixes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, cached_property, lru_cache
from typing import Any

from slow_tables import (
    ampacity_a,
    dryer_factor,
    motor_current_a,
    next_standard_a,
    range_row,
    standard_ratings_a,
)

Tree = Mapping[str, Any]

COOKING = ("range", "cooktop", "wall oven")
# Annex D, Example D2(b), lays a bathroom's heater beside the cooling: a room heater.
ROOM_HEATERS = ("separately controlled electric heat", "bathroom heater")
HEATING = (
    "heat pump",
    "heat pump supplemental heat",
    "central electric heat",
    *ROOM_HEATERS,
    "thermal storage heat",
)
COOLING = ("central cooling", "room cooling", "heat pump")
# Parts of the heating equipment, which 220.53 leaves out of its appliances.
OF_THE_HEATING = ("furnace blower", "boiler pump")
# Fastened in place by what they are; the others only where the plan says so.
BUILT_IN = (
    "water heater",
    "dishwasher",
    "sump pump",
    "disposer",
    "trash compactor",
    "built-in microwave",
    "well pump",
    "other fixed appliance",
)
# Driven by a motor, whether or not the plan gives its current.
DRIVEN = (
    *("disposer", "trash compactor", "well pump", "sump pump", "pool pump"),
    *("workshop machine", "elevator", "furnace blower", "boiler pump", *COOLING),
)
NOTHING_BUT_A_MOTOR = tuple(kind for kind in DRIVEN if kind not in COOLING)
RESTRICTED = {
    "2020": {
        "cover that needs a tool",
        "installer switch inside",
        "password",
        "behind a locked door",
    },
}
RESTRICTED["2023"] = RESTRICTED["2026"] = {*RESTRICTED["2020"], "lock"}
# A short record is one leg's, so that only its current says what the house drew.
LEG_CURRENTS = ("maximum_current", "maximum_leg_a", "maximum_leg_b")
UNIT = {
    "A": Fraction(1),
    "V": Fraction(1),
    "VA": Fraction(1),
    "W": Fraction(1),
    "kVA": Fraction(1000),
    "kW": Fraction(1000),
    "ft²": Fraction(1),
    "m²": 1 / Fraction("0.3048") ** 2,
    "ft": Fraction(1),
    "m": 1 / Fraction("0.3048"),
    "in": Fraction(1, 12),
    "min": Fraction(1),
    "h": Fraction(60),
    "%": Fraction(1, 100),
}


def stated(part: Tree, field: str) -> Any:
    """What a table of the plan states under a field, without how it is known."""
    given = part.get(field)
    return given["value"] if isinstance(given, dict) else given


def amount(part: Tree, field: str) -> Fraction | None:
    """A stated quantity as an exact fraction in A, V, VA, ft², ft, °C or min."""
    given = stated(part, field)
    return None if given is None else number_of(given)


@cache
def number_of(given: str | float) -> Fraction:
    """What is typed, in the unit this version reckons in."""
    if isinstance(given, int | float):
        return Fraction(str(given))
    match = re.fullmatch(r"(-?[0-9.]+) ?(\S+)", given)
    assert match, given
    number, unit = Fraction(match[1]), match[2]
    if unit == "°C":
        return number
    if unit == "°F":
        return (number - 32) * 5 / 9
    return number * UNIT[unit]


@dataclass(frozen=True)
class Use:
    """A load of the house in volt-amperes; None is unknown."""

    name: str
    kind: str
    each_va: Fraction | None
    count: int
    fastened: bool
    continuous: bool
    controls: int | None
    has_motor: bool
    motor_va: Fraction | None
    with_compressor: bool | None
    proposed: bool

    @property
    def va(self) -> Fraction:
        """All alike together, the unknown as nothing."""
        return self.count * (self.each_va or Fraction(0))


@dataclass(frozen=True)
class Row:
    """One method under one reading, as the slow version finds it."""

    method: str
    charger: str
    hvac: str
    permitted: bool
    outcome: str
    amperes: Fraction | None
    largest_setting_a: Fraction | None


# ------------------------------------------------------------------ what is stated


def edition_of(plan: Tree) -> str:
    """The adopted edition."""
    edition: str = plan["rules"]["edition"]
    return edition


def nominal_v(plan: Tree) -> Fraction | None:
    """The nominal voltage at which volt-amperes become amperes, 220.5(A)."""
    service = plan.get("service", {})
    by_system = {
        "120/240 V split-phase": Fraction(240),
        "120/208 V of a three-phase wye": Fraction(208),
    }
    return by_system.get(stated(service, "system"))


def counts_at_setting(part: Tree, edition: str, *, connection: object) -> bool | None:
    """Whether a lower setting counts: 625.42 of each edition; None if it hangs."""
    if edition == "2017":
        return False  # the text names no adjusted setting
    restricted: bool | None = None
    words = set(part.get("setting_restricted_by", []))
    if words:
        restricted = bool(words & RESTRICTED[edition])
        if "anyone with the app" in words:
            restricted = False
    # The label is a duty of its own, 625.42 and 750.30(C), and no part of this.
    conditions = [restricted]
    if edition == "2020":  # fixed in place only
        conditions.append(None if connection is None else connection == "hard-wired")
    if False in conditions:
        return False
    return None if None in conditions else True


def charger_a(
    part: Tree, edition: str, setting_a: Fraction | None, *, connection: object
) -> tuple[Fraction, Fraction | None]:
    """The least and the most current a charger may count at."""
    nameplate_a = amount(part, "nameplate")
    counts = counts_at_setting(part, edition, connection=connection)
    if setting_a is None:
        return (nameplate_a or Fraction(0)), nameplate_a
    if setting_a == nameplate_a or counts is True:
        return setting_a, setting_a
    if counts is False:
        return (nameplate_a or setting_a), nameplate_a
    return setting_a, nameplate_a


def loads_of(plan: Tree) -> list[Use]:
    """Every load that is there once the work is done: not removed, not planned."""
    kept = [
        load
        for load in plan.get("loads", [])
        if load.get("state", "existing") in ("existing", "proposed")
    ]
    return [use_of(plan, load) for load in kept]


def load_v(plan: Tree, load: Tree) -> Fraction | None:
    """The voltage a load is fed with; None where nothing says it."""
    said = amount(load, "voltage")
    if said is not None:
        return said
    if load.get("leg") in ("A", "B"):
        return Fraction(120)
    return nominal_v(plan) if load.get("leg") == "both" else None


def use_of(plan: Tree, load: Tree) -> Use:
    """A load of the plan with its size, unknown as unknown."""
    voltage_v = load_v(plan, load)
    kind = load["kind"]
    each_va = amount(load, "nameplate")
    nameplate_a = amount(load, "nameplate_current")
    if each_va is None and nameplate_a is not None and voltage_v is not None:
        each_va = nameplate_a * voltage_v
    motor_a = amount(load, "motor_current")
    horsepower = amount(load, "motor_horsepower")
    has_motor = kind in DRIVEN or motor_a is not None or horsepower is not None
    if motor_a is None and horsepower is not None and voltage_v is not None:
        motor_a = motor_current_a(horsepower, voltage_v)
    motor_va = None
    if motor_a is not None and voltage_v is not None:
        motor_va = motor_a * voltage_v
    if each_va is None and kind in NOTHING_BUT_A_MOTOR:
        each_va = motor_va
    fastened = stated(load, "fastened_in_place")
    count = stated(load, "count")
    return Use(
        name=load["id"],
        kind=kind,
        each_va=each_va,
        count=1 if count is None else count,
        fastened=kind in BUILT_IN if fastened is None else fastened,
        continuous=stated(load, "continuous") is True or kind == "vehicle charging",
        controls=stated(load, "controls"),
        has_motor=has_motor,
        motor_va=motor_va,
        with_compressor=stated(load, "heats_while_compressor_runs"),
        proposed=load.get("state") == "proposed",
    )


# ------------------------------------------------------------------- single rules


def lighting_and_circuits_va(plan: Tree) -> Fraction:
    """General lighting and the circuits of kitchen and laundry, unknown at the least.

    220.12, 220.14(J), 220.41: 3 VA a square foot; 120.41 of 2026: 2 VA. 220.52: 1,500
    VA for each circuit, of which 210.11(C) asks for two and one.
    """
    dwelling = plan["dwelling"]
    each_va = 2 if edition_of(plan) == "2026" else 3
    area_ft2 = amount(dwelling, "floor_area") or Fraction(0)
    kitchen = max(stated(dwelling, "small_appliance_circuits") or 0, 2)
    laundry = max(stated(dwelling, "laundry_circuits") or 0, 1)
    return each_va * area_ft2 + 1500 * (kitchen + laundry)


def tier(total_va: Fraction, first_va: int) -> Fraction:
    """First part at 100 %, the rest at 40 %: 220.82(B), 220.83."""
    return min(total_va, Fraction(first_va)) + max(
        Fraction(0), total_va - first_va
    ) * Fraction(40, 100)


def lighting_demand_va(total_va: Fraction) -> Fraction:
    """Table 220.42 (220.45): 3,000 VA at 100 %, to 120,000 at 35 %, rest at 25 %."""
    demand_va = min(total_va, Fraction(3000))
    if total_va > 3000:
        demand_va += (min(total_va, Fraction(120_000)) - 3000) * Fraction(35, 100)
    if total_va > 120_000:
        demand_va += (total_va - 120_000) * Fraction(25, 100)
    return demand_va


def column_c_va(ratings_va: list[Fraction]) -> Fraction:
    """Column C of Table 220.55 with notes 1 and 2: 5 % a kW, or major part, over 12."""
    if not ratings_va:
        return Fraction(0)
    raised = [max(rating, Fraction(12_000)) for rating in ratings_va]
    average_kw = sum(raised, Fraction(0)) / len(raised) / 1000
    over = average_kw - 12
    steps = int(over + Fraction(1, 2))  # half a kW is a major part
    base_va = range_row(len(ratings_va))["c_kw"] * 1000
    return base_va * (1 + Fraction(5, 100) * steps)


def column_share_va(ratings_va: list[Fraction], column: str) -> Fraction:
    """Column A or B of Table 220.55: the sum of nameplates times its factor."""
    if not ratings_va:
        return Fraction(0)
    return sum(ratings_va, Fraction(0)) * range_row(len(ratings_va))[column]


def cooking_va(ratings_va: Iterable[Fraction]) -> Fraction:
    """Table 220.55: the least of the ways its notes permit.

    An appliance of 1 3/4 kW or less, or over 27 kW, is none of the table's and counts
    in full. Note 3: over 1 3/4 through 8 3/4 kW may go by columns A (under 3 1/2 kW)
    and B, the others by column C; or all go by column C; or nobody uses the table.
    """
    given = list(ratings_va)
    table = [each for each in given if 1750 < each <= 27_000]
    rest_va = sum(given, Fraction(0)) - sum(table, Fraction(0))
    small_a = [each for each in table if each < 3500]
    small_b = [each for each in table if 3500 <= each <= 8750]
    large = [each for each in table if each > 8750]
    ways = [
        sum(table, Fraction(0)),
        column_c_va(table),
        column_share_va(small_a, "a_factor")
        + column_share_va(small_b, "b_factor")
        + column_c_va(large),
    ]
    return min(ways) + rest_va


def dryers_va(ratings_va: Iterable[Fraction], edition: str) -> Fraction:
    """220.54: 5,000 VA or the nameplate if larger, each; then the table's factor."""
    given = [max(each, Fraction(5000)) for each in ratings_va]
    if not given:
        return Fraction(0)
    return sum(given, Fraction(0)) * dryer_factor(len(given), edition)


def each_one(uses: Iterable[Use]) -> list[Fraction]:
    """The sizes one by one, alike ones repeated."""
    return [use.each_va or Fraction(0) for use in uses for _ in range(use.count)]


def total(uses: Iterable[Use]) -> Fraction:
    """Sum of nameplates."""
    return sum((use.va for use in uses), Fraction(0))


def fastened_va(uses: list[Use], edition: str) -> Fraction:
    """220.53: four or more appliances fastened in place at 75 %, the others in full.

    From 2020 only those of 500 W or 1/4 hp and more count, and only they get the 75 %.
    """
    eligible = [
        use
        for use in uses
        if use.fastened and use.kind not in (*COOKING, "dryer", *OF_THE_HEATING)
    ]
    if edition != "2017":
        eligible = [use for use in eligible if (use.each_va or 0) >= 500]
    number = sum(use.count for use in eligible if use.va > 0)
    factor = Fraction(75, 100) if number >= 4 else Fraction(1)
    return total(uses) - total(eligible) + factor * total(eligible)


def heating_sets(uses: list[Use]) -> tuple[list[list[Use]], list[Use]]:
    """The sets of heaters that may run together, and what cools.

    Supplemental heat that cannot run with the compressor leaves one of the two out.
    """
    heat = [use for use in uses if use.kind in HEATING]
    cool = [use for use in uses if use.kind in COOLING]
    extra = [use for use in heat if use.kind == "heat pump supplemental heat"]
    apart = [use for use in extra if use.with_compressor is False and use.va > 0]
    if not apart:
        return [heat], cool
    pumps = [use for use in heat if use.kind == "heat pump"]
    return [
        [use for use in heat if use not in apart],
        [use for use in heat if use not in pumps],
    ], cool


def are_many(uses: list[Use]) -> bool:
    """Whether room heaters have four or more thermostats between them."""
    heaters = [use for use in uses if use.kind in ROOM_HEATERS]
    heaters = [use for use in heaters if use.va > 0 or use.each_va is None]
    controls = [u.count if u.controls is None else u.controls for u in heaters]
    return sum(controls) >= 4


def optional_hvac_va(uses: list[Use]) -> Fraction:
    """220.82(C): the largest of its six selections.

    Cooling 100 %; heat pump 100 % and its supplemental heat 65 %; central electric heat
    65 %; separately controlled units 65 %, four and more 40 %; thermal storage 100 %.
    """

    def share(kinds: tuple[str, ...], factor: Fraction, running: list[Use]) -> Fraction:
        return factor * total(use for use in running if use.kind in kinds)

    whole, most, less = Fraction(1), Fraction(65, 100), Fraction(40, 100)
    sets, cool = heating_sets(uses)
    selections = [total(cool)]
    for running in sets:
        pump = share(("heat pump",), whole, running)
        extra = share(("heat pump supplemental heat",), most, running)
        selections += [
            pump + extra,
            share(("central electric heat",), most, running),
            share(ROOM_HEATERS, less if are_many(uses) else most, running),
            share(("thermal storage heat",), whole, running),
        ]
    return max(selections)


def largest_motor_va(uses: Iterable[Use], *, at_most: bool) -> Fraction:
    """The largest motor's own load, for the quarter of 220.50 and 430.24.

    A motor nobody stated is nothing at the least, and at the most its whole load.
    """
    motors = [Fraction(0)]
    for use in uses:
        if use.motor_va is not None:
            motors.append(use.motor_va)
        elif use.has_motor and at_most:
            motors.append(use.each_va or Fraction(0))
    return max(motors)


# ----------------------------------------------------------------------- methods


@dataclass(frozen=True, eq=False)
class House:
    """A plan with what every row asks of it, worked out once."""

    plan: Tree
    edition: str
    voltage_v: Fraction
    uses: list[Use]  # all but the charger
    rating_a: Fraction | None  # None while a part is unknown
    least_part_a: Fraction | None

    def of(self, *kinds: str) -> list[Use]:
        """The loads of some kinds."""
        return [use for use in self.uses if use.kind in kinds]

    @cached_property
    def hvac(self) -> list[Use]:
        """Heating and cooling equipment."""
        return self.of(*HEATING, *COOLING)

    @cached_property
    def general(self) -> list[Use]:
        """All that is neither heating, cooling nor charging."""
        apart = {*HEATING, *COOLING, "vehicle charging"}
        return [use for use in self.uses if use.kind not in apart]

    @cached_property
    def general_va(self) -> Fraction:
        """Lighting, circuits and appliances, before any factor."""
        return lighting_and_circuits_va(self.plan) + total(self.general)

    @cached_property
    def others_va(self) -> Fraction:
        """Other vehicle charging."""
        return total(self.of("vehicle charging"))

    @cached_property
    def continuous_va(self) -> Fraction:
        """Every load that runs on for hours, the charger apart."""
        return total(use for use in self.uses if use.continuous)

    @cached_property
    def hvac_va(self) -> Fraction:
        """The larger of connected heating and cooling, 220.60."""
        sets, cool = heating_sets(self.hvac)
        return max(*(total(each) for each in sets), total(cool))

    def idle_hvac(self) -> list[Use]:
        """Heating or cooling that does not run when the larger of the two does."""
        sets, cool = heating_sets(self.hvac)
        running = max([cool, *sets], key=total)  # of two equal ones the one with motor
        return [use for use in self.hvac if use not in running]


def quarter_va(house: House, charger_va: Fraction) -> Fraction:
    """A quarter of every continuous load: with it, 125 % (215.2, 215.3).

    Charging is continuous, Article 625; other loads where the plan says so.
    """
    return (charger_va + house.continuous_va) / 4


def tiered_va(
    house: House, first_va: int, inside: Fraction, outside: Fraction
) -> Fraction:
    """Lighting, circuits and appliances in tiers, with what stands beside them."""
    return tier(house.general_va + inside, first_va) + outside


def optional_va(house: House, charger: str, charging_va: Fraction) -> Fraction:
    """220.82: 10 kVA (2026: 8 kVA) at 100 %, the rest at 40 %, plus 220.82(C)."""
    first_va = 8000 if house.edition == "2026" else 10_000
    hvac = optional_hvac_va(house.hvac)
    if charger == "inside":
        return tiered_va(house, first_va, charging_va, hvac)
    return tiered_va(house, first_va, Fraction(0), hvac + charging_va)


def existing_va(
    house: House, charger: str, hvac: str, charging_va: Fraction
) -> Fraction:
    """220.83(A): 8 kVA at 100 %, the rest at 40 %, heating and cooling in or out."""
    inside = house.hvac_va if hvac == "counted" else Fraction(0)
    if charger == "inside":
        return tiered_va(house, 8000, inside + charging_va, Fraction(0))
    return tiered_va(house, 8000, inside, charging_va)


def existing_hvac_va(house: House, charger: str, charging_va: Fraction) -> Fraction:
    """220.83(B): heating or cooling, but not both, at 100 % beside the tiers.

    Only fewer than four separately controlled units are named there; four and more
    stand with all other loads. Whichever of heating and cooling makes more is taken.
    """
    sets, cool = heating_sets(house.hvac)
    many = are_many(house.hvac)
    totals = []
    for running in (*sets, cool):
        within = total(u for u in running if many and u.kind in ROOM_HEATERS)
        beside = total(running) - within
        if charger == "inside":
            within += charging_va
        else:
            beside += charging_va
        totals.append(tiered_va(house, 8000, within, beside))
    return max(totals)


@lru_cache(maxsize=8)
def standard_base_va(house: House, *, at_most: bool) -> Fraction:
    """Part III without charging, each demand factor by itself."""
    plain = [use for use in house.general if use.kind not in (*COOKING, "dryer")]
    motors = house.uses
    if house.edition == "2017":  # from 2020 on 220.60 has the motor left out, too
        motors = [use for use in motors if use not in house.idle_hvac()]
    return (
        lighting_demand_va(lighting_and_circuits_va(house.plan))
        + cooking_va(each_one(house.of(*COOKING)))
        + dryers_va(each_one(house.of("dryer")), house.edition)
        + fastened_va(plain, house.edition)
        + house.hvac_va
        + largest_motor_va(motors, at_most=at_most) / 4
    )


def standard_va(house: House, charger_va: Fraction, *, at_most: bool) -> Fraction:
    """Part III with all charging beside it in full.

    220.57 of 2023: at least 7,200 VA for each charger; before, and in 2026 where the
    nameplate is known, the charger's own load.
    """
    charging = each_one(house.of("vehicle charging"))
    charging += [charger_va] if charger_va > 0 else []
    least = Fraction(7200) if house.edition == "2023" else Fraction(0)
    floored = sum((max(each, least) for each in charging), Fraction(0))
    return standard_base_va(house, at_most=at_most) + floored


def method_va(
    house: House, reading: tuple[str, str, str], charger_va: Fraction, *, at_most: bool
) -> Fraction:
    """The calculated load of a house by a method and reading."""
    method, charger, hvac = reading
    charging_va = charger_va + house.others_va
    if method == "optional":
        va = optional_va(house, charger, charging_va)
    elif method == "existing":
        va = existing_va(house, charger, hvac, charging_va)
    elif method == "existing_hvac":
        va = existing_hvac_va(house, charger, charging_va)
    else:
        va = standard_va(house, charger_va, at_most=at_most)
    return va + quarter_va(house, charger_va) if charger == "outside_125" else va


def least_and_most_va(
    house: House, reading: tuple[str, str, str], setting_a: Fraction | None
) -> tuple[Fraction, Fraction | None]:
    """The load at the least and at the most; None where nobody can know the most."""
    least_charger, most_charger = charger_span_va(house, setting_a)
    least = method_va(house, reading, least_charger, at_most=False)
    dwelling = house.plan["dwelling"]
    needed = ("floor_area", "small_appliance_circuits", "laundry_circuits")
    if (
        most_charger is None
        or stated(dwelling, "loads_complete") is not True
        or any(stated(dwelling, field) is None for field in needed)
        or any(use.each_va is None for use in house.uses)
    ):
        return least, None
    return least, method_va(house, reading, most_charger, at_most=True)


def charger_span_va(
    house: House, setting_a: Fraction | None
) -> tuple[Fraction, Fraction | None]:
    """The least and the most volt-amperes the charger may count at."""
    charger = house.plan["charger"]
    least_a, most_a = charger_a(
        charger, house.edition, setting_a, connection=stated(charger, "connection")
    )
    most_va = None if most_a is None else most_a * house.voltage_v
    return least_a * house.voltage_v, most_va


# ---------------------------------------------------------------- service rating


def conductor_a(part: Tree) -> Fraction | None:
    """What a service conductor allows; None if unknown.

    310.15(B)(7) of 2017, 310.12 since: from 100 to 400 A an ampacity of 83 % of the
    rating is enough for the conductors of a whole dwelling. Otherwise their ampacity,
    230.42(A).
    """
    size, material = stated(part, "size"), stated(part, "material")
    if size is None or material is None:
        return None
    insulation = stated(part, "insulation")
    column_c = 60 if insulation == "TW" else 75
    ampacity = ampacity_a(size, material, column_c)
    if ampacity is None:
        return None
    ampacity *= stated(part, "parallel_sets") or 1
    reduced = [
        rating
        for rating in standard_ratings_a("2017")  # the same ones from 100 A on
        if 100 <= rating <= 400 and Fraction(83, 100) * rating <= ampacity
    ]
    return max([*reduced, ampacity])


def main_a(plan: Tree) -> Fraction | None:
    """The single main, the least where service and panel both name one."""
    service = plan.get("service", {})
    said = [amount(service.get("main", {}), "rating")]
    for panel in plan.get("panels", []):
        if panel.get("fed_from") == service.get("id"):
            said.append(amount(panel, "main_rating"))
    return min((each for each in said if each is not None), default=None)


def service_rating_a(plan: Tree) -> tuple[Fraction | None, Fraction | None]:
    """The rating, None while a part is unknown, and the least of the known parts."""
    service = plan.get("service", {})
    parts: list[Fraction | None] = []
    split = service.get("split_bus_mains", [])
    if split:
        ratings = [amount(each, "rating") for each in split]
        known = [each for each in ratings if each is not None]
        parts.append(sum(known, Fraction(0)) if len(known) == len(ratings) else None)
    else:
        parts.append(main_a(plan))
    buses = [
        amount(panel, "bus_rating")
        for panel in plan.get("panels", [])
        if panel.get("fed_from") == service.get("id")
    ]
    parts += buses or [None]
    parts.append(conductor_a(service.get("conductor", {})))
    parts.append(amount(service, "meter_base_rating"))
    known = [part for part in parts if part is not None]
    least = min(known) if known else None
    return (least if None not in parts else None), least


# ---------------------------------------------------------------- measured demand


def is_barred(plan: Tree) -> bool:
    """Whether 220.87 is closed to the house whatever its record shows.

    Not with renewable energy, nor where peaks are shaved; and only where the service
    has overload protection, 230.90: a main no larger than its conductors allow, or the
    standard rating next above, 240.4(B).
    """
    record = plan.get("demand_record", {})
    if plan.get("sources") or stated(record, "peak_shaved") is True:
        return True
    if not record or plan["service"].get("split_bus_mains"):
        return False
    edition = edition_of(plan)
    main, allowed = main_a(plan), conductor_a(plan["service"].get("conductor", {}))
    if main is None or allowed is None:
        return False
    return main > next_standard_a(allowed, edition)


def is_shown(plan: Tree) -> bool:
    """Whether every condition that 220.87 asks of a record is shown to be met."""
    record = plan.get("demand_record", {})
    absent = set(plan["dwelling"].get("not_present", []))
    days = record_days(record)
    window_min = amount(record, "averaged_over")
    conditions = [
        days is not None and days >= 30,
        window_min is not None and window_min <= 15,
        stated(record, "continuous") is True,
        # Where there is no battery either, nothing is known to shave a peak.
        {"solar", "battery"} <= absent,
        stated(record, "occupied") is not False,
    ]
    if days is not None and days < 365:
        season = stated(record, "seasonal_loads_included") is True
        if amount(record, "seasonal_load_added"):
            season = True  # "by measurement or calculation"
        conditions += [
            stated(record, "highest_loaded_leg") is True,
            stated(record, "occupied") is True,
            season,
            any(amount(record, leg) is not None for leg in LEG_CURRENTS),
        ]
    return all(conditions)


def record_days(record: Tree) -> int | None:
    """Length of the record."""
    days: int | None = stated(record, "days")
    first, last = record.get("from_day"), record.get("to_day")
    if days is None and first is not None and last is not None:
        return int((last - first).days) + 1
    return days


def record_va(house: House) -> Fraction | None:
    """The maximum demand of the record; None if unknown."""
    record = house.plan.get("demand_record", {})
    given = []
    demand = amount(record, "maximum")
    if demand is not None:
        factor = amount(record, "power_factor")
        watts = str(stated(record, "maximum")).endswith("W")
        given.append(demand / factor if factor is not None and watts else demand)
    amperes = [a for leg in LEG_CURRENTS if (a := amount(record, leg)) is not None]
    if amperes:
        given.append(max(amperes) * house.voltage_v)
    if not given:
        return None
    return max(given) + (amount(record, "seasonal_load_added") or Fraction(0))


def measured_span_va(
    house: House, charger: str, setting_a: Fraction | None
) -> tuple[Fraction, Fraction | None]:
    """220.87: 125 % of the record's maximum plus what is new."""
    least_charger, most_charger = charger_span_va(house, setting_a)
    new = [use for use in house.uses if use.proposed]
    demand = record_va(house)
    factor = Fraction(5, 4) if charger == "outside_125" else Fraction(1)
    added = total(new)
    if charger == "outside_125":
        added += total(use for use in new if use.continuous) / 4
    least = (demand or Fraction(0)) * Fraction(5, 4) + added + factor * least_charger
    unsized = any(use.each_va is None for use in new)
    if demand is None or most_charger is None or unsized:
        return least, None
    return least, demand * Fraction(5, 4) + added + factor * most_charger


# ------------------------------------------------------------------------ verdicts


def readings(edition: str) -> list[tuple[str, str, str]]:
    """Every method under every reading that an edition has."""
    where = ("outside", "outside_125")
    if edition != "2026":
        where = ("inside", *where)  # 120.82(D) of 2026 puts charging outside
    found = [("optional", each, "counted") for each in where]
    found += [("existing", c, h) for c in where for h in ("counted", "not_counted")]
    if edition != "2026":  # 120.83 of 2026 has one table only
        found += [("existing_hvac", each, "counted") for each in where]
    found += [("standard", each, "counted") for each in ("outside", "outside_125")]
    found += [("measured", each, "counted") for each in ("outside", "outside_125")]
    return found


def permitted(house: House, method: str) -> bool:
    """Whether the edition lets this house use a method, as far as is known."""
    if method == "optional":  # 220.82(A): a supply of 100 A or more
        return house.least_part_a is None or house.least_part_a >= 100
    if method == "existing" and house.edition != "2026":
        # 220.83(A): no heating or cooling is added; 120.83 of 2026 serves either way.
        added = [use for use in house.uses if use.proposed]
        return not any(use.kind in {*HEATING, *COOLING} for use in added)
    return method != "measured" or not is_barred(house.plan)


def outcome_of(house: House, span_va: tuple[Fraction, Fraction | None]) -> str:
    """Compare a load with the service rating, unrounded."""
    least_a = span_va[0] / house.voltage_v
    if house.least_part_a is not None and least_a > house.least_part_a:
        return "falls_short"
    if house.rating_a is None or span_va[1] is None:
        return "cannot_tell"
    room_a = house.rating_a - span_va[1] / house.voltage_v
    if room_a < 0:
        return "cannot_tell"
    return "narrow" if room_a < house.rating_a * Fraction(5, 100) else "meets"


def span_of(
    house: House, reading: tuple[str, str, str], setting_a: Fraction | None
) -> tuple[Fraction, Fraction | None]:
    """The load by a method and reading, at the least and at the most."""
    if reading[0] == "measured":
        return measured_span_va(house, reading[1], setting_a)
    return least_and_most_va(house, reading, setting_a)


def steps_a(plan: Tree) -> list[Fraction]:
    """The currents the charger can be set to."""
    charger = plan["charger"]
    listed = [number_of(step) for step in charger.get("setting_steps", [])]
    only = {amount(charger, "setting"), amount(charger, "nameplate")}
    return listed or [each for each in only if each is not None]


def judge(house: House, reading: tuple[str, str, str]) -> Row:
    """One row: permitted, outcome, current, largest step."""
    method, charger, hvac = reading
    plan = house.plan
    if not permitted(house, method):
        return Row(method, charger, hvac, False, "not_required", None, None)
    # Table 120.83 of 2026 was seen by nobody; a record without maximum proves nothing.
    blind = method == "existing" and house.edition == "2026"
    if blind or (method == "measured" and record_va(house) is None):
        return Row(method, charger, hvac, True, "cannot_tell", None, None)
    span = span_of(house, reading, setting_of(plan))
    if method == "measured" and not is_shown(plan):
        window_min = amount(plan["demand_record"], "averaged_over") or Fraction(0)
        least = span[0] if window_min >= 15 else Fraction(0)  # a lower bound, or none
        outcome = outcome_of(house, (least, None))
        return Row(method, charger, hvac, True, outcome, None, None)
    outcome = outcome_of(house, span)
    passing = [
        step
        for step in steps_a(plan)
        if outcome_of(house, span_of(house, reading, step)) in ("meets", "narrow")
    ]
    largest = max(passing, default=None)
    least_va, most_va = charger_span_va(house, setting_of(plan))
    settled = span[1] is not None and least_va == most_va
    amperes = span[0] / house.voltage_v if settled else None
    return Row(method, charger, hvac, True, outcome, amperes, largest)


def setting_of(plan: Tree) -> Fraction | None:
    """The current asked about: the setting, or the nameplate where none is stated."""
    charger = plan.get("charger", {})
    return amount(charger, "setting") or amount(charger, "nameplate")


def capacity(plan: Tree) -> dict[tuple[str, str, str], Row]:
    """Every row of the capacity table; none where nobody knows voltage or wish."""
    voltage_v = nominal_v(plan)
    if voltage_v is None or setting_of(plan) is None:
        return {}
    rating, least = service_rating_a(plan)
    edition = edition_of(plan)
    house = House(plan, edition, voltage_v, loads_of(plan), rating, least)
    return {each: judge(house, each) for each in readings(edition)}
