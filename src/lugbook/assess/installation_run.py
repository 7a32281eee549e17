"""The run as it is built: supports, cover, seals, protection, bonding.

One finding a topic, over all sections; those that fall short or are unknown are named.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from lugbook.assess.circuit_laid import Laid
from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.installation_parts import (
    Check,
    Sheet,
    cited,
    fact,
    inches,
    length_text,
    told,
    value_of,
)
from lugbook.codebook.nfpa70.installation import (
    cover_needed_in,
    pvc_movement_in,
    support_limits,
)
from lugbook.errors import MissingEntry
from lugbook.finding import Line, Outcome, SignalWord, Weight, compare
from lugbook.premises.circuit import CABLES, RACEWAYS, Section

__all__ = ["inspect_run"]

_METAL = ("EMT", "IMC", "RMC", "FMC", "LFMC")
_PVC = ("PVC 40", "PVC 80")
_FRAMED = ("in a wall", "attic", "basement", "garage", "indoors", "crawl space")
_NEAR_FIRE_WALL = ("garage", "in a wall", "attic", "indoors")
_RESISTANCE_OHM = 0.1  # common practice, no source: end to end of a sound raceway


def inspect_run(sheet: Sheet) -> None:
    """Write what there is to say of the run but its turns.

    Args:
        sheet: The sheet. [-]
    """
    _supports(sheet)
    _cover(sheet)
    _risers(sheet)
    _ribbon(sheet)
    _seals(sheet)
    _rain(sheet)
    _protection(sheet)
    _bored_holes(sheet)
    _fire_wall(sheet)
    _expansion(sheet)
    _metal_bond(sheet)


def _sections(sheet: Sheet, wanted: Callable[[Laid], bool]) -> list[Laid]:
    return [laid for laid in sheet.case.run if wanted(laid)]


def _place(laid: Laid) -> str | None:
    return value_of(laid.section.place)


def _is_buried(laid: Laid) -> bool:
    return _place(laid) == "underground"


def _is_outdoors(laid: Laid) -> bool:
    return _place(laid) in ("outdoors", "roof")


def _of_sections(
    sheet: Sheet,
    name: str,
    question: str,
    laid: Sequence[Laid],
    judge: Callable[[Laid], Check | None],
    *,
    asks: Mapping[str, str],
    look: str,
    lines: list[Line] | None = None,
    done: str = "",
) -> None:
    """Write one finding over several sections; `judge` may add to the lines."""
    checks: list[Check] = []
    unknown: list[tuple[str, str, str]] = []
    for part in laid:
        each = judge(part)
        if each is None:
            continue
        checks.append(each)
        if each.outcome is Outcome.CANNOT_TELL:
            unknown += [
                (f"circuit.sections.{part.id}.{field}", asked, look)
                for field, asked in asks.items()
                if getattr(part.section, field) is None
            ]
    sheet.answer(
        name,
        question,
        checks,
        lines=tuple(lines or ()),
        unknown=tuple(unknown),
        done=done,
    )


# --- supports, earth, weather ---------------------------------------------------


def _supports(sheet: Sheet) -> None:
    carried = _sections(
        sheet,
        lambda laid: laid.method in (*RACEWAYS, *CABLES) and not _is_buried(laid),
    )
    checks: list[Check] = []
    lines: list[Line] = []
    unknown: list[tuple[str, str, str]] = []
    for laid in carried:
        section = laid.section
        try:
            first_in, spacing_in, line = support_limits(
                edition=sheet.edition,
                method=laid.method or "",
                trade_size=value_of(section.trade_size),
            )
        except MissingEntry:
            continue
        if line not in lines:
            lines.append(line)
        for name, stated, limit_in, asked in (
            (
                "first_support",
                section.first_support,
                first_in,
                "How far from the box is the first strap?",
            ),
            (
                "support_spacing",
                section.support_spacing,
                spacing_in,
                "How far apart are the straps?",
            ),
        ):
            found_in = inches(stated)
            checks.append(
                check(
                    found=(found_in, found_in),
                    limit=(limit_in, limit_in),
                    unit="in",
                    citation=cited((line,)),
                    next=(
                        "Measure the straps when the run hangs: from the box, and "
                        "from strap to strap."
                        if found_in is None
                        else f"Strap {laid.id} closer: {length_text(limit_in)} at most."
                    ),
                )
            )
            if stated is None:
                unknown.append(
                    (
                        f"circuit.sections.{laid.id}.{name}",
                        asked,
                        "tape measure along the run",
                    )
                )
    sheet.answer(
        "run.supports",
        "Is the run strapped closely enough?",
        checks,
        lines=tuple(lines),
        unknown=tuple(unknown),
    )


def _cover(sheet: Sheet) -> None:
    lines: list[Line] = []
    _of_sections(
        sheet,
        "run.cover",
        "Is what is buried deep enough?",
        _sections(sheet, lambda laid: _is_buried(laid) and laid.method is not None),
        lambda laid: _cover_check(sheet, laid, lines),
        asks={
            "burial_depth": "How much cover lies above it?",
            "under_driveway": "Does it pass under a driveway?",
        },
        look="the trench, before it is filled; keep a photo with a tape in it",
        lines=lines,
        done="Have the inspector see the trench before it is filled.",
    )


def _cover_check(sheet: Sheet, laid: Laid, lines: list[Line]) -> Check:
    driveway = value_of(laid.section.under_driveway)
    try:
        least, most = (
            cover_needed_in(
                edition=sheet.edition,
                method=laid.method or "",
                is_under_driveway=under,
            )
            for under in (bool(driveway), driveway is not False)
        )
    except MissingEntry:
        return fact_check(
            False,
            found=laid.method,
            limit="a method made for burial",
            citation=sheet.edition.table("burial-cover").citation,
            next=f"Take a wiring method made for burial in {laid.id}.",
            signal=SignalWord.WARNING,
        )
    lines += [line for line in most.lines if line not in lines]
    depth_in = inches(laid.section.burial_depth)
    compared = check(
        found=(depth_in, depth_in),
        limit=(least.amount, most.amount),
        direction="at least",
        unit="in",
        citation=cited(most.lines),
        next="",
        signal=SignalWord.WARNING,
    )
    return told(
        compared,
        open_=f"Measure the cover of {laid.id} before the trench is filled.",
        short=(
            f"Dig {laid.id} deeper: {length_text(most.amount)} of cover at least, or a "
            "spade finds it."
        ),
    )


def _risers(sheet: Sheet) -> None:
    rule = sheet.edition.rule("emergence-from-ground")
    to_ft, from_in = rule.number("above_grade_ft"), rule.number("below_grade_in")
    _of_sections(
        sheet,
        "run.risers",
        "Is it protected where it comes out of the ground?",
        _sections(sheet, _is_buried),
        lambda laid: fact(
            laid.section.risers_protected,
            found=("protected", "open"),
            limit=f"from {from_in:g} in below to {to_ft:g} ft above the ground",
            citation=rule.citation,
            short=(
                f"Put the riser of {laid.id} into rigid metal or schedule 80 PVC: cut "
                "by a spade or a car it is live outdoors."
            ),
            open_=f"State how the risers of {laid.id} are protected.",
            signal=SignalWord.WARNING,
        ),
        asks={"risers_protected": "Is it protected where it comes out of the ground?"},
        look="both ends of the buried stretch",
    )


def _ribbon(sheet: Sheet) -> None:
    """Write the ribbon: asked for above service conductors only, so advice here."""
    rule = sheet.edition.rule("warning-ribbon")
    above_in = rule.number("above_wiring_in")
    _of_sections(
        sheet,
        "run.warning_ribbon",
        "Will whoever digs there be warned?",
        _sections(sheet, _is_buried),
        lambda laid: fact(
            laid.section.warning_tape,
            found=("ribbon laid", "no ribbon"),
            limit=f"a ribbon {above_in:g} in above it",
            citation=rule.citation,
            short=(
                f"Lay a warning ribbon {above_in:g} in above {laid.id}: the rule asks "
                "for it above service conductors only, a spade does not know that."
            ),
            open_="State whether a warning ribbon is laid.",
            weight=Weight.ADVICE,
        ),
        asks={"warning_tape": "Is a warning ribbon laid above it?"},
        look="the trench, before it is filled",
    )


def _seals(sheet: Sheet) -> None:
    rule = sheet.edition.rule("raceway-seal")
    _of_sections(
        sheet,
        "run.seals",
        "Is the raceway from the ground sealed against moist air?",
        _sections(sheet, lambda laid: _is_buried(laid) and laid.method in RACEWAYS),
        lambda laid: fact(
            laid.section.ends_sealed,
            found=("sealed", "open"),
            limit=f"sealed where {' or '.join(rule.words('where'))}",
            citation=rule.citation,
            short=(
                f"Seal both ends of {laid.id} with duct seal, and leave the lowest "
                "point a drain: water wicks into charger and panel."
            ),
            open_=f"State whether the ends of {laid.id} are sealed.",
        ),
        asks={"ends_sealed": "Are its ends sealed?"},
        look="both ends, covers off, by a qualified person",
    )


def _rain(sheet: Sheet) -> None:
    rule = sheet.edition.rule("wet-location")
    _of_sections(
        sheet,
        "run.rain",
        "Do fittings and hubs outdoors keep the rain out?",
        _sections(sheet, lambda laid: _is_outdoors(laid) and laid.method in RACEWAYS),
        lambda laid: fact(
            laid.section.raintight_fittings,
            found=("raintight", "not raintight"),
            limit="fittings made for rain, a hub where it enters from above",
            citation=rule.citation,
            short=(
                f"Take raintight fittings in {laid.id}, and enter enclosures from "
                "below or through a hub."
            ),
            open_=f"State whether the fittings of {laid.id} are made for rain.",
        ),
        asks={"raintight_fittings": "Are its fittings and hubs made for rain?"},
        look="marks on the fittings",
    )


# --- protection -----------------------------------------------------------------


def _protection(sheet: Sheet) -> None:
    """Write whether what a car or a tool can hit is of a kind that bears it."""
    rule = sheet.edition.rule("conductor-protection")
    sturdy = rule.words("withstanding_methods")

    def judge(laid: Laid) -> Check | None:
        exposed = value_of(laid.section.exposed_to_damage)
        if laid.method in sturdy or _is_buried(laid):
            return None
        return fact_check(
            None if exposed is None else not exposed,
            found=None
            if exposed is None
            else f"{laid.method}, {'exposed' if exposed else 'out of reach'}",
            limit=f"out of reach, or in {', '.join(sturdy)}",
            citation=rule.citation,
            next=(
                f"State whether a car, a tool or a child can hit {laid.id}."
                if exposed is None
                else f"Put {laid.id} into {', '.join(sturdy)} where it can be hit: a "
                "damaged cable is live to the touch."
            ),
            signal=SignalWord.WARNING,
        )

    _of_sections(
        sheet,
        "run.protection",
        "Is the run safe from cars, tools and children?",
        _sections(sheet, lambda laid: laid.method not in sturdy),
        judge,
        asks={"exposed_to_damage": "Can a car, a tool or a child hit it?"},
        look="the run",
    )


def _bored_holes(sheet: Sheet) -> None:
    rule = sheet.edition.rule("bored-holes")
    edge_in = rule.number("edge_distance_in")

    def judge(laid: Laid) -> Check | None:
        section = laid.section
        distance_in, plates = (
            inches(section.edge_distance),
            value_of(section.nail_plates),
        )
        if plates:
            return fact_check(
                True,
                found="steel plates",
                limit=f"{length_text(edge_in)} from the edge, or steel plates",
                citation=rule.citation,
                next="",
            )
        return check(
            found=(distance_in, distance_in),
            limit=(edge_in, edge_in),
            direction="at least",
            unit="in",
            citation=rule.citation,
            next=(
                f"Measure how far the holes of {laid.id} are from the face of the stud."
                if distance_in is None
                else f"Put steel plates over the holes of {laid.id}: a nail goes "
                "through cable and into the legs."
            ),
            signal=SignalWord.WARNING,
        )

    cables = _sections(
        sheet,
        lambda laid: laid.method in (*CABLES, "ENT") and _place(laid) in _FRAMED,
    )
    _of_sections(
        sheet,
        "run.bored_holes",
        "Is the cable far enough from the face of studs and joists?",
        cables,
        judge,
        asks={
            "edge_distance": "How far from the face of studs and joists are its holes?"
        },
        look="tape measure, before the wall is closed",
    )


_FRAMED = ("in a wall", "attic", "basement", "garage", "indoors", "crawl space")


def _fire_wall(sheet: Sheet) -> None:
    rule = sheet.edition.rule("fire-stopping")

    def judge(laid: Laid) -> Check | None:
        crosses = value_of(laid.section.crosses_fire_wall)
        if crosses is False:
            return None
        sealed = value_of(laid.section.fire_sealed) if crosses else None
        return told(
            fact_check(
                sealed,
                found=None if sealed is None else "sealed" if sealed else "open hole",
                limit="sealed with listed material",
                citation=rule.citation,
                next="",
                signal=SignalWord.WARNING,
            ),
            open_=f"State whether {laid.id} crosses that wall, and is sealed there.",
            short=(
                f"Seal the hole of {laid.id} with listed fire-stop: open, it lets "
                "smoke into the house."
            ),
        )

    near = _sections(
        sheet,
        lambda laid: (
            _place(laid) in _NEAR_FIRE_WALL
            or laid.section.crosses_fire_wall is not None
        ),
    )
    _of_sections(
        sheet,
        "run.fire_wall",
        "Is every hole through the wall between garage and house closed?",
        near,
        judge,
        asks={
            "crosses_fire_wall": "Does it cross the wall between garage and house?",
            "fire_sealed": "If it does, is the hole sealed with listed material?",
        },
        look="the run",
    )


def _expansion(sheet: Sheet) -> None:
    """Write whether PVC above ground has room to grow and shrink."""
    lines: list[Line] = []
    _of_sections(
        sheet,
        "run.expansion",
        "Has PVC conduit room to grow and shrink?",
        _sections(sheet, lambda laid: laid.method in _PVC and _is_outdoors(laid)),
        lambda laid: _expansion_check(sheet, laid, lines),
        asks={
            "coldest": "How cold does this stretch get?",
            "expansion_fittings": "How many expansion fittings has it?",
        },
        look="local weather record; the run",
        lines=lines,
    )


def _expansion_check(sheet: Sheet, laid: Laid, lines: list[Line]) -> Check:
    rule = sheet.edition.rule("pvc-expansion")
    limit_in = rule.number("movement_from_in")
    fittings = value_of(laid.section.expansion_fittings)
    coldest_c = value_of(laid.section.coldest)
    movement_in: float | None = None
    if None not in (laid.length_m, laid.ambient_c, coldest_c):
        found = pvc_movement_in(
            edition=sheet.edition,
            length_m=laid.length_m or 0.0,
            change_k=max(0.0, (laid.ambient_c or 0.0) - (coldest_c or 0.0)),
        )
        movement_in = found.amount
        lines += found.lines
    compared = check(
        found=(movement_in, movement_in),
        limit=(limit_in, limit_in),
        unit="in",
        citation=rule.citation,
        next=(
            f"Put an expansion fitting into {laid.id}: without it PVC tears off the "
            "box as the seasons change."
        ),
    )
    if fittings:
        return fact_check(
            True,
            found=f"{fittings} fitted",
            limit="an expansion fitting where it moves much",
            citation=rule.citation,
            next="",
        )
    # The rule asks for one from its figure on, so standing on it is not enough.
    stays = compared.outcome is Outcome.MEETS and compared.margin != 0
    if stays or (compared.outcome is Outcome.FALLS_SHORT and fittings is not None):
        return compared
    return fact_check(
        None,
        found=None if movement_in is None else f"moves {movement_in:.2f} in",
        limit=f"an expansion fitting from {limit_in:g} in on",
        citation=rule.citation,
        next=f"State the coldest that {laid.id} gets, and its expansion fittings.",
    )


def _metal_bond(sheet: Sheet) -> None:
    """Write whether metal raceway is one sound path, most where it is the ground."""
    rule = sheet.edition.rule("raceway-continuity")
    ground = sheet.circuit.equipment_ground if sheet.circuit else None
    is_ground = ground is not None and value_of(ground.kind) == "raceway"

    def judge(laid: Laid) -> Check | None:
        section = laid.section
        bad = _bond_flaw(section, is_ground=is_ground)
        tight = value_of(section.fittings_tight)
        return fact_check(
            False if bad else tight,
            found=bad or (None if tight is None else "tight"),
            limit="tight, clean, bonded from end to end",
            citation=rule.citation,
            next=(
                f"Have {laid.id} mended: {bad}. A raceway that is no path for a fault "
                "stays live until somebody touches it."
                if bad
                else f"Try every coupling and locknut of {laid.id} by hand and wrench."
            ),
            signal=SignalWord.WARNING,
        )

    _of_sections(
        sheet,
        "run.metal_bond",
        "Is metal raceway one sound path from end to end?",
        _sections(sheet, lambda laid: laid.method in _METAL),
        judge,
        asks={"fittings_tight": "Are all its couplings and locknuts tight?"},
        look="hand and wrench, along the run",
        done="A wire inside as grounding conductor is the surer path above 40 A."
        if is_ground
        else "",
    )


def _bond_flaw(section: Section, *, is_ground: bool) -> str:
    """Return what breaks the path, empty if nothing is known to."""
    if value_of(section.fittings_tight) is False:
        return "loose couplings or locknuts"
    if value_of(section.corroded):
        return "rust"
    ohm = value_of(section.end_to_end_resistance)
    if compare(found=ohm, limit=_RESISTANCE_OHM).outcome is Outcome.FALLS_SHORT:
        return f"{ohm:g} ohm from end to end, over {_RESISTANCE_OHM:g}"
    if is_ground and value_of(section.knockouts) == "concentric":
        return "rings left in the knockouts, where the raceway is the ground"
    return ""
