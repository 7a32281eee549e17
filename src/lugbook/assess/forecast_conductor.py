"""What the run's conductors and its raceways or cables will warm to."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache

from lugbook.assess.circuit_case import Case, Laid
from lugbook.assess.circuit_conductor import least_conductor
from lugbook.assess.forecast_parts import CEILING_C, Limit, Warmed, combined
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.ampacity import insulation_rating_c, rooftop_ambient_c
from lugbook.codebook.nfpa70.raceway_fill import conductor_area_in2
from lugbook.errors import LugbookError, MissingEntry, OutOfRange
from lugbook.finding import Citation, Line
from lugbook.physics.conductor_heating import (
    Cable,
    ConductorHeating,
    InAir,
    InEarth,
    InsulatedConductor,
    Material,
    Raceway,
    alternating_current_factor,
    ampacity_of_conductors,
    heating_of_conductors,
    insulated_length_heating,
    insulation_conductance,
    metal_raceway,
    plastic_raceway,
)
from lugbook.physics.contact import PriorRange
from lugbook.physics.materials import constant
from lugbook.premises.circuit import CABLES, RACEWAYS
from lugbook.premises.stated import How, Stated
from lugbook.quantities import Quantity, read

__all__ = [
    "Laying",
    "SectionHeat",
    "ambient_spread",
    "heat_of",
    "in_insulation_c",
    "laying_of",
    "size_in",
    "touch_limit",
]

_PLASTIC = ("PVC 40", "PVC 80", "ENT", "LFNC")
_UNTOUCHED = ("attic", "crawl space", "in a wall", "underground")
# What a cable's conductors are like inside, where the plan names only the cable.
_ALIKE = {"NM-B inner": "THHN", "UF": "THW", "as the cable": "THHN", "RHW": "XHHW"}
_XLPE = ("XHHW", "XHHW-2", "RHW-2", "USE-2", "RHH/RHW-2/USE-2")

# Published method B1 is met with a standard deviation of 3.1 % of the current
# (docs/explanation/heat.md): 6.2 % of the rise, times 1.645 for 5 to 95 %.
_MODEL_FRACTION = 0.10
_GUESSED_K = 5.0  # common practice: how far off a guessed ambient may be
# Three equal circles in a ring (Neher-McGrath); a jacket as cables of this size have.
_CABLE_OVER_WIRE = 2.15
_JACKET_M = 0.0008  # common practice, no source
_INSULATION_M = 0.1  # common practice: what is blown or laid around a run in a house
_METHOD = "Neher-McGrath 1957, eq. (38) to (44); IEC 60287-2-1"


@dataclass(frozen=True, slots=True)
class Laying:
    """A section ready for the heat model.

    Args:
        laid: The section. [-]
        size: Conductor size. [-]
        material: Metal. [-]
        wire: One conductor. [-]
        enclosure: Raceway or cable. [-]
        surroundings: Air or earth. [-]
        loaded_count: Conductors that carry the current. [-]
        group_count: All conductors in the enclosure. [-]
        ambient_c: Air or earth: low, middle, high. [°C]
        insulated_m: Length in thermal insulation; None where in none. [m]
        conductor_limit: Limit of the conductor. [-]
        surface_limit: Limit of the surface; None where nobody touches it. [-]
        lines: What it was made from. [-]
        drivers: What is left out of the figure. [-]
    """

    laid: Laid
    size: str
    material: Material
    wire: InsulatedConductor
    enclosure: Raceway | Cable
    surroundings: InAir | InEarth
    loaded_count: int
    group_count: int
    ambient_c: PriorRange
    insulated_m: float | None
    conductor_limit: Limit | None
    surface_limit: Limit | None
    lines: tuple[Line, ...]
    drivers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SectionHeat:
    """A section at one current.

    Args:
        laid: The section. [-]
        conductor: Its conductors. [-]
        surface: Its raceway or cable; None where it is in insulation or earth. [-]
        heating: The middle state, outside of thermal insulation; None if unknown. [-]
        resistance_ohm_per_m: Of one conductor at its forecast temperature. [ohm/m]
    """

    laid: Laid
    conductor: Warmed
    surface: Warmed | None
    heating: ConductorHeating | None
    resistance_ohm_per_m: float | None


def size_in(case: Case, laid: Laid) -> tuple[str | None, Material]:
    """The conductor of a section: stated, or the least that will do.

    Args:
        case: The circuit. [-]
        laid: The section. [-]

    Returns:
        Size, None if it cannot be known, and metal. [-]
    """
    size = (laid.size if case.size else None) or case.size or least_conductor(case)
    material = laid.material or case.material
    return size, "aluminum" if material == "aluminum" else "copper"


def laying_of(
    case: Case, limits: Edition, laid: Laid, least_trade: str | None
) -> Laying | str:
    """A section made ready for the heat model, or what to state first.

    Args:
        case: The circuit. [-]
        limits: The book of product limits. [-]
        laid: The section. [-]
        least_trade: Least trade size of its raceway, for one that is left out. [-]

    Returns:
        The section, or words for what is missing. [-]
    """
    size, material = size_in(case, laid)
    if size is None:
        return "circuit.conductor.size, or what its size depends on"
    if missing := _missing(laid):
        return missing
    insulation = _ALIKE.get(laid.insulation or "", laid.insulation or "")
    try:
        wire, lines = _wire(case.edition, size, material, insulation)
        enclosure, more = _enclosure(case, limits, laid, wire, least_trade)
        lines += more
        if enclosure is None:
            return f"circuit.sections.{laid.id}.trade_size"
        roof_k = _roof_k(case, laid)
        surroundings = _surroundings(laid, enclosure)
        conductor_limit = _conductor_limit(case, laid)
    except LugbookError as error:  # the size is not printed, or no such run exists
        return f"a run that can be reckoned: {error}"
    drivers = _left_out(laid)
    return Laying(
        laid=laid,
        size=size,
        material=material,
        wire=wire,
        enclosure=enclosure,
        surroundings=surroundings,
        loaded_count=2 if laid.method in CABLES else laid.count,
        group_count=_group_count(case, laid),
        ambient_c=_ambient(laid, roof_k),
        insulated_m=_insulated_m(laid),
        conductor_limit=conductor_limit,
        surface_limit=_surface_limit(limits, laid),
        lines=lines,
        drivers=drivers,
    )


def _missing(laid: Laid) -> str:
    path = f"circuit.sections.{laid.id}"
    if laid.method not in (*RACEWAYS, *CABLES):
        return f"{path}.method: the raceway or cable"
    if laid.ambient_c is None:
        return f"{path}.ambient: how hot it gets there"
    if laid.insulation in (None, "bare"):
        return "circuit.conductor.insulation: the type letters on the conductors"
    if "circuit.conductor.parallel_sets" in laid.missing:
        return "a single conductor a leg: parallel ones are not forecast"
    if laid.method in CABLES and laid.count > 2 + _one_other(laid):
        return (
            f"how the cables of section {laid.id} lie apart: a bundle is not forecast"
        )
    is_buried = _place(laid) == "underground"
    if is_buried and laid.section.burial_depth is None:
        return f"{path}.burial_depth: the cover above it"
    return ""


def _one_other(laid: Laid) -> int:
    """A neutral that counts is inside the cable; more than that lies beside it."""
    others = laid.section.other_current_carrying_conductors
    return 1 if others is None or others.value == 0 else 0


def _place(laid: Laid) -> str | None:
    return laid.section.place.value if laid.section.place else None


def _wire(
    edition: Edition, size: str, material: Material, insulation: str
) -> tuple[InsulatedConductor, tuple[Line, ...]]:
    table = edition.table("conductor-properties")
    row = table.row(size)
    column = "copper_uncoated" if material == "copper" else material
    ohm_per_kft = table.cell(row, f"{column}_ohm_per_kft")
    diameter_in = table.cell(row, "diameter_in")
    if ohm_per_kft is None or diameter_in is None:
        raise MissingEntry(f"{table.citation} prints no resistance for {size}")
    area = conductor_area_in2(edition=edition, size=size, insulation=insulation)
    diameter_m = diameter_in * _inch_m()
    outside_m = math.sqrt(4.0 * area.amount / math.pi) * _inch_m()
    direct = ohm_per_kft / (12_000 * _inch_m())
    resistivity = "xlpe" if insulation in _XLPE else "pvc"
    wire = InsulatedConductor(
        diameter_m=diameter_m,
        outside_diameter_m=outside_m,
        resistance_75c_ohm_per_m=direct,
        material=material,
        insulation_k_m_per_w=constant(f"{resistivity}-resistivity").value,
        ac_factor=alternating_current_factor(
            resistance_ohm_per_m=direct, diameter_m=diameter_m, spacing_m=outside_m
        ),
    )
    return wire, (
        Line(
            f"resistance of {size} {material}, direct current, 75 °C",
            ohm_per_kft,
            "ohm/kft",
            source=table.cite(row),
        ),
        Line(f"diameter of {size}", diameter_m * 1000, "mm", "", "", table.cite(row)),
        Line(
            f"over its insulation, as {insulation}",
            outside_m * 1000,
            "mm",
            "√(4 × area ÷ π)",
            f"√(4 × {area.amount:g} in² ÷ π)",
            area.lines[-1].source,
        ),
    )


@cache
def _inch_m() -> float:
    return read("1 in", Quantity.LENGTH, field="length").amount


def _enclosure(
    case: Case,
    limits: Edition,
    laid: Laid,
    wire: InsulatedConductor,
    least_trade: str | None,
) -> tuple[Raceway | Cable | None, tuple[Line, ...]]:
    if laid.method in CABLES:
        across_m = _CABLE_OVER_WIRE * wire.outside_diameter_m + 2 * _JACKET_M
        line = Line(
            "cable, taken as round",
            across_m * 1000,
            "mm",
            "2.15 × conductor + 2 × jacket",
            f"2.15 × {wire.outside_diameter_m * 1000:.3g} mm + 2 × 0.8 mm",
            "geometry; jacket of 0.8 mm is common practice, no source",
        )
        return Cable(across_m, _JACKET_M), (line,)
    trade = laid.section.trade_size.value if laid.section.trade_size else least_trade
    if trade is None:
        return None, ()
    inside = case.edition.table("raceway-dimensions")
    row = next((r for r in inside.rows if r[:2] == (laid.method, trade)), None)
    if row is None:
        raise MissingEntry(f"{inside.citation} has no {laid.method} {trade}")
    outside = limits.table("raceway-outside-diameter")
    outside_row = outside.row(f"{laid.method} {trade}")
    inside_m = (inside.cell(row, "inside_diameter_in") or 0.0) * _inch_m()
    outside_m = (outside.cell(outside_row, "outside_diameter_in") or 0.0) * _inch_m()
    build = plastic_raceway if laid.method in _PLASTIC else metal_raceway
    raceway = build(inside_diameter_m=inside_m, outside_diameter_m=outside_m)
    return raceway, (
        Line(
            f"{laid.method} {trade}, inside",
            inside_m * 1000,
            "mm",
            source=inside.cite(row),
        ),
        Line(
            f"{laid.method} {trade}, outside",
            outside_m * 1000,
            "mm",
            source=outside.cite(outside_row),
        ),
    )


def _surroundings(laid: Laid, enclosure: Raceway | Cable) -> InAir | InEarth:
    if _place(laid) != "underground" or laid.section.burial_depth is None:
        return InAir(mounting="clipped")
    soil = laid.section.soil_resistivity
    dried = constant("earth-resistivity-dried").value
    return InEarth(
        depth_m=laid.section.burial_depth.value + enclosure.outside_diameter_m / 2,
        earth_k_m_per_w=soil.value if soil else dried,
    )


def _group_count(case: Case, laid: Laid) -> int:
    if laid.method in CABLES:
        return 3
    circuit = case.circuit
    ground = laid.section.equipment_ground or (
        circuit.equipment_ground if circuit else None
    )
    is_wire = ground is None or ground.kind is None or ground.kind.value == "wire"
    neutral = circuit is not None and (
        circuit.neutral is not None
        or (circuit.neutral_pulled is not None and circuit.neutral_pulled.value)
    )
    return max(laid.count, 2 + int(neutral)) + int(is_wire)


def _roof_k(case: Case, laid: Laid) -> float:
    if laid.roof_height_m is None or laid.ambient_c is None:
        return 0.0
    on_roof = rooftop_ambient_c(
        edition=case.edition,
        ambient_c=laid.ambient_c,
        height_m=laid.roof_height_m,
        insulation=laid.insulation or "",
    )
    return on_roof.amount - laid.ambient_c


def _ambient(laid: Laid, roof_k: float) -> PriorRange:
    stated = laid.section.ambient
    middle_c = (laid.ambient_c or 0.0) + roof_k
    low_k, high_k = ambient_spread(stated)
    return PriorRange(middle_c - low_k, middle_c, middle_c + high_k)


def ambient_spread(stated: Stated[float] | None) -> tuple[float, float]:
    """How far a stated temperature may lie below and above its value.

    Args:
        stated: The temperature as stated. [°C]

    Returns:
        Down and up, both positive; its range, or 5 K where it is guessed. [K]
    """
    if stated is None:
        return 0.0, 0.0
    if stated.low is not None and stated.high is not None:
        return max(0.0, stated.value - stated.low), max(0.0, stated.high - stated.value)
    spread_k = _GUESSED_K if stated.how is How.GUESSED else 0.0
    return spread_k, spread_k


def _insulated_m(laid: Laid) -> float | None:
    if not laid.in_insulation or _place(laid) == "underground":
        return None
    return 100.0 if laid.length_m is None else laid.length_m


def _left_out(laid: Laid) -> tuple[str, ...]:
    sun = laid.section.sunlight
    in_sun = sun.value if sun else _place(laid) in ("outdoors", "roof")
    return ("sun on it, which is not in the figure",) if in_sun else ()


def _conductor_limit(case: Case, laid: Laid) -> Limit | None:
    insulation = laid.insulation or ""
    book = "RHW" if insulation == "as the cable" else insulation
    known = [
        rating
        for is_wet in ((True, False) if laid.is_wet is None else (laid.is_wet,))
        if (
            rating := insulation_rating_c(
                edition=case.edition,
                insulation=book,
                is_wet=is_wet and laid.method not in CABLES,
            )
        )
    ]
    if not known:
        return None
    rating = min(known, key=lambda each: each.amount)
    source = rating.lines[0].source
    citation = source if isinstance(source, Citation) else None
    limit = Limit(rating.amount, rating.amount, rating.lines, citation)
    device_a = case.judged_device_a
    if device_a is None or not _is_at_a_terminal(case, laid):
        return limit
    column_c, line = case.column_c(device_a)
    hopeful_c, _ = case.column_c(device_a, hopeful=True)
    if column_c >= rating.amount:
        return limit
    cited = line.source if isinstance(line.source, Citation) else citation
    return Limit(
        float(column_c),
        min(float(hopeful_c), rating.amount),
        (*rating.lines, line),
        cited,
    )


def _is_at_a_terminal(case: Case, laid: Laid) -> bool:
    """Whether a section ends at a terminal, whose heat its wire must carry off."""
    ends = {case.run[0].id, case.run[-1].id}
    terminals = case.circuit.terminals if case.circuit else ()
    return laid.id in ends | {each.section for each in terminals}


def _surface_limit(limits: Edition, laid: Laid) -> Limit | None:
    if _place(laid) in _UNTOUCHED or laid.in_insulation:
        return None
    metal = laid.method in RACEWAYS and laid.method not in _PLASTIC
    return touch_limit(limits, metal=metal)


def touch_limit(limits: Edition, *, metal: bool) -> Limit:
    """How warm a surface may be that somebody may touch for a while.

    Args:
        limits: The book of product limits. [-]
        metal: Whether it is bare metal; else smooth plastic. [-]

    Returns:
        The limit. [-]
    """
    contact_s = limits.rule("touch-contact").number("contact_s")
    table = limits.table("touch")
    row = table.at_most(contact_s)
    column = "bare_metal_low_c" if metal else "smooth_plastic_low_c"
    limit_c = table.cell(row, column) or 0.0
    what = "bare metal" if metal else "smooth plastic"
    line = Line(
        f"burn threshold of {what}, touched for {contact_s:g} s",
        limit_c,
        "°C",
        source=table.cite(row),
    )
    return Limit(limit_c, limit_c, (line,), table.cite(row))


def heat_of(
    laying: Laying | str, laid: Laid, *, current_a: float, loss_factor: float
) -> SectionHeat:
    """A section at a current.

    Args:
        laying: The section ready for the model, or what is missing. [-]
        laid: The section. [-]
        current_a: The current. [A]
        loss_factor: Mean loss of the day over the loss while charging; counts in
            earth only. [-]

    Returns:
        Its conductor and surface. [-]
    """
    name = f"the conductors in section {laid.id}"
    plain = Warmed(f"conductor.{laid.id}", name, "conductor", current_a)
    if isinstance(laying, str):
        return SectionHeat(laid, replace(plain, missing=laying), None, None, None)
    if isinstance(laying.surroundings, InEarth):
        earth = replace(laying.surroundings, loss_factor=loss_factor)
        laying = replace(laying, surroundings=earth)
    try:
        middle = _solved(laying, current_a)
        conductor = _conductor(laying, plain, middle, current_a)
        surface = _surface(laying, middle, current_a)
    except LugbookError as error:
        missing = f"a run that can be reckoned: {error}"
        return SectionHeat(laid, replace(plain, missing=missing), None, None, None)
    heating = middle.heating
    ohm = None if heating is None else heating.resistance_ohm_per_m
    return SectionHeat(laid, conductor, surface, heating, ohm)


@dataclass(frozen=True, slots=True)
class _Solved:
    """Middle or varied state; infinite where it settles nowhere under the ceiling."""

    heating: ConductorHeating | None
    conductor_c: float
    surface_c: float


def _solved(
    laying: Laying, current_a: float, conductivity_factor: float = 1.0
) -> _Solved:
    try:
        heating = heating_of_conductors(
            conductor=laying.wire,
            enclosure=laying.enclosure,
            surroundings=laying.surroundings,
            loaded_count=laying.loaded_count,
            group_count=laying.group_count,
            current_a=current_a,
            ambient_c=laying.ambient_c.median,
        )
    except OutOfRange:
        most = ampacity_of_conductors(
            conductor=laying.wire,
            enclosure=laying.enclosure,
            surroundings=laying.surroundings,
            loaded_count=laying.loaded_count,
            group_count=laying.group_count,
            conductor_c=CEILING_C,
            ambient_c=laying.ambient_c.median,
        )
        if current_a > most.current_a:
            return _Solved(None, math.inf, math.inf)
        raise
    if laying.insulated_m is None:
        return _Solved(heating, heating.conductor_c, heating.surface_c)
    return _Solved(
        heating,
        in_insulation_c(laying, heating, conductivity_factor),
        heating.surface_c,
    )


def in_insulation_c(
    laying: Laying, heating: ConductorHeating, conductivity_factor: float = 1.0
) -> float:
    """The conductor where it lies in thermal insulation.

    Args:
        laying: The section ready for the heat model; it lies in insulation. [-]
        heating: The same run before it enters the insulation. [-]
        conductivity_factor: Multiplies the insulation's conductivity. [-]

    Returns:
        Conductor; infinite where it (in arrays, any of them) settles nowhere under
        the ceiling. [°C]
    """
    batt = constant("insulation-batt-conductivity").value
    metal = constant(f"{laying.material}-conductivity").value
    area_m2 = laying.loaded_count * math.pi / 4 * laying.wire.diameter_m**2
    try:
        return insulated_length_heating(
            outside=heating,
            conductor=laying.wire,
            length_m=laying.insulated_m or 0.0,
            inside_conductance_w_per_m_k=insulation_conductance(
                outside_diameter_m=laying.enclosure.outside_diameter_m,
                thickness_m=_INSULATION_M,
                conductivity_w_per_m_k=batt * conductivity_factor,
            ),
            axial_conductance_w_m_per_k=metal * area_m2,
        )
    except OutOfRange:
        return math.inf


def _conductor(
    laying: Laying, plain: Warmed, middle: _Solved, current_a: float
) -> Warmed:
    parts = _parts(laying, middle, current_a)
    span, drivers = _span(middle.conductor_c, parts)
    return replace(
        plain,
        ambient_c=laying.ambient_c.median,
        span=span,
        limit=laying.conductor_limit,
        drivers=(*drivers, *laying.drivers),
        lines=(*laying.lines, *_lines(laying, middle, current_a, parts)),
    )


def _span(
    middle_c: float, parts: dict[str, tuple[float, float]]
) -> tuple[PriorRange, tuple[str, ...]]:
    if math.isfinite(middle_c):
        return combined(middle_c, parts)
    # It runs away in the middle; the kindest reading of every part is its low end.
    low_c = min((down for down, _ in parts.values()), default=math.inf)
    return PriorRange(low_c, math.inf, math.inf), tuple(parts)


def _parts(
    laying: Laying, middle: _Solved, current_a: float
) -> dict[str, tuple[float, float]]:
    """Return how far each uncertainty lowers and raises the conductor.

    Where the middle runs away, the lowered temperature itself stands in its place.
    """
    low, mid, high = (
        laying.ambient_c.low,
        laying.ambient_c.median,
        laying.ambient_c.high,
    )
    found: dict[str, tuple[float, float]] = {}
    if math.isfinite(middle.conductor_c):
        model_k = _MODEL_FRACTION * (middle.conductor_c - mid)
        found["the model, against published tables"] = (model_k, model_k)
        if high > low:
            found["the air around it"] = (mid - low, high - mid)
    for name, cool, hot in _variants(laying):
        down_c = _varied(cool, current_a)
        if math.isfinite(middle.conductor_c):
            up_c = _varied(hot, current_a)
            down_k = max(0.0, middle.conductor_c - down_c)
            found[name] = (down_k, max(0.0, up_c - middle.conductor_c))
        else:
            found[name] = (down_c, math.inf)
    return found


_Variant = tuple[Laying, float]


def _variants(laying: Laying) -> list[tuple[str, _Variant, _Variant]]:
    """Return what may be otherwise: its name, the cool way, the hot way."""
    found: list[tuple[str, _Variant, _Variant]] = []
    pvc = constant("pvc-resistivity").uncertainty
    wire = laying.wire
    found.append(
        (
            "the conductors' insulation",
            (_with_wire(laying, wire.insulation_k_m_per_w - pvc), 1.0),
            (_with_wire(laying, wire.insulation_k_m_per_w + pvc), 1.0),
        )
    )
    enclosure, around = laying.enclosure, laying.surroundings
    if isinstance(enclosure, Raceway) and isinstance(around, InAir):
        is_metal = laying.laid.method not in _PLASTIC
        bright = constant("bright-raceway-emissivity").value
        hot = replace(enclosure, emissivity=bright) if is_metal else enclosure
        found.append(
            (
                "a bright new raceway, which sheds less heat",
                (laying, 1.0),
                (replace(laying, enclosure=hot), 1.0),
            )
        )
    if isinstance(around, InEarth):
        soil = constant("earth-resistivity-dried").uncertainty
        found.append(
            (
                "the soil",
                (_with_soil(laying, around, -soil), 1.0),
                (_with_soil(laying, around, soil), 1.0),
            )
        )
    if laying.insulated_m is not None:
        batt = constant("insulation-batt-conductivity")
        share = batt.uncertainty / batt.value
        found.append(
            (
                "the thermal insulation around it",
                (laying, 1.0 + share),
                (laying, 1.0 - share),
            )
        )
    return found


def _with_wire(laying: Laying, resistivity: float) -> Laying:
    return replace(laying, wire=replace(laying.wire, insulation_k_m_per_w=resistivity))


def _with_soil(laying: Laying, around: InEarth, more_k_m_per_w: float) -> Laying:
    resistivity = max(0.3, around.earth_k_m_per_w + more_k_m_per_w)  # wet clay
    return replace(laying, surroundings=replace(around, earth_k_m_per_w=resistivity))


def _varied(variant: _Variant, current_a: float) -> float:
    laying, factor = variant
    return _solved(laying, current_a, factor).conductor_c


def _surface(laying: Laying, middle: _Solved, current_a: float) -> Warmed | None:
    if isinstance(laying.surroundings, InEarth) or laying.insulated_m is not None:
        return None
    what = "raceway" if isinstance(laying.enclosure, Raceway) else "cable"
    plain = Warmed(
        f"surface.{laying.laid.id}",
        f"the {what} of section {laying.laid.id}, outside",
        "surface",
        current_a,
        laying.ambient_c.median,
        limit=laying.surface_limit,
    )
    if not math.isfinite(middle.surface_c):
        return replace(plain, span=PriorRange(math.inf, math.inf, math.inf))
    rise_k = middle.surface_c - laying.ambient_c.median
    parts = {"the model, against published tables": (_MODEL_FRACTION * rise_k,) * 2}
    parts["the air around it"] = (
        laying.ambient_c.median - laying.ambient_c.low,
        laying.ambient_c.high - laying.ambient_c.median,
    )
    if isinstance(laying.enclosure, Raceway) and laying.laid.method not in _PLASTIC:
        bright = replace(
            laying.enclosure, emissivity=constant("bright-raceway-emissivity").value
        )
        hot = _solved(replace(laying, enclosure=bright), current_a)
        up_k = max(0.0, hot.surface_c - middle.surface_c)
        parts["a bright new raceway, which sheds less heat"] = (0.0, up_k)
    span, drivers = combined(middle.surface_c, parts)
    return replace(
        plain,
        span=span,
        drivers=(*drivers, *laying.drivers),
        lines=_surface_lines(laying, middle, current_a),
    )


def _surface_lines(
    laying: Laying, middle: _Solved, current_a: float
) -> tuple[Line, ...]:
    heating = middle.heating
    lines = [
        Line("ambient", laying.ambient_c.median, "°C", source=_ambient_source(laying)),
        Line("current", current_a, "A", source="the setting"),
    ]
    if heating is not None:
        lines.append(
            Line(
                f"heat of {laying.loaded_count} conductors",
                heating.heat_w_per_m,
                "W/m",
                "conductors × current² × resistance",
                f"{laying.loaded_count} × ({current_a:g} A)² × "
                f"{heating.resistance_ohm_per_m:.4g} ohm/m",
            )
        )
        lines.append(
            Line(
                "outside surface",
                heating.surface_c,
                "°C",
                "where the heat made leaves it",
                source=_METHOD,
            )
        )
    return tuple(lines)


def _ambient_source(laying: Laying) -> str:
    stated = laying.laid.section.ambient
    path = f"circuit.sections.{laying.laid.id}.ambient"
    return f"{stated.source}, {path}" if stated else path


def _lines(
    laying: Laying,
    middle: _Solved,
    current_a: float,
    parts: dict[str, tuple[float, float]],
) -> tuple[Line, ...]:
    lines = list(_surface_lines(laying, middle, current_a))
    around = laying.surroundings
    if isinstance(around, InEarth):
        lines.append(Line("depth to its centre", around.depth_m, "m"))
        lines.append(
            Line("thermal resistivity of the earth", around.earth_k_m_per_w, "K·m/W")
        )
        lines.append(Line("share of the day that it charges", around.loss_factor))
    heating = middle.heating
    if heating is not None:
        lines.append(
            Line(
                "conductors, in the open",
                heating.conductor_c,
                "°C",
                "surface + heat × (wall, gap, insulation)",
                f"{heating.surface_c:.4g} °C + {heating.heat_w_per_m:.4g} W/m × …",
                _METHOD,
            )
        )
    if laying.insulated_m is not None:
        lines.append(
            Line(
                "length in thermal insulation, 100 mm all round, 0.04 W/(m·K)",
                laying.insulated_m,
                "m",
                source="fin of two sections; thickness is common practice, no source",
            )
        )
    lines.extend(
        Line(f"uncertain: {name}", f"−{down:.1f} K, +{up:.1f} K")
        for name, (down, up) in parts.items()
        if math.isfinite(down + up) and down + up >= 0.05  # else it shows as nothing
    )
    return tuple(lines)
