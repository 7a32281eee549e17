"""The sections of the run, resolved to what the ampacity rules need of each."""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.circuit_parts import Notes
from lugbook.codebook.edition import Edition
from lugbook.premises.circuit import CABLES, Circuit, Section
from lugbook.premises.plan import Plan
from lugbook.quantities import Quantity, in_unit

__all__ = ["PARALLEL", "Laid", "laid_run"]

_WET_PLACES = ("outdoors", "roof", "underground")
_ALWAYS_WET = "underground"  # in a raceway too, whatever is said of it: 300.5(B)
PARALLEL = "circuit.conductor.parallel_sets"
# Conductors of a cable whose print nobody read: no listed cable of these has less.
CABLE_INSULATION = {"SE cable": "RHW", "MC cable": "THWN", "AC cable": "THWN"}


@dataclass(frozen=True, slots=True)
class Laid:
    """A section of the run, resolved.

    Args:
        id: Id of the section. [-]
        method: Wiring method; None if unknown. [-]
        insulation: Type letters; None if unknown. [-]
        is_wet: Whether the place is wet; None if unknown. [-]
        is_inside: Whether it is inside the house. [-]
        in_insulation: Whether it lies in thermal insulation. [-]
        ambient_c: Ambient; None if unknown. [°C]
        count: Current-carrying conductors that adjust its ampacity. [-]
        length_m: Length; None if unknown. [m]
        roof_height_m: Height over a sunny roof; None where not on one. [m]
        size: Its own conductor size where it differs from the circuit's. [-]
        material: Its own material where it differs. [-]
        missing: Fields that its ampacity needs and nobody stated. [-]
        section: The section as stated. [-]
        is_print_read: Whether a cable's conductors are as the plan reads them. [-]
    """

    id: str
    method: str | None
    insulation: str | None
    is_wet: bool | None
    is_inside: bool
    in_insulation: bool
    ambient_c: float | None
    count: int
    length_m: float | None
    roof_height_m: float | None
    size: str | None
    material: str | None
    missing: tuple[str, ...]
    section: Section
    is_print_read: bool = True


def laid_run(plan: Plan, edition: Edition, notes: Notes) -> tuple[Laid, ...]:
    """Every section of the plan's circuit, resolved; none where none is stated.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        notes: Where unknowns and assumptions go. [-]

    Returns:
        Sections in the order of the run. [-]
    """
    circuit = plan.circuit
    if circuit is None:
        return ()
    return tuple(
        _laid(plan, edition, circuit, section, notes) for section in circuit.sections
    )


def _laid(
    plan: Plan, edition: Edition, circuit: Circuit, section: Section, notes: Notes
) -> Laid:
    path = f"circuit.sections.{section.id}"
    missing: list[str] = []
    method = section.method.value if section.method else None
    insulation = _section_insulation(circuit, section, method, notes)
    place = section.place.value if section.place else None
    is_wet = section.wet.value if section.wet else None
    if place == _ALWAYS_WET:
        is_wet = True
    if is_wet is None and place is not None:
        is_wet = place in _WET_PLACES
    if method is None:
        missing.append(f"{path}.method")
    if insulation is None and method != "NM cable":
        missing.append("circuit.conductor.insulation")
    if section.ambient is None:
        missing.append(f"{path}.ambient")
        notes.unknown(
            f"{path}.ambient",
            f"How hot does it get around section {section.id}?",
            "a thermometer there on a hot afternoon; an attic may pass 50 °C (122 °F)",
        )
    roof_height_m = None
    in_sun = section.sunlight is None or section.sunlight.value
    if place == "roof" and in_sun:
        if section.roof_height is None:
            missing.append(f"{path}.roof_height")
            notes.unknown(
                f"{path}.roof_height",
                f"How high above the roof does section {section.id} run?",
                "from the roof to the underside of the raceway or cable",
            )
        else:
            roof_height_m = section.roof_height.value
    own = section.conductor
    if _sets(circuit, section) > 1:
        missing.insert(0, PARALLEL)
    return Laid(
        id=section.id,
        method=method,
        insulation=insulation,
        is_wet=is_wet,
        is_inside=place is not None and place not in _WET_PLACES and not is_wet,
        in_insulation=_in_insulation(section, method, path, notes),
        ambient_c=section.ambient.value if section.ambient else None,
        count=_count(plan, edition, circuit, section, notes),
        length_m=section.length.value if section.length else None,
        roof_height_m=roof_height_m,
        size=own.size.value if own and own.size else None,
        material=own.material.value if own and own.material else None,
        missing=tuple(missing),
        section=section,
        is_print_read=_stated_insulation(circuit, section)
        not in (None, "as the cable"),
    )


def _stated_insulation(circuit: Circuit, section: Section) -> str | None:
    parts = (section.conductor, circuit.conductor)
    return next((p.insulation.value for p in parts if p and p.insulation), None)


def _sets(circuit: Circuit, section: Section) -> int:
    stated = [
        part.parallel_sets.value
        for part in (circuit.conductor, section.conductor)
        if part is not None and part.parallel_sets is not None
    ]
    return max(stated, default=1)


def _section_insulation(
    circuit: Circuit, section: Section, method: str | None, notes: Notes
) -> str | None:
    """Return the type letters that count in a section, None where unknown."""
    if method == "NM cable":
        return "NM-B inner"
    if method == "UF cable":
        return "UF"
    own = section.conductor
    stated = _stated_insulation(circuit, section)
    if stated == "as the cable" and method not in CABLE_INSULATION:
        stated = None
    if method in CABLE_INSULATION and stated in (None, "as the cable"):
        notes.assume(
            f"circuit.sections.{section.id}.insulation",
            f"The conductors in the {method} are rated 75 °C.",
            "nobody read the print on the cable; listed cable of this kind has no less",
        )
        return CABLE_INSULATION[method]
    sized = not (own and own.size) and not (
        circuit.conductor and circuit.conductor.size
    )
    if stated is None and sized:
        return "THWN-2"
    if stated is None:
        notes.unknown(
            "circuit.conductor.insulation",
            "Which type letters are printed on the conductors?",
            "the print along the wire, such as THHN/THWN-2 or XHHW-2",
        )
    return stated


def _in_insulation(
    section: Section, method: str | None, path: str, notes: Notes
) -> bool:
    if section.in_insulation is not None:
        return section.in_insulation.value
    if method not in ("AC cable", "SE cable", "NM cable"):
        return False
    place = section.place.value if section.place else None
    if place not in (None, "attic", "crawl space", "in a wall"):
        return False
    notes.assume(
        f"{path}.in_insulation",
        f"Section {section.id} lies in thermal insulation.",
        "nobody said; the lower ampacity is the safe side",
    )
    return True


def _count(
    plan: Plan, edition: Edition, circuit: Circuit, section: Section, notes: Notes
) -> int:
    """Return how many current-carrying conductors adjust a section's ampacity."""
    others = section.other_current_carrying_conductors
    path = f"circuit.sections.{section.id}.other_current_carrying_conductors"
    if others is None:
        notes.assume(
            path,
            f"Section {section.id} runs with no other loaded conductors beside it.",
            "nobody stated others in the same raceway or bundle",
        )
    own = 2 + _neutral_counts(plan, circuit)
    beside = others.value if others else 0
    if _is_short_bundle(edition, section, beside):
        beside = 0
    return own + max(beside, _beside_in_hole(edition, section))


def _beside_in_hole(edition: Edition, section: Section) -> int:
    """Return the loaded conductors of the NM cables that share one hole with this.

    However thin the framing: the hole is taken as one that is sealed, and every cable
    as holding two of them (334.80).
    """
    method = section.method.value if section.method else None
    cables = section.cables_in_one_hole.value if section.cables_in_one_hole else 1
    kept = section.spacing_kept is not None and section.spacing_kept.value
    over = edition.rule("nm-cable").number("bundled_over_count")
    if method != "NM cable" or kept or cables <= over:
        return 0
    return 2 * (cables - 1)


def _is_short_bundle(edition: Edition, section: Section, beside: int) -> bool:
    """Return whether conductors lie together too short a way to be adjusted."""
    method = section.method.value if section.method else None
    if method in CABLES:
        together, limit_in = (
            section.bundled_length,
            edition.rule("counted-conductors").number("cables_bundled_over_in"),
        )
        # Each other cable of a dwelling holds two loaded conductors.
        several = 1 + beside / 2 > edition.rule("nm-cable").number("bundled_over_count")
        if several and (section.in_insulation is None or section.in_insulation.value):
            return False
    else:
        together, limit_in = (
            section.bundled_length or section.length,
            edition.rule("nipple").number("length_up_to_in"),
        )
    if together is None:
        return False
    return in_unit(together.value, Quantity.LENGTH, "in") <= limit_in * (1 + 1e-9)


def _neutral_counts(plan: Plan, circuit: Circuit) -> int:
    """Return 1 where a neutral of a wye supply counts as current-carrying."""
    wye = (
        plan.service is not None
        and plan.service.system is not None
        and plan.service.system.value.startswith("120/208")
    )
    pulled = circuit.neutral_pulled is not None and circuit.neutral_pulled.value
    return 1 if wye and (pulled or circuit.neutral is not None) else 0
