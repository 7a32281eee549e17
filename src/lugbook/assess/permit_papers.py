"""What the permit desk asks for, and what of it the plan holds already."""

from __future__ import annotations

from collections.abc import Iterable

from lugbook.assess.work_parts import PermitPaper, matching
from lugbook.finding import Finding, Outcome
from lugbook.premises.circuit import Circuit
from lugbook.premises.plan import Plan

__all__ = ["permit_papers"]

_READY, _MISSING, _BRING = "ready", "missing", "bring"
_PLAN = "this answer, printed with its working"


def permit_papers(
    plan: Plan, edition_words: str, findings: tuple[Finding, ...]
) -> tuple[PermitPaper, ...]:
    """The papers of a permit packet (common practice; every desk has its own list).

    Args:
        plan: The house. [-]
        edition_words: The edition as papers write it. [-]
        findings: Findings of the assessment. [-]

    Returns:
        Papers, with what is missing. [-]
    """
    return (
        _address(plan),
        _from_findings(
            f"load calculation, its method and the edition ({edition_words})",
            ("capacity.service_load", "capacity.feeder"),
            findings,
            _PLAN,
        ),
        _one_line(plan),
        _bring("photographs of the panel and of its label", "at the panel, cover on"),
        _data_sheet(plan),
        _wire_list(plan),
        _from_findings(
            "disconnect: where, how large, lockable",
            ("circuit.disconnect",),
            findings,
            "the plan, circuit.disconnect",
        ),
        _from_findings(
            "ground-fault protection: asked for or not, and by which rule",
            ("circuit.ground_fault",),
            findings,
            _PLAN,
        ),
        _route(plan),
        _fault_current(plan),
        *_management(plan),
        _from_findings(
            "texts of the labels",
            ("circuit.label", "circuit.adjusted_setting"),
            findings,
            _PLAN,
        ),
        _bring("dates of the inspections: trench, rough, final", "the authority"),
    )


def _paper(
    name: str, stated: Iterable[tuple[object, str]], where: str, state: str = _READY
) -> PermitPaper:
    missing = tuple(words for held, words in stated if not held)
    return PermitPaper(name, _MISSING if missing else state, missing, where)


def _bring(name: str, where: str) -> PermitPaper:
    return PermitPaper(name, _BRING, (), where)


def _from_findings(
    name: str, patterns: tuple[str, ...], findings: tuple[Finding, ...], where: str
) -> PermitPaper:
    """Return a paper that findings fill: missing while one of them cannot be told."""
    found = matching(findings, patterns)
    stated = [
        (each.outcome is not Outcome.CANNOT_TELL, each.question) for each in found
    ]
    return _paper(name, stated or [(False, "no answer yet")], where)


def _address(plan: Plan) -> PermitPaper:
    rules = plan.rules
    return _paper(
        "address, authority, and who does the work",
        (
            (rules.place, "rules.place"),
            (rules.authority, "rules.authority"),
            (rules.who_works, "rules.who_works"),
        ),
        "the plan, [rules]",
    )


def _one_line(plan: Plan) -> PermitPaper:
    service, circuit = plan.service, plan.circuit or Circuit(id="circuit")
    mains = bool(service and (service.main or service.split_bus_mains))
    return _paper(
        "one-line diagram, service to charger",
        (
            (mains or any(p.main_rating for p in plan.panels), "service.main"),
            (service and service.conductor, "service.conductor"),
            (plan.panels, "panels"),
            (circuit.fed_from, "circuit.fed_from"),
            (circuit.overcurrent, "circuit.overcurrent"),
            (circuit.conductor, "circuit.conductor"),
        ),
        "drawn from the plan",
    )


def _data_sheet(plan: Plan) -> PermitPaper:
    charger = plan.charger
    if charger is None:
        return _paper(_SHEET, ((False, "charger"),), "its maker")
    return _paper(
        _SHEET,
        (
            (charger.nameplate, "charger.nameplate"),
            (charger.listed, "charger.listed"),
            (charger.maximum_overcurrent, "charger.maximum_overcurrent"),
            (charger.connection, "charger.connection"),
        ),
        "its maker",
        _BRING,
    )


_SHEET = "charger's data sheet and installation instructions"


def _wire_list(plan: Plan) -> PermitPaper:
    circuit = plan.circuit or Circuit(id="circuit")
    device, wire = circuit.overcurrent, circuit.conductor
    ground = circuit.equipment_ground
    return _paper(
        "list of breaker, wire, grounding wire and raceway",
        (
            (device and device.rating, "circuit.overcurrent.rating"),
            (device and device.type, "circuit.overcurrent.type"),
            (wire and wire.size, "circuit.conductor.size"),
            (wire and wire.material, "circuit.conductor.material"),
            (wire and wire.insulation, "circuit.conductor.insulation"),
            (ground, "circuit.equipment_ground"),
            (
                circuit.sections and all(each.method for each in circuit.sections),
                "circuit.sections, the method of each",
            ),
        ),
        "the plan, or the parts list of an option",
    )


def _route(plan: Plan) -> PermitPaper:
    sections = plan.circuit.sections if plan.circuit else ()
    return _paper(
        "way of the run: lengths, walls it passes, depth in the ground",
        (
            (sections, "circuit.sections"),
            (all(each.length for each in sections), "the length of each section"),
            (all(each.place for each in sections), "the place of each section"),
        ),
        "a sketch with the plan's sections",
    )


def _fault_current(plan: Plan) -> PermitPaper:
    service = plan.service
    current = service.fault_current if service else None
    device = plan.circuit.overcurrent if plan.circuit else None
    return _paper(
        "available fault current, with its date, and what the breakers withstand",
        (
            (current and current.line_to_line, "service.fault_current.line_to_line"),
            (
                device and device.interrupting_rating,
                "circuit.overcurrent.interrupting_rating",
            ),
        ),
        "the utility's letter, and the breaker's label",
    )


def _management(plan: Plan) -> tuple[PermitPaper, ...]:
    system = plan.load_management
    if system is None:
        return ()
    return (
        _paper(
            "load management: listing, limit, what it watches, how it fails",
            (
                (system.listed, "load_management.listed"),
                (system.limit, "load_management.limit"),
                (system.watches, "load_management.watches"),
                (system.fallback_currents, "load_management.fallback_currents"),
            ),
            "its maker",
            _BRING,
        ),
    )
