"""Every clamping point on the path, from the service down to the charger."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from lugbook.premises.circuit import (
    Circuit,
    Conductor,
    EquipmentGround,
    Section,
    Terminal,
)
from lugbook.premises.panel import Panel
from lugbook.premises.plan import Plan
from lugbook.premises.service import MainDevice
from lugbook.premises.stated import Stated

__all__ = ["Clamp", "clamps_of"]

# Order along the path; what is grounded comes last.
_ORDER: Final = (
    "meter base",
    "main lugs",
    "overcurrent device",
    "splice",
    "disconnect line",
    "disconnect load",
    "receptacle",
    "charger",
    "grounding bar",
    "neutral bar",
)
_IN_PANEL: Final = ("main lugs", "overcurrent device", "grounding bar", "neutral bar")
_LEGS: Final = ("leg A", "leg B")
_NEUTRAL_PLUGS: Final = ("14-30", "14-50", "14-60", "10-30", "10-50")
_LABEL: Final = "label inside the panel's door"
_LOOK: Final = {
    "meter base": "nowhere: it is under the utility's seal",
    "main lugs": _LABEL,
    "overcurrent device": "its face or side",
    "splice": "the connector itself, its package or its instructions",
    "disconnect line": "label inside its cover",
    "disconnect load": "label inside its cover",
    "receptacle": "its back, or the leaf in its package",
    "charger": "beside the terminals, or the installation manual",
    "grounding bar": f"{_LABEL}: its table by wire size",
    "neutral bar": f"{_LABEL}: its table by wire size",
}


@dataclass(frozen=True, slots=True)
class Clamp:
    """One clamping point, as far as it is stated.

    Args:
        id: Its own id in the plan, or one made of its place. [-]
        name: Where it is and which conductor it holds, in words. [-]
        at: Closed word for the place. [-]
        on: Conductor it holds. [-]
        equipment: What it is part of: a panel's id, or the place itself. [-]
        size: Size of that conductor; None if not known. [-]
        material: Its metal; None if not known. [-]
        kind: How the screw is driven; None if not known. [-]
        across_flats_m: Size of a hexagon socket. [m]
        printed: Torque printed for it; None if none was read. [N·m]
        printed_at: Field of the plan that states it. [-]
        reached: Torque it was tightened to, where the plan says. [N·m]
        look: Where its torque is printed. [-]
        service_side: Whether it is on the utility's side of the first disconnect. [-]
    """

    id: str
    name: str
    at: str
    on: str
    equipment: str
    size: str | None = None
    material: str | None = None
    kind: str | None = None
    across_flats_m: float | None = None
    printed: Stated[float] | None = None
    printed_at: str = ""
    reached: Stated[float] | None = None
    look: str = ""
    service_side: bool = False


def clamps_of(plan: Plan) -> tuple[Clamp, ...]:
    """Every clamping point that the charger's current passes, and its grounds.

    Args:
        plan: The house. [-]

    Returns:
        Clamps in the order of the path: service, panels and feeders, the circuit. [-]
    """
    found: list[Clamp] = []
    for panel, circuit in _chain(plan):
        found += _circuit_clamps(plan, panel, circuit)
    return tuple(sorted(found, key=lambda clamp: clamp.at != "meter base"))


def _chain(plan: Plan) -> list[tuple[Panel | None, Circuit]]:
    """Return each panel with the circuit it feeds, from the service down."""
    circuit = plan.circuit or Circuit(id="charger_circuit")
    panels = {panel.id: panel for panel in plan.panels}
    feeders = {feeder.id: feeder for feeder in plan.feeders}
    chain: list[tuple[Panel | None, Circuit]] = []
    seen: set[str] = set()
    while circuit.id not in seen:
        seen.add(circuit.id)
        panel = panels.get(circuit.fed_from or "")
        if panel is None and circuit.fed_from is None:
            panel = plan.panels[0] if plan.panels else Panel(id="panel")
        chain.insert(0, (panel, circuit))
        above = feeders.get(panel.fed_from or "") if panel else None
        if above is None:
            break
        circuit = above
    return chain


def _main_lugs(plan: Plan, panel: Panel) -> Iterator[Clamp]:
    feeder = next((f for f in plan.feeders if f.id == panel.fed_from), None)
    service = plan.service
    from_service = service is not None and panel.fed_from in (None, service.id)
    conductor: Conductor | None = None
    torque, path = panel.main_lug_torque, f"panels.{panel.id}.main_lug_torque"
    if feeder is not None:
        conductor = feeder.conductor
    elif service is not None and from_service:
        conductor = service.conductor
        main: MainDevice | None = service.main
        if torque is None and main is not None:
            torque, path = main.terminal_torque, "service.main.terminal_torque"
    for on in (*_LEGS, "neutral"):
        leg = on in _LEGS
        own = conductor
        if feeder is not None and not leg:
            own = feeder.neutral
        yield Clamp(
            id=f"{panel.id}_{_word(f'main lugs {on}')}",
            name=f"main lugs of {panel.id}, {on}",
            at="main lugs",
            on=on,
            equipment=panel.id,
            # The service's neutral may be smaller than its legs.
            size=_text(own.size) if own and (leg or feeder) else None,
            material=_text(own.material) if own else None,
            printed=torque if leg else None,
            printed_at=path if leg else "",
            look=_LABEL,
            service_side=feeder is None,
        )
    if feeder is not None:
        ground = feeder.equipment_ground
        yield Clamp(
            id=f"{panel.id}_feeder_ground",
            name=f"grounding bar of {panel.id}, ground of its feeder",
            at="grounding bar",
            on="ground of the feeder",
            equipment=panel.id,
            size=_text(ground.size) if ground else None,
            material=_text(ground.material) if ground else None,
            look=_LOOK["grounding bar"],
        )


def _circuit_clamps(plan: Plan, panel: Panel | None, circuit: Circuit) -> list[Clamp]:
    own = circuit.id == (plan.circuit.id if plan.circuit else circuit.id)
    slots = list(_main_lugs(plan, panel)) if panel else []
    slots += _slots(plan, panel, circuit, last=own)
    for clamp in _told_apart([_stated(circuit, each) for each in circuit.terminals]):
        _lay_over(slots, clamp)
    home = panel.id if panel else "panel"
    said = "" if own else f" ({circuit.id})"
    prefix = "" if own else f"{circuit.id}_"
    named = [
        replace(
            clamp,
            id=clamp.id if _is_own_id(circuit, clamp) else prefix + clamp.id,
            name=clamp.name + said * (clamp.at == "overcurrent device"),
            equipment=home if clamp.at in _IN_PANEL else clamp.equipment,
        )
        for clamp in slots
    ]
    return sorted(named, key=_place)


def _told_apart(stated: list[Clamp]) -> list[Clamp]:
    """Give two clamps of one place a leg each, where neither says which it holds."""
    silent = [clamp for clamp in stated if not clamp.on]
    places = [clamp.at for clamp in silent]
    legs = {
        clamp.id: _LEGS[places[:index].count(clamp.at)]
        for index, clamp in enumerate(silent)
        if places.count(clamp.at) == len(_LEGS) and clamp.at != "splice"
    }
    return [replace(clamp, on=legs.get(clamp.id, clamp.on)) for clamp in stated]


def _place(clamp: Clamp) -> tuple[int, int]:
    bars = ("grounding bar", "neutral bar")
    grounded = clamp.on in ("ground", "neutral") and clamp.at not in ("main lugs",)
    return (1 if grounded or clamp.at in bars else 0, _ORDER.index(clamp.at))


def _is_own_id(circuit: Circuit, clamp: Clamp) -> bool:
    return any(terminal.id == clamp.id for terminal in circuit.terminals)


def _slots(
    plan: Plan, panel: Panel | None, circuit: Circuit, *, last: bool
) -> Iterator[Clamp]:
    """Yield the clamps every such circuit has, as its parts state them."""
    where = "circuit" if last else f"feeders.{circuit.id}"
    device_torque, device_path = _device_torque(panel, circuit, where)
    first, final = _end_conductors(circuit)
    for on in _LEGS:
        yield _slot("overcurrent device", on, first, device_torque, device_path)
    disconnect = circuit.fitted_disconnect
    if disconnect is not None:
        path = f"{where}.disconnect.terminal_torque"
        for at in ("disconnect line", "disconnect load"):
            for on in _LEGS:
                yield _slot(at, on, final, disconnect.terminal_torque, path)
    ends = tuple(_end_slots(plan, circuit, final)) if last else ()
    yield from ends
    ground = circuit.equipment_ground
    if ground is None or ground.kind is None or ground.kind.value == "wire":
        yield _named(_slot("grounding bar", "ground", ground, None, ""), panel)
        if disconnect is not None:
            yield _slot("disconnect load", "ground", ground, None, "")
    if circuit.neutral is not None or _is_true(circuit.neutral_pulled):
        yield _named(_slot("neutral bar", "neutral", circuit.neutral, None, ""), panel)


def _named(bar: Clamp, panel: Panel | None) -> Clamp:
    """Name the panel a bar is in, since a feeder's path has two."""
    return replace(bar, name=f"{bar.at} of {panel.id if panel else 'the panel'}")


def _end_slots(
    plan: Plan, circuit: Circuit, conductor: Conductor | None
) -> Iterator[Clamp]:
    charger = plan.charger
    ground = circuit.equipment_ground
    plugged = charger is not None and (
        charger.connection is not None and charger.connection.value == "receptacle"
    )
    if plugged:
        for on in _LEGS:
            yield _slot("receptacle", on, conductor, None, "")
        yield _slot("receptacle", "ground", ground, None, "")
        kind = charger.receptacle.value if charger and charger.receptacle else ""
        if kind in _NEUTRAL_PLUGS and _is_true(circuit.neutral_pulled):
            yield _slot("receptacle", "neutral", circuit.neutral, None, "")
        return
    torque = charger.terminal_torque if charger else None
    for on in _LEGS:
        yield _slot("charger", on, conductor, torque, "charger.terminal_torque")
    torque = charger.grounding_terminal_torque if charger else None
    path = "charger.grounding_terminal_torque"
    yield _slot("charger", "ground", ground, torque, path)


def _slot(
    at: str,
    on: str,
    part: Conductor | EquipmentGround | None,
    torque: Stated[float] | None,
    path: str,
) -> Clamp:
    name = f"{at}, {on}"
    if at.startswith("disconnect") and on == "ground":
        name = "grounding terminal of the disconnect"
    return Clamp(
        id=_word(f"{at} {on}"),
        name=name,
        at=at,
        on=on,
        equipment=at.removesuffix(" line").removesuffix(" load"),
        size=_text(part.size) if part else None,
        material=_text(part.material) if part else None,
        printed=torque,
        printed_at=path if torque is not None else "",
        look=_LOOK[at],
    )


def _device_torque(
    panel: Panel | None, circuit: Circuit, where: str
) -> tuple[Stated[float] | None, str]:
    device = circuit.overcurrent
    if device is not None and device.terminal_torque is not None:
        return device.terminal_torque, f"{where}.overcurrent.terminal_torque"
    for breaker in panel.breakers if panel else ():
        same = set(breaker.positions) & set(circuit.positions)
        if same and breaker.terminal_torque is not None:
            return breaker.terminal_torque, "panels.breakers.terminal_torque"
    return None, ""


def _end_conductors(circuit: Circuit) -> tuple[Conductor | None, Conductor | None]:
    """Return the legs' conductors where the run begins and where it ends."""
    sections = circuit.sections
    first = (sections[0].conductor if sections else None) or circuit.conductor
    final = (sections[-1].conductor if sections else None) or circuit.conductor
    return first, final


def _stated(circuit: Circuit, terminal: Terminal) -> Clamp:
    at = terminal.at.value
    on = _text(terminal.on) or ""
    if not on and at in ("grounding bar", "neutral bar"):
        on = "ground" if at == "grounding bar" else "neutral"
    part = _conductor_at(circuit, terminal, on)
    return Clamp(
        id=terminal.id,
        name=f"{at}, {on}" if on else at,
        at=at,
        on=on,
        equipment=at.removesuffix(" line").removesuffix(" load"),
        size=_text(part.size) if part else None,
        material=_text(part.material) if part else None,
        kind=_text(terminal.kind),
        across_flats_m=(
            terminal.hex_across_flats.value if terminal.hex_across_flats else None
        ),
        printed=terminal.torque,
        printed_at=f"circuit.terminals.{terminal.id}.torque" if terminal.torque else "",
        reached=terminal.torque_reached,
        look=_LOOK[at],
        service_side=at == "meter base",
    )


def _conductor_at(
    circuit: Circuit, terminal: Terminal, on: str
) -> Conductor | EquipmentGround | None:
    section: Section | None = next(
        (each for each in circuit.sections if each.id == terminal.section), None
    )
    if terminal.at.value in ("main lugs", "meter base"):
        return None  # the service's conductors, not the circuit's
    if on == "ground":
        return (section.equipment_ground if section else None) or (
            circuit.equipment_ground
        )
    if on == "neutral":
        return circuit.neutral
    if section is not None and section.conductor is not None:
        return section.conductor
    first, final = _end_conductors(circuit)
    near = terminal.at.value in ("overcurrent device", "splice")
    return first if near else final


def _lay_over(slots: list[Clamp], stated: Clamp) -> None:
    """Put what is said of one clamp over the slots it is about, in place."""
    at_place = [
        index
        for index, slot in enumerate(slots)
        if slot.at == stated.at and stated.at != "splice"
    ]
    exact = [index for index in at_place if slots[index].on == stated.on]
    # Without a word on the conductor it speaks of both legs: poles are alike.
    alike = [index for index in at_place if slots[index].on in _LEGS]
    aimed = exact or ([] if stated.on else alike)
    if not aimed:
        slots.append(replace(stated, name=f"{stated.name} ({stated.id})"))
        return
    for index in aimed:
        slot = slots[index]
        slots[index] = replace(
            slot,
            id=stated.id if exact else f"{stated.id}_{_word(slot.on)}",
            size=stated.size or slot.size,
            material=stated.material or slot.material,
            kind=stated.kind or slot.kind,
            across_flats_m=stated.across_flats_m or slot.across_flats_m,
            printed=stated.printed or slot.printed,
            printed_at=stated.printed_at or slot.printed_at,
            reached=stated.reached or slot.reached,
        )


def _text(stated: Stated[str] | None) -> str | None:
    return None if stated is None else str(stated.value)


def _is_true(stated: Stated[bool] | None) -> bool:
    return stated is not None and stated.value is True


def _word(text: str) -> str:
    return text.replace(" ", "_").lower()
