"""What each method of the load calculation says, proves and assumes; why they differ.

Closed texts in one place: terminal, page and JSON print the same.
"""

from __future__ import annotations

from collections.abc import Sequence

from lugbook.assess.assessment import CapacityRow, MethodText
from lugbook.finding import Outcome

__all__ = [
    "CHARGER_NAMES",
    "HVAC_NAMES",
    "METHOD_NAMES",
    "METHOD_TITLES",
    "method_texts",
    "why_they_differ",
]

METHOD_NAMES = {
    "optional": "Optional method",
    "existing": "Existing dwelling",
    "existing_hvac": "Existing dwelling, heating or cooling added",
    "standard": "Standard method",
    "measured": "Measured demand",
}
METHOD_TITLES = {
    **METHOD_NAMES,
    "optional": f"{METHOD_NAMES['optional']}, one dwelling",
    "existing": f"{METHOD_NAMES['existing']}, no heating or cooling added",
}
# Whole, for running text; short, for a label or a narrow column.
CHARGER_NAMES = {
    "inside": ("inside the demand factor", "inside"),
    "outside": ("outside the demand factor", "outside"),
    "outside_125": ("outside, continuous loads at 125 %", "outside, 125 %"),
}
HVAC_NAMES = {"counted": "counted", "not_counted": "left out"}
_PASSES = (Outcome.MEETS, Outcome.NARROW)


_TEXTS = (
    MethodText(
        "optional",
        METHOD_TITLES["optional"],
        "Adds up what is connected, counts the first part in full and the rest at a "
        "share, and the larger of heating and cooling beside it.",
        "The load is lawful for one dwelling. It does not prove that so much never "
        "runs at once.",
        "Loads seldom run together. That holds for cooking and washing, not for a "
        "charger or a kiln that runs for hours.",
    ),
    MethodText(
        "existing",
        METHOD_TITLES["existing"],
        "As the optional method, for a house that stands, with less of it in full. Its "
        "words name no heating or cooling; both readings are shown.",
        "The load is lawful where no heating or cooling is added. With these left out "
        "it says nothing of a cold or hot night.",
        "Every load is on the list. A forgotten one makes the total too low.",
    ),
    MethodText(
        "existing_hvac",
        METHOD_TITLES["existing_hvac"],
        "The same with heating and cooling at their own shares.",
        "The load is lawful with heating and cooling counted.",
        "As the method above.",
    ),
    MethodText(
        "standard",
        METHOD_TITLES["standard"],
        "Counts each kind of load by its own rule, and a quarter of the largest motor "
        "more.",
        "The load is lawful by the oldest and strictest way. A house that fails here "
        "may pass another method; one permitted method is enough.",
        "Cooking, drying and fixed appliances differ in how they run together.",
    ),
    MethodText(
        "measured",
        METHOD_TITLES["measured"],
        "Takes the highest average the house really drew, a quarter more, and adds "
        "what is new.",
        "The house as it was lived in during the record leaves this much room. It does "
        "not prove what another family, a colder winter or a new appliance will draw.",
        "The record is long, fine and whole enough, and nothing was added since. A "
        "meter adds both legs up; the more loaded one carries more than half.",
    ),
)


def method_texts(rows: Sequence[CapacityRow]) -> tuple[MethodText, ...]:
    """What the methods shown say, prove and assume.

    Args:
        rows: Every method under every interpretation. [-]

    Returns:
        A text for each method among them, in reading order. [-]
    """
    shown = {row.method for row in rows}
    return tuple(text for text in _TEXTS if text.method in shown)


def why_they_differ(
    rows: Sequence[CapacityRow], recorded_va: float | None
) -> tuple[str, ...]:
    """Why methods and readings come to different answers for this house.

    Args:
        rows: Every method under every interpretation. [-]
        recorded_va: Highest demand that was measured; None if none was. [VA]

    Returns:
        Sentences; none where all come to one answer. [-]
    """
    usable = [row for row in rows if row.permitted and row.va is not None]
    said = (
        _measured_or_counted(usable, recorded_va),
        _inside_or_outside(usable),
        _with_or_without_hvac(usable),
        _standard_or_optional(usable),
    )
    return tuple(sentence for sentence in said if sentence)


def _measured_or_counted(rows: Sequence[CapacityRow], recorded_va: float | None) -> str:
    measured = _row(rows, "measured", "outside")
    counted = [
        row.base_va or 0.0
        for row in rows
        if row.method != "measured"
        and row.interpretation.charger == "outside"
        and row.prudent
    ]
    if measured is None or not counted or recorded_va is None:
        return ""
    least, most = _kva(min(counted)), _kva(max(counted))
    span = least if least == most else f"{least} to {most}"
    return (
        f"The house without the charger counts {span} by calculation. Its record shows "
        f"{_kva(recorded_va)} at the highest, {_kva(measured.base_va or 0.0)} with the "
        "quarter added. A calculation counts what is connected, by shares; a record "
        "counts what ran together while it lasted."
    )


def _inside_or_outside(rows: Sequence[CapacityRow]) -> str:
    inside, outside = (_row(rows, "optional", word) for word in ("inside", "outside"))
    if inside is None or outside is None or _agree(inside, outside):
        return ""
    return (
        f"The optional method comes to {_kva(inside.va or 0.0)} with the charger "
        f"inside the demand factor and to {_kva(outside.va or 0.0)} with it outside. "
        "Inside, only a share of it counts, although it runs at full current for hours."
    )


def _with_or_without_hvac(rows: Sequence[CapacityRow]) -> str:
    left_out, counted = (
        _row(rows, "existing", "outside", hvac) for hvac in ("not_counted", "counted")
    )
    if left_out is None or counted is None or _agree(left_out, counted):
        return ""
    return (
        "The method for an existing dwelling passes only with heating and cooling left "
        "out. Its words allow that; on the hottest or coldest day they run."
    )


def _standard_or_optional(rows: Sequence[CapacityRow]) -> str:
    standard, optional = (
        _row(rows, method, "outside") for method in ("standard", "optional")
    )
    if standard is None or optional is None or _agree(standard, optional):
        return ""
    return (
        f"The standard method comes to {_kva(standard.va or 0.0)}, the optional to "
        f"{_kva(optional.va or 0.0)}: they give fixed appliances and motors different "
        "relief. Either may be used."
    )


def _row(
    rows: Sequence[CapacityRow], method: str, charger: str, hvac: str = "counted"
) -> CapacityRow | None:
    asked = (method, charger, hvac)
    for row in rows:
        if (row.method, row.interpretation.charger, row.interpretation.hvac) == asked:
            return row
    return None


def _agree(one: CapacityRow, other: CapacityRow) -> bool:
    return (one.outcome in _PASSES) is (other.outcome in _PASSES)


def _kva(amount_va: float) -> str:
    return f"{amount_va / 1000:.1f} kVA"
