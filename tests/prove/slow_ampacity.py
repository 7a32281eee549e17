"""The circuit a second time: device, conductor and grounding conductor, slowly.

Written as slow_load is: from the sources, in exact fractions, and held against ten
houses worked by hand before it was laid beside the project. What nobody stated is taken
at its best and at its worst: an answer is one where both ends agree.

Conventions both versions go by, each erring on the safe side: an unread terminal counts
as 60 °C where a size is to be found, and as 75 °C where a growth is; conductors of a
cable whose print nobody read are taken as 75 °C; a cable in a place that may hold
insulation lies in it unless the plan says no; wires nobody mentioned are not there.
Not covered: conductors in parallel, sections with conductors of their own, raceways as
grounding path, terminals listed one by one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from slow_load import amount, charger_a, edition_of, setting_of, stated
from slow_tables import (
    SIZES,
    ambient_factor,
    ampacity_a,
    circular_mils,
    count_factor,
    grounding_size,
    insulation_c,
    next_standard_a,
    small_conductor_limit_a,
)

Tree = Mapping[str, Any]
CABLES = ("NM cable", "SE cable", "MC cable", "AC cable", "UF cable")
WET_PLACES = ("outdoors", "roof", "underground")
MAY_HOLD_INSULATION = (None, "attic", "crawl space", "in a wall")
DEGREES = {"60 °C": 60, "75 °C": 75, "90 °C": 75, "60/75 °C": 75}
SHORT_FT = Fraction(10)  # 310.15(A)(2) exception of 2017, 310.14(A)(2) since
SHORT_SHARE = Fraction(1, 10)
NIPPLE_FT = Fraction(2)  # 24 in, 310.15(B)(3)(a) of 2017, 310.15(C)(1) since
NARROW = Fraction(95, 100)


@dataclass(frozen=True)
class End:
    """One end of what nobody said: a current that counts, and unread terminals."""

    current_a: Fraction | None
    unread_c: int


@dataclass(frozen=True)
class Judged:
    """A part of the circuit: outcome, and the least that will do."""

    outcome: str
    minimum: str | None


@dataclass(frozen=True)
class Circuit:
    """The three parts."""

    overcurrent_device: Judged
    conductor: Judged
    equipment_grounding_conductor: Judged


# ------------------------------------------------------------- what can be in doubt


def best_and_worst(plan: Tree) -> tuple[End, End]:
    """The least current with the best terminals, the most with the worst."""
    charger = plan.get("charger", {})
    least_a, most_a = charger_a(
        charger,
        edition_of(plan),
        setting_of(plan),
        connection=stated(charger, "connection"),
    )
    return End(least_a, 75), End(most_a, 60)


def likely_a(plan: Tree) -> Fraction:
    """The current that sizing goes by: the most, or the least where none is known."""
    best, worst = best_and_worst(plan)
    current = best.current_a if worst.current_a is None else worst.current_a
    assert current is not None
    return current


def three_ways(best: bool | None, worst: bool | None) -> str:
    """Short where even the best end is, met where even the worst is."""
    if best is False:
        return "falls_short"
    return "meets" if worst is True else "cannot_tell"


def gravest(outcomes: list[str]) -> str:
    """The gravest of several outcomes."""
    order = ("falls_short", "cannot_tell", "narrow", "meets")
    return min(outcomes, key=order.index)


# -------------------------------------------------------------------- terminals


def terminal_marks(plan: Tree) -> list[int | None]:
    """The markings on the path: device, panel where marked, disconnect, far end."""
    circuit = plan["circuit"]
    charger = plan.get("charger", {})
    marks = [stated(circuit.get("overcurrent", {}), "terminal_temperature")]
    if stated(charger, "connection") == "receptacle":
        marks.append(None)  # the circuit ends at the receptacle, which the plan
        # marks only among its terminals
    else:
        marks.append(stated(charger, "terminal_temperature"))
    disconnect = circuit.get("disconnect")
    if disconnect is not None and stated(disconnect, "kind") != "none":
        marks.append(stated(disconnect, "terminal_temperature"))
    for panel in plan.get("panels", []):
        mark = stated(panel, "terminal_temperature")
        if panel.get("id") == circuit.get("fed_from") and mark is not None:
            marks.append(mark)
    return [None if mark is None else DEGREES[mark] for mark in marks]


def terminal_column_c(plan: Tree, unread_c: int, device: Fraction) -> int:
    """110.14(C)(1): the lowest marking; over 100 A the unread count as 75 °C."""
    marks = terminal_marks(plan)
    if None in marks and device <= 100:
        known = [mark for mark in marks if mark is not None]
        return unread_c if unread_c == 60 else min([unread_c, *known])
    return min([75, *(mark for mark in marks if mark is not None)])


# ------------------------------------------------------------------- one section


@dataclass(frozen=True)
class Stretch:
    """A section of the run as the rules see it."""

    length_ft: Fraction | None
    insulation: str | None
    start_c: int | None  # column of the insulation; None where it may not lie there
    cap_c: int | None  # column the ampacity may not exceed
    ambient_c: Fraction | None
    count: int
    nothing_known: bool  # neither the wiring method nor the wire
    columns_known: bool
    known: bool


def stretch_of(plan: Tree, section: Tree, size: str) -> Stretch:
    """Columns, ambient and count of a section."""
    method = stated(section, "method")
    insulation = insulation_of(plan, method)
    start_c, cap_c, columns_known = columns_of(
        plan["circuit"].get("conductor", {}), section, insulation, size
    )
    ambient = amount(section, "ambient")
    known = columns_known and ambient is not None
    place = stated(section, "place")
    in_the_sun = stated(section, "sunlight") is not False
    if place == "roof" and in_the_sun:
        height_ft = amount(section, "roof_height")
        if height_ft is None:
            known = False
        elif height_ft < Fraction(7, 8) / 12 and insulation != "XHHW-2":
            ambient = None if ambient is None else ambient + 33  # 310.15(B)(2)
    return Stretch(
        length_ft=amount(section, "length"),
        insulation=insulation,
        start_c=start_c,
        cap_c=cap_c,
        ambient_c=ambient,
        count=counted(plan, section, method),
        nothing_known=method is None and insulation is None,
        columns_known=columns_known,
        known=known,
    )


def insulation_of(plan: Tree, method: str | None) -> str | None:
    """Type letters of the conductors in a section; None where unknown."""
    part = plan["circuit"].get("conductor", {})
    said = stated(part, "insulation")
    if method == "NM cable":
        return "NM-B inner"
    if method == "UF cable":
        return "UF"
    unread = {"SE cable": "RHW", "MC cable": "THWN", "AC cable": "THWN"}
    if method in unread and said in (None, "as the cable"):
        return unread[method]
    if said == "as the cable":
        return None
    if said is None and stated(part, "size") is None:
        return "THWN-2"  # nothing chosen yet: the usual wire
    known: str | None = said
    return known


def columns_of(
    conductor: Tree, section: Tree, insulation: str | None, size: str
) -> tuple[int | None, int | None, bool]:
    """Column to start from, column not to exceed, and whether both are known."""
    method = stated(section, "method")
    wet = is_wet(section)
    if insulation is None:
        return None, None, False
    if method is None:
        # 310.10(C): some wire may not lie in the wet, whatever it lies in; other wire
        # has no more than its own column.
        own_c = insulation_c(insulation, wet=wet is True)
        return own_c, None, own_c is None
    if method == "NM cable":  # 334.80
        return 90, 60, True
    if method == "UF cable":  # 340.80; inside it is laid as NM is, 340.10(4)
        place = stated(section, "place")
        inside = place is not None and place not in WET_PLACES and wet is False
        return (90 if inside else 60), 60, True
    if method in CABLES:
        # Where a cable may not lie is a question of its own.
        start_c = insulation_c(insulation, wet=False)
        cap_c = None
        if is_in_insulation(section, method):
            if method == "AC cable":  # 320.80(A): its conductors must be of 90 °C
                read = stated(conductor, "insulation") not in (None, "as the cable")
                return (min(90, start_c or 90) if read else 90), 60, True
            if method == "SE cable" and SIZES.index(size) <= SIZES.index("10 AWG"):
                cap_c = 60  # 338.10(B)(4)(a)
        return start_c, cap_c, True
    if wet is None:
        dry_c, wet_c = (
            insulation_c(insulation, wet=False),
            insulation_c(insulation, wet=True),
        )
        return dry_c, None, dry_c == wet_c
    return insulation_c(insulation, wet=wet), None, True


def is_wet(section: Tree) -> bool | None:
    """300.5(B): underground is wet; 300.9: a raceway outdoors too, unless said dry."""
    place = stated(section, "place")
    if place == "underground":
        return True
    wet: bool | None = stated(section, "wet")
    if wet is None and place is not None:
        return place in WET_PLACES
    return wet


def is_in_insulation(section: Tree, method: str) -> bool:
    """Whether a cable lies in thermal insulation, as said or as it may be."""
    said: bool | None = stated(section, "in_insulation")
    if said is None:
        return stated(section, "place") in MAY_HOLD_INSULATION
    return said


def counted(plan: Tree, section: Tree, method: str | None) -> int:
    """Current-carrying conductors together: two legs, a wye's neutral, and others.

    A neutral pulled on a 120/208 V supply counts, 310.15(B)(5)(b), 310.15(E). A nipple
    of 24 in needs no adjustment. More than two NM cables through one hole count
    together, spacing or not said, 334.80.
    """
    circuit = plan["circuit"]
    system = stated(plan.get("service", {}), "system")
    wye = system == "120/208 V of a three-phase wye"
    own = 3 if wye and stated(circuit, "neutral_pulled") is True else 2
    others = stated(section, "other_current_carrying_conductors") or 0
    length_ft = amount(section, "length")
    if method not in CABLES and length_ft is not None and length_ft <= NIPPLE_FT:
        others = 0
    cables = stated(section, "cables_in_one_hole") or 1
    if (
        method == "NM cable"
        and cables > 2
        and stated(section, "spacing_kept") is not True
    ):
        others = max(others, 2 * (cables - 1))
    return own + others


def material_of(plan: Tree) -> str:
    """Metal of the legs; copper where nobody said."""
    part = plan["circuit"].get("conductor", {})
    return stated(part, "material") or "copper"


def corrected_a(stretch: Stretch, size: str, material: str) -> Fraction:
    """Column of the insulation × ambient × count, not above the cap's column."""
    if stretch.start_c is None or stretch.ambient_c is None:
        return Fraction(0)
    base = ampacity_a(size, material, stretch.start_c)
    factor = ambient_factor(stretch.ambient_c, stretch.start_c)
    if base is None or factor is None:
        return Fraction(0)
    found = base * factor * count_factor(stretch.count)
    if stretch.cap_c is None:
        return found
    return min(found, ampacity_a(size, material, stretch.cap_c) or Fraction(0))


def stretches_of(plan: Tree, size: str) -> list[Stretch]:
    """Every section."""
    sections = plan["circuit"].get("sections", [])
    return [stretch_of(plan, section, size) for section in sections]


def run_ampacity_a(plan: Tree, stretches: list[Stretch], size: str) -> Fraction | None:
    """Ampacity in the conditions of use of the whole run; None where not known.

    The lowest section governs, but sections of lower ampacity together no longer than
    10 ft and a tenth of the run may be passed over. In 2026 only where correction or
    adjustment lowered them.
    """
    material = material_of(plan)
    if not stretches or not all(each.known for each in stretches):
        return None
    found = [corrected_a(each, size, material) for each in stretches]
    lengths = [each.length_ft for each in stretches if each.length_ft is not None]
    if len(lengths) < len(stretches):
        return min(found)
    allowed = min(SHORT_FT, SHORT_SHARE * sum(lengths, Fraction(0)))
    best = min(found)
    for candidate in found:
        low = [i for i, each in enumerate(found) if each < candidate]
        short = sum((lengths[i] for i in low), Fraction(0))
        passable = short <= allowed and all(found[i] > 0 for i in low)
        if edition_of(plan) == "2026":
            mark = stretches[found.index(candidate)]
            passable = passable and all(
                stretches[i].insulation == mark.insulation
                and plain_a(stretches[i], size, material) >= candidate
                for i in low
            )
        if passable:
            best = max(best, candidate)
    return best


def plain_a(stretch: Stretch, size: str, material: str) -> Fraction:
    """Ampacity of a section before correction and adjustment."""
    columns = [c for c in (stretch.start_c, stretch.cap_c) if c is not None]
    return ampacity_a(size, material, min(columns)) or Fraction(0)


# ---------------------------------------------------------------- the three tests


def terminal_ampacity_a(
    plan: Tree, stretches: list[Stretch], unread_c: int, device: Fraction, size: str
) -> Fraction | None:
    """Table ampacity in the column of terminals, insulation and cable.

    None where the table prints none; a section whose insulation may not lie there
    allows nothing.
    """
    if ampacity_a(size, material_of(plan), 60) is None:
        return None
    column = terminal_column_c(plan, unread_c, device)
    for stretch in stretches:
        if stretch.start_c is None:
            if stretch.columns_known:
                return Fraction(0)
            continue
        column = min(column, stretch.start_c, stretch.cap_c or column)
    return ampacity_a(size, material_of(plan), column)


def largest_device_a(plan: Tree, ampacity: Fraction, size: str) -> Fraction:
    """240.4(B): the next standard rating up; 240.4(D): small conductors' own limit."""
    if ampacity == 0:
        return Fraction(0)
    largest = next_standard_a(ampacity, edition_of(plan))
    limit = small_conductor_limit_a(size, material_of(plan))
    return largest if limit is None else min(largest, limit)


def conductor_tests(plan: Tree, size: str, device: Fraction) -> str:
    """Terminals, conditions of use, protection: one outcome for a size."""
    best, worst = best_and_worst(plan)
    stretches = stretches_of(plan, size)
    if stretches and all(each.nothing_known for each in stretches):
        return "cannot_tell"  # a cable's article may cap what nobody knows
    at_best = terminal_ampacity_a(plan, stretches, best.unread_c, device, size)
    at_worst = terminal_ampacity_a(plan, stretches, worst.unread_c, device, size)
    in_use = run_ampacity_a(plan, stretches, size)
    if at_best is None or at_worst is None:
        return "cannot_tell"
    # 210.19(A)(1): 125 % at the terminals, uncorrected.
    terminals = three_ways(
        carries(at_best, best.current_a, Fraction(5, 4)),
        carries(at_worst, worst.current_a, Fraction(5, 4)),
    )
    if in_use is None:
        # The run can only lower what the terminals allow.
        protected = device <= largest_device_a(plan, at_best, size)
        return gravest([terminals, "cannot_tell" if protected else "falls_short"])
    use = three_ways(
        carries(in_use, best.current_a, Fraction(1)),
        carries(in_use, worst.current_a, Fraction(1)),
    )
    if use == "meets" and worst.current_a is not None:
        narrow = worst.current_a > NARROW * in_use
        use = "narrow" if narrow else use
    protection = three_ways(
        device <= largest_device_a(plan, min(at_best, in_use), size),
        device <= largest_device_a(plan, min(at_worst, in_use), size),
    )
    return gravest([terminals, use, protection])


def carries(
    ampacity: Fraction, current: Fraction | None, factor: Fraction
) -> bool | None:
    """Whether an ampacity is at least a factor times a current."""
    return None if current is None else ampacity >= factor * current


def will_do(plan: Tree, size: str, device: Fraction, unread_c: int) -> bool:
    """Whether a size passes for the likely current, its unread terminals as given."""
    current = likely_a(plan)
    stretches = stretches_of(plan, size)
    at_terminals = terminal_ampacity_a(plan, stretches, unread_c, device, size)
    in_use = run_ampacity_a(plan, stretches, size)
    if at_terminals is None or in_use is None:
        return False
    return (
        at_terminals >= Fraction(5, 4) * current
        and in_use >= current
        and device <= largest_device_a(plan, min(at_terminals, in_use), size)
    )


def least_size(plan: Tree, device: Fraction, unread_c: int) -> str | None:
    """The smallest conductor that passes all three tests."""
    for size in SIZES:
        if will_do(plan, size, device, unread_c):
            return size
    return None


def least_by_terminals(plan: Tree, device: Fraction) -> str | None:
    """The smallest conductor by the terminals alone, at their best."""
    for size in SIZES:
        stretches = stretches_of(plan, size)
        if stretches and all(each.nothing_known for each in stretches):
            return None
        found = terminal_ampacity_a(plan, stretches, 75, device, size)
        if found is not None and found >= Fraction(5, 4) * likely_a(plan):
            return size
    return None


# ----------------------------------------------------------------------- verdicts


def device_minimum_a(plan: Tree) -> Fraction:
    """125 % of a continuous load, 625.41 and 210.20(A), next rating of 240.6(A)."""
    return next_standard_a(Fraction(5, 4) * likely_a(plan), edition_of(plan))


def device_of(plan: Tree) -> Fraction:
    """The stated device, or the least."""
    said = amount(plan["circuit"].get("overcurrent", {}), "rating")
    return device_minimum_a(plan) if said is None else said


def judge_device(plan: Tree) -> Judged:
    """Is the device at least 125 %, and no larger than the charger's label allows?"""
    said = amount(plan["circuit"].get("overcurrent", {}), "rating")
    most = amount(plan.get("charger", {}), "maximum_overcurrent")
    best, worst = best_and_worst(plan)
    least = device_minimum_a(plan)
    minimum = f"{least} A"
    if said is None:
        settled = best.current_a == worst.current_a
        fits = most is None or least <= most
        return Judged("falls_short" if settled and not fits else "meets", minimum)
    outcomes = [
        three_ways(
            carries(said, best.current_a, Fraction(5, 4)),
            carries(said, worst.current_a, Fraction(5, 4)),
        )
    ]
    if most is not None and said > most:
        outcomes.append("falls_short")
    nameplate = amount(plan.get("charger", {}), "nameplate")
    if most is None and nameplate is not None:
        # 110.3(B), 625.6: a device beyond what the nameplate asks for needs the label.
        usual = next_standard_a(Fraction(5, 4) * nameplate, edition_of(plan))
        outcomes += ["cannot_tell"] if said > usual else []
    return Judged(gravest(outcomes), minimum)


def judge_conductor(plan: Tree) -> Judged:
    """The stated conductor by the three tests, and the least that passes them."""
    size = stated(plan["circuit"].get("conductor", {}), "size")
    device = device_of(plan)
    minimum = least_size(plan, device, 60)
    if size is None:
        return Judged("cannot_tell" if minimum is None else "meets", minimum)
    return Judged(conductor_tests(plan, size, device), minimum)


def grounding_areas(plan: Tree) -> tuple[Fraction | None, Fraction | None]:
    """Circular mils asked of the grounding wire: at the best, and at the worst.

    Table 250.122 by the device; 250.122(B): in proportion where the legs are larger
    than the least that suffices where they are laid; 250.122(A): never larger than
    the legs, where both are of one metal.
    """
    metal = stated(plan["circuit"].get("equipment_ground", {}), "material") or "copper"
    device = device_of(plan)
    by_table = grounding_size(device, metal)
    if by_table is None:
        return None, None
    base = circular_mils(by_table)
    size = stated(plan["circuit"].get("conductor", {}), "size")
    if size is None:
        return base, base
    least = least_size(plan, device, 75)
    by_run = least is not None
    least = least or least_by_terminals(plan, device)
    if least is None:
        return base, None
    needed = base
    if circular_mils(size) > circular_mils(least):
        needed = base * circular_mils(size) / circular_mils(least)
    if metal == material_of(plan):
        needed = min(needed, circular_mils(size))
    return (needed if by_run else min(needed, base)), needed


def judge_grounding(plan: Tree) -> Judged:
    """The stated grounding wire against the least."""
    part = plan["circuit"].get("equipment_ground", {})
    best, worst = grounding_areas(plan)
    minimum = None
    if worst is not None:
        minimum = next((each for each in SIZES if circular_mils(each) >= worst), None)
    kind, size = stated(part, "kind"), stated(part, "size")
    if kind == "none":
        return Judged("falls_short", minimum)
    if size is None:
        built = stated(plan["circuit"].get("conductor", {}), "size") is not None
        unsaid = kind is None and minimum is not None
        return Judged("meets" if unsaid and not built else "cannot_tell", minimum)
    area = circular_mils(size)
    outcome = three_ways(
        None if best is None else area >= best,
        None if worst is None else area >= worst,
    )
    return Judged(outcome, minimum)


def circuit(plan: Tree) -> Circuit | None:
    """The three parts; nothing where no circuit or no current is asked about."""
    if setting_of(plan) is None or "circuit" not in plan:
        return None
    return Circuit(judge_device(plan), judge_conductor(plan), judge_grounding(plan))
