"""Which candidates the rules refuse, and by which rule first.

Two ways were written. One judged each candidate's plan with `judge_circuit`, as
`lugbook check` does: some 11 ms each, over an hour for the demo's candidates. The
other, chosen, asks each rule once for each distinct thing it depends on, of the same
scalar functions as `check` (a rule of this kind is a look-up in tables of a few rows),
and combines the answers over the grid of candidates with numpy. No rule is written
twice; the first way is kept as the test's oracle: a sample of candidates, judged in
full, must get the same verdict.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lugbook.assess.assessment import CapacityRow, CircuitItem
from lugbook.assess.capacity import capacity_rows, wish_of
from lugbook.assess.circuit_building import detached_building_item
from lugbook.assess.circuit_case import Case, case_of
from lugbook.assess.circuit_equipment import (
    disconnect_item,
    ground_fault_item,
    label_item,
)
from lugbook.assess.circuit_grounding import grown_grounding_size
from lugbook.assess.circuit_laid import Laid
from lugbook.assess.circuit_overcurrent import (
    adjusted_setting_item,
    individual_circuit_item,
    overcurrent_item,
)
from lugbook.assess.circuit_parts import Check
from lugbook.assess.circuit_receptacle import neutral_item, receptacle_item
from lugbook.assess.circuit_run import RunLimits, run_limits
from lugbook.assess.circuit_terminals import Lug, lug_checks, lugs_on_path
from lugbook.assess.circuit_wiring import shared_wires, wiring_items
from lugbook.assess.feeder import judge_feeders
from lugbook.assess.load_list import gather
from lugbook.assess.options_prices import MATERIALS, Prices
from lugbook.assess.options_space import (
    Assembly,
    Way,
    assemblies_of,
    plan_with,
    ratings_of,
    settings_of,
    sizes_tried,
    ways_of,
)
from lugbook.assess.service_rating import rate_service
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.grounding import table_grounding_size
from lugbook.codebook.nfpa70.overcurrent import continuous_minimum_a
from lugbook.codebook.nfpa70.raceway_fill import conductor_area_in2, fill_limit_in2
from lugbook.codebook.nfpa70.voltage import conductor_impedance_ohm_per_m
from lugbook.errors import MissingEntry, OutOfRange
from lugbook.finding import Finding, Outcome, Weight, compare, worst
from lugbook.physics.voltage_drop import voltage_drop_two_wire
from lugbook.premises.circuit import CABLES, RACEWAYS
from lugbook.premises.plan import Plan
from lugbook.quantities import CONDUCTOR_SIZES
from lugbook.readings.evidence import Evidence

__all__ = ["RULES", "Grid", "grid_of"]

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]
Words = NDArray[np.uint32]

# The published order: a candidate is refused by the first of these that it fails.
RULES: tuple[tuple[str, str], ...] = (
    ("individual_branch_circuit", "The charger has a branch circuit of its own"),
    ("detached_building_supply", "A detached building has one supply"),
    ("overcurrent_device", "The device is large enough, and not too large"),
    ("adjusted_setting", "A setting below the nameplate is marked"),
    ("receptacle", "The receptacle suits the circuit"),
    ("neutral", "A neutral is pulled where one is needed"),
    ("disconnect", "The disconnect is good for the load"),
    ("ground_fault", "The outlet is protected where it must be"),
    ("label", "The directory names the circuit"),
    ("wiring_method", "The wiring method may lie where the run lies"),
    ("conductor_at_terminals", "Wire at the terminals: 125 % of the load"),
    ("conductor_in_use", "Wire in its conditions of use: the load"),
    ("conductor_protection", "The device protects the wire"),
    ("equipment_grounding_conductor", "A grounding wire can be sized"),
    ("terminals", "Every lug takes the wire and its metal"),
    ("raceway_fill", "The wires fit the raceway"),
    ("voltage_drop", "Voltage drop, where an amendment makes it bind"),
    ("service", "Service and feeders carry the setting on the prudent reading"),
)
NUMBER = {name: number for number, (name, _) in enumerate(RULES, 1)}

_PASSES, _FAILS, _UNTOLD = 0, 1, 2
_AS_NUMBER = {Outcome.FALLS_SHORT: _FAILS, Outcome.CANNOT_TELL: _UNTOLD}
_BINDING = (Weight.MUST, Weight.STOP)
_GROUND = "copper"  # every candidate's grounding wire; aluminum must be larger


@dataclass(frozen=True, slots=True)
class Grid:
    """Every candidate with its verdict.

    The three places of a candidate are those of its setting, its device and its
    assembly. Lawful candidates are listed; those refused are counted.

    Args:
        settings_a: Settings tried. [A]
        ratings_a: Overcurrent devices tried. [A]
        ways: Ways to lay the run. [-]
        assemblies: Ways with trade size and conductor. [-]
        refused_by: Number of the first refusing rule, 0 for none, by the places. [-]
        circuits: Places of those that at most the service refuses, a row each. [-]
        carried: Which of them the service carries: the lawful ones. [-]
        ground: Place of each one's grounding wire among all sizes, -1: none. [-]
        open_rules: Bit n: rule n cannot be told for this one. [-]
        book_drop_fraction: Voltage drop of each by the book's resistances. [-]
        margins: By rule, found and limit of each one; NaN if unknown. [-]
        service_largest_a: Largest setting the service carries, prudent. [A]
        service_untold: Whether what it carries beyond that cannot be told. [-]
        ground_fault: Whether a device with ground-fault protection is chosen, by
            setting and device. [-]
        disconnect: Whether a disconnect is fitted, by setting and device. [-]
        new_disconnect: Whether it is another than the one stated. [-]
    """

    settings_a: tuple[float, ...]
    ratings_a: tuple[float, ...]
    ways: tuple[Way, ...]
    assemblies: tuple[Assembly, ...]
    refused_by: NDArray[np.uint8]
    circuits: Places
    carried: NDArray[np.bool_]
    ground: Places
    open_rules: Words
    book_drop_fraction: Numbers
    margins: dict[str, tuple[Numbers, Numbers, str]]
    service_largest_a: float | None
    service_untold: bool
    ground_fault: NDArray[np.bool_]
    disconnect: NDArray[np.bool_]
    new_disconnect: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Pair:
    """A setting with a device: its case, and the items that depend on no wire."""

    case: Case
    found: tuple[tuple[str, Finding], ...]
    ground_fault: bool
    new_disconnect: bool


@dataclass(frozen=True, slots=True)
class _Ampacity:
    """What each conductor of a way may carry: arrays by group, size and column.

    A group is one way of reckoning ampacity and a metal. Raceways reckon alike.
    """

    sizes: tuple[str, ...]
    columns_c: tuple[int, ...]
    group_of: dict[tuple[int, str], int]
    terminal_a: Numbers
    use_a: Numbers
    device_a: Numbers
    device_most_a: Numbers


def grid_of(plan: Plan, edition: Edition, evidence: Evidence, prices: Prices) -> Grid:
    """Every candidate on the stated run, judged.

    Args:
        plan: The house; its circuit has sections. [-]
        edition: Edition of the rules. [-]
        evidence: What was measured. [-]
        prices: The price list: what it prices is tried. [-]

    Returns:
        The grid. [-]
    """
    settings, ratings = settings_of(plan), ratings_of(plan, edition, prices)
    ways = ways_of(plan, edition, prices)
    assemblies = assemblies_of(ways, prices)
    shape = (len(settings), len(ratings), len(assemblies))
    sheet = _Sheet(np.zeros(shape, np.uint8), np.zeros(shape, np.uint32))
    service_a, carries = _service(plan, edition, evidence, settings)
    pairs = [
        [_pair(plan, edition, ways[0], setting_a, a) for a in ratings]
        for setting_a in settings
    ]
    for rule in _PAIR_RULES:
        sheet.judge(rule, _by_pair(pairs, rule)[:, :, None])
    place = np.array([_places(way.case) for way in ways], np.int8)
    of_way = np.array([each.way for each in assemblies], np.int64)
    sheet.judge("wiring_method", place[of_way][None, None, :])
    wires = _Wires(edition, assemblies, ways, pairs, sizes_tried(prices))
    wires.judge(sheet)
    return _finish(
        plan, edition, settings, ratings, pairs, wires, sheet, (service_a, carries)
    )


class _Sheet:
    """First refusing rule and open rules of every candidate."""

    def __init__(self, refused_by: NDArray[np.uint8], open_rules: Words) -> None:
        self.refused_by = refused_by
        self.open_rules = open_rules

    def judge(self, rule: str, verdicts: NDArray[np.int8]) -> None:
        """Enter a rule's verdicts, spread over the candidates they hold for."""
        fails = verdicts == _FAILS
        if fails.any():
            first = (self.refused_by == 0) & fails
            self.refused_by[first] = NUMBER[rule]
        untold = verdicts == _UNTOLD
        if untold.any():
            bits = np.where(untold, np.uint32(1 << NUMBER[rule]), np.uint32(0))
            self.open_rules |= bits


def _service(
    plan: Plan, edition: Edition, evidence: Evidence, settings: Sequence[float]
) -> tuple[float | None, NDArray[np.int8]]:
    loads, rating = gather(plan, edition), rate_service(plan, edition)
    wish = wish_of(plan, max(settings, default=None))

    def rows_at(current_a: float | None) -> tuple[CapacityRow, ...]:
        return capacity_rows(
            plan=plan,
            edition=edition,
            evidence=evidence,
            loads=loads,
            rating=rating,
            wish=replace(wish, setting_a=current_a),
        )

    rows = rows_at(wish.setting_a)
    held = [row for row in rows if row.permitted and row.prudent]
    largest_a = max(
        (row.largest_setting_a for row in held if row.largest_setting_a is not None),
        default=None,
    )
    beyond = _UNTOLD if _is_untold(held) else _FAILS
    asked = replace(wish, steps_a=tuple(settings))
    feeders = judge_feeders(plan, edition, asked, rows_at)
    if feeders.is_limit and (feeders.largest_setting_a or 0.0) < (largest_a or 0.0):
        untold = any(f.outcome is Outcome.CANNOT_TELL for f in feeders.findings)
        beyond = _UNTOLD if untold else _FAILS
        largest_a = feeders.largest_setting_a
    verdicts = [
        _PASSES if largest_a is not None and a <= largest_a else beyond
        for a in settings
    ]
    return largest_a, np.array(verdicts, np.int8)


def _is_untold(held: list[CapacityRow]) -> bool:
    """Whether no method but the record that nobody made could be reckoned."""
    reckoned = [row for row in held if row.method != "measured"]
    return all(row.outcome is Outcome.CANNOT_TELL for row in reckoned)


def _pair(
    plan: Plan, edition: Edition, way: Way, setting_a: float, rating_a: float
) -> _Pair:
    def case_with(ground_fault: bool | None, new_disconnect: bool) -> Case:
        chosen = plan_with(
            plan,
            methods=way.methods,
            insulation=way.insulation,
            size=None,
            material="copper",
            overcurrent_a=rating_a,
            setting_a=setting_a,
            ground_fault=ground_fault,
            new_disconnect=new_disconnect,
        )
        return case_of(chosen, edition, wish_of(chosen, setting_a))

    case = case_with(None, False)
    duty = ground_fault_item(case)
    # Required, not there, and a device that has it would do: then it is chosen.
    protects = (
        duty.minimum is not None
        and _verdict(duty.finding) != _PASSES
        and _verdict(ground_fault_item(case_with(True, False)).finding) == _PASSES
    )
    renews = disconnect_item(case).finding.outcome is Outcome.FALLS_SHORT
    if protects or renews:
        case = case_with(True if protects else None, renews)
    items: tuple[CircuitItem | None, ...] = (
        individual_circuit_item(case),
        detached_building_item(case),
        overcurrent_item(case),
        adjusted_setting_item(case),
        receptacle_item(case),
        neutral_item(case),
        disconnect_item(case),
        ground_fault_item(case),
        label_item(case),
    )
    found = tuple((item.item, item.finding) for item in items if item is not None)
    return _Pair(case, found, protects, renews)


def _has_disconnect(pair: _Pair) -> bool:
    """Whether the circuit has a disconnect: stated, or required."""
    if pair.case.circuit is not None and pair.case.circuit.fitted_disconnect:
        return True
    found = [finding for name, finding in pair.found if name == "disconnect"]
    return any(each.outcome is not Outcome.NOT_REQUIRED for each in found)


_PAIR_RULES = (
    "individual_branch_circuit",
    "detached_building_supply",
    "overcurrent_device",
    "adjusted_setting",
    "receptacle",
    "neutral",
    "disconnect",
    "ground_fault",
    "label",
)


def _by_pair(pairs: list[list[_Pair]], rule: str) -> NDArray[np.int8]:
    return np.array(
        [
            _worst([finding for name, finding in pair.found if name == rule])
            for row in pairs
            for pair in row
        ],
        np.int8,
    ).reshape(len(pairs), -1)


def _worst(findings: list[Finding]) -> int:
    verdicts = {_verdict(finding) for finding in findings}
    return next((v for v in (_FAILS, _UNTOLD) if v in verdicts), _PASSES)


def _verdict(finding: Finding) -> int:
    if finding.weight not in _BINDING:
        return _PASSES
    return _AS_NUMBER.get(finding.outcome, _PASSES)


def _places(case: Case) -> int:
    return _worst([item.finding for item in wiring_items(case)])


class _Wires:
    """The conductors' three tests over the grid, from tables of `run_limits`."""

    def __init__(
        self,
        edition: Edition,
        assemblies: Sequence[Assembly],
        ways: Sequence[Way],
        pairs: list[list[_Pair]],
        tried: tuple[str, ...],
    ) -> None:
        self.edition = edition
        self.assemblies = tuple(assemblies)
        self.ways = tuple(ways)
        self.pairs = pairs
        rank = CONDUCTOR_SIZES.index(tried[-1]) if tried else -1
        table = edition.table("ampacity").rows
        sizes = [str(row[0]) for row in table]
        sizes = [size for size in sizes if CONDUCTOR_SIZES.index(size) <= rank]
        devices = [pair.case for pair in pairs[0]] if pairs else []
        sure = [case.column_c(case.device_a or 0.0)[0] for case in devices]
        hopeful = [
            case.column_c(case.device_a or 0.0, hopeful=True)[0] for case in devices
        ]
        columns = tuple(sorted({*sure, *hopeful}))
        self.limits = _ampacity(self.ways, tuple(sizes), columns)
        self.sure = np.array([columns.index(c) for c in sure], np.int64)
        self.hopeful = np.array([columns.index(c) for c in hopeful], np.int64)
        self.group = np.array(
            [self.limits.group_of[each.way, each.material] for each in assemblies],
            np.int64,
        )
        self.size = np.array([sizes.index(each.size) for each in assemblies], np.int64)
        counted = [row[0].case.counted for row in pairs]
        self.low_a = [None if c is None else c.low_a for c in counted]
        self.high_a = [None if c is None else c.high_a for c in counted]
        self.likely_a = [None if c is None else c.likely_a for c in counted]
        self.device_a = [case.device_a for case in devices]

    def judge(self, sheet: _Sheet) -> None:
        """Enter the three tests."""
        limits, group, size = self.limits, self.group, self.size
        terminal, use = limits.terminal_a[group, size], limits.use_a[group, size]
        device = limits.device_a[group, size]
        low, high = self.needed(self.low_a), self.needed(self.high_a)
        best, least = _outcomes(low, terminal), _outcomes(high, terminal)
        sheet.judge(
            "conductor_at_terminals",
            # setting, assembly, column -> setting, device, assembly
            _both(
                best[:, :, self.hopeful].transpose(0, 2, 1),
                least[:, :, self.sure].transpose(0, 2, 1),
            ),
        )
        in_use = _both(_outcomes(self.low_a, use), _outcomes(self.high_a, use))
        sheet.judge("conductor_in_use", in_use[:, None, :])
        protects = _outcomes(self.device_a, device)
        at_most = _outcomes(self.device_a, limits.device_most_a[group, size])
        each = np.arange(len(self.device_a))
        sheet.judge(
            "conductor_protection",
            _both(at_most[each, :, self.hopeful], protects[each, :, self.sure])[None],
        )

    def least_sizes(self) -> Places:
        """Return the least size that passes, by setting, device, group; -1: none.

        As `least_grounding_size` has it: the current that sizing goes by, the hopeful
        column.
        """
        limits = self.limits
        need = _outcomes(self.needed(self.likely_a), limits.terminal_a)
        use = _outcomes(self.likely_a, limits.use_a)
        device = _outcomes(self.device_a, limits.device_a)
        each = np.arange(len(self.device_a))
        terminal_ok = need[:, :, :, self.hopeful].transpose(0, 3, 1, 2) == _PASSES
        device_ok = device[each, :, :, self.hopeful][None] == _PASSES
        passes = terminal_ok & device_ok & (use == _PASSES)[:, None]
        by_terminals = np.broadcast_to(terminal_ok, passes.shape)
        # While the run is not known the terminals alone say which, as in `check`.
        found = np.where(passes.any(axis=-1)[..., None], passes, by_terminals)
        return np.where(found.any(axis=-1), found.argmax(axis=-1), -1)

    def needed(self, currents: Sequence[float | None]) -> list[float | None]:
        """Return what a conductor must be good for with each continuous current."""
        return [
            None
            if a is None
            else continuous_minimum_a(
                edition=self.edition, current_a=a, rule="continuous-load-conductor"
            ).amount
            for a in currents
        ]


def _ampacity(
    ways: Sequence[Way], sizes: tuple[str, ...], columns: tuple[int, ...]
) -> _Ampacity:
    group_of: dict[tuple[int, str], int] = {}
    by_key: dict[tuple[object, ...], int] = {}
    tables: list[list[list[RunLimits | None]]] = []
    for place, way in enumerate(ways):
        for material in MATERIALS:
            key = (_reckons_as(way.case), material)
            if key not in by_key:
                by_key[key] = len(tables)
                tables.append(
                    [
                        [
                            run_limits(
                                way.case,
                                size=size,
                                material=material,
                                column_c=column_c,
                                as_stated=False,
                            )
                            for column_c in columns
                        ]
                        for size in sizes
                    ]
                )
            group_of[place, material] = by_key[key]
    use, device = _amounts(tables, "use_a"), _amounts(tables, "device_a")
    most = _amounts(tables, "device_most_a")
    return _Ampacity(
        sizes,
        columns,
        group_of,
        _amounts(tables, "terminal_a"),
        use[:, :, 0],
        device,
        np.where(np.isnan(device), most, device),
    )


def _reckons_as(case: Case) -> tuple[object, ...]:
    """Return what ampacity depends on in a way: of raceways, not which one."""
    return tuple(
        (
            laid.method if laid.method in CABLES else "raceway",
            laid.insulation,
            laid.is_print_read,
            laid.is_wet,
            laid.is_inside,
            laid.in_insulation,
            laid.ambient_c,
            laid.count,
            laid.length_m,
            laid.roof_height_m,
            laid.missing,
        )
        for laid in case.run
    )


def _amounts(tables: list[list[list[RunLimits | None]]], name: str) -> Numbers:
    def amount(limits: RunLimits | None) -> float:
        found = None if limits is None else getattr(limits, name)
        return float("nan") if found is None else float(found)

    return np.array([[[amount(x) for x in row] for row in one] for one in tables])


def _outcomes(found: Sequence[float | None], limits: Numbers) -> NDArray[np.int8]:
    """Return the outcome of each number against each limit, by the one `compare`."""
    distinct, place = np.unique(limits, return_inverse=True)
    table = np.array(
        [
            [_AS_NUMBER.get(_compared(each, limit), _PASSES) for limit in distinct]
            for each in found
        ],
        np.int8,
    ).reshape(len(found), len(distinct))
    return table[:, place.reshape(limits.shape)]


def _compared(found: float | None, limit: float) -> Outcome:
    return compare(found=found, limit=float(limit), kind="series").outcome


def _paired(
    found: Numbers, limits: Numbers, held: dict[tuple[float, float], int] | None = None
) -> NDArray[np.int8]:
    """Return the outcome of each number against its own limit.

    What was compared before in the same search is in `held`.
    """
    held = {} if held is None else held
    left, at = np.unique(found, return_inverse=True)
    right, beside = np.unique(limits, return_inverse=True)
    keys, place = np.unique(at * len(right) + beside, return_inverse=True)
    lefts, rights = left.tolist(), right.tolist()
    verdicts = []
    for key in keys.tolist():
        pair = (lefts[key // len(right)], rights[key % len(right)])
        if pair not in held:
            held[pair] = _AS_NUMBER.get(_compared(*pair), _PASSES)
        verdicts.append(held[pair])
    spread: NDArray[np.int8] = np.array(verdicts, np.int8)[place.reshape(found.shape)]
    return spread


def _both(best: NDArray[np.int8], least: NDArray[np.int8]) -> NDArray[np.int8]:
    """Return what `check` makes of the favourable and the unfavourable outcome."""
    fails = np.where(best == _FAILS, _FAILS, _PASSES)
    untold = (best != _FAILS) & (least != _PASSES)
    return np.where(untold, _UNTOLD, fails).astype(np.int8)


@dataclass(frozen=True, slots=True)
class _Left:
    """Candidates that no rule has refused so far, a place each in every array."""

    setting: Places
    device: Places
    assembly: Places


def _finish(
    plan: Plan,
    edition: Edition,
    settings: tuple[float, ...],
    ratings: tuple[float, ...],
    pairs: list[list[_Pair]],
    wires: _Wires,
    sheet: _Sheet,
    service: tuple[float | None, NDArray[np.int8]],
) -> Grid:
    """Judge what is left by the rules that need the grounding wire: a list, no grid."""
    left = _Left(*np.nonzero(sheet.refused_by == 0))
    at = (left.setting, left.device, left.assembly)
    ground = _grounds(edition, wires, left)
    lugs = _lug_verdicts(pairs, wires, left, ground)
    fill, area_in2, limit_in2 = _fill(edition, wires, left, ground)
    drop_fraction, drop = _drop(plan, edition, settings, wires, left)
    sized = np.where(ground < 0, _UNTOLD, _PASSES).astype(np.int8)
    for rule, verdicts in (
        ("equipment_grounding_conductor", sized),
        ("terminals", lugs),
        ("raceway_fill", fill),
        ("voltage_drop", drop),
        ("service", service[1][left.setting]),
    ):
        now = sheet.refused_by[at]
        sheet.refused_by[at] = np.where(
            (now == 0) & (verdicts == _FAILS), NUMBER[rule], now
        )
        bit = np.uint32(1 << NUMBER[rule])
        sheet.open_rules[at] |= np.where(verdicts == _UNTOLD, bit, np.uint32(0))
    kept = np.isin(sheet.refused_by[at], (0, NUMBER["service"]))
    carried = sheet.refused_by[at][kept] == 0
    circuits = np.stack(at, axis=1)[kept]
    return Grid(
        settings_a=settings,
        ratings_a=ratings,
        ways=wires.ways,
        assemblies=wires.assemblies,
        refused_by=sheet.refused_by,
        circuits=circuits,
        carried=carried,
        ground=ground[kept],
        open_rules=sheet.open_rules[at][kept],
        book_drop_fraction=drop_fraction[kept],
        margins=_margins(wires, ratings, circuits, area_in2[kept], limit_in2[kept]),
        service_largest_a=service[0],
        service_untold=bool((service[1] == _UNTOLD).any()),
        ground_fault=np.array([[pair.ground_fault for pair in row] for row in pairs]),
        new_disconnect=np.array(
            [[pair.new_disconnect for pair in row] for row in pairs]
        ),
        disconnect=np.array([[_has_disconnect(pair) for pair in row] for row in pairs]),
    )


def _grounds(edition: Edition, wires: _Wires, left: _Left) -> Places:
    """Return the place of each one's grounding wire among all sizes; -1: none."""
    least = wires.least_sizes()[left.setting, left.device, wires.group[left.assembly]]
    is_copper = np.array([each.material == _GROUND for each in wires.assemblies])
    size = wires.size[left.assembly]
    count = len(wires.limits.sizes) + 1
    keys = (left.device * count + size) * count + least + 1
    keys = keys * 2 + is_copper[left.assembly]
    distinct, place = np.unique(keys, return_inverse=True)
    found = []
    for key in distinct.tolist():
        key, copper = divmod(key, 2)
        rest, least_place = divmod(key, count)
        device, used = divmod(rest, count)
        found.append(
            _ground_place(
                edition,
                device_a=wires.device_a[device] or 0.0,
                used=wires.limits.sizes[used],
                used_material=_GROUND if copper else "aluminum",
                least=wires.limits.sizes[least_place - 1] if least_place else None,
            )
        )
    return np.array(found, np.int64)[place] if found else np.zeros(0, np.int64)


def _ground_place(
    edition: Edition,
    *,
    device_a: float,
    used: str,
    used_material: str,
    least: str | None,
) -> int:
    if least is None:
        return -1
    try:
        table_size, _ = table_grounding_size(
            edition=edition, device_a=device_a, material=_GROUND
        )
        _, size, _ = grown_grounding_size(
            edition=edition,
            table_size=table_size,
            material=_GROUND,
            used=used,
            used_material=used_material,
            least=least,
        )
    except (MissingEntry, OutOfRange):
        return -1
    return CONDUCTOR_SIZES.index(size)


def _lug_verdicts(
    pairs: list[list[_Pair]], wires: _Wires, left: _Left, ground: Places
) -> NDArray[np.int8]:
    """Return whether every lug on the path takes each one's wires."""
    verdicts = np.zeros(len(left.setting), np.int8)
    materials = np.array([MATERIALS.index(e.material) for e in wires.assemblies])
    cases = [pair.case for pair in pairs[0]] if pairs else []
    for device, case in enumerate(cases):
        here = np.nonzero(left.device == device)[0]
        for lug in lugs_on_path(case) if len(here) else ():
            if lug.takes == "ground":
                keys = ground[here] + 1
            else:
                assembly = left.assembly[here]
                keys = wires.size[assembly] * len(MATERIALS) + materials[assembly]
            distinct, place = np.unique(keys, return_inverse=True)
            table = np.array(
                [
                    _lug_verdict(case, lug, *_conductor(wires, lug, case, key))
                    for key in distinct.tolist()
                ],
                np.int8,
            )
            verdicts[here] = _graver(verdicts[here], table[place])
    return verdicts


def _conductor(wires: _Wires, lug: Lug, case: Case, key: int) -> tuple[str | None, str]:
    if lug.takes == "ground":
        return (CONDUCTOR_SIZES[key - 1] if key else None), _GROUND
    size, metal = divmod(key, len(MATERIALS))
    material = MATERIALS[metal]
    neutral = case.circuit.neutral if case.circuit else None
    if lug.takes == "neutral" and neutral is not None:
        own = neutral.material.value if neutral.material else material
        return (neutral.size.value if neutral.size else None), own
    return wires.limits.sizes[size], material


def _lug_verdict(case: Case, lug: Lug, size: str | None, material: str) -> int:
    checks: tuple[Check, ...] = lug_checks(case, lug, size, material, None)
    outcome = worst(tuple(each.outcome for each in checks))
    gravest = next(each for each in checks if each.outcome is outcome)
    if gravest.weight not in _BINDING:
        return _PASSES
    return _AS_NUMBER.get(outcome, _PASSES)


def _graver(one: NDArray[np.int8], other: NDArray[np.int8]) -> NDArray[np.int8]:
    fails = (one == _FAILS) | (other == _FAILS)
    return np.where(fails, _FAILS, np.maximum(one, other)).astype(np.int8)


def _fill(
    edition: Edition, wires: _Wires, left: _Left, ground: Places
) -> tuple[NDArray[np.int8], Numbers, Numbers]:
    """Return verdicts, and area with its limit in the section that is fullest."""
    count = len(left.setting)
    verdicts = np.zeros(count, np.int8)
    fullest = np.full(count, np.nan)
    area_in2, limit_in2 = np.full(count, np.nan), np.full(count, np.nan)
    of_way = np.array([each.way for each in wires.assemblies], np.int64)
    trades = tuple(dict.fromkeys(each.trade_size for each in wires.assemblies))
    of_trade = np.array([trades.index(e.trade_size) for e in wires.assemblies])
    areas = _Areas(edition, len(CONDUCTOR_SIZES) + 1)
    held: dict[tuple[float, float], int] = {}
    for place, way in enumerate(wires.ways):
        here = np.nonzero(of_way[left.assembly] == place)[0]
        for laid in way.case.run if len(here) else ():
            if laid.method not in RACEWAYS:
                continue
            assembly = left.assembly[here]
            keys = wires.size[assembly] * areas.base + ground[here] + 1
            distinct, at = np.unique(keys, return_inverse=True)
            inside = [
                areas.inside(way.case, laid, wires.limits.sizes, key)
                for key in distinct.tolist()
            ]
            number = max((number for _, number in inside), default=0)
            found = np.array([area for area, _ in inside])[at]
            within = [areas.within(laid, trade, number) for trade in trades]
            limit = np.array(within)[of_trade[assembly]]
            verdicts[here] = _graver(verdicts[here], _paired(found, limit, held))
            share = found / limit
            more = ~(share <= fullest[here])  # also where either is unknown
            fullest[here] = np.where(more, share, fullest[here])
            area_in2[here] = np.where(more, found, area_in2[here])
            limit_in2[here] = np.where(more, limit, limit_in2[here])
    return verdicts, area_in2, limit_in2


class _Areas:
    """Areas in a raceway, each asked of the tables once."""

    def __init__(self, edition: Edition, base: int) -> None:
        self.edition = edition
        self.base = base
        self._inside: dict[tuple[object, ...], tuple[float, int]] = {}
        self._within: dict[tuple[object, ...], float] = {}

    def inside(
        self, case: Case, laid: Laid, sizes: Sequence[str], key: int
    ) -> tuple[float, int]:
        """Return area and number of the conductors; NaN where it cannot be told."""
        held = (laid.id, laid.insulation, key)
        if held not in self._inside:
            size, ground = divmod(key, self.base)
            self._inside[held] = self._summed(case, laid, sizes[size], ground - 1)
        return self._inside[held]

    def _summed(
        self, case: Case, laid: Laid, size: str, ground: int
    ) -> tuple[float, int]:
        shared, cover = shared_wires(laid.section), laid.insulation
        if ground < 0 or shared is None or cover is None:
            return float("nan"), 0
        wires = [(size, cover)] * 2 + shared
        circuit = case.circuit
        if circuit is not None and (
            circuit.neutral is not None
            or (circuit.neutral_pulled is not None and circuit.neutral_pulled.value)
        ):
            own = circuit.neutral.size if circuit.neutral else None
            wires.append((own.value if own else size, cover))
        wires.append((CONDUCTOR_SIZES[ground], cover))
        try:
            return math.fsum(
                conductor_area_in2(
                    edition=self.edition, size=each, insulation=insulation
                ).amount
                for each, insulation in wires
            ), len(wires)
        except MissingEntry:
            return float("nan"), len(wires)

    def within(self, laid: Laid, trade: str | None, count: int) -> float:
        """Return the area allowed; NaN where the table has none."""
        key = (laid.method, trade, count, laid.length_m)
        if key not in self._within:
            self._within[key] = self._allowed(laid, trade, count)
        return self._within[key]

    def _allowed(self, laid: Laid, trade: str | None, count: int) -> float:
        if trade is None or not count:
            return float("nan")
        try:
            return fill_limit_in2(
                edition=self.edition,
                method=laid.method or "",
                trade_size=trade,
                count=count,
                length_m=laid.length_m,
            ).amount
        except MissingEntry:
            return float("nan")


def _drop(
    plan: Plan,
    edition: Edition,
    settings: tuple[float, ...],
    wires: _Wires,
    left: _Left,
) -> tuple[Numbers, NDArray[np.int8]]:
    """Return the drop by the book's resistances, and the verdict where it binds."""
    supply_v = wish_of(plan, None).voltage_v
    current_a = np.array(settings)[left.setting]
    drop_v = np.zeros(len(current_a))
    run = wires.ways[0].case.run if wires.ways else ()
    known: dict[tuple[str, str, str], float] = {}
    used = np.unique(left.assembly)
    for place in range(len(run)):
        length_m = run[place].length_m
        ohms = np.full(len(wires.assemblies), np.nan)
        for one in used.tolist():
            each = wires.assemblies[one]
            key = (each.size, each.material, wires.ways[each.way].methods[place])
            if key not in known:
                known[key] = _ohm_per_m(edition, *key)
            ohms[one] = known[key]
        ohm = ohms[left.assembly]
        if length_m is None:
            drop_v = np.full(len(current_a), np.nan)
            break
        drop_v = drop_v + _section_drop_v(current_a, ohm, length_m)
    fraction = drop_v / (supply_v or float("nan"))
    rule = edition.rule("voltage-drop-advice")
    if not rule.parameters.get("mandatory"):
        return fraction, np.zeros(len(current_a), np.int8)
    limit = np.full(len(current_a), rule.number("branch_fraction"))
    return fraction, _paired(fraction, limit)


def _section_drop_v(current_a: Numbers, ohm: Numbers, length_m: float) -> Numbers:
    drop_v = np.full(len(current_a), np.nan)
    known = np.isfinite(ohm)
    if known.any():
        drop_v[known] = voltage_drop_two_wire(
            current_a=current_a[known],  # type: ignore[arg-type]
            resistance_ohm_per_m=ohm[known],  # type: ignore[arg-type]
            length_m=length_m,
        )
    return drop_v


def _ohm_per_m(edition: Edition, size: str, material: str, method: str) -> float:
    try:
        found, _ = conductor_impedance_ohm_per_m(
            edition=edition, size=size, material=material, method=method
        )
    except MissingEntry:
        return float("nan")
    return found.amount


def _margins(
    wires: _Wires,
    ratings: tuple[float, ...],
    circuits: Places,
    area_in2: Numbers,
    limit_in2: Numbers,
) -> dict[str, tuple[Numbers, Numbers, str]]:
    """Return found and limit by rule, the unfavourable side of each."""
    setting, device, assembly = circuits.T
    group, size = wires.group[assembly], wires.size[assembly]
    counted = _or_nan(wires.high_a)[setting]
    needed = _or_nan(wires.needed(wires.high_a))[setting]
    rating = np.array(ratings)[device]
    column = wires.sure[device]
    limits = wires.limits
    return {
        "overcurrent_device": (needed, rating, "A"),
        "conductor_at_terminals": (
            needed,
            limits.terminal_a[group, size, column],
            "A",
        ),
        "conductor_in_use": (counted, limits.use_a[group, size], "A"),
        "conductor_protection": (rating, limits.device_a[group, size, column], "A"),
        "raceway_fill": (area_in2, limit_in2, "in²"),
    }


def _or_nan(amounts: Sequence[float | None]) -> Numbers:
    return np.array([float("nan") if a is None else a for a in amounts], np.float64)
