"""How the run is built: bends, fittings, cover, supports, PVC moving, electrode."""

from __future__ import annotations

from collections.abc import Sequence

from lugbook.codebook.edition import Edition
from lugbook.errors import MissingEntry, OutOfRange
from lugbook.finding import Line, Reckoned
from lugbook.quantities import CONDUCTOR_SIZES, Quantity, in_unit

__all__ = [
    "SupportLimits",
    "bend_radius_needed_in",
    "box_length_needed_in",
    "cover_needed_in",
    "electrode_conductor_needed",
    "pvc_movement_in",
    "support_limits",
    "trade_size_in",
    "worst_bends_deg",
]

SupportLimits = tuple[float, float, Line]
"""Inches from the box to the first support, inches between supports, the line."""

_BURIED = {
    "RMC": "rigid_or_intermediate_metal_cover_in",
    "IMC": "rigid_or_intermediate_metal_cover_in",
    "PVC 40": "nonmetallic_raceway_cover_in",
    "PVC 80": "nonmetallic_raceway_cover_in",
    "UF cable": "direct_burial_cover_in",
}
_DRIVEWAY = "under a driveway or parking area of a one- or two-family dwelling"
_OPEN_GROUND = "any place not named below"
_SUPPORT_ROW = {
    "PVC 40": "PVC",
    "PVC 80": "PVC",
    "NM cable": "NM",
    "MC cable": "MC",
    "AC cable": "AC",
    "SE cable": "SE, inside",
    "UF cable": "UF, inside",
}
_TRADE_SIZES = {
    "1/2": 0.5,
    "3/4": 0.75,
    "1": 1.0,
    "1-1/4": 1.25,
    "1-1/2": 1.5,
    "2": 2.0,
    "2-1/2": 2.5,
    "3": 3.0,
}
_FAHRENHEIT_PER_KELVIN = 1.8
_ELECTRODES = {"rod": "rod_copper_size", "concrete": "concrete_copper_size"}


def trade_size_in(trade_size: str) -> float:
    """Return a trade size as the number of inches it is named by.

    Args:
        trade_size: Trade size as the plan names it. [-]

    Returns:
        Number of inches. [in]

    Raises:
        MissingEntry: No such trade size.
    """
    if trade_size not in _TRADE_SIZES:
        known = ", ".join(_TRADE_SIZES)
        raise MissingEntry(f"no trade size {trade_size}; there are {known}")
    return _TRADE_SIZES[trade_size]


def worst_bends_deg(
    *, edition: Edition, stretches: Sequence[Sequence[float]]
) -> Reckoned:
    """How much does the worst stretch between two pull points bend?

    Args:
        edition: Edition of the rules. [-]
        stretches: Bends of each stretch between pull points. [deg]

    Returns:
        Sum of the bends of the worst stretch. [deg]

    Raises:
        OutOfRange: There is no stretch.

    Rule:
        raceway-bends

    Checked by:
        tests/codebook/test_installation.py, by hand

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> worst_bends_deg(edition=open_edition("2023"),
        ...     stretches=[[90, 90, 90, 90], [45]]).amount
        360.0
    """
    if not stretches:
        raise OutOfRange("no stretch of raceway is given; at least one is needed")
    worst = max(stretches, key=sum)
    rule = edition.rule("raceway-bends")
    total = float(sum(worst))
    lines = (
        Line(
            f"worst of {len(stretches)} stretches between pull points",
            total,
            "deg",
            "sum",
            " + ".join(f"{bend:g}" for bend in worst) or "no bend",
        ),
        Line("at most", rule.number("bends_up_to_deg"), "deg", source=rule.citation),
    )
    return Reckoned(total, lines)


def bend_radius_needed_in(*, edition: Edition, trade_size: str) -> Reckoned:
    """Which radius must a field bend have at the least, to the centre line?

    Args:
        edition: Edition of the rules. [-]
        trade_size: Trade size of the raceway. [-]

    Returns:
        Radius of a bend made with a shoe bender. [in]

    Raises:
        MissingEntry: The table does not hold the trade size.

    Rule:
        table bend-radius

    Checked by:
        tests/codebook/test_installation.py
    """
    table = edition.table("bend-radius")
    row = table.row(trade_size)
    radius_in = table.cell(row, "shoe_bender_radius_in")
    if radius_in is None:
        raise MissingEntry(f"{table.citation} prints no radius for {trade_size}")
    line = Line(
        f"radius at least, trade size {trade_size}",
        radius_in,
        "in",
        "",
        "",
        table.cite(row),
    )
    return Reckoned(radius_in, (line,))


def box_length_needed_in(
    *, edition: Edition, trade_size: str, size: str, is_straight: bool
) -> Reckoned | None:
    """How long must a fitting or box be in which conductors are pulled?

    Args:
        edition: Edition of the rules. [-]
        trade_size: Trade size of the largest raceway that enters it. [-]
        size: Size of the conductors. [-]
        is_straight: Whether they go straight through, and not round a corner. [-]

    Returns:
        Inside length; None where the conductors are too small for the rule. [in]

    Raises:
        MissingEntry: No such trade size.

    Valid for:
        One raceway in the wall, none beside it in the same row.

    Rule:
        conduit-body

    Checked by:
        tests/codebook/test_installation.py: a trade magazine's quiz

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> box_length_needed_in(edition=open_edition("2023"), trade_size="1",
        ...     size="3 AWG", is_straight=False).amount
        6.0
    """
    rule = edition.rule("conduit-body")
    from_size = rule.text("applies_from_size")
    if CONDUCTOR_SIZES.index(size) < CONDUCTOR_SIZES.index(from_size):
        return None
    kind = "straight" if is_straight else "angle"
    factor = rule.number(f"{kind}_pull_factor")
    length_in = factor * trade_size_in(trade_size)
    line = Line(
        f"inside length at least, {kind} pull",
        length_in,
        "in",
        "factor × trade size",
        f"{factor:g} × {trade_size_in(trade_size):g} in",
        rule.citation,
    )
    return Reckoned(length_in, (line,))


def cover_needed_in(
    *, edition: Edition, method: str, is_under_driveway: bool
) -> Reckoned:
    """How deep must buried wiring lie, from its top to the surface?

    Args:
        edition: Edition of the rules. [-]
        method: Wiring method as the plan names it. [-]
        is_under_driveway: Whether it passes under a driveway of the house. [-]

    Returns:
        Cover. [in]

    Raises:
        MissingEntry: The table holds no column for the wiring method.

    Valid for:
        240 V circuits in open ground or under a driveway of a dwelling.

    Rule:
        table burial-cover

    Checked by:
        tests/codebook/test_installation.py, tests/validation/tables/burial-cover.csv

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> cover_needed_in(edition=open_edition("2023"), method="PVC 40",
        ...     is_under_driveway=False).amount
        18.0
    """
    table = edition.table("burial-cover")
    if method not in _BURIED:
        known = ", ".join(_BURIED)
        raise MissingEntry(
            f"{table.citation} prints no cover for {method}; for {known}"
        )
    row = table.row(_DRIVEWAY if is_under_driveway else _OPEN_GROUND)
    cover_in = table.cell(row, _BURIED[method])
    if cover_in is None:
        raise MissingEntry(f"{table.citation} prints no cover for {method} there")
    line = Line(f"cover at least, {method}", cover_in, "in", "", "", table.cite(row))
    return Reckoned(cover_in, (line,))


def support_limits(
    *, edition: Edition, method: str, trade_size: str | None
) -> SupportLimits:
    """How near the box is the first support, and how far apart are the others?

    Args:
        edition: Edition of the rules. [-]
        method: Wiring method as the plan names it. [-]
        trade_size: Trade size of a raceway; None if unknown or a cable. [-]

    Returns:
        Limits and their line; of an unknown trade size the strictest. [in]

    Raises:
        MissingEntry: The table does not hold the method in this size.

    Rule:
        table support-spacing

    Checked by:
        tests/codebook/test_installation.py, tests/validation/tables/support-spacing.csv
    """
    table = edition.table("support-spacing")
    name = _SUPPORT_ROW.get(method, method)
    rows = [row for row in table.rows if row[0] == name]
    if trade_size is not None:
        rows = [
            row for row in rows if _holds_size(str(row[1]), str(row[2]), trade_size)
        ]
    if not rows:
        raise MissingEntry(f"{table.citation} has no row for {method} {trade_size}")
    spacing = table.columns.index("spacing_in")
    row = min(rows, key=lambda each: float(each[spacing]))
    from_box_in = table.cell(row, "from_box_in")
    spacing_in = table.cell(row, "spacing_in")
    if from_box_in is None or spacing_in is None:
        raise MissingEntry(f"{table.citation} prints no spacing for {method}")
    line = Line(
        f"supports of {method}",
        f"{from_box_in:g} in from the box, then every {spacing_in:g} in",
        "",
        "",
        "",
        table.cite(row),
    )
    return from_box_in, spacing_in, line


def _holds_size(first: str, last: str, trade_size: str) -> bool:
    if first == "-":
        return True
    wanted = trade_size_in(trade_size)
    return trade_size_in(first) <= wanted <= trade_size_in(last)


def pvc_movement_in(*, edition: Edition, length_m: float, change_k: float) -> Reckoned:
    """How much does a straight run of PVC grow and shrink?

    Args:
        edition: Edition of the rules. [-]
        length_m: Length of the run. [m]
        change_k: From its coldest to its warmest. [K]

    Returns:
        Change of length. [in]

    Raises:
        OutOfRange: Length or change is negative or not finite.

    Rule:
        pvc-expansion

    Checked by:
        tests/codebook/test_installation.py: a conduit maker's manual

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> round(pvc_movement_in(edition=open_edition("2023"), length_m=30.48,
        ...     change_k=100 / 1.8).amount, 3)
        4.056
    """
    if not (0 <= length_m < float("inf") and 0 <= change_k < float("inf")):
        raise OutOfRange(
            f"a run of {length_m} m and a change of {change_k} K; both must be finite "
            "and not negative"
        )
    rule = edition.rule("pvc-expansion")
    per_degf = rule.number("expansion_per_degf")
    length_in = in_unit(length_m, Quantity.LENGTH, "in")
    change_degf = change_k * _FAHRENHEIT_PER_KELVIN
    movement_in = per_degf * length_in * change_degf
    line = Line(
        "change of length",
        movement_in,
        "in",
        "coefficient × length × change",
        f"{per_degf:g} per °F × {length_in:g} in × {change_degf:g} °F",
        rule.citation,
    )
    return Reckoned(movement_in, (line,))


def electrode_conductor_needed(
    *, edition: Edition, supply_size: str, material: str, electrode: str
) -> tuple[str, Line]:
    """Which copper conductor must go to a grounding electrode?

    Args:
        edition: Edition of the rules. [-]
        supply_size: Size of the largest supply conductor. [-]
        material: Metal of the supply conductor: "copper" or "aluminum". [-]
        electrode: "rod", "concrete", or "water" for a water pipe. [-]

    Returns:
        Copper size, and the line. [-]

    Raises:
        MissingEntry: The table does not hold the supply conductor.

    Rule:
        grounding-electrode, table grounding-electrode-conductor

    Checked by:
        tests/codebook/test_installation.py,
        tests/validation/tables/grounding-electrode-conductor.csv

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> electrode_conductor_needed(edition=open_edition("2023"),
        ...     supply_size="4/0 AWG", material="aluminum", electrode="water")[0]
        '4 AWG'
    """
    table = edition.table("grounding-electrode-conductor")
    column = table.columns.index(f"{material}_supply_up_to_size")
    wanted = CONDUCTOR_SIZES.index(supply_size)
    row = next(
        (
            each
            for each in table.rows
            if not isinstance(each[column], str)
            or (
                each[column] in CONDUCTOR_SIZES
                and wanted <= CONDUCTOR_SIZES.index(str(each[column]))
            )
        ),
        None,
    )
    if row is None:
        raise MissingEntry(f"{table.citation} has no row for {supply_size} {material}")
    size = str(row[table.columns.index("copper_size")])
    citation = table.cite(row)
    if electrode in _ELECTRODES:
        rule = edition.rule("grounding-electrode")
        enough = rule.text(_ELECTRODES[electrode])
        if CONDUCTOR_SIZES.index(enough) < CONDUCTOR_SIZES.index(size):
            size, citation = enough, rule.cite(_ELECTRODES[electrode])
    line = Line(
        f"copper to the electrode ({electrode}), supply {supply_size} {material}",
        size,
        "",
        "",
        "",
        citation,
    )
    return size, line
