"""What the rows mean for the person: the deciding one, and what is said beside it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from houses import ON, finding_of, house, judged, load, plan_of

from lugbook.actions import evidence_of
from lugbook.assess.spine import assess
from lugbook.codebook.edition import open_edition
from lugbook.codebook.nfpa70.load_calculation import Heating, optional_heating_kinds_va
from lugbook.finding import Outcome, SignalWord, Weight
from lugbook.readings.evidence import Evidence, SpotReading

EXACT = 1e-9  # relative; rounding of binary fractions only
APPLIANCES = (load("dryer", 5_000), load("water heater", 6_000))
MAIN_100 = {"main": {"rating": "100 A"}}
SEPARATE = "separately controlled electric heat"


def ids(found):
    return [finding.id for finding in found.findings]


# The row that decides


def test_the_best_prudent_reading_decides():
    # 20,000 VA of loads: existing 12,800 + 7,680 = 20,480 VA is the least; the reading
    # with the charger inside is less still and does not decide
    found = finding_of(judged(house(*APPLIANCES)), "capacity.service_load")
    assert found.found == pytest.approx(20_480 / 240, rel=EXACT)
    assert (found.limit, found.margin) == (200, pytest.approx(200 - 20_480 / 240))


def test_a_gap_is_named_and_no_missing_record_hides_it():
    tree = house(load("kiln"), *APPLIANCES)
    found = finding_of(judged(tree), "capacity.service_load")
    assert found.outcome is Outcome.CANNOT_TELL
    assert "loads.load_0.nameplate" in found.next
    assert "record" not in found.next


def test_short_of_the_least_known_part_shows_that_part_as_the_limit():
    # a record said to be barred, so that no row is left open
    tree = house(
        load("sauna", 90_000),
        service=MAIN_100,
        sources=[{"id": "roof", "kind": "solar"}],
        dwelling={"not_present": ["battery"]},
    )
    del tree["service"]["meter_base_rating"]
    found = finding_of(judged(tree), "capacity.service_load")
    assert found.outcome is Outcome.FALLS_SHORT
    assert (found.limit, found.signal) == (100, SignalWord.WARNING)
    assert found.margin == pytest.approx(100 - found.found)


def test_only_an_easy_reading_passing_is_said_and_does_not_decide():
    # 100 A: optional 14,000 + 0.4 × 11,520 = 18,608 VA inside; outside 25,520; existing
    # 12,800 + 11,520 = 24,320 VA: 101.3 A
    tree = house(*APPLIANCES, service=MAIN_100, charger={"nameplate": "48 A"})
    found = judged(tree)
    assert finding_of(found, "capacity.only_easy_reading").outcome is (
        Outcome.FALLS_SHORT
    )
    assert finding_of(found, "capacity.service_load").outcome is Outcome.CANNOT_TELL
    assert found.headline.service_largest_prudent_a is None
    assert found.headline.service_largest_literal_a == 48


def test_without_system_and_current_the_finding_asks_for_them():
    tree = house()
    del tree["charger"]
    found = finding_of(judged(tree), "capacity.service_load")
    assert found.outcome is Outcome.CANNOT_TELL
    assert "service.system" in found.next


# The service


@pytest.mark.parametrize(
    ("field", "signal"),
    [
        ("meter_base_rating", SignalWord.DANGER),
        ("conductor", SignalWord.DANGER),
        ("main", None),
    ],
)
def test_danger_stands_only_where_one_would_look_ahead_of_the_main(field, signal):
    tree = house()
    del tree["service"][field]
    found = finding_of(judged(tree), "capacity.service_rating")
    assert (found.outcome, found.signal) == (Outcome.CANNOT_TELL, signal)
    assert found.next


@pytest.mark.parametrize(
    ("rating", "outcome"),
    [
        ("99 A", Outcome.FALLS_SHORT),
        ("100 A", Outcome.MEETS),
        ("101 A", Outcome.MEETS),
    ],
)
def test_the_least_service_of_a_house_is_advice(rating, outcome):
    tree = house(service={"main": {"rating": rating}})
    found = finding_of(judged(tree), "capacity.service_minimum")
    assert (found.outcome, found.weight) == (outcome, Weight.ADVICE)


# The feeder


def with_sub_panel(fed_from):
    tree = house(circuit={"id": "charger_circuit", "fed_from": fed_from})
    if fed_from is None:
        del tree["circuit"]["fed_from"]
    tree["panels"].append(
        {"id": "garage_panel", "fed_from": "garage_feeder", "bus_rating": "100 A"}
    )
    tree["feeders"] = [{"id": "garage_feeder", "fed_from": "main_panel"}]
    return tree


@pytest.mark.parametrize("fed_from", ["garage_panel", "garage_feeder", None])
def test_a_charger_behind_a_feeder_that_is_not_described_cannot_be_told(fed_from):
    tree = with_sub_panel(fed_from)
    if fed_from == "garage_panel":
        tree["feeders"] = []
    found = judged(tree)
    feeder = finding_of(found, "capacity.feeder")
    assert (feeder.outcome, feeder.weight) == (Outcome.CANNOT_TELL, Weight.MUST)
    assert found.headline.outcome not in (Outcome.MEETS, Outcome.NARROW)


@pytest.mark.parametrize("fed_from", ["main_panel", "service"])
def test_a_charger_at_the_service_has_no_feeder(fed_from):
    assert "capacity.feeder" not in ids(judged(with_sub_panel(fed_from)))


# Several kinds of heating


def test_each_kind_of_heating_at_its_own_factor():
    # 6,000 + 0.65 × 10,000; 0.65 × 4,000; 0.4 × 8,000; 5,000
    heating = Heating(
        heat_pump_va=6_000,
        supplemental_va=10_000,
        central_va=4_000,
        separate_va=8_000,
        separate_count=4,
        storage_va=5_000,
    )
    found = optional_heating_kinds_va(edition=open_edition("2023"), heating=heating)
    assert found == pytest.approx((12_500, 2_600, 3_200, 5_000), rel=EXACT)


@pytest.mark.parametrize(
    ("separate_va", "weight"),
    [
        # Heating added, so the list without it is barred; 100 A, charger 16 A.
        # optional: 14,000 + 0.65 × 9,000 + 3,840 = 23,690 VA, 310 under 24,000
        (476, Weight.ADVICE),  # 0.65 × 476 = 309.4 more still pass
        (478, Weight.MUST),  # 310.7 more do not
    ],
)
def test_heating_left_out_binds_where_only_leaving_it_out_passes(separate_va, weight):
    tree = house(
        *APPLIANCES,
        load("central electric heat", 9_000, state="proposed"),
        load(SEPARATE, separate_va),
        service=MAIN_100,
        charger={"nameplate": "16 A"},
    )
    found = judged(tree)
    assert finding_of(found, "capacity.service_load").outcome is Outcome.NARROW
    assert finding_of(found, "capacity.several_heatings").weight is weight
    passes = found.headline.outcome in (Outcome.MEETS, Outcome.NARROW)
    assert passes is (weight is Weight.ADVICE)


def test_one_kind_of_heating_raises_no_question():
    tree = house(load("heat pump", 6_000), load("heat pump supplemental heat", 9_000))
    assert "capacity.several_heatings" not in ids(judged(tree))


# The setting


@pytest.mark.parametrize(
    ("year", "said", "outcome", "words"),
    [
        ("2023", {"setting_restricted_by": ["lock"]}, Outcome.MEETS, "photo"),
        ("2023", {}, Outcome.CANNOT_TELL, "setting_restricted_by"),
        (
            "2023",
            {"setting_restricted_by": ["none"]},
            Outcome.NOT_REQUIRED,
            "anyone can raise",
        ),
        (
            "2020",
            {"setting_restricted_by": ["password"], "connection": "receptacle"},
            Outcome.NOT_REQUIRED,
            "wired in",
        ),
        (
            "2020",
            {"setting_restricted_by": ["password"], "connection": None},
            Outcome.CANNOT_TELL,
            "charger.connection",
        ),
        ("2017", {"setting_restricted_by": ["lock"]}, Outcome.NOT_REQUIRED, "edition"),
    ],
)
def test_whether_the_setting_counts_is_said_with_the_reason(year, said, outcome, words):
    tree = house(charger={"nameplate": "48 A", "setting": "32 A", **said})
    found = finding_of(judged(tree, year), "capacity.setting_counts")
    assert found.outcome is outcome
    assert words in found.next


def test_a_setting_at_the_nameplate_raises_no_question():
    assert "capacity.setting_counts" not in ids(judged(house()))


# A clamp reading


def with_spot(leg_a_a, leg_b_a):
    plan = plan_of(house())
    spot = SpotReading("evening", leg_a_a, leg_b_a, ())
    evidence = replace(evidence_of(plan), spot_readings=(spot,))
    return assess(plan, evidence, open_edition("2023"), ON)


@pytest.mark.parametrize(
    ("leg_a_a", "leg_b_a", "total_a", "outcome"),
    [
        # 1.25 × the higher leg + 32 A
        (100.0, 60.0, 157, Outcome.CANNOT_TELL),
        (60.0, None, 107, Outcome.CANNOT_TELL),
        (None, 134.0, 199.5, Outcome.CANNOT_TELL),
        (134.4, 0.0, 200, Outcome.CANNOT_TELL),
        (134.5, 0.0, 200.125, Outcome.FALLS_SHORT),
        (float("nan"), 60.0, 107, Outcome.CANNOT_TELL),
    ],
)
def test_a_clamp_reading_may_say_no_and_never_yes(leg_a_a, leg_b_a, total_a, outcome):
    found = finding_of(with_spot(leg_a_a, leg_b_a), "capacity.spot_reading.evening")
    assert found.found == pytest.approx(total_a, rel=EXACT)
    assert (found.outcome, found.weight) == (outcome, Weight.ADVICE)


@pytest.mark.parametrize("legs", [(None, None), (float("nan"), float("inf"))])
def test_a_clamp_reading_without_a_number_is_left_out(legs):
    assert not any(id.startswith("capacity.spot") for id in ids(with_spot(*legs)))


def test_every_open_or_short_finding_says_what_to_do_and_every_id_is_its_own():
    trees = [house(load("kiln"), *APPLIANCES), house(charger={"setting": "16 A"})]
    trees += [with_sub_panel("garage_panel"), house(load("sauna", 90_000))]
    bare = house()
    bare["service"] = {"id": "service", "system": "120/240 V split-phase"}
    for tree in [*trees, bare]:
        for year in ("2017", "2020", "2023", "2026"):
            findings = [
                each
                for each in judged(tree, year).findings
                if each.id.startswith(("capacity", "scope"))
            ]
            assert len({each.id for each in findings}) == len(findings)
            for each in findings:
                assert each.question.endswith("?")
                if each.outcome in (Outcome.FALLS_SHORT, Outcome.CANNOT_TELL):
                    assert each.next, each.id


def test_evidence_may_be_empty():
    plan = plan_of(house())
    found = assess(plan, Evidence(), open_edition("2023"), ON)
    assert "capacity.service_load" in ids(found)
