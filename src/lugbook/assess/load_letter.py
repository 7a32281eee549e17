"""What the utility needs to know of the new load, and what to ask it, as data."""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.capacity import Wish
from lugbook.assess.load_list import system_voltage_v
from lugbook.premises.plan import Plan
from lugbook.premises.stated import Stated

__all__ = ["LetterEntry", "LoadLetter", "load_letter"]

_ASKED = (
    "Do transformer and drop carry it, and who pays if they do not?",
    "What is the available fault current at the service, leg to leg and leg to "
    "neutral, and its ratio of reactance to resistance?",
    "Is there a rate or a requirement for vehicle charging?",
)


@dataclass(frozen=True, slots=True)
class LetterEntry:
    """One line of the letter.

    Args:
        label: What it tells. [-]
        amount: The figure or words; None where it is not known. [unit of the line]
        unit: Unit of the figure. [-]
    """

    label: str
    amount: float | str | None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class LoadLetter:
    """The contents of the letter; another room lays it out.

    Args:
        entries: What is told, in order; unknown lines stay and are marked. [-]
        questions: What is asked. [-]
    """

    entries: tuple[LetterEntry, ...]
    questions: tuple[str, ...]

    @property
    def missing(self) -> tuple[str, ...]:
        """Labels of what nobody stated."""
        return tuple(each.label for each in self.entries if each.amount is None)


def load_letter(plan: Plan, wish: Wish) -> LoadLetter:
    """The contents of the letter to the utility.

    Args:
        plan: The house. [-]
        wish: The charging current. [-]

    Returns:
        The letter's contents; nothing in it is guessed. [-]
    """
    service = plan.service
    transformer = service.transformer if service else None
    main = service.main if service else None
    record = plan.demand_record
    volts = wish.voltage_v if wish.voltage_v is not None else system_voltage_v(plan)
    setting_a = wish.setting_a
    load_va = None if setting_a is None or volts is None else setting_a * volts
    starts = [car.home_at.text for car in plan.cars if car.home_at is not None]
    ends = [car.leaves_at.text for car in plan.cars if car.leaves_at is not None]
    entries = (
        LetterEntry("place of the service", _of(plan.rules.place)),
        LetterEntry("utility", _of(service.utility) if service else None),
        LetterEntry(
            "transformer number", _of(transformer.number) if transformer else None
        ),
        LetterEntry("present main", _of(main.rating) if main else None, "A"),
        LetterEntry(
            "highest demand of the last year",
            _of(record.maximum) if record else None,
            "VA",
        ),
        LetterEntry("new load", load_va, "VA"),
        LetterEntry("current of the new load", setting_a, "A"),
        LetterEntry("voltage", volts, "V"),
        LetterEntry("phases", "single-phase"),
        LetterEntry("power factor", "near 1"),
        LetterEntry("largest step of current", setting_a, "A"),
        LetterEntry("lasts", "for hours at a stretch, most nights"),
        LetterEntry("usual start", ", ".join(starts) or None),
        LetterEntry("ends by", ", ".join(ends) or None),
    )
    return LoadLetter(entries, _ASKED)


def _of(stated: Stated[float] | Stated[str] | None) -> float | str | None:
    return None if stated is None else stated.value
