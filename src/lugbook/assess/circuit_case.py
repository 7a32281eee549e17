"""The circuit as the plan states it, resolved to what the rules need.

Currents come as a pair: the least the charger may count for, and the most. They differ
where the plan does not say how a lower setting is restricted, and the most is None
where the nameplate is unknown.
"""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.capacity import Wish
from lugbook.assess.circuit_laid import Laid, laid_run
from lugbook.assess.circuit_parts import Notes
from lugbook.assess.load_list import system_voltage_v
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.load_calculation import counted_charger_current
from lugbook.codebook.nfpa70.overcurrent import (
    continuous_minimum_a,
    next_standard_rating,
)
from lugbook.codebook.nfpa70.terminals import terminal_column_c
from lugbook.errors import MissingEntry
from lugbook.finding import Line
from lugbook.premises.circuit import Circuit
from lugbook.premises.plan import Plan

__all__ = ["Case", "CountedRange", "Laid", "case_of", "counted_range"]

_DEGREES = {"60 °C": 60.0, "75 °C": 75.0, "90 °C": 90.0, "60/75 °C": 75.0}
_ON_THE_PATH = (
    "overcurrent device",
    "disconnect line",
    "disconnect load",
    "splice",
    "charger",
    "receptacle",
)


@dataclass(frozen=True, slots=True)
class CountedRange:
    """Current at which the charger counts, from least to most.

    Args:
        low_a: Least it may count for. [A]
        high_a: Most it may count for; None while the nameplate is unknown. [A]
        line: Line for the working. [-]
    """

    low_a: float
    high_a: float | None
    line: Line

    @property
    def likely_a(self) -> float:
        """What sizing goes by: the most, or the least where no more is known."""
        return self.low_a if self.high_a is None else self.high_a


@dataclass(frozen=True, slots=True)
class Case:
    """The circuit resolved: what is stated, and what its rules are asked with."""

    plan: Plan
    edition: Edition
    wish: Wish
    notes: Notes
    circuit: Circuit | None
    counted: CountedRange | None
    device_a: float | None
    device_kind: str
    least_device: tuple[float, tuple[Line, ...]] | None
    size: str | None
    material: str
    insulation: str | None
    run: tuple[Laid, ...]
    markings_c: tuple[float | None, ...]
    to_ground_v: float

    @property
    def open_current_hint(self) -> str:
        """Where to look while the current that counts is not settled."""
        if self.counted is None:
            return "State the setting: the circuit depends on it."
        if self.counted.high_a is None:
            return "Read the charger's nameplate: it may count instead of the setting."
        return (
            "State how the charger's setting is restricted: else its nameplate counts."
        )

    @property
    def is_current_open(self) -> bool:
        """Whether the current that counts is not settled."""
        return self.counted is None or self.counted.low_a != self.counted.high_a

    @property
    def is_setting_refused(self) -> bool:
        """Whether the nameplate counts though a lower setting is wished for."""
        setting_a = self.wish.setting_a
        return (
            self.counted is not None
            and setting_a is not None
            and self.counted.low_a > setting_a
        )

    @property
    def smaller_current_hint(self) -> str:
        """What makes the current that counts smaller, as the edition has it."""
        if not self.is_setting_refused:
            return "lower the setting"
        variant = self.edition.rule("adjusted-rating").text("variant")
        may_count = variant == "restricted-any" or (
            variant == "fixed-restricted" and self.wish.hard_wired is True
        )
        restrict = (
            ", or have the setting kept by a cover that needs a tool, a lock or a "
            "password"
            if may_count
            else ""
        )
        return (
            f"take a charger of a smaller nameplate{restrict}: as it stands the "
            "nameplate counts, not the setting"
        )

    @property
    def judged_device_a(self) -> float | None:
        """Rating of the device: stated, or the least that will do."""
        if self.device_a is not None:
            return self.device_a
        return None if self.least_device is None else self.least_device[0]

    def column_c(self, device_a: float, *, hopeful: bool = False) -> tuple[int, Line]:
        """Column of the terminals, for a circuit rating.

        Args:
            device_a: Rating of the circuit. [A]
            hopeful: Take unknown markings for the best there is. [-]

        Returns:
            Column, with its line. [°C]
        """
        best_c = max(_DEGREES.values())
        unknown_c = best_c if hopeful else None
        marked = tuple(unknown_c if c is None else c for c in self.markings_c)
        found = terminal_column_c(
            edition=self.edition, circuit_a=device_a, markings_c=marked
        )
        return int(found.amount), found.lines[0]


def case_of(plan: Plan, edition: Edition, wish: Wish) -> Case:
    """A plan's circuit, resolved.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        wish: The charging current. [-]

    Returns:
        The case. [-]
    """
    notes = Notes()
    circuit = plan.circuit
    device = circuit.overcurrent if circuit else None
    conductor = circuit.conductor if circuit else None
    size = conductor.size.value if conductor and conductor.size else None
    material = conductor.material.value if conductor and conductor.material else None
    if material is None:
        material = "copper"
        notes.assume(
            "circuit.conductor.material",
            "The conductors are copper.",
            "nobody stated the material; aluminum of the same size carries less",
        )
    counted = _noted_range(plan, edition, wish, notes) if wish.setting_a else None
    kind = device.kind.value if device and device.kind else "circuit breaker"
    return Case(
        plan=plan,
        edition=edition,
        wish=wish,
        notes=notes,
        circuit=circuit,
        counted=counted,
        device_a=device.rating.value if device and device.rating else None,
        device_kind=kind,
        least_device=(
            None if counted is None else _least_device(edition, counted.likely_a, kind)
        ),
        size=size,
        material=material,
        insulation=_insulation(plan, size, notes),
        run=laid_run(plan, edition, notes),
        markings_c=_markings(plan, notes),
        to_ground_v=_to_ground_v(plan, notes),
    )


def counted_range(
    edition: Edition, wish: Wish, setting_a: float, *, nameplate_open: bool
) -> CountedRange:
    """At which currents may the charger count when it is set so?

    Args:
        edition: Edition of the rules. [-]
        wish: What is known of the charger. [-]
        setting_a: The setting. [A]
        nameplate_open: Whether a nameplate nobody stated leaves the most open. [-]

    Returns:
        Least and most. [A]
    """
    nameplate_a = wish.nameplate_a
    variant = edition.rule("adjusted-rating").text("variant")
    restrictions = set(wish.restrictions)
    accepted = bool(
        restrictions & set(edition.rule("adjusted-rating").words("restrictions"))
    )
    if not nameplate_a:
        setting_counts = accepted and (
            variant == "restricted-any"
            or (variant == "fixed-restricted" and wish.hard_wired is True)
        )
        is_open = nameplate_open and not setting_counts
        line = Line(
            "charger current that counts", setting_a, "A", "setting; nameplate unknown"
        )
        return CountedRange(setting_a, None if is_open else setting_a, line)
    fixed_only = variant == "fixed-restricted" and wish.hard_wired is False
    unsaid = (not wish.restriction_said and not fixed_only) or (
        variant == "fixed-restricted" and accepted and wish.hard_wired is None
    )
    if setting_a < nameplate_a and variant != "nameplate-counts" and unsaid:
        line = Line(
            "charger current that counts",
            nameplate_a,
            "A",
            f"nameplate, unless the setting of {setting_a:g} A is restricted",
            "",
            edition.rule("adjusted-rating").citation,
        )
        return CountedRange(setting_a, nameplate_a, line)
    found = counted_charger_current(
        edition=edition,
        nameplate_a=nameplate_a,
        setting_a=setting_a,
        restrictions=wish.restrictions,
        hard_wired=bool(wish.hard_wired),
    )
    return CountedRange(found.current_a, found.current_a, found.line)


def _noted_range(
    plan: Plan, edition: Edition, wish: Wish, notes: Notes
) -> CountedRange:
    stated = plan.circuit is not None
    setting_a = wish.setting_a or 0.0
    found = counted_range(edition, wish, setting_a, nameplate_open=stated)
    if not wish.nameplate_a:
        notes.unknown(
            "charger.nameplate",
            "Which current does the charger's nameplate give?",
            "the label on the charger: maximum current in amperes",
        )
        if not stated:
            notes.assume(
                "charger.nameplate",
                "The charger's nameplate current is the setting asked about.",
                "nobody stated it; a larger nameplate may count instead",
            )
    elif found.low_a != found.high_a:
        notes.unknown(
            "charger.setting_restricted_by",
            "Who can raise the charger's setting, and how is that prevented?",
            "the charger's instructions: cover that needs a tool, lock or password",
        )
    return found


def _least_device(
    edition: Edition, current_a: float, kind: str
) -> tuple[float, tuple[Line, ...]] | None:
    need = continuous_minimum_a(edition=edition, current_a=current_a)
    try:
        found = next_standard_rating(edition=edition, at_least_a=need.amount, kind=kind)
    except MissingEntry:
        return None
    return found.amount, (*need.lines, *found.lines)


def _insulation(plan: Plan, size: str | None, notes: Notes) -> str | None:
    conductor = plan.circuit.conductor if plan.circuit else None
    if conductor and conductor.insulation:
        return conductor.insulation.value
    if size is not None:
        return None
    notes.assume(
        "circuit.conductor.insulation",
        "The conductors to be chosen are rated 90 °C, dry and wet (THWN-2, XHHW-2).",
        "nobody stated the insulation; these are the usual ones to buy",
    )
    return "THWN-2"


def _markings(plan: Plan, notes: Notes) -> tuple[float | None, ...]:
    """Return the marked temperature of everything on the conductors' path."""
    circuit = plan.circuit
    by_place: dict[str, list[float | None]] = {}
    for terminal in circuit.terminals if circuit else ():
        on_earth = terminal.on is not None and terminal.on.value in (
            "neutral",
            "ground",
        )
        if terminal.at.value in _ON_THE_PATH and not on_earth:
            marked = terminal.temperature
            key = terminal.at.value.split(" l")[0]
            by_place.setdefault(key, []).append(
                _DEGREES[marked.value] if marked else None
            )
    device = circuit.overcurrent if circuit else None
    disconnect = circuit.fitted_disconnect if circuit else None
    charger = plan.charger
    plugged = (
        charger is not None
        and charger.connection is not None
        and charger.connection.value == "receptacle"
    )
    ends = [
        ("overcurrent device", "circuit.overcurrent", device, True),
        ("disconnect", "circuit.disconnect", disconnect, disconnect is not None),
        ("receptacle", "", None, plugged),
        ("charger", "charger", None if plugged else charger, not plugged),
    ]
    found: list[float | None] = []
    for place, path, part, counts in ends:
        if not counts:
            continue
        own = getattr(part, "terminal_temperature", None)
        here = [c for c in by_place.pop(place, ()) if own is None or c is not None]
        if own is not None:
            here.append(_DEGREES[own.value])
        found.extend(here or [None])
        if (not here or None in here) and part is None and not plugged:
            notes.assume(
                f"{path}.terminal_temperature",
                f"The terminals of the {place} are marked for no higher temperature.",
                "it is not chosen yet; a marked one may allow a smaller conductor",
            )
        elif not here or None in here:
            notes.unknown(
                f"{path}.terminal_temperature" if path else "circuit.terminals",
                f"For which temperature are the terminals of the {place} marked?",
                "the label or the casting beside the lug: 60 °C, 75 °C or 60/75 °C",
            )
    for place, markings in by_place.items():
        found.extend(markings)
        if None in markings:
            notes.unknown(
                "circuit.terminals",
                f"For which temperature is the {place} marked?",
                "the print on the connector or its package",
            )
    panel = next((p for p in plan.panels if circuit and p.id == circuit.fed_from), None)
    if panel is not None and panel.terminal_temperature is not None:
        found.append(_DEGREES[panel.terminal_temperature.value])
    return tuple(found)


def _to_ground_v(plan: Plan, notes: Notes) -> float:
    """Return the nominal voltage to ground, 120 V on both systems we know."""
    if system_voltage_v(plan) is None:
        notes.assume(
            "service.system",
            "The voltage to ground is 120 V.",
            "nobody stated the supply; both kinds a dwelling has give 120 V",
        )
    return 120.0
