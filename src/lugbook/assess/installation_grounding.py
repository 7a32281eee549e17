"""Ground: the service's electrode and bonds, and the detached building's own."""

from __future__ import annotations

from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.installation_parts import Check, Sheet, fact, value_of
from lugbook.codebook.nfpa70.installation import electrode_conductor_needed
from lugbook.errors import MissingEntry
from lugbook.finding import Citation, Line, Outcome, SignalWord, Weight, compare
from lugbook.premises.circuit import Conductor
from lugbook.premises.dwelling import DetachedBuilding
from lugbook.premises.stated import Stated
from lugbook.quantities import CONDUCTOR_SIZES

__all__ = ["inspect_detached", "inspect_service_ground"]

_STRAY_A = 0.1  # common practice, no source: what a clamp shows of nothing
_KIND_OF = {
    "ground rod": "rod",
    "two ground rods": "rod",
    "plate": "rod",
    "concrete-encased electrode": "concrete",
}


def inspect_service_ground(sheet: Sheet) -> None:
    """Write what there is to say of the service's ground: a list to look through.

    Args:
        sheet: The sheet. [-]
    """
    service = sheet.plan.service
    if service is None:
        return
    ground = sheet.citation("service-grounding")
    bonds = (
        (
            "panel.main_bonding",
            "Are neutral and enclosure joined at the service?",
            service.main_bonding_jumper_seen,
            sheet.citation("service-bonding"),
            "Have the main bonding jumper fitted before anything is energised: "
            "without it a fault trips nothing and every metal case stays live.",
            "service.main_bonding_jumper_seen",
            "main panel, by a qualified person",
            SignalWord.WARNING,
        ),
        (
            "panel.ground_clamps",
            "Are the clamps of the grounding electrode tight and clean?",
            service.grounding_clamps_tight,
            ground,
            "Have the clamps cleaned and tightened.",
            "service.grounding_clamps_tight",
            "where the bare wire from the panel ends",
            None,
        ),
        (
            "panel.water_bond",
            "Are metal water pipes bonded?",
            service.water_pipe_bonded,
            ground,
            "Have the metal water pipe bonded near where it enters.",
            "service.water_pipe_bonded",
            "a clamp near where the pipe enters",
            None,
        ),
        (
            "panel.gas_bond",
            "Are metal gas pipes bonded?",
            service.gas_pipe_bonded,
            sheet.citation("service-grounding", "gas_pipe_bonded"),
            "Have the metal gas pipe bonded as the gas supplier and the rule ask.",
            "service.gas_pipe_bonded",
            "a clamp near the gas meter",
            None,
        ),
        (
            "panel.intersystem_bond",
            "Is there a bonding bar for telephone and cable?",
            service.intersystem_bonding,
            ground,
            "Have an intersystem bonding bar fitted beside the meter.",
            "service.intersystem_bonding",
            "beside the meter",
            None,
        ),
    )
    for name, question, stated, citation, short, field, look, signal in bonds:
        _bond(sheet, name, question, stated, citation, short, field, look, signal)
    _electrode(sheet)


def _bond(
    sheet: Sheet,
    name: str,
    question: str,
    stated: Stated[bool] | None,
    citation: Citation,
    short: str,
    field: str,
    look: str,
    signal: SignalWord | None,
) -> None:
    # Only the jumper decides whether a fault trips; the others an old house may lack.
    weight = Weight.MUST if signal else Weight.ADVICE
    sheet.answer(
        name,
        question,
        (
            fact(
                stated,
                found=("yes", "no"),
                limit="yes",
                citation=citation,
                short=short,
                open_=f"Look: {look}.",
                weight=weight,
                signal=signal,
            ),
        ),
        unknown=((field, question, look),),
        weight=weight,
    )


def _electrode(sheet: Sheet) -> None:
    service = sheet.plan.service
    if service is None:
        return
    found = service.electrodes
    none_seen = "none seen" in found
    checks = [
        fact_check(
            None if not found else not none_seen,
            found=", ".join(found) or None,
            limit="a grounding electrode",
            citation=sheet.citation("service-grounding"),
            next=(
                "Have a grounding electrode fitted and connected."
                if none_seen
                else "See where the bare wire from the panel ends."
            ),
        )
    ]
    lines: tuple[Line, ...] = ()
    sized = None
    supply, conductor = service.conductor, service.grounding_electrode_conductor
    if found and not none_seen and conductor is not None:
        sized = _size_check(sheet, found, supply, conductor)
    if sized is not None:
        checks.append(sized[0])
        lines = (sized[1],)
    sheet.answer(
        "panel.grounding_electrode",
        "Has the service a grounding electrode, and a conductor large enough to it?",
        checks,
        lines=lines,
        unknown=(
            (
                "service.electrodes",
                "Which grounding electrodes has the house?",
                "where the bare wire from the panel ends",
            ),
        ),
    )


def _size_check(
    sheet: Sheet,
    electrodes: tuple[str, ...],
    supply: Conductor | None,
    conductor: Conductor,
) -> tuple[Check, Line] | None:
    """Return whether the electrode's conductor is large enough; copper only."""
    size, material = value_of(conductor.size), value_of(conductor.material)
    supply_size = value_of(supply.size) if supply else None
    supply_metal = value_of(supply.material) if supply else None
    if None in (size, supply_size, supply_metal) or material != "copper":
        return None
    kinds = {_KIND_OF.get(each, "water") for each in electrodes}
    # With several electrodes the conductor to the most demanding one is meant.
    kind = "water" if "water" in kinds else "concrete" if "concrete" in kinds else "rod"
    try:
        needed, line = electrode_conductor_needed(
            edition=sheet.edition,
            supply_size=supply_size or "",
            material=supply_metal or "",
            electrode=kind,
        )
    except MissingEntry:
        return None
    rank = CONDUCTOR_SIZES.index
    each = check(
        found=(rank(size or ""),) * 2,
        limit=(rank(needed),) * 2,
        direction="at least",
        unit="",
        citation=line.source if isinstance(line.source, Citation) else None,
        next="",
    )
    told = fact_check(
        each.outcome is Outcome.MEETS,
        found=f"{size} copper",
        limit=f"{needed} copper at least",
        citation=each.citation,
        next=f"Have the conductor to the electrode replaced by {needed} copper.",
    )
    return told, line


def inspect_detached(sheet: Sheet) -> None:
    """Write what there is to say of a detached building's ground and disconnect.

    Args:
        sheet: The sheet. [-]
    """
    building = sheet.plan.detached_building
    if building is None:
        return
    by_branch = value_of(building.supply_kind) == "branch circuit"
    _wires(sheet, building)
    _neutral(sheet, building)
    _own_electrode(sheet, building, by_branch=by_branch)
    _disconnect(sheet, building)
    _bonding_test(sheet, building)


def _wires(sheet: Sheet, building: DetachedBuilding) -> None:
    """Write whether ground comes with the feeder; three wires may only stay."""
    if value_of(building.supply_kind) != "feeder":
        return
    rule = sheet.edition.rule("detached-grounding")
    wires = building.feeder_wires
    metal = value_of(building.metal_paths_between)
    passes: bool | None = None
    if wires is not None:
        passes = wires.value >= 4
        if wires.value == 3 and metal is None:
            passes = None
        if wires.value == 3 and metal is False:
            passes = bool(rule.parameters.get("existing_three_wire_exception"))
    sheet.answer(
        "detached.wires",
        "Does the feeder bring a grounding wire of its own?",
        (
            fact_check(
                passes,
                found=None if wires is None else f"{wires.value} wires",
                limit="four wires; three only where they lay before, without other "
                "metal between the buildings",
                citation=rule.citation,
                next=(
                    "State the feeder's wires, and whether metal joins the buildings."
                    if passes is None
                    else "Replace the feeder by one of four wires: over three, pipes "
                    "and cases carry the neutral's current."
                ),
                signal=SignalWord.WARNING,
            ),
        ),
        unknown=tuple(
            (f"detached_building.{field}", asked, look)
            for field, asked, look, stated in (
                (
                    "feeder_wires",
                    "How many wires bring the power, ground counted?",
                    "inside the building's panel, by a qualified person",
                    wires,
                ),
                (
                    "metal_paths_between",
                    "Does metal join the two buildings?",
                    "where pipes and cables enter",
                    building.metal_paths_between,
                ),
            )
            if stated is None
        ),
        open_weight=Weight.MUST,
        done="A three-wire feeder may stay, and may not be extended."
        if wires is not None and wires.value == 3
        else "",
    )


def _neutral(sheet: Sheet, building: DetachedBuilding) -> None:
    if value_of(building.supply_kind) != "feeder":
        return
    wires = building.feeder_wires
    if wires is not None and wires.value == 3:
        return
    sheet.answer(
        "detached.neutral",
        "Is the neutral kept apart from ground in the detached building?",
        (
            fact(
                building.neutral_bonded_there,
                wanted=False,
                found=("kept apart", "joined"),
                limit="kept apart",
                citation=sheet.citation("detached-grounding"),
                short=(
                    "Have the bonding screw or strap taken out: joined there, the "
                    "grounding wire carries neutral current and cases go live when "
                    "the neutral opens."
                ),
                open_="State whether neutral and ground are joined in its panel.",
                signal=SignalWord.WARNING,
            ),
        ),
        unknown=(
            (
                "detached_building.neutral_bonded_there",
                "Are neutral and ground joined in the building's panel?",
                "bonding screw or strap, by a qualified person",
            ),
        ),
        open_weight=Weight.MUST,
    )


def _own_electrode(
    sheet: Sheet, building: DetachedBuilding, *, by_branch: bool
) -> None:
    rule = sheet.edition.rule("detached-grounding")
    question = "Has the detached building a grounding electrode of its own?"
    if by_branch:
        sheet.not_required(
            "detached.electrode",
            question,
            rule.citation,
            f"None is asked for where there is {rule.text('electrode_exception')}.",
        )
        return
    rod = sheet.edition.rule("grounding-electrode")
    limit_ohm = rod.number("single_rod_resistance_up_to_ohm")
    citation = rod.cite("single_rod_resistance_up_to_ohm")
    checks = [
        fact(
            building.grounding_electrode,
            found=("there", "none"),
            limit="an electrode at the building",
            citation=rule.citation,
            short="Have an electrode fitted there, bonded to its grounding bar.",
            open_="Look for a rod or clamp at the outer wall.",
        )
    ]
    if building.electrodes == ("ground rod",):
        ohm = value_of(building.electrode_resistance)
        checks.append(
            check(
                found=(ohm, ohm),
                limit=(limit_ohm, limit_ohm),
                unit="ohm",
                citation=citation,
                next="Have a second rod driven: one alone needs a measured "
                f"{limit_ohm:g} ohm or less.",
            )
        )
    sheet.answer(
        "detached.electrode",
        question,
        checks,
        unknown=(
            (
                "detached_building.grounding_electrode",
                question,
                "rod or clamp at the outer wall below the panel",
            ),
        ),
        open_weight=Weight.MUST,
        done="It is no substitute for the grounding wire: earth alone trips nothing.",
    )


def _disconnect(sheet: Sheet, building: DetachedBuilding) -> None:
    rule = sheet.edition.rule("detached-disconnect")
    throws = value_of(building.throws)
    most = rule.number("throws_count")
    checks = [
        fact(
            building.disconnect_at_building,
            found=("at the building", "none there"),
            limit=rule.text("place"),
            citation=rule.citation,
            short=(
                "Have a switch fitted where the supply enters: now only the house can "
                "turn the building off."
            ),
            open_="State whether the building can be switched off at the building.",
        )
    ]
    if throws is not None:
        checks.append(
            check(
                found=(throws, throws),
                limit=(most, most),
                unit="handles",
                citation=rule.citation,
                next=f"Have a main fitted: {most:g} handles at most.",
            )
        )
    if building.disconnect_labelled is not None:
        checks.append(
            fact(
                building.disconnect_labelled,
                found=("labelled", "not labelled"),
                limit="says what it disconnects",
                citation=rule.citation,
                short="Label the switch.",
                open_="",
            )
        )
    sheet.answer(
        "detached.disconnect",
        "Can the detached building be switched off where it stands?",
        checks,
        unknown=(
            (
                "detached_building.disconnect_at_building",
                "Can the building's supply be switched off at the building?",
                "its panel, or a switch near the door",
            ),
        ),
        open_weight=Weight.MUST,
    )


def _bonding_test(sheet: Sheet, building: DetachedBuilding) -> None:
    """Write what readings under a 120 V load tell; a charger alone shows nothing."""
    ground_a, volts = (
        value_of(building.ground_current),
        building.neutral_to_ground_voltage,
    )
    question = "Do readings under a 120 V load show neutral and ground apart?"
    checks: list[Check] = []
    if ground_a is not None:
        compared = compare(found=ground_a, limit=_STRAY_A)
        checks.append(
            fact_check(
                compared.outcome is not Outcome.FALLS_SHORT,
                found=f"{ground_a:g} A in the grounding wire",
                limit="no current in the grounding wire",
                citation=sheet.citation("detached-grounding"),
                next=(
                    "Have the second joint of neutral and ground found and taken out: "
                    "cases and pipes carry current. Read again before going on."
                ),
                signal=SignalWord.WARNING,
            )
        )
    if volts is not None and building.test_current is not None:
        shorted = volts.value == 0
        checks.append(
            fact_check(
                None if shorted else True,
                found=f"{volts.value:g} V neutral to ground",
                limit="a small voltage, from the current in the neutral",
                citation=sheet.citation("detached-grounding"),
                next="Exactly 0 V under load is what a joint there would show: look.",
            )
        )
    if not checks:
        checks.append(
            fact_check(
                None,
                found=None,
                limit="no current in the grounding wire",
                citation=sheet.citation("detached-grounding"),
                next=(
                    "With a 120 V load on in the building, have the current in the "
                    "grounding wire read: the charger alone shows nothing."
                ),
            )
        )
    sheet.answer(
        "detached.bonding_test",
        question,
        checks,
        unknown=(
            (
                "detached_building.ground_current",
                "Which current flows in the grounding wire while a 120 V load runs?",
                "clamp reading, by a qualified person",
            ),
        ),
    )
