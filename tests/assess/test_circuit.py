"""Device, conductors and the largest setting: hand-worked circuits in every edition."""

from __future__ import annotations

from pathlib import Path

import pytest
from circuit_plans import charger, circuit, finding, item, judge, names, section
from hypothesis import given, settings
from hypothesis import strategies as st

from lugbook.assess.capacity import wish_of
from lugbook.assess.circuit import judge_circuit
from lugbook.codebook.edition import editions, open_edition
from lugbook.finding import Outcome, SignalWord, Weight
from lugbook.premises.plan import read_plan
from lugbook.quantities import CONDUCTOR_SIZES

DEMO = Path(__file__).parents[2] / "examples" / "potters_house" / "plan.toml"

every_edition = pytest.mark.parametrize("year", editions())
since_2020 = pytest.mark.parametrize("year", ["2020", "2023", "2026"])

ATTIC = section("attic", ambient="52 °C", length="22 ft", place="attic")


# --- the demo by hand -----------------------------------------------------------


@every_edition
def test_the_demo_refuses_3_awg_in_the_attic(year: str) -> None:
    house = read_plan(DEMO)
    found = judge_circuit(house, open_edition(year), wish_of(house, 80.0))
    conductor = item(found, "conductor")
    # 115 A × 0.76 = 87.4 A carries 80 A, but the next standard rating is 90 A.
    assert conductor.stated == "3 AWG copper"
    assert conductor.minimum == "2 AWG copper"
    assert conductor.finding.outcome is Outcome.FALLS_SHORT
    assert conductor.finding.weight is Weight.STOP
    assert conductor.finding.signal is SignalWord.WARNING
    assert (conductor.finding.found, conductor.finding.limit) == (100.0, 90.0)
    assert "section attic" in conductor.finding.next
    assert found.largest_setting_a is None
    smaller = (
        "no setting passes either"  # the nameplate of 80 A counts at every step
        if year == "2017"
        else "with a 90 A device: 72 A"
    )
    assert smaller in found.largest_reason


@every_edition
def test_2_awg_passes_in_the_attic(year: str) -> None:
    # 130 A × 0.76 = 98.8 A: the next standard rating is 100 A; 115 A at 75 °C.
    found = judge(
        charger(80), circuit(100, "2 AWG", ground="8 AWG", sections=ATTIC), year=year
    )
    assert finding(found, "conductor").outcome is Outcome.MEETS
    assert found.largest_setting_a == 80.0


@every_edition
def test_the_attic_conductor_is_sized_when_left_out(year: str) -> None:
    found = judge(charger(80), circuit(100, None, sections=ATTIC), year=year)
    conductor = item(found, "conductor")
    assert (conductor.stated, conductor.minimum) == (None, "2 AWG copper")
    assert conductor.finding.outcome is Outcome.MEETS
    assert conductor.finding.found is None


# --- the device -----------------------------------------------------------------


@every_edition
@pytest.mark.parametrize(
    ("setting", "size", "device"),
    # Common practice, no source: 48 -> 60, 64 -> 80, 80 -> 100 A with 3 AWG copper.
    [(48, "6 AWG", 60), (64, "4 AWG", 80), (80, "3 AWG", 100)],
)
def test_common_practice_passes(
    year: str, setting: float, size: str, device: float
) -> None:
    found = judge(charger(setting), circuit(device, size, ground="8 AWG"), year=year)
    assert item(found, "overcurrent_device").minimum == f"{device} A, 2 poles"
    assert item(found, "conductor").minimum == f"{size} copper"
    for name in ("overcurrent_device", "conductor"):
        assert finding(found, name).outcome is Outcome.MEETS
    assert found.largest_setting_a == setting


@every_edition
@pytest.mark.parametrize(
    ("device", "outcome"),
    [(50, Outcome.FALLS_SHORT), (60, Outcome.MEETS), (70, Outcome.MEETS)],
)
def test_device_against_125_percent(year: str, device: float, outcome: Outcome) -> None:
    largest = charger(48, extra='maximum_overcurrent = "100 A"')
    found = judge(largest, circuit(device, "3 AWG"), year=year)
    assert finding(found, "overcurrent_device").outcome is outcome
    assert finding(found, "overcurrent_device").limit == 60.0


@every_edition
@pytest.mark.parametrize(
    ("device", "outcome"), [(60, Outcome.MEETS), (70, Outcome.CANNOT_TELL)]
)
def test_a_device_beyond_the_nameplate_waits_for_the_charger_s_label(
    year: str, device: float, outcome: Outcome
) -> None:
    found = judge(charger(48), circuit(device, "3 AWG"), year=year)
    each = finding(found, "overcurrent_device")
    assert each.outcome is outcome
    assert each.weight is Weight.MUST
    assert ("label" in each.next) is (outcome is Outcome.CANNOT_TELL)


@every_edition
@pytest.mark.parametrize(
    ("maximum", "outcome"), [(59, Outcome.FALLS_SHORT), (60, Outcome.MEETS)]
)
def test_device_against_what_the_charger_allows(
    year: str, maximum: float, outcome: Outcome
) -> None:
    label = charger(48, extra=f'maximum_overcurrent = "{maximum} A"')
    found = judge(label, circuit(60), year=year)
    assert finding(found, "overcurrent_device").outcome is outcome
    assert (found.largest_setting_a is None) is (outcome is Outcome.FALLS_SHORT)


@every_edition
def test_no_device_is_sized_above_what_the_charger_allows(year: str) -> None:
    label = charger(48, extra='maximum_overcurrent = "50 A"')
    found = judge(label, circuit(None, None), year=year)
    assert finding(found, "overcurrent_device").outcome is Outcome.FALLS_SHORT
    assert found.largest_setting_a == (None if year == "2017" else 40.0)


def test_a_rating_that_is_no_standard_one_is_to_be_read_again() -> None:
    found = judge(charger(48), circuit(65, "4 AWG"))
    assert finding(found, "overcurrent_device").outcome is Outcome.CANNOT_TELL
    assert "handle" in finding(found, "overcurrent_device").next


@pytest.mark.parametrize(
    ("poles", "outcome"), [(1, Outcome.FALLS_SHORT), (2, Outcome.MEETS)]
)
def test_both_legs_must_open(poles: int, outcome: Outcome) -> None:
    found = judge(charger(48), circuit(60, device_extra=f"poles = {poles}"))
    assert finding(found, "overcurrent_device").outcome is outcome


def test_a_device_marked_for_100_percent_counts_as_any_other() -> None:
    found = judge(
        charger(56), circuit(60, "4 AWG", device_extra="rated_100_percent = true")
    )
    device = finding(found, "overcurrent_device")
    assert device.outcome is Outcome.FALLS_SHORT
    assert device.working is not None
    assert any("100 %" in line.label for line in device.working.lines)


# --- which current counts -------------------------------------------------------

LOWER = circuit(50, "8 AWG")


def test_a_lower_setting_never_counts_in_2017() -> None:
    found = judge(charger(80, 40), LOWER, year="2017")
    assert finding(found, "overcurrent_device").limit == 100.0
    assert finding(found, "overcurrent_device").outcome is Outcome.FALLS_SHORT
    assert finding(found, "adjusted_setting").outcome is Outcome.NOT_REQUIRED
    assert found.largest_setting_a is None
    assert "nameplate of 80 A counts" in found.largest_reason


@since_2020
def test_a_restricted_lower_setting_counts_since_2020(year: str) -> None:
    found = judge(charger(80, 40), LOWER, year=year)
    assert finding(found, "overcurrent_device").outcome is Outcome.MEETS
    assert finding(found, "conductor").outcome is Outcome.MEETS
    assert found.largest_setting_a == 40.0
    label = finding(found, "adjusted_setting")
    assert label.outcome is Outcome.CANNOT_TELL  # nobody said that it is marked
    assert "40 A" in label.next


@since_2020
def test_a_setting_anyone_may_raise_does_not_count(year: str) -> None:
    found = judge(charger(80, 40, restricted="anyone with the app"), LOWER, year=year)
    assert finding(found, "overcurrent_device").outcome is Outcome.FALLS_SHORT
    assert found.largest_setting_a is None


@since_2020
def test_an_unsaid_restriction_leaves_it_open(year: str) -> None:
    found = judge(charger(80, 40, restricted=None), LOWER, year=year)
    for name in ("overcurrent_device", "conductor", "adjusted_setting"):
        assert finding(found, name).outcome is Outcome.CANNOT_TELL
    assert found.largest_setting_a is None
    fields = [unknown.field for unknown in found.unknowns]
    assert "charger.setting_restricted_by" in fields


@since_2020
def test_an_unsaid_restriction_does_not_matter_where_the_nameplate_passes(
    year: str,
) -> None:
    found = judge(charger(48, 40, restricted=None), circuit(60), year=year)
    assert finding(found, "overcurrent_device").outcome is Outcome.MEETS
    assert finding(found, "conductor").outcome is Outcome.MEETS
    assert found.largest_setting_a == 48.0


def test_only_fixed_equipment_could_be_set_lower_in_2020() -> None:
    plugged = charger(48, 40, connection="receptacle", extra='receptacle = "14-50"')
    limits = {
        year: finding(judge(plugged, LOWER, year=year), "overcurrent_device").limit
        for year in ("2020", "2023")
    }
    assert limits == {"2020": 60.0, "2023": 50.0}


@pytest.mark.parametrize(
    ("marked", "outcome"), [("true", "meets"), ("false", "falls_short")]
)
def test_the_label_must_show_the_lower_setting(marked: str, outcome: str) -> None:
    found = judge(charger(80, 40, extra=f"setting_on_label = {marked}"), LOWER)
    assert finding(found, "adjusted_setting").outcome == outcome


def test_a_nameplate_nobody_stated_leaves_a_pass_open_and_a_shortfall_sure() -> None:
    bare = '[charger]\nid = "charger"\nsetting = "48 A"\nvoltage = "240 V"\n'
    enough, short = judge(bare, circuit(60)), judge(bare, circuit(50))
    assert finding(enough, "overcurrent_device").outcome is Outcome.CANNOT_TELL
    assert finding(short, "overcurrent_device").outcome is Outcome.FALLS_SHORT
    assert enough.largest_setting_a is None


def test_without_a_setting_what_depends_on_it_cannot_be_told() -> None:
    found = judge('[charger]\nid = "charger"\n', circuit())
    for name in ("overcurrent_device", "conductor", "voltage_drop"):
        assert finding(found, name).outcome is Outcome.CANNOT_TELL
    assert found.largest_setting_a is None
    assert "no setting" in found.largest_reason


# --- terminals' column ----------------------------------------------------------


@every_edition
@pytest.mark.parametrize(
    ("size", "marked", "outcome"),
    [
        ("6 AWG", "75 °C", Outcome.MEETS),  # 65 A
        ("6 AWG", "60/75 °C", Outcome.MEETS),
        ("6 AWG", "60 °C", Outcome.FALLS_SHORT),  # 55 A
        ("6 AWG", None, Outcome.CANNOT_TELL),
        ("4 AWG", None, Outcome.MEETS),  # 70 A even at 60 °C
        ("8 AWG", None, Outcome.FALLS_SHORT),  # 50 A even at 75 °C
    ],
)
def test_terminals_at_48_a(
    year: str, size: str, marked: str | None, outcome: Outcome
) -> None:
    found = judge(charger(48), circuit(60, size, terminals=marked), year=year)
    assert finding(found, "conductor").outcome is outcome


@every_edition
def test_an_unread_marking_counts_60_degrees_for_the_largest_setting(year: str) -> None:
    found = judge(charger(48), circuit(60, terminals=None), year=year)
    # 55 A ÷ 1.25 = 44 A: 40 A is the largest step.
    if year == "2017":  # the nameplate of 48 A counts at every step
        assert found.largest_setting_a is None
    else:
        assert found.largest_setting_a == 40.0
    fields = [unknown.field for unknown in found.unknowns]
    assert "circuit.overcurrent.terminal_temperature" in fields


@pytest.mark.parametrize("place", ["splice", "disconnect line"])
def test_every_splice_and_disconnect_on_the_path_counts(place: str) -> None:
    terminal = (
        f'[[circuit.terminals]]\nid = "joint"\nat = "{place}"\ntemperature = "60 °C"\n'
    )
    found = judge(charger(48), circuit(60, extra=terminal))
    assert finding(found, "conductor").outcome is Outcome.FALLS_SHORT


def test_a_grounding_terminal_is_not_on_the_path() -> None:
    terminal = (
        '[[circuit.terminals]]\nid = "bar"\nat = "charger"\non = "ground"\n'
        'temperature = "60 °C"\n'
    )
    found = judge(charger(48), circuit(60, extra=terminal))
    assert finding(found, "conductor").outcome is Outcome.MEETS


# --- conditions of use ----------------------------------------------------------


@every_edition
@pytest.mark.parametrize(
    ("method", "size", "outcome", "largest"),
    [
        ("NM cable", "6 AWG", Outcome.FALLS_SHORT, 40),
        ("NM cable", "4 AWG", Outcome.MEETS, 48),
    ],
)
def test_nm_cable_at_48_a(
    year: str, method: str, size: str, outcome: Outcome, largest: float
) -> None:
    # forum-nm-48-a: 6 AWG has 55 A where 60 A are needed; 4 AWG has 70 A.
    run = section(method=method)
    found = judge(
        charger(48), circuit(60, size, insulation=None, sections=run), year=year
    )
    assert finding(found, "conductor").outcome is outcome
    if year == "2017" and largest < 48:
        assert found.largest_setting_a is None
    else:
        assert found.largest_setting_a == largest


@every_edition
@pytest.mark.parametrize(
    ("others", "outcome"),
    [
        (1, Outcome.MEETS),  # 3 together: 75 A
        (4, Outcome.MEETS),  # 6 together: 75 A × 0.8 = 60 A, 60 A device
        (5, Outcome.FALLS_SHORT),  # 7 together: 52.5 A × cool = 60 A; see ambient
    ],
)
def test_other_loaded_conductors_count(
    year: str, others: int, outcome: Outcome
) -> None:
    ambient = "30 °C" if others < 5 else "35 °C"  # 75 × 0.7 × 0.96 = 50.4 A -> 60 A
    if others == 5:
        ambient = "40 °C"  # 75 × 0.7 × 0.91 = 47.8 A < 48 A
    run = section(
        ambient=ambient, extra=f"other_current_carrying_conductors = {others}"
    )
    found = judge(charger(48), circuit(60, sections=run), year=year)
    assert finding(found, "conductor").outcome is outcome


@every_edition
@pytest.mark.parametrize(("length", "limit"), [("24 in", 75.0), ("25 in", 60.0)])
def test_a_nipple_needs_no_adjustment(year: str, length: str, limit: float) -> None:
    run = section(length=length, extra="other_current_carrying_conductors = 4")
    found = judge(charger(48), circuit(60, sections=run), year=year)
    working = finding(found, "conductor").working
    assert working is not None
    used = [
        x.amount for x in working.lines if x.label.startswith("ampacity in the cond")
    ]
    assert used == [pytest.approx(limit)]


@every_edition
def test_load_close_to_the_ampacity_is_narrow(year: str) -> None:
    # 65 A at 75 °C start (THWN): 65 × 0.75 at 50 °C = 48.75 A against 48 A.
    run = section(ambient="50 °C")
    found = judge(charger(48), circuit(50, insulation="THWN", sections=run), year=year)
    assert finding(found, "conductor").outcome is Outcome.NARROW


@every_edition
def test_thhn_alone_is_not_for_wet_places(year: str) -> None:
    run = section("yard", place="outdoors")
    found = judge(charger(48), circuit(60, insulation="THHN", sections=run), year=year)
    assert finding(found, "wiring_method.yard").outcome is Outcome.FALLS_SHORT
    assert finding(found, "conductor").outcome is Outcome.FALLS_SHORT
    assert "THWN-2" in finding(found, "conductor").next
    assert found.largest_setting_a is None


@every_edition
def test_xhhw_counts_75_degrees_where_wet(year: str) -> None:
    run = section(place="outdoors", ambient="40 °C")
    found = judge(charger(48), circuit(60, insulation="XHHW", sections=run), year=year)
    # 65 A × 0.88 = 57.2 A -> 60 A device, 48 A load.
    assert finding(found, "conductor").outcome is Outcome.MEETS
    working = finding(found, "conductor").working
    assert working is not None
    assert any(
        line.amount == pytest.approx(57.2)
        for line in working.lines
        if isinstance(line.amount, float)
    )


@every_edition
@pytest.mark.parametrize("missing", ["ambient", "insulation", "method", "sections"])
def test_what_the_run_lacks_blocks_the_conditions_of_use(
    year: str, missing: str
) -> None:
    run = section(
        ambient=None if missing == "ambient" else "30 °C",
        method=None if missing == "method" else "EMT",
    )
    insulation = None if missing in ("insulation", "method") else "THHN/THWN-2"
    found = judge(
        charger(48),
        circuit(
            60, insulation=insulation, sections="" if missing == "sections" else run
        ),
        year=year,
    )
    assert finding(found, "conductor").outcome is Outcome.CANNOT_TELL
    assert missing in finding(found, "conductor").next
    assert found.largest_setting_a is None


@every_edition
def test_an_unknown_length_does_not_block_the_conductor(year: str) -> None:
    found = judge(charger(48), circuit(60, sections=section(length=None)), year=year)
    assert finding(found, "conductor").outcome is Outcome.MEETS
    assert finding(found, "voltage_drop").outcome is Outcome.CANNOT_TELL


@every_edition
def test_the_reduced_size_of_a_whole_dwelling_is_never_used(year: str) -> None:
    # 2 AWG aluminum serves a 100 A dwelling, but carries 90 A here.
    found = judge(
        charger(80),
        circuit(100, "2 AWG", material="aluminum", ground="8 AWG"),
        year=year,
    )
    conductor = finding(found, "conductor")
    assert conductor.outcome is Outcome.FALLS_SHORT
    assert item(found, "conductor").minimum == "1 AWG aluminum"
    assert conductor.working is not None
    assert any("whole-dwelling" in line.label for line in conductor.working.lines)


@every_edition
def test_a_section_with_a_smaller_conductor_is_the_worst(year: str) -> None:
    smaller = section("end", extra='[circuit.sections.conductor]\nsize = "8 AWG"')
    found = judge(charger(48), circuit(60, sections=section() + smaller), year=year)
    assert finding(found, "conductor").outcome is Outcome.FALLS_SHORT


@every_edition
def test_bare_ungrounded_conductors_carry_nothing(year: str) -> None:
    found = judge(charger(48), circuit(60, insulation="bare"), year=year)
    assert finding(found, "conductor").outcome is Outcome.FALLS_SHORT


# --- largest setting ------------------------------------------------------------


@since_2020
@pytest.mark.parametrize(
    ("device", "size", "largest"),
    [
        (60, "4 AWG", 48),  # the device: 60 ÷ 1.25
        (90, "3 AWG", 72),
        (100, "3 AWG", 80),
        (None, "6 AWG", 40),  # a device not chosen counts 60 °C: 55 A ÷ 1.25 = 44 A
        (50, None, 40),
    ],
)
def test_the_smallest_part_caps_the_setting(
    year: str, device: float | None, size: str | None, largest: float
) -> None:
    found = judge(charger(80, 24), circuit(device, size, ground="6 AWG"), year=year)
    assert found.largest_setting_a == largest


@since_2020
def test_a_disconnect_and_a_receptacle_cap_the_setting(year: str) -> None:
    switch = '[circuit.disconnect]\nrating = "60 A"\nterminal_temperature = "75 °C"\n'
    by_switch = judge(charger(80, 24), circuit(100, "3 AWG", extra=switch), year=year)
    assert by_switch.largest_setting_a == 48.0
    plugged = charger(48, connection="receptacle", extra='receptacle = "14-50"')
    terminal = (
        '[[circuit.terminals]]\nid = "socket"\nat = "receptacle"\n'
        'temperature = "75 °C"\n'
    )
    by_plug = judge(plugged, circuit(50, "6 AWG", extra=terminal), year=year)
    assert by_plug.largest_setting_a == (None if year == "2020" else 40.0)


@every_edition
def test_without_a_circuit_nothing_caps_and_everything_is_sized(year: str) -> None:
    found = judge(charger(80), year=year)
    assert found.largest_setting_a == 80.0
    assert item(found, "overcurrent_device").minimum == "100 A, 2 poles"
    assert finding(found, "conductor").outcome is Outcome.CANNOT_TELL
    open_ones = [
        i.finding for i in found.items if i.finding.outcome is Outcome.CANNOT_TELL
    ]
    assert {each.weight for each in open_ones} == {Weight.ADVICE}


def test_the_device_is_read_first() -> None:
    found = judge(
        charger(48),
        circuit(60, extra=""),
    )
    assert names(found)[:2] == ["overcurrent_device", "individual_branch_circuit"]


# --- odd plans ------------------------------------------------------------------


@every_edition
@pytest.mark.parametrize("size", ["18 AWG", "750 kcmil", "2000 kcmil"])
@pytest.mark.parametrize("method", ["EMT", "SE cable", "NM cable"])
@pytest.mark.parametrize("own", ["", '[circuit.sections.conductor]\nsize = "6 AWG"'])
def test_a_size_the_tables_lack_cannot_be_told(
    year: str, size: str, method: str, own: str
) -> None:
    run = section(method=method, place="attic", extra=own)
    found = judge(charger(48), circuit(60, size, sections=run), year=year)
    if not own:
        assert finding(found, "conductor").outcome is Outcome.CANNOT_TELL
        assert found.largest_setting_a is None
    assert finding(found, "overcurrent_device").outcome is Outcome.MEETS


@pytest.mark.parametrize("size", ["14 AWG", "6 AWG"])
def test_conductors_in_parallel_are_not_judged(size: str) -> None:
    doubled = circuit(60, size).replace(
        f'size = "{size}"', f'size = "{size}"\nparallel_sets = 2', 1
    )
    found = judge(charger(48), doubled)
    assert finding(found, "conductor").outcome is Outcome.CANNOT_TELL
    assert "parallel" in finding(found, "conductor").next
    assert found.largest_setting_a is None


@pytest.mark.parametrize("field", ["setting", "nameplate"])
def test_nothing_charging_is_no_setting(field: str) -> None:
    label = f'[charger]\nid = "charger"\n{field} = "0 A"\n'
    found = judge(label, circuit(60))
    assert finding(found, "overcurrent_device").outcome is Outcome.CANNOT_TELL


@since_2020
def test_a_device_of_one_pole_allows_no_setting(year: str) -> None:
    found = judge(charger(48), circuit(60, device_extra="poles = 1"), year=year)
    assert found.largest_setting_a is None
    assert "2 poles" in found.largest_reason


# --- metamorphic ----------------------------------------------------------------


def rank(text: str | None) -> int:
    assert text is not None
    return CONDUCTOR_SIZES.index(text.rsplit(" ", 1)[0])


@every_edition
def test_a_higher_setting_never_takes_a_smaller_device_or_conductor(year: str) -> None:
    found = [
        judge(charger(a), circuit(None, None), year=year) for a in (16, 32, 48, 64, 80)
    ]
    devices = [finding(each, "overcurrent_device").limit for each in found]
    sizes = [rank(item(each, "conductor").minimum) for each in found]
    assert devices == sorted(devices)  # type: ignore[type-var]
    assert sizes == sorted(sizes)


@settings(max_examples=25, deadline=None)
@given(
    year=st.sampled_from(editions()),
    ambients=st.tuples(st.integers(10, 65), st.integers(10, 65)),
    others=st.tuples(st.integers(0, 20), st.integers(0, 20)),
)
def test_hotter_or_fuller_never_allows_a_smaller_conductor(
    year: str, ambients: tuple[int, int], others: tuple[int, int]
) -> None:
    def least(ambient: int, beside: int) -> int:
        run = section(
            ambient=f"{ambient} °C",
            extra=f"other_current_carrying_conductors = {beside}",
        )
        return rank(
            item(
                judge(charger(48), circuit(60, None, sections=run), year=year),
                "conductor",
            ).minimum
        )

    assert least(min(ambients), min(others)) <= least(max(ambients), max(others))


@every_edition
def test_a_lower_terminal_never_allows_a_smaller_conductor(year: str) -> None:
    sizes = [
        rank(
            item(
                judge(charger(80), circuit(100, None, terminals=c), year=year),
                "conductor",
            ).minimum
        )
        for c in ("75 °C", "60/75 °C", "60 °C")
    ]
    assert sizes == sorted(sizes)
    assert sizes[0] == sizes[1] < sizes[2]


@every_edition
def test_a_longer_run_never_drops_less(year: str) -> None:
    drops = [
        finding(
            judge(charger(48), circuit(sections=section(length=f"{ft} ft")), year=year),
            "voltage_drop",
        ).found
        for ft in (10, 40, 80, 200)
    ]
    assert drops == sorted(drops)  # type: ignore[type-var]
    assert len(set(drops)) == 4
