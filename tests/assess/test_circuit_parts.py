"""Grounding, terminals, wiring, fill, drop and duties of the circuit, by hand."""

from __future__ import annotations

import pytest
from circuit_plans import charger, circuit, finding, item, judge, names, section

from lugbook.codebook.edition import editions
from lugbook.finding import Outcome, SignalWord, Weight

every_edition = pytest.mark.parametrize("year", editions())

FALLS, MEETS, OPEN, NOT_ASKED = (
    Outcome.FALLS_SHORT,
    Outcome.MEETS,
    Outcome.CANNOT_TELL,
    Outcome.NOT_REQUIRED,
)
EGC = "equipment_grounding_conductor"


# --- equipment grounding conductor ----------------------------------------------


@every_edition
@pytest.mark.parametrize(
    ("ground", "outcome"), [("12 AWG", FALLS), ("10 AWG", MEETS), ("8 AWG", MEETS)]
)
def test_grounding_wire_behind_60_a(year: str, ground: str, outcome: Outcome) -> None:
    found = judge(charger(48), circuit(60, ground=ground), year=year)
    assert finding(found, EGC).outcome is outcome
    assert item(found, EGC).minimum == "10 AWG copper"


@every_edition
@pytest.mark.parametrize(
    ("ground", "outcome"), [("10 AWG", FALLS), ("8 AWG", FALLS), ("6 AWG", MEETS)]
)
def test_the_near_miss_of_8_awg(year: str, ground: str, outcome: Outcome) -> None:
    # 4 AWG where 6 AWG would do: 10,380 × 41,740 ÷ 26,240 = 16,511.5 > 16,510.
    found = judge(charger(48), circuit(60, "4 AWG", ground=ground), year=year)
    egc = finding(found, EGC)
    assert egc.outcome is outcome
    assert item(found, EGC).minimum == "6 AWG copper"
    assert egc.limit == pytest.approx(16511.4787, abs=0.001)
    assert egc.working is not None
    assert any("hair" in str(line.amount) for line in egc.working.lines)
    if outcome is FALLS:
        assert "Ask the authority" in egc.next


@every_edition
def test_growth_for_the_hot_attic_is_no_increase(year: str) -> None:
    # 2 AWG is the least there; 3 AWG would do at 30 °C, but that is no increase.
    run = section("attic", ambient="52 °C", place="attic")
    found = judge(
        charger(80), circuit(100, "2 AWG", ground="8 AWG", sections=run), year=year
    )
    assert finding(found, EGC).outcome is MEETS


@every_edition
def test_growth_beyond_the_hot_attic_is_an_increase(year: str) -> None:
    # 1 AWG where 2 AWG would do: 16,510 × 83,690 ÷ 66,360 = 20,822: a 6 AWG.
    run = section("attic", ambient="52 °C", place="attic")
    found = judge(
        charger(80), circuit(100, "1 AWG", ground="8 AWG", sections=run), year=year
    )
    assert finding(found, EGC).outcome is FALLS
    assert item(found, EGC).minimum == "6 AWG copper"


@every_edition
def test_never_larger_than_the_circuits_conductors(year: str) -> None:
    # 20 A device, 12 AWG would do, 10 AWG pulled: 6,530 × 10,380 ÷ 6,530 = 10 AWG.
    found = judge(charger(16), circuit(20, "10 AWG", ground="10 AWG"), year=year)
    assert finding(found, EGC).outcome is MEETS
    assert item(found, EGC).minimum == "10 AWG copper"


@every_edition
def test_an_unread_terminal_does_not_shrink_the_growth(year: str) -> None:
    # At 60 °C the least would be 4 AWG and nothing would grow; at 75 °C it is 6 AWG.
    found = judge(
        charger(48), circuit(60, "4 AWG", ground="8 AWG", terminals=None), year=year
    )
    assert finding(found, EGC).outcome is FALLS


@every_edition
def test_unknown_run_leaves_an_increase_open(year: str) -> None:
    found = judge(charger(48), circuit(60, "4 AWG", sections=""), year=year)
    assert finding(found, EGC).outcome is OPEN
    sure = judge(charger(48), circuit(60, "6 AWG", sections=""), year=year)
    assert finding(sure, EGC).outcome is MEETS


@every_edition
def test_no_grounding_conductor_at_all_stops(year: str) -> None:
    none = '[circuit.equipment_ground]\nkind = "none"\n'
    found = judge(charger(48), circuit(60, ground=None, extra=none), year=year)
    egc = finding(found, EGC)
    assert (egc.outcome, egc.weight) == (FALLS, Weight.STOP)
    assert egc.signal is SignalWord.DANGER


@every_edition
@pytest.mark.parametrize(
    ("run", "outcome"),
    [
        (section(), MEETS),
        (section(method="PVC 40"), FALLS),
        (section() + section("b", method="PVC 40"), FALLS),
        (section(method=None), OPEN),
        (
            section()
            + section("b", method="LFMC", length="5 ft", extra='trade_size = "1"'),
            MEETS,
        ),
        (
            section()
            + section("b", method="LFMC", length="7 ft", extra='trade_size = "1"'),
            FALLS,
        ),
        ("", OPEN),
    ],
)
def test_the_raceway_as_the_path(year: str, run: str, outcome: Outcome) -> None:
    raceway = '[circuit.equipment_ground]\nkind = "raceway"\n'
    found = judge(
        charger(48), circuit(60, ground=None, extra=raceway, sections=run), year=year
    )
    assert finding(found, EGC).outcome is outcome


@pytest.mark.parametrize(("method", "outcome"), [("MC cable", OPEN), ("EMT", FALLS)])
def test_cable_armor_as_the_path(method: str, outcome: Outcome) -> None:
    armor = '[circuit.equipment_ground]\nkind = "cable armor"\n'
    run = section(method=method)
    found = judge(charger(48), circuit(60, ground=None, extra=armor, sections=run))
    assert finding(found, EGC).outcome is outcome


def test_a_section_with_a_smaller_grounding_wire_is_found() -> None:
    thin = section(
        "b", extra='[circuit.sections.equipment_ground]\nsize = "12 AWG"\nkind = "wire"'
    )
    found = judge(charger(48), circuit(60, sections=section() + thin))
    assert finding(found, EGC).outcome is FALLS


def test_sizes_beyond_the_conductor_table_are_judged_by_its_ends() -> None:
    small = judge(charger(48), circuit(60, ground="16 AWG"))
    large = judge(charger(48), circuit(60, ground="600 kcmil"))
    assert finding(small, EGC).outcome is FALLS
    assert finding(large, EGC).outcome is MEETS


def test_aluminum_grounding_wire_goes_by_its_own_column() -> None:
    aluminum = (
        '[circuit.equipment_ground]\nkind = "wire"\nmaterial = "aluminum"\n'
        'size = "10 AWG"\n'
    )
    found = judge(charger(48), circuit(60, ground=None, extra=aluminum))
    assert finding(found, EGC).outcome is FALLS
    assert item(found, EGC).minimum == "8 AWG aluminum"


# --- terminals ------------------------------------------------------------------

RANGE = 'terminal_smallest = "{}"\nterminal_largest = "{}"'


@pytest.mark.parametrize(
    ("smallest", "largest", "outcome"),
    [
        ("6 AWG", "1/0 AWG", MEETS),
        ("14 AWG", "6 AWG", MEETS),
        ("14 AWG", "8 AWG", FALLS),
        ("4 AWG", "1/0 AWG", FALLS),
    ],
)
def test_size_in_the_lugs_range(smallest: str, largest: str, outcome: Outcome) -> None:
    label = charger(48, extra=RANGE.format(smallest, largest))
    assert finding(judge(label, circuit()), "terminals.charger").outcome is outcome


@pytest.mark.parametrize(
    ("extra", "outcome"),
    [
        ("", OPEN),
        ('terminal_largest = "8 AWG"', FALLS),
        ('terminal_largest = "4 AWG"', OPEN),
    ],
)
def test_an_unread_range_is_open_unless_one_end_refuses(
    extra: str, outcome: Outcome
) -> None:
    found = finding(judge(charger(48, extra=extra), circuit()), "terminals.charger")
    assert found.outcome is outcome
    # What is only unread is to be looked up before buying; it stops nothing.
    assert found.weight is (Weight.MUST if outcome is FALLS else Weight.ADVICE)


@pytest.mark.parametrize(
    ("material", "metals", "outcome"),
    [
        ("copper", "copper only", MEETS),
        ("copper", "aluminum only", FALLS),
        ("aluminum", "copper only", FALLS),
        ("aluminum", "copper or aluminum", MEETS),
        ("aluminum", None, OPEN),
        ("copper", None, MEETS),
    ],
)
def test_metal_under_the_lug(
    material: str, metals: str | None, outcome: Outcome
) -> None:
    extra = RANGE.format("14 AWG", "1/0 AWG")
    if metals:
        extra += f'\nterminal_materials = "{metals}"'
    found = judge(charger(48, extra=extra), circuit(60, "4 AWG", material=material))
    assert finding(found, "terminals.charger").outcome is outcome


@pytest.mark.parametrize(
    ("extra", "outcome"),
    [
        ("wires_in_it = 1", MEETS),
        ("wires_in_it = 2", OPEN),
    ],
)
def test_one_wire_to_a_terminal(extra: str, outcome: Outcome) -> None:
    terminal = (
        '[[circuit.terminals]]\nid = "joint"\nat = "splice"\ntemperature = "75 °C"\n'
        f'smallest = "14 AWG"\nlargest = "2 AWG"\n{extra}\n'
    )
    found = judge(charger(48), circuit(extra=terminal))
    assert finding(found, "terminals.joint").outcome is outcome


@pytest.mark.parametrize(
    ("said", "outcome"),
    [("fine_strands = true", MEETS), ("fine_strands = false", FALLS), ("", OPEN)],
)
def test_fine_strands_need_a_terminal_for_them(said: str, outcome: Outcome) -> None:
    terminal = (
        '[[circuit.terminals]]\nid = "joint"\nat = "splice"\ntemperature = "75 °C"\n'
        f'smallest = "14 AWG"\nlargest = "2 AWG"\n{said}\n'
    )
    fine = circuit(extra=terminal).replace(
        'size = "6 AWG"', 'size = "6 AWG"\nstranding = "fine"', 1
    )
    assert finding(judge(charger(48), fine), "terminals.joint").outcome is outcome


def test_a_grounding_terminal_is_compared_with_the_grounding_wire() -> None:
    terminal = (
        '[[circuit.terminals]]\nid = "bar"\nat = "grounding bar"\n'
        'smallest = "14 AWG"\nlargest = "10 AWG"\n'
    )
    found = judge(charger(48), circuit(extra=terminal))
    assert item(found, "terminals.bar").stated == "10 AWG copper"
    assert finding(found, "terminals.bar").outcome is MEETS


def test_without_a_conductor_the_terminals_are_a_duty_only() -> None:
    found = judge(charger(48), circuit(60, None))
    assert finding(found, "terminals").outcome is MEETS
    assert "compare" in finding(found, "terminals").next


# --- where a wiring method may lie ----------------------------------------------


@every_edition
@pytest.mark.parametrize(
    ("method", "place", "outcome"),
    [
        ("NM cable", "garage", None),
        ("NM cable", "outdoors", FALLS),
        ("NM cable", "underground", FALLS),
        ("NM cable", None, OPEN),
        ("SE cable", "basement", None),
        ("SE cable", "outdoors", None),
        ("SE cable", "underground", FALLS),
        ("SE cable", None, OPEN),
        ("AC cable", "indoors", None),
        ("AC cable", "outdoors", FALLS),
        ("MC cable", "indoors", None),
        ("MC cable", "outdoors", OPEN),
        ("UF cable", "underground", None),
        ("open air", "indoors", OPEN),
        ("EMT", "outdoors", None),
    ],
)
def test_places_of_wiring_methods(
    year: str, method: str, place: str | None, outcome: Outcome | None
) -> None:
    run = section("run", method=method, place=place)
    found = judge(charger(48), circuit(60, "4 AWG", sections=run), year=year)
    stated = [n for n in names(found) if n.startswith("wiring_method")]
    if outcome is None:
        assert stated == []
    else:
        assert finding(found, "wiring_method.run").outcome is outcome


def test_wet_said_outright_counts_inside_too() -> None:
    run = section("run", method="NM cable", extra="wet = true")
    found = judge(charger(48), circuit(60, "4 AWG", sections=run))
    assert finding(found, "wiring_method.run").outcome is FALLS


@every_edition
@pytest.mark.parametrize(
    ("size", "said", "outcome"),
    [
        ("4 AWG", "in_insulation = true", MEETS),
        ("6 AWG", "in_insulation = true", FALLS),  # AC in insulation: 60 °C, 55 A
        ("6 AWG", "in_insulation = false", MEETS),  # 65 A at 75 °C
    ],
)
def test_armored_cable_in_insulation(
    year: str, size: str, said: str, outcome: Outcome
) -> None:
    run = section(method="AC cable", place="attic", extra=said)
    found = judge(
        charger(48), circuit(60, size, insulation=None, sections=run), year=year
    )
    assert finding(found, "conductor").outcome is outcome


@every_edition
@pytest.mark.parametrize(
    ("setting", "device", "size", "outcome"),
    [
        (72, 90, "2 AWG", MEETS),  # 90 A at 75 °C
        (80, 100, "2 AWG", FALLS),
        (80, 100, "1 AWG", MEETS),  # 100 A at 75 °C
    ],
)
def test_aluminum_se_cable_indoors(
    year: str, setting: float, device: float, size: str, outcome: Outcome
) -> None:
    run = section(method="SE cable", place="basement")
    found = judge(
        charger(setting),
        circuit(device, size, material="aluminum", insulation=None, sections=run),
        year=year,
    )
    assert finding(found, "conductor").outcome is outcome
    assert any("75 °C" in assumed.text for assumed in found.assumptions)


@every_edition
@pytest.mark.parametrize(
    ("others", "length", "amperes"),
    [
        (4, "1 ft", 75 * 0.8),  # three cables in insulation: no short way out
        (2, "1 ft", 55.0),  # two cables, a short bundle
        (2, "3 ft", 55.0),  # 75 × 0.8 = 60 A, capped at 60 °C
    ],
)
def test_bundled_nm_cables(year: str, others: int, length: str, amperes: float) -> None:
    run = section(
        method="NM cable",
        ambient="30 °C",
        extra=(
            f"other_current_carrying_conductors = {others}\n"
            f'bundled_length = "{length}"\nin_insulation = true'
        ),
    )
    found = judge(
        charger(40), circuit(50, "6 AWG", insulation=None, sections=run), year=year
    )
    working = finding(found, "conductor").working
    assert working is not None
    counts = [line.label for line in working.lines if "together" in line.label]
    assert ("6 current" in counts[0]) is (others == 4)
    limit = min(amperes, 55.0)
    assert any(
        line.amount == pytest.approx(limit)
        for line in working.lines
        if isinstance(line.amount, float) and line.label.startswith("governing")
    )


@every_edition
@pytest.mark.parametrize(
    ("height", "outcome"), [("0.5 in", FALLS), ("1 in", MEETS), (None, OPEN)]
)
def test_a_run_on_the_roof(year: str, height: str | None, outcome: Outcome) -> None:
    # 40 + 33 = 73 °C: 75 A × 0.50 = 37.5 A; at 40 °C 75 A × 0.91 = 68 A.
    extra = f'roof_height = "{height}"' if height else ""
    run = section("roof", place="roof", ambient="40 °C", extra=extra)
    found = judge(charger(48), circuit(60, sections=run), year=year)
    assert finding(found, "conductor").outcome is outcome


# --- raceway fill ---------------------------------------------------------------


@every_edition
@pytest.mark.parametrize(
    ("trade", "outcome"), [("1/2", FALLS), ("3/4", MEETS), ("3", MEETS)]
)
def test_fill_of_emt(year: str, trade: str, outcome: Outcome) -> None:
    run = section(extra=f'trade_size = "{trade}"')
    found = judge(charger(48), circuit(60, sections=run), year=year)
    assert finding(found, "raceway_fill.run").outcome is outcome
    assert item(found, "raceway_fill.run").minimum == "EMT 3/4"


def test_a_short_nipple_takes_more() -> None:
    run = section(length="24 in", extra='trade_size = "1/2"')
    found = judge(charger(48), circuit(60, sections=run))
    assert finding(found, "raceway_fill.run").outcome is MEETS


def test_a_raceway_that_grounds_holds_two_conductors() -> None:
    raceway = '[circuit.equipment_ground]\nkind = "raceway"\n'
    run = section(extra='trade_size = "1/2"')
    found = judge(charger(48), circuit(60, ground=None, extra=raceway, sections=run))
    # 2 × 0.0507 = 0.1014 against 0.304 × 31 % = 0.0942.
    assert finding(found, "raceway_fill.run").found == pytest.approx(0.1014)
    assert finding(found, "raceway_fill.run").outcome is FALLS


@pytest.mark.parametrize("insulated", ["true", "false"])
def test_a_bare_grounding_wire_takes_less(insulated: str) -> None:
    wire = (
        '[circuit.equipment_ground]\nkind = "wire"\nmaterial = "copper"\n'
        f'size = "10 AWG"\ninsulated = {insulated}\n'
    )
    run = section(extra='trade_size = "1/2"')
    found = judge(charger(48), circuit(60, ground=None, extra=wire, sections=run))
    # Bare 10 AWG: π/4 × 0.116² = 0.0106: 0.1120 in² fits 0.1216.
    expected = FALLS if insulated == "true" else MEETS
    assert finding(found, "raceway_fill.run").outcome is expected


def test_other_conductors_of_unknown_size_leave_the_fill_open() -> None:
    run = section(extra='trade_size = "1"\nother_current_carrying_conductors = 2')
    found = judge(charger(48), circuit(60, sections=run))
    assert finding(found, "raceway_fill.run").outcome is OPEN


def test_other_conductors_described_count_in_the_fill() -> None:
    # THHN 6 AWG 0.0507 × 2 + 10 AWG 0.0211 (ground) + 2 × 10 AWG 0.0211 = 0.1647 in²
    # against 0.213 in² in EMT 3/4 (40 % of 0.533) and 0.122 in² in EMT 1/2
    others = (
        "other_current_carrying_conductors = 2\n[[circuit.sections.other_conductors]]\n"
        'size = "10 AWG"\ninsulation = "THHN/THWN-2"\ncount = 2'
    )
    for trade, outcome in (("3/4", MEETS), ("1/2", FALLS)):
        run = section(extra=f'trade_size = "{trade}"\n{others}')
        fill = finding(
            judge(charger(48), circuit(60, sections=run)), "raceway_fill.run"
        )
        assert fill.found == pytest.approx(0.1647, abs=1e-6)
        assert fill.outcome is outcome


# --- voltage drop ---------------------------------------------------------------


@every_edition
def test_the_drop_by_hand(year: str) -> None:
    # 2 × 180 ft × 0.49 ohm/kft × 48 A = 8.467 V of 240 V: 3.5 %, 406 W.
    found = judge(charger(48), circuit(sections=section(length="180 ft")), year=year)
    drop = finding(found, "voltage_drop")
    assert drop.outcome is FALLS
    assert drop.weight is Weight.ADVICE
    assert drop.found == pytest.approx(100 * 8.4672 / 240, rel=1e-9)
    assert drop.unit == "%"
    assert item(found, "voltage_drop").minimum == "4 AWG copper"
    assert drop.working is not None
    heat = next(x for x in drop.working.lines if x.label == "heat in the run")
    assert heat.amount == pytest.approx(8.4672 * 48, rel=1e-9)


@every_edition
@pytest.mark.parametrize(
    ("feet", "outcome"),
    [
        # 3 % of 240 V is 7.2 V; one foot costs 2 × 0.00049 × 48 = 0.04704 V.
        (145.0, MEETS),  # 6.82 V, just under 95 % of the limit
        (146.0, Outcome.NARROW),
        (153.0, Outcome.NARROW),  # 7.197 V
        (153.1, FALLS),  # 7.2018 V
    ],
)
def test_the_drop_at_its_bounds(year: str, feet: float, outcome: Outcome) -> None:
    run = section(length=f"{feet} ft")
    found = judge(charger(48), circuit(sections=run), year=year)
    assert finding(found, "voltage_drop").outcome is outcome


def test_every_section_has_its_share() -> None:
    run = section("a", length="30 ft") + section("b", length="10 ft")
    drop = finding(judge(charger(48), circuit(sections=run)), "voltage_drop")
    assert drop.working is not None
    shares = {
        line.label.split(",")[0]: line.amount
        for line in drop.working.lines
        if line.label.startswith("section")
    }
    assert shares["section a"] == pytest.approx(3 * shares["section b"])


# --- duties at the charger ------------------------------------------------------

SWITCH = '[circuit.disconnect]\nterminal_temperature = "75 °C"\n'


@every_edition
def test_a_disconnect_left_out_is_sized_but_not_taken_as_there(year: str) -> None:
    small = judge(charger(48), circuit(60), year=year)
    large = judge(charger(80), circuit(100, "3 AWG"), year=year)
    assert finding(small, "disconnect").outcome is (
        OPEN if year == "2026" else NOT_ASKED
    )
    assert finding(large, "disconnect").outcome is OPEN
    assert finding(large, "disconnect").weight is Weight.MUST
    assert item(large, "disconnect").minimum == "100 A, lockable open"


@every_edition
def test_a_disconnect_said_to_be_missing_falls_short_where_asked(year: str) -> None:
    none = '[circuit.disconnect]\nkind = "none"\n'
    large = judge(charger(80), circuit(100, "3 AWG", extra=none), year=year)
    small = judge(charger(48), circuit(60, extra=none), year=year)
    assert finding(large, "disconnect").outcome is FALLS
    assert finding(small, "disconnect").outcome is (
        FALLS if year == "2026" else NOT_ASKED
    )
    # A disconnect that is not there has no terminals to count.
    assert finding(large, "conductor").outcome is MEETS


@every_edition
def test_a_grounding_conductor_left_out_of_a_proposal_is_open(year: str) -> None:
    found = judge(charger(48), circuit(60, ground=None), year=year)
    left_out = finding(found, "equipment_grounding_conductor")
    assert left_out.outcome is OPEN
    assert left_out.weight is Weight.MUST
    assert item(found, "equipment_grounding_conductor").minimum == "10 AWG copper"


@every_edition
@pytest.mark.parametrize(
    ("said", "outcome"),
    [
        ('rating = "100 A"\nlockable_open = true', MEETS),
        ('rating = "99 A"\nlockable_open = true', FALLS),
        ('rating = "100 A"\nlockable_open = false', FALLS),
        ('rating = "100 A"', OPEN),
        ("lockable_open = true", OPEN),
        ('rating = "100 A"\nlockable_open = true\nfuse_rating = "90 A"', FALLS),
        ('rating = "100 A"\nlockable_open = true\nfuse_rating = "110 A"', FALLS),
        ('rating = "100 A"\nlockable_open = true\nfuse_rating = "100 A"', MEETS),
    ],
)
def test_a_stated_disconnect(year: str, said: str, outcome: Outcome) -> None:
    found = judge(
        charger(80), circuit(100, "3 AWG", extra=SWITCH + said + "\n"), year=year
    )
    assert finding(found, "disconnect").outcome is outcome


@pytest.mark.parametrize(("rating", "outcome"), [("10 kA", MEETS), ("5 kA", OPEN)])
def test_interrupting_rating_of_the_disconnect(rating: str, outcome: Outcome) -> None:
    fault = '[service.fault_current]\nline_to_line = "9.2 kA"\n'
    said = f'rating = "100 A"\nlockable_open = true\ninterrupting_rating = "{rating}"\n'
    found = judge(fault, charger(80), circuit(100, "3 AWG", extra=SWITCH + said))
    assert finding(found, "disconnect").outcome is outcome


GFP = "ground_fault_protection = {}"


@pytest.mark.parametrize(
    ("year", "place", "device", "fitted", "outcome"),
    [
        ("2017", "outdoors", 50, None, NOT_ASKED),
        ("2020", "outdoors", 50, "false", FALLS),
        ("2020", "outdoors", 50, "true", MEETS),
        ("2020", "outdoors", 50, None, OPEN),
        ("2020", "outdoors", 60, None, NOT_ASKED),
        ("2020", "garage", 50, None, NOT_ASKED),
        ("2023", "garage", 50, "false", FALLS),
        ("2023", "outdoors", 60, "false", NOT_ASKED),
        ("2026", "outdoors", 60, "false", FALLS),
        ("2026", "indoors", 60, "true", MEETS),
        ("2023", None, 50, None, OPEN),
    ],
)
def test_ground_fault_duty_and_device(
    year: str, place: str | None, device: float, fitted: str | None, outcome: Outcome
) -> None:
    extra = GFP.format(fitted) if fitted else ""
    found = judge(
        charger(40, place=place), circuit(device, device_extra=extra), year=year
    )
    assert finding(found, "ground_fault").outcome is outcome


def test_a_device_left_out_gets_the_duty_with_its_size() -> None:
    found = judge(charger(40, place="outdoors"), circuit(None))
    assert finding(found, "ground_fault").outcome is MEETS
    assert "Take a device" in finding(found, "ground_fault").next


@pytest.mark.parametrize(
    ("device", "fitted", "outcome"),
    [(50, "true", FALLS), (60, "true", FALLS), (60, "false", NOT_ASKED)],
)
def test_a_maker_that_forbids_the_device_is_a_conflict(
    device: float, fitted: str, outcome: Outcome
) -> None:
    label = charger(
        40, place="outdoors", extra="maker_forbids_ground_fault_breaker = true"
    )
    found = judge(label, circuit(device, device_extra=GFP.format(fitted)))
    assert finding(found, "ground_fault").outcome is outcome


def test_the_chargers_own_protection_does_not_count() -> None:
    label = charger(40, place="outdoors", extra="ground_fault_built_in = true")
    found = judge(label, circuit(50, device_extra=GFP.format("false")))
    assert finding(found, "ground_fault").outcome is FALLS


@pytest.mark.parametrize(
    ("text", "outcome"),
    [
        ("EV charger, north wall", MEETS),
        ("car charging", MEETS),
        ("spare", FALLS),
        ("garage", FALLS),
    ],
)
def test_directory_text(text: str, outcome: Outcome) -> None:
    found = judge(charger(48), circuit(top=f'directory_text = "{text}"'))
    assert finding(found, "label").outcome is outcome


def test_directory_text_is_written_for_you_when_left_out() -> None:
    label = finding(judge(charger(48), circuit()), "label")
    assert label.outcome is MEETS
    assert "Vehicle charger, indoors" in label.next


def test_another_load_on_the_circuit_is_refused() -> None:
    heater = '[[loads]]\nid = "heater"\nkind = "other"\nfed_from = "charger_circuit"\n'
    found = judge(charger(48), heater, circuit())
    assert finding(found, "individual_branch_circuit").outcome is FALLS


def plugged(configuration: str | None, setting: float = 40, extra: str = "") -> str:
    socket = f'receptacle = "{configuration}"\n' if configuration else ""
    return charger(setting, connection="receptacle", extra=socket + extra)


LISTED = "receptacle_listed_for_vehicles = true"


@every_edition
@pytest.mark.parametrize(
    ("configuration", "setting", "device", "outcome"),
    [
        ("14-50", 40, 50, MEETS),
        ("14-50", 48, 60, FALLS),
        ("14-50", 40, 60, FALLS),  # the device may not exceed the receptacle
        ("6-50", 40, 50, MEETS),
        ("10-50", 40, 50, FALLS),
        ("14-30", 24, 30, MEETS),
        ("14-30", 32, 40, FALLS),
    ],
)
def test_receptacles(
    year: str, configuration: str, setting: float, device: float, outcome: Outcome
) -> None:
    found = judge(plugged(configuration, setting, LISTED), circuit(device), year=year)
    assert finding(found, "receptacle").outcome is outcome


def test_a_receptacle_without_grounding_contact_stops() -> None:
    found = finding(judge(plugged("10-50"), circuit(50)), "receptacle")
    assert (found.weight, found.signal) == (Weight.STOP, SignalWord.DANGER)


@pytest.mark.parametrize(
    ("year", "said", "outcome"),
    [
        ("2023", "", MEETS),
        ("2026", LISTED, MEETS),
        ("2026", LISTED.replace("true", "false"), FALLS),
        ("2026", "", OPEN),
    ],
)
def test_vehicle_listing_of_the_receptacle(
    year: str, said: str, outcome: Outcome
) -> None:
    found = judge(plugged("14-50", 40, said), circuit(50), year=year)
    assert finding(found, "receptacle").outcome is outcome


@pytest.mark.parametrize(("year", "outcome"), [("2023", MEETS), ("2026", FALLS)])
def test_a_50_a_receptacle_on_40_a_ends_in_2026(year: str, outcome: Outcome) -> None:
    found = judge(plugged("14-50", 32, LISTED), circuit(40), year=year)
    assert finding(found, "receptacle").outcome is outcome


def test_an_unnamed_receptacle_is_open() -> None:
    found = judge(plugged(None), circuit(50))
    assert finding(found, "receptacle").outcome is OPEN


@pytest.mark.parametrize(
    ("configuration", "said", "outcome"),
    [
        ("14-50", "", MEETS),
        ("14-50", "neutral_pulled = true", MEETS),
        ("14-50", "neutral_pulled = false", FALLS),
        ("6-50", "", NOT_ASKED),
    ],
)
def test_neutral_of_a_receptacle(
    configuration: str, said: str, outcome: Outcome
) -> None:
    found = judge(plugged(configuration), circuit(50, top=said))
    assert finding(found, "neutral").outcome is outcome


def test_a_hard_wired_charger_needs_no_neutral_and_no_receptacle() -> None:
    found = judge(charger(48), circuit())
    assert finding(found, "neutral").outcome is NOT_ASKED
    assert "receptacle" not in names(found)


# --- detached building ----------------------------------------------------------

SHED = '[detached_building]\nid = "shed"\n'
PANEL = '[[panels]]\nid = "house_panel"\nfed_from = "service"\n'
FEEDER = '[[feeders]]\nid = "feeder"\nfed_from = "house_panel"\n'
SHED_PANEL = '[[panels]]\nid = "shed_panel"\nfed_from = "feeder"\n'


@every_edition
@pytest.mark.parametrize(
    ("said", "source", "outcome"),
    [
        ("already_supplied = false", "house_panel", MEETS),
        ("already_supplied = true", "house_panel", FALLS),
        ('already_supplied = true\nsupplied_by = "feeder"', "house_panel", FALLS),
        ('already_supplied = true\nsupplied_by = "feeder"', "shed_panel", MEETS),
        ("", "house_panel", OPEN),
    ],
)
def test_one_supply_to_a_detached_building(
    year: str, said: str, source: str, outcome: Outcome
) -> None:
    found = judge(
        PANEL + SHED_PANEL,
        FEEDER,
        charger(48),
        SHED + said + "\n",
        circuit(top=f'fed_from = "{source}"'),
        year=year,
    )
    assert finding(found, "detached_building_supply").outcome is outcome


# --- every finding --------------------------------------------------------------


@every_edition
def test_every_finding_has_a_question_a_working_and_something_to_do(year: str) -> None:
    run = section() + section("roof", place="roof", ambient="60 °C", method="PVC 40")
    found = judge(
        charger(80, 40), circuit(60, "8 AWG", ground="12 AWG", sections=run), year=year
    )
    for each in found.items:
        assert each.finding.question.endswith("?")
        assert each.finding.working is not None
        assert each.finding.id.startswith(f"circuit.{each.item}")
        if each.finding.outcome in (FALLS, OPEN):
            assert each.finding.next.endswith((".", "?"))
            assert each.finding.citation is not None


@every_edition
def test_a_part_that_is_sized_never_hides_a_part_that_is_wrong(year: str) -> None:
    found = judge(charger(80), circuit(60, None), year=year)
    assert finding(found, "overcurrent_device").outcome is FALLS
    assert found.largest_setting_a is None or found.largest_setting_a < 80


@pytest.mark.parametrize("year", ["2017", "2020"])
def test_no_advice_to_lower_a_setting_that_does_not_count(year: str) -> None:
    # A plug's setting counts in neither edition: 1.25 × 48 = 60 A beside 30 A.
    plugged = charger(48, 24, connection="receptacle", extra='receptacle = "14-30"')
    found = judge(
        plugged, circuit(30, "10 AWG", top="neutral_pulled = true"), year=year
    )
    device = finding(found, "overcurrent_device").next
    receptacle = finding(found, "receptacle").next
    assert "smaller nameplate" in device
    assert "nameplate is 24 A or less" in receptacle
    assert "ower the setting" not in device + receptacle


def test_a_setting_that_may_be_lowered_is_told_to_be_lowered() -> None:
    found = judge(charger(48), circuit(50, "6 AWG"))
    assert "lower the setting" in finding(found, "overcurrent_device").next


def test_a_setting_anyone_can_raise_is_told_to_be_kept() -> None:
    # Hard-wired under 2023 it would count, were it restricted: 1.25 × 24 = 30 A.
    found = judge(charger(48, 24, restricted="anyone with the app"), circuit(30))
    advice = finding(found, "overcurrent_device").next
    assert "a password" in advice
    assert "ower the setting" not in advice + finding(found, "conductor").next
