"""Faults between fields: doubled ids, pointers to nothing, what cannot both be true.

Only senseless input is a fault. A house that falls short is not one.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

from pydantic import BaseModel

from lugbook.errors import Fault
from lugbook.premises.base import Item
from lugbook.premises.circuit import Circuit, Section
from lugbook.premises.driving import Tariff, TariffWindow
from lugbook.premises.equipment import (
    LoadManagement,
    OtherSource,
    StandbySource,
    SupplyEquipment,
)
from lugbook.premises.evidence import DemandRecord
from lugbook.premises.lines import line_of
from lugbook.premises.load import COOLING_KINDS, HEATING_KINDS, Load
from lugbook.premises.panel import Breaker, Panel
from lugbook.premises.service import Service
from lugbook.quantities import CONDUCTOR_SIZES

if TYPE_CHECKING:
    from lugbook.premises.plan import Plan

__all__ = ["cross_faults"]

Path = tuple[str | int, ...]

_FEEDS = (Service, Panel, Circuit, OtherSource, StandbySource)
_USES = (Load, SupplyEquipment)
# Each pointer with what it may point at.
_POINTERS: dict[str, tuple[type[Item], ...]] = {
    "fed_from": _FEEDS,
    "fed_to": (Service, Panel, Circuit),
    "supplied_by": (Service, Panel, Circuit),
    "watched_id": (Service, Panel, Circuit),
    "where": (Service, Panel, Circuit, SupplyEquipment),
    "members": _USES,
    "never_with": _USES,
    "running": _USES,
    "serves": (*_USES, Panel, Circuit, OtherSource, StandbySource),
    "carries": (*_USES, Panel, Circuit),
    "section": (Section,),
}
_SMALLEST_LARGEST = (
    ("smallest", "largest"),
    ("terminal_smallest", "terminal_largest"),
    ("main_lug_smallest", "main_lug_largest"),
)
# Words that say nothing was found, and so stand alone.
_NOTHING = {
    "condition": "clean",
    "signs_seen": "none",
    "protective_equipment": "none",
    "setting_restricted_by": "none",
    "limit_restricted_by": "none",
    "electrodes": "none seen",
}
_DAYS_IN_PLAN = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


class _Found(NamedTuple):
    """A fault before its line is looked up."""

    path: Path
    given: str
    accepted: str
    mend: str = ""


def cross_faults(plan: "Plan", text: str) -> list[Fault]:
    """Faults between the fields of a plan whose single fields are sound.

    Args:
        plan: The plan. [-]
        text: Its text, for the lines. [-]

    Returns:
        The faults, in the order of the file's tables. [-]
    """
    from lugbook.premises.sentences import dotted

    parts = list(_parts(plan, ()))
    found = [*_ids(parts), *_feeder_loops(plan), *_said_absent(plan), *_legs(plan)]
    for path, part in parts:
        found += _in_any_part(path, part)
        for kind, check in _CHECKS:
            if isinstance(part, kind):
                found += check(path, part)
    return [
        Fault(dotted(path), given, accepted, mend, line_of(text, path))
        for path, given, accepted, mend in found
    ]


def _parts(part: BaseModel, path: Path) -> Iterator[tuple[Path, BaseModel]]:
    yield path, part
    # Straight from the object: pydantic's own ways cost more than reading the plan.
    for name, inner in part.__dict__.items():
        if isinstance(inner, BaseModel):
            yield from _parts(inner, (*path, name))
        elif isinstance(inner, tuple):
            for index, entry in enumerate(inner):
                if isinstance(entry, BaseModel):
                    yield from _parts(entry, (*path, name, index))


def _ids(parts: list[tuple[Path, BaseModel]]) -> Iterator[_Found]:
    """Yield doubled ids, and pointers to nothing or to the wrong kind of thing."""
    items = {part.id: part for _, part in parts if isinstance(part, Item)}
    counted = Counter(part.id for _, part in parts if isinstance(part, Item))
    for path, part in parts:
        if isinstance(part, Item) and counted[part.id] > 1:
            yield _Found(
                (*path, "id"),
                f'"{part.id}" stands {counted[part.id]} times',
                "an id of its own for everything that has one",
            )
        for name, kinds in _POINTERS.items():
            pointed = part.__dict__.get(name) or ()
            for target in (pointed,) if isinstance(pointed, str) else pointed:
                yield from _pointer((*path, name), target, items, kinds)


def _pointer(
    path: Path, target: str, items: dict[str, Item], kinds: tuple[type[Item], ...]
) -> Iterator[_Found]:
    suited = sorted(name for name, item in items.items() if isinstance(item, kinds))
    accepted = ", ".join(suited) or "nothing yet: the plan has no such table"
    if target not in items:
        from lugbook.premises.stated import nearest

        mend, ordered = nearest(target, suited)
        given = f'"{target}", which nothing in the plan has as its id'
        yield _Found(path, given, ", ".join(ordered) or accepted, mend)
    elif not isinstance(items[target], kinds):
        noun = _NOUNS.get(type(items[target]), "something else")
        yield _Found(path, f'"{target}", which is {noun}', accepted)


_NOUNS: dict[type[Item], str] = {
    Load: "a load",
    SupplyEquipment: "a charger",
    Service: "the service",
    Panel: "a panel",
    Circuit: "a circuit or feeder",
    Section: "a section of a run",
    OtherSource: "a source",
    StandbySource: "a standby source",
}


def _feeder_loops(plan: "Plan") -> Iterator[_Found]:
    places: dict[str, tuple[Path, str | None]] = {}
    groups: tuple[tuple[str, tuple[Panel | Circuit, ...]], ...] = (
        ("panels", plan.panels),
        ("feeders", plan.feeders),
        ("other_circuits", plan.other_circuits),
    )
    for name, group in groups:
        for index, item in enumerate(group):
            places[item.id] = ((name, index, "fed_from"), item.fed_from)
    told: set[str] = set()
    for start in places:
        chain = [start]
        while (above := places.get(chain[-1], ((), None))[1]) and above not in chain:
            chain.append(above)
        if above == start and start not in told:
            told.update(chain)
            yield _Found(
                places[start][0],
                f"a loop: {' from '.join([*chain, start])}",
                "a way that ends at the service",
            )


def _said_absent(plan: "Plan") -> Iterator[_Found]:
    """Yield what is said not to be there and yet stated."""
    here = [load for load in plan.loads if load.state == "existing"]
    kinds = {load.kind for load in here}
    sources = {source.kind for source in plan.sources}
    standby = {source.kind for source in plan.standby}
    stated = {
        "range": "range" in kinds,
        "dryer": "dryer" in kinds,
        "water heater": "water heater" in kinds,
        "heating": not kinds.isdisjoint(HEATING_KINDS),
        "cooling": not kinds.isdisjoint(COOLING_KINDS),
        "vehicle charging": "vehicle charging" in kinds,
        "solar": "solar" in sources,
        "battery": "battery" in sources | standby,
        "generator": "generator" in standby or "generator in parallel" in sources,
        "detached building": plan.detached_building is not None,
    }
    for index, word in enumerate(plan.dwelling.not_present):
        if stated.get(word):
            yield _Found(
                ("dwelling", "not_present", index),
                f'"{word}" is said to be absent, and the plan states one',
                "one or the other",
                "Take the word out, or the table.",
            )


def _legs(plan: "Plan") -> Iterator[_Found]:
    """Yield loads on a leg that their only breaker cannot reach."""
    breakers: dict[str, list[Breaker]] = {}
    for panel in plan.panels:
        for breaker in panel.breakers:
            for target in breaker.serves:
                breakers.setdefault(target, []).append(breaker)
    for index, load in enumerate(plan.loads):
        path: Path = ("loads", index, "leg")
        if load.leg in ("A", "B") and load.voltage and load.voltage.value >= 200:
            yield _Found(
                path,
                f'"{load.leg}" for a load of {load.voltage.text}',
                '"both": one leg alone gives 120 V',
            )
        serving = breakers.get(load.id, [])
        if load.leg is None or len(serving) != 1:
            continue
        breaker = serving[0]
        single = breaker.leg in ("A", "B") and load.leg != breaker.leg
        one_pole = breaker.poles is not None and breaker.poles.value == 1
        if single or (one_pole and load.leg == "both"):
            yield _Found(
                path,
                f'"{load.leg}", while its only breaker has '
                + (f"leg {breaker.leg}" if single else "one pole"),
                "the leg or legs of its breaker",
            )


def _in_any_part(path: Path, part: BaseModel) -> Iterator[_Found]:
    for name, word in _NOTHING.items():
        words = part.__dict__.get(name, ())
        if word in words and len(words) > 1:
            yield _Found(
                (*path, name),
                f'"{word}" beside other words',
                f'either ["{word}"] alone or what was found',
            )
    for small, large in _SMALLEST_LARGEST:
        low, high = part.__dict__.get(small), part.__dict__.get(large)
        if low is None or high is None:
            continue
        if isinstance(low.value, str):
            wrong = _rank(low.value) > _rank(high.value)
        else:
            wrong = low.value >= high.value
        if wrong:
            yield _Found(
                (*path, small),
                f"{low.text} beside {large} = {high.text}",
                f"a {small} below its {large}",
                "Are the two exchanged?",
            )


def _rank(size: str) -> int:
    return CONDUCTOR_SIZES.index(size)


def _panel(path: Path, panel: Panel) -> Iterator[_Found]:
    taken = Counter(p for breaker in panel.breakers for p in breaker.positions)
    tandem = {p for b in panel.breakers if _yes(b.tandem) for p in b.positions}
    for position, times in taken.items():
        if times > (2 if position in tandem else 1):
            yield _Found(
                (*path, "breakers"),
                f"position {position} is taken {times} times",
                "one breaker a position, two where tandem = true",
            )
    for name, positions in (
        ("free_positions", panel.free_positions),
        ("tandem_allowed_positions", panel.tandem_allowed_positions),
        ("breakers", tuple(taken)),
    ):
        beyond = [p for p in positions if panel.spaces and p > panel.spaces.value]
        if beyond and panel.spaces:
            yield _Found(
                (*path, name),
                f"position {beyond[0]} in a panel of {panel.spaces.value} spaces",
                f"1 to {panel.spaces.value}",
            )
        if len(set(positions)) < len(positions):
            yield _Found((*path, name), "a position named twice", "each once")
    both = sorted(set(panel.free_positions) & set(taken))
    if both:
        yield _Found(
            (*path, "free_positions"),
            f"position {both[0]} is called free and holds a breaker",
            "one or the other",
        )


def _breaker(path: Path, breaker: Breaker) -> Iterator[_Found]:
    if not breaker.positions:
        yield _Found(
            (*path, "positions"), "an empty list", "the spaces it takes, as in [5, 7]"
        )
    poles = breaker.poles.value if breaker.poles else None
    if poles is not None and not 1 <= poles <= 3:
        yield _Found((*path, "poles"), f"{poles}", "1, 2 or 3")
    if poles == 1 and breaker.leg == "both":
        yield _Found(
            (*path, "leg"), '"both" for a single pole', '"A" or "B" for one pole'
        )
    if _yes(breaker.tandem):
        return  # two poles of a tandem may share a space, and may land on one leg
    if poles is not None and breaker.positions and poles != len(breaker.positions):
        yield _Found(
            (*path, "positions"),
            f"{len(breaker.positions)} for a breaker of {poles} poles",
            "one position for each pole, unless tandem = true",
        )


def _charger(path: Path, charger: SupplyEquipment) -> Iterator[_Found]:
    steps = charger.setting_steps
    for before, after in pairwise(range(len(steps))):
        if steps[before].value >= steps[after].value:
            yield _Found(
                (*path, "setting_steps", after),
                f"{steps[after].text} after {steps[before].text}",
                "every step once, smallest first",
            )
    nameplate, setting = charger.nameplate, charger.setting
    if nameplate and setting and setting.value > nameplate.value:
        yield _Found(
            (*path, "setting"),
            f"{setting.text} is above the nameplate's {nameplate.text}",
            "a setting at or below the nameplate",
        )
    for index, step in enumerate(steps):
        if nameplate and step.value > nameplate.value:
            yield _Found(
                (*path, "setting_steps", index),
                f"{step.text} is above the nameplate's {nameplate.text}",
                "steps at or below the nameplate",
            )
    if setting and steps and setting.value not in [step.value for step in steps]:
        yield _Found(
            (*path, "setting"),
            f"{setting.text} is not among setting_steps",
            ", ".join(step.text for step in steps),
        )


def _record(path: Path, record: DemandRecord) -> Iterator[_Found]:
    first, last = record.from_day, record.to_day
    if first is None or last is None:
        return
    if last < first:
        yield _Found(
            (*path, "to_day"), f"{last}, before from_day {first}", "a later day"
        )
    elif record.days and record.days.value > (last - first).days + 1:
        yield _Found(
            (*path, "days"),
            f"{record.days.value} days between {first} and {last}",
            f"at most {(last - first).days + 1}",
        )


def _windows(path: Path, tariff: Tariff) -> Iterator[_Found]:
    for index, window in enumerate(tariff.windows):
        here = (*path, "windows", index)
        if (window.starts is None) != (window.ends is None):
            yield _Found(here, "only one of starts and ends", "both, or neither")
        elif window.starts and window.ends and window.starts == window.ends:
            yield _Found(
                (*here, "ends"),
                f"{window.ends.text}, the same minute as starts",
                "two different times; leave both out for the whole day",
            )
    for (one, first), (two, second) in combinations(enumerate(tariff.windows), 2):
        shared = _minutes(first) & _minutes(second)
        if shared:
            yield _Found(
                (*path, "windows", two),
                f"a time that window {one + 1} holds too",
                "windows that do not overlap",
            )


def _minutes(window: TariffWindow) -> set[tuple[str, int]]:
    """Return each minute of the week a window holds."""
    if window.starts is None or window.ends is None:
        return set()
    start, end = int(window.starts.value), int(window.ends.value)
    if start == end:
        return set()
    length = (end - start) % 1440
    return {
        (_DAYS_IN_PLAN[(_DAYS_IN_PLAN.index(day) + minute // 1440) % 7], minute % 1440)
        for day in window.days or _DAYS_IN_PLAN
        for minute in range(start, start + length)
    }


def _management(path: Path, management: LoadManagement) -> Iterator[_Found]:
    fallbacks, members = management.fallback_currents, management.members
    if fallbacks and members and len(fallbacks) != len(members):
        yield _Found(
            (*path, "fallback_currents"),
            f"{len(fallbacks)} for {len(members)} members",
            "one for each member, in their order",
        )


def _yes(stated: Any) -> bool:
    return stated is not None and stated.value is True


_CHECKS: tuple[tuple[type[BaseModel], Callable[[Path, Any], Iterator[_Found]]], ...] = (
    (Panel, _panel),
    (Breaker, _breaker),
    (SupplyEquipment, _charger),
    (DemandRecord, _record),
    (Tariff, _windows),
    (LoadManagement, _management),
)
