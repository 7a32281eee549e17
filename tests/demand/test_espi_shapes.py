"""One record in the many shapes in which producers write it; all invented.

Two days of hours, Wh: the day of `DAY_WH` twice, 24,700 Wh each, highest 4,100 Wh
from 18:00 on the clock, which is 23:00 UTC.
"""

import random
import re
from dataclasses import replace

import pytest
from espi_builder import ATOM, EASTERN, ESPI, Feed, Meter, hours, utc
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lugbook.demand.summary import demand_of
from lugbook.errors import InputError

START = utc("2025-01-15T05:00:00")
DAY_WH = [300, 250, 200, 200, 250, 400, 900, 1200, 800, 600, 500, 700]
DAY_WH += [900, 650, 500, 550, 1500, 3200, 4100, 2800, 1900, 1200, 700, 400]
GAS = {"commodity": "7", "kind": "58", "uom": "169"}
FEW = settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


def two_days(**changes):
    meter = Meter(hours(START, DAY_WH * 2), **changes)
    return Feed([meter], local=EASTERN)


def is_the_record(found, times=1):
    assert found.readings == 48
    assert found.energy_wh == pytest.approx(2 * 24_700 * times)
    assert found.maximum_w == pytest.approx(4_100 * times)
    assert found.maximum_start_s == utc("2025-01-15T23:00:00")
    assert (found.gaps, found.duplicates, found.complete_fraction) == (0, 0, 1)


def said(summary, about):
    return [each for each in summary.statements if each.about == about]


def left(summary):
    return {each.what: each.why for each in summary.left_out}


# --- names and links --------------------------------------------------------------


def test_the_atom_names_may_be_prefixed_and_the_payload_not(written):
    text = two_days().text().replace(f'xmlns="{ATOM}"', f'xmlns:atom="{ATOM}"')
    for name in ("feed", "title", "entry", "id", "link", "content", "updated"):
        for mark in ("<", "</"):
            text = text.replace(f"{mark}{name}>", f"{mark}atom:{name}>")
            text = text.replace(f"{mark}{name} ", f"{mark}atom:{name} ")
    is_the_record(demand_of(written(text)))


def test_a_prefix_may_be_bound_to_another_namespace_further_down(written):
    text = replace(two_days(), prefix="e").text()
    block = '<e:IntervalBlock xmlns:e="urn:invented">'
    shadowed = text.replace("<e:IntervalBlock>", block, 1)
    # The first block, of a UTC day of 19 hours, is then nothing we know.
    assert demand_of(written(shadowed)).readings == 48 - 19


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('href="r/', 'href="https://data.example/espi/r/'),
        ('href="r/', 'href="/r/'),
        ('rel="related" href="r/', 'rel="related" href="https://data.example/r/'),
        ('rel="self" href="r/', 'rel="self" href="http://data.example:8080/r/'),
        ('"/>', '/"/>'),
        ('rel="self" href="r/', 'title="mine" rel="self" href=" r/'),
    ],
)
def test_links_may_be_absolute_relative_or_end_in_a_slash(written, old, new):
    feed = two_days(type_fields={})
    # Without the links every block would be read by the type before it, of gas.
    gas = Meter(hours(START, [7] * 48), number=10, type_fields=GAS)
    feed.meters.append(gas)
    entries = list(feed.entries())
    types = [place for place, each in enumerate(entries) if "<ReadingType" in each]
    order = [*types, *(at for at in range(len(entries)) if at not in types)]
    found = demand_of(written(feed.text(order).replace(old, new)))
    is_the_record(found)
    assert not said(found, "reading type")


def test_a_type_may_be_found_by_its_own_link_up_to_the_meter_reading(written):
    feed = two_days()
    feed.meters.append(Meter(hours(START, [7] * 48), number=2, type_fields=GAS))
    text = feed.text()
    for place in (1, 2):
        kind = f'href="r/ReadingType/{place}"/>'
        text = text.replace(f'<link rel="related" {kind}', "")
        up = f'<link rel="up" href="r/UsagePoint/1/MeterReading/{place}"/>'
        text = text.replace(f'<link rel="self" {kind}', f'<link rel="self" {kind}{up}')
    is_the_record(demand_of(written(text)))


def test_meter_reading_1_is_not_taken_for_10(written):
    feed = two_days()
    feed.meters.append(Meter(hours(START, [7] * 48), number=10, type_fields=GAS))
    text = feed.text()
    # Only the addresses of the blocks tell.
    text = text.replace('rel="up"', 'rel="via"')
    text = text.replace('/IntervalBlock"', '/x"').replace("/IntervalBlock/", "/x/")
    is_the_record(demand_of(written(text)))


def test_without_links_the_nearest_type_before_a_block_is_taken_and_said(written):
    feed = replace(two_days(), linked=False)
    feed.meters.insert(0, Meter(hours(START, [7] * 48), type_fields=GAS))
    found = demand_of(written(feed.text()))
    is_the_record(found)
    assert (
        "the nearest type before each was taken" in said(found, "reading type")[0].said
    )


@pytest.mark.parametrize("linked", [True, False])
def test_a_block_may_stand_before_its_type(written, linked):
    feed = replace(two_days(), linked=linked)
    order = list(range(len(list(feed.entries()))))
    is_the_record(demand_of(written(feed.text(order[::-1]))))


def test_links_without_an_address_lead_nowhere(written):
    feed = two_days()
    feed.meters.append(Meter(hours(START, [7] * 48), number=2, type_fields=GAS))
    empty = '<link rel="related" href=""/><link rel="self" href="/"/><content>'
    text = feed.text().replace("<content>", empty, 1)
    is_the_record(demand_of(written(text)))


def test_several_blocks_may_stand_in_one_content(written):
    text = two_days().text()
    between = re.compile(
        r"</content></entry>\s*<entry><id>[^<]*</id>(<link[^>]*>)*<content>"
        r"(?=<IntervalBlock)"
    )
    text, merged = between.subn("", text)
    # Three UTC days of readings, the first of which follows its type directly.
    assert merged == 3
    is_the_record(demand_of(written(text)))


def test_all_entries_may_share_one_id_and_one_title(written):
    text = two_days().text()
    assert text.count("<id>urn:uuid:1</id>") == text.count("<entry>")
    is_the_record(demand_of(written(text)))


def test_a_block_without_readings_and_a_reading_without_a_block_are_passed_over(
    written,
):
    feed = two_days()
    empty = f'<IntervalBlock xmlns="{ESPI}"/>'
    stray = f'<IntervalReading xmlns="{ESPI}"><value>9</value></IntervalReading>'
    feed.extra = "".join(
        f"<entry><content>{each}</content></entry>" for each in (empty, stray)
    )
    found = demand_of(written(feed.text()))
    is_the_record(found)
    assert "1 readings" in left(found)


def test_a_feed_may_stand_in_an_envelope_and_carry_a_style_sheet(written):
    head, _, rest = two_days().text().partition("\n")
    style = '<?xml-stylesheet type="text/xsl" href="https://style.example/a.xslt"?>'
    text = f"{head}{style}<!-- invented --><envelope>{rest}</envelope>"
    is_the_record(demand_of(written(text)))


def test_an_inclusion_is_not_followed(written, tmp_path):
    (tmp_path / "other.xml").write_text(two_days().text())
    space = 'xmlns:xi="http://www.w3.org/2001/XInclude"'
    text = f'<feed xmlns="{ATOM}" {space}><xi:include href="other.xml"/></feed>'
    with pytest.raises(InputError, match="without a single interval reading"):
        demand_of(written(text))


def test_a_repeated_usage_point_with_one_address_is_one_point(written):
    feed = two_days()
    again = next(feed.entries())
    feed.extra = again
    found = demand_of(written(feed.text()))
    is_the_record(found)
    assert not said(found, "point")


# --- times --------------------------------------------------------------------------


def bare(count, wh, duration_s, start=START, length="900"):
    """A block whose readings have no time of their own."""
    kind = {"intervalLength": length}
    feed = Feed([Meter([[(None, None, wh)] * count], type_fields=kind)], local=EASTERN)
    given = f"<duration>{duration_s}</duration><start>{start}</start>"
    return feed.text().replace("<duration>0</duration><start>0</start>", given)


@pytest.mark.parametrize(
    ("length", "duration_s", "interval_s"),
    [
        ("900", 86_400, 900),
        (None, 86_400, 900),
        # An hour is said, but 96 readings fill a day: they cannot be of an hour.
        ("3600", 86_400, 900),
        # Half of the readings of two days: of 1,800 s they would look weaker.
        ("900", 172_800, 900),
        # A fall day written as of 24 hours: 939.13 s is no interval.
        ("900", 92 * 900 + 3600, 900),
        ("0", 86_400, 900),
        ("900", 0, 900),
        ("900", -86_400, 900),
    ],
)
def test_readings_without_a_time_follow_each_other(
    written, length, duration_s, interval_s
):
    found = demand_of(written(bare(96, 500, duration_s, length=length)))
    assert (found.interval_s, found.readings, found.gaps) == (interval_s, 96, 0)
    assert found.maximum_w == 2000
    assert bool(said(found, "interval")) == (length == "3600")


def test_of_an_hour_said_and_readings_of_15_minutes_the_readings_are_right(written):
    blocks = hours(START, [500] * 96, duration=900)
    feed = Feed([Meter(blocks, type_fields={"intervalLength": "3600"})], local=EASTERN)
    found = demand_of(written(feed.text()))
    assert (found.interval_s, found.maximum_w) == (900, 2000)


def test_without_any_time_nothing_is_guessed(written):
    text = bare(24, 500, 86_400).replace(f"<start>{START}</start>", "")
    with pytest.raises(InputError, match="no reading with a time between 1990 and"):
        demand_of(written(text))


@pytest.mark.parametrize(
    ("start", "kept"),
    [
        (10, False),
        (631_151_999, False),  # the last second of 1989
        (631_152_000, True),
        (4_102_444_799, True),  # the last second of 2099
        (4_102_444_800, False),
        (START * 1000, False),  # milliseconds
        (-3600, False),
    ],
)
def test_a_start_before_1990_or_after_2099_is_no_time_of_a_reading(
    written, start, kept
):
    stray = [(start, 3600, 900)]
    feed = Feed([Meter([stray, *hours(START, DAY_WH)])], local=EASTERN)
    found = demand_of(written(feed.text()))
    assert found.readings == 24 + kept
    assert ("no time that can be right" in left(found).values()) != kept


def test_a_negative_duration_is_left_out(written):
    readings = [(START + 3600 * n, 3600, 500) for n in range(24)]
    readings[5] = (readings[5][0], -3600, 99_000)
    found = demand_of(written(Feed([Meter([readings])], local=EASTERN).text()))
    assert (found.readings, found.maximum_w, found.gaps) == (23, 500, 1)


def test_readings_of_a_second_make_a_sliding_quarter_hour(written):
    # 1 Wh in each second of a quarter hour, nothing in the half hours around it.
    values = [0] * 1800 + [1] * 900 + [0] * 1800
    feed = Feed([Meter([[(START + n, 1, wh) for n, wh in enumerate(values)]])])
    found = demand_of(written(feed.text()))
    assert (found.interval_s, found.readings) == (1, 4500)
    assert found.central_w == pytest.approx(3600)


@pytest.mark.parametrize(("length", "refused"), [(3600, False), (86_400, True)])
def test_days_and_months_are_refused_and_hours_are_not(written, length, refused):
    feed = Feed([Meter([[(START + length * n, length, 20_000) for n in range(40)]])])
    if refused:
        with pytest.raises(InputError, match=r"readings of 1 day each.*hour or finer"):
            demand_of(written(feed.text()))
    else:
        assert demand_of(written(feed.text())).maximum_w == 20_000


@pytest.mark.parametrize(
    ("missing", "sentence"),
    [("tzOffset", "its offset from UTC"), ("dstOffset", None)],
)
def test_a_local_time_without_an_offset_is_said(written, missing, sentence):
    feed = two_days()
    feed.local = {name: text for name, text in EASTERN.items() if name != missing}
    found = demand_of(written(feed.text()))
    asked = said(found, "local time")
    assert [sentence in each.said for each in asked] == [True] * bool(sentence)
    assert found.clock == ("UTC" if sentence else "UTC-05:00 with summer time")


def test_two_local_times_in_one_file_are_said(written):
    feed = two_days()
    other = {**EASTERN, "tzOffset": "-21600"}
    body = "".join(feed.tag(*pair) for pair in other.items())
    feed.extra = feed.entry("LocalTimeParameters", body, "r/LocalTimeParameters/2", "")
    found = demand_of(written(feed.text()))
    assert "names 2 local times" in said(found, "local time")[0].said


def test_the_first_reading_shows_a_local_clock_where_the_block_does_not_say_it(written):
    feed = Feed([Meter(hours(utc("2025-07-01T00:00:00"), DAY_WH))])
    feed.local = {**EASTERN, "tzOffset": "0"}
    text = feed.text()
    head, _, rest = text.partition("<interval>")
    text = head + rest.partition("</interval>")[2]
    assert said(demand_of(written(text)), "clock")[0].asks


# --- numbers ------------------------------------------------------------------------


@pytest.mark.parametrize("tens", [-12, -9, -6, -3, -2, -1, 0, 1, 2, 3, 6, 9, 12])
def test_every_multiplier_of_the_standard_scales_by_its_power_of_ten(written, tens):
    # 123 and 45 units of 10^tens Wh in an hour.
    feed = Feed([Meter([[(START, 3600, 123), (START + 3600, 3600, 45)]])])
    feed.meters[0].type_fields["powerOfTenMultiplier"] = str(tens)
    found = demand_of(written(feed.text()))
    assert found.maximum_w == pytest.approx(123 * 10.0**tens, rel=1e-12)
    assert found.energy_wh == pytest.approx(168 * 10.0**tens, rel=1e-12)


@pytest.mark.parametrize("text", ["13", "-13", "99", "3.0", "kilo"])
def test_a_multiplier_nobody_can_mean_is_refused_and_not_taken_for_1(written, text):
    feed = two_days(type_fields={"powerOfTenMultiplier": text})
    with pytest.raises(InputError, match="powerOfTenMultiplier is none of the stand"):
        demand_of(written(feed.text()))


def test_a_cost_is_not_a_value_and_is_not_scaled(written):
    text = two_days().text().replace("<value>", "<cost>99999999</cost><value>")
    is_the_record(demand_of(written(text)))


@pytest.mark.parametrize(
    ("given", "read"),
    [
        (" 4100\n", True),
        ("+4100", True),
        ("0004100", True),
        ("4100.0", True),
        ("4<!-- thousands -->100", True),
        ("4<x/>100", False),
        ("4.1e3", False),
        ("0x1004", False),
        ("4,100", False),
        ("NaN", False),
        ("INF", False),
        ("\uff14100", False),  # a full-width digit
        ("140737488355328", False),  # 2 to the 47th: one beyond 48 bits with sign
        ("9223372036854775808", False),
        ("9" * 5000, False),
        ("4100" + " " * 5000 + "0", False),
    ],
)
def test_a_value_is_a_plain_number_or_is_counted_as_none(written, given, read):
    text = two_days().text().replace("<value>4100<", f"<value>{given}<")
    found = demand_of(written(text))
    assert found.readings == (48 if read else 46)
    assert found.maximum_w == (4100 if read else 3200)
    assert bool(found.left_out) != read


def test_the_largest_value_of_48_bits_is_read_and_asked_about(written):
    feed = Feed([Meter([[(START, 3600, 2**47 - 1), (START + 3600, 3600, 5)]])])
    found = demand_of(written(feed.text()))
    assert found.maximum_w == 2**47 - 1
    assert said(found, "scale")[0].asks


@pytest.mark.parametrize(
    ("highest", "asks"),
    [(199, True), (200, False), (120_000, False), (120_001, True)],
)
def test_a_maximum_that_fits_no_house_is_asked_about(written, highest, asks):
    values = [highest // 2] * 30 + [highest] + [highest // 3] * 30
    found = demand_of(written(Feed([Meter(hours(START, values))]).text()))
    assert bool(said(found, "scale")) == asks


def test_whole_kilowatt_hours_of_a_quarter_hour_are_steps_of_4_kw(written):
    values = [0, 1, 0, 2] * 24
    kind = {"powerOfTenMultiplier": "3", "intervalLength": "900"}
    feed = Feed([Meter(hours(START, values, duration=900), type_fields=kind)])
    found = demand_of(written(feed.text()))
    assert found.maximum_w == 8000
    assert "steps of 4 kW" in said(found, "steps")[0].said


# --- which series -------------------------------------------------------------------


def test_of_gas_and_electricity_at_two_points_electricity_is_taken(written):
    feed = two_days(point=2)
    feed.services = {1: "1", 2: "0"}
    feed.meters.insert(0, Meter(hours(START, [7] * 48), point=1, type_fields=GAS))
    found = demand_of(written(feed.text()))
    is_the_record(found)
    assert not said(found, "point")
    assert "gas, not electricity" in left(found).values()


def test_a_point_is_asked_with_what_each_drew_and_can_be_named(written):
    feed = two_days()
    feed.services = {1: "0", 2: "0"}
    feed.meters.append(Meter(hours(START, [100] * 48), point=2))
    found = demand_of(written(feed.text()))
    is_the_record(found)
    asked = said(found, "point")[0]
    assert asked.asks
    assert "1: 49.4 kWh, 2: 4.8 kWh" in asked.said
    assert asked.mend == "--point 2"
    assert demand_of(written(feed.text()), point="2").maximum_w == 100


def test_what_a_point_feeds_back_does_not_make_it_the_house(written):
    feed = two_days()
    feed.services = {1: "0", 2: "0"}
    reverse = {"flowDirection": "19"}
    feed.meters.append(Meter(hours(START, [9000] * 48), point=2, type_fields=reverse))
    feed.meters.append(Meter(hours(START, [1] * 48), point=2, number=2))
    is_the_record(demand_of(written(feed.text())))


def test_the_tenth_point_is_listed_behind_the_ninth(written):
    feed = two_days()
    feed.services = dict.fromkeys(range(1, 11), "0")
    feed.meters += [
        Meter(hours(START, [100] * 48), point=point) for point in range(2, 11)
    ]
    assert (
        "9: 4.8 kWh, 10: 4.8" in said(demand_of(written(feed.text())), "point")[0].said
    )


@pytest.mark.parametrize(
    "other",
    [
        {"uom": "38", "kind": "37", "accumulationBehaviour": "12"},
        {"uom": "38", "kind": "8", "dataQualifier": "8"},
        {"uom": "71"},
        {"uom": "29", "kind": "54"},
        {"accumulationBehaviour": "1"},
        {"flowDirection": "20"},
        {"flowDirection": "4"},
        {"powerOfTenMultiplier": "-3"},
        GAS,
    ],
)
@pytest.mark.parametrize("first", [True, False])
def test_no_other_view_of_the_house_is_taken_or_added(written, other, first):
    feed = two_days(number=1)
    climbing = [90_000 + 3000 * place for place in range(48)]
    feed.meters.insert(
        0 if first else 1, Meter(hours(START, climbing), number=2, type_fields=other)
    )
    if "powerOfTenMultiplier" in other:  # a copy in thousandths
        feed.meters[0 if first else 1].blocks = hours(
            START, [1000 * wh for wh in DAY_WH * 2]
        )
    found = demand_of(written(feed.text()))
    is_the_record(found)
    assert len(found.left_out) == 1


def test_meter_readings_that_follow_each_other_are_one_record(written):
    days = [Meter(hours(START + 86_400 * n, DAY_WH), number=n + 1) for n in range(2)]
    found = demand_of(written(Feed(days, local=EASTERN).text()))
    is_the_record(found)
    assert "2 series of one kind" in said(found, "series")[0].said


def test_meter_readings_that_share_a_day_are_one_record_without_it_twice(written):
    first = Meter(hours(START, DAY_WH), number=1)
    both = Meter(hours(START, DAY_WH * 2), number=2)
    found = demand_of(written(Feed([first, both], local=EASTERN).text()))
    is_the_record(found)
    assert "would double it" in next(iter(left(found).values()))
    later = Meter(hours(START + 43_200, (DAY_WH * 2)[12:]), number=2)
    found = demand_of(written(Feed([first, later], local=EASTERN).text()))
    assert (found.readings, found.energy_wh, found.duplicates) == (48, 49_400, 12)


def test_meter_readings_that_contradict_each_other_are_not_put_together(written):
    other = Meter(hours(START + 43_200, [90] * 36), number=2)
    found = demand_of(written(Feed([two_days().meters[0], other]).text()))
    assert (found.readings, found.maximum_w) == (48, 4100)
    assert not said(found, "series")


def test_a_longer_but_coarser_series_is_named(written):
    quarters = hours(START, [500] * 96, duration=900)
    feed = Feed([Meter(quarters), Meter(hours(START, [2100] * 240), number=2)])
    found = demand_of(written(feed.text()))
    assert found.interval_s == 900
    assert "covers 10 days in steps of 1 hour" in said(found, "series")[0].said


@pytest.mark.parametrize("codes", [("528", "272"), ("272", "528"), ("512", "256")])
def test_legs_metered_apart_are_added_up(written, codes):
    shares = (0.6, 0.4) if codes[0] in ("528", "512") else (0.4, 0.6)
    legs = [
        Meter(
            hours(START, [round(wh * share) for wh in DAY_WH * 2]),
            number=place,
            type_fields={"phase": code},
        )
        for place, (code, share) in enumerate(zip(codes, shares, strict=True), 1)
    ]
    found = demand_of(written(Feed(legs, local=EASTERN).text()))
    is_the_record(found)
    assert (found.leg_a_w, found.leg_b_w) == (0.6 * 4100, 0.4 * 4100)
    assert found.left_out == ()


def two_legs(first, second):
    legs = [({"phase": "528"}, first), ({"phase": "272"}, second)]
    meters = [
        Meter(hours(start, [500] * count), number=place, type_fields=phase)
        for place, (phase, (start, count)) in enumerate(legs, 1)
    ]
    return Feed(meters, local=EASTERN).text()


def test_hours_of_one_leg_only_are_left_out(written):
    found = demand_of(written(two_legs((START, 30), (START + 3600 * 10, 15))))
    assert (found.readings, found.maximum_w) == (15, 1000)
    assert left(found) == {"15 readings": "of one leg only"}


def test_legs_that_never_meet_are_refused(written):
    with pytest.raises(InputError, match="two legs whose times never agree"):
        demand_of(written(two_legs((START, 10), (START + 3600 * 10, 10))))


def test_legs_beside_the_whole_house_are_not_added_to_it(written):
    feed = two_days(type_fields={"phase": "769"})
    for number, code in ((2, "528"), (3, "272")):
        leg = {"phase": code}
        feed.meters.append(
            Meter(hours(START, [50] * 48), number=number, type_fields=leg)
        )
    is_the_record(demand_of(written(feed.text())))


def test_one_leg_alone_is_asked_about(written):
    found = demand_of(written(two_days(type_fields={"phase": "528"}).text()))
    is_the_record(found)
    assert said(found, "leg")[0].asks


# --- registers ----------------------------------------------------------------------


def climbing(values, start=10_000_000):
    total, course = start, []
    for value in (*values, 0):
        course.append(total)
        total += value
    return course


@pytest.mark.parametrize("behaviour", ["1", "2", "3", "9", "0", None])
def test_a_register_is_differenced_whatever_names_it_so(written, behaviour):
    meter = Meter(
        hours(START, climbing(DAY_WH * 2)),
        type_fields={"accumulationBehaviour": behaviour},
    )
    is_the_record(demand_of(written(Feed([meter], local=EASTERN).text())))


@pytest.mark.parametrize("behaviour", ["9", "0", None])
def test_what_does_not_climb_is_energy_of_each_interval_where_no_code_is_clear(
    written, behaviour
):
    feed = two_days(type_fields={"accumulationBehaviour": behaviour})
    found = demand_of(written(feed.text()))
    is_the_record(found)
    assert said(found, "register")


def test_a_code_of_a_register_is_not_believed_where_the_amounts_fall(written):
    found = demand_of(
        written(two_days(type_fields={"accumulationBehaviour": "1"}).text())
    )
    is_the_record(found)
    assert "do not climb" in said(found, "register")[0].said


def test_a_point_with_a_register_alone_may_draw_most(written):
    feed = Feed([Meter(hours(START, [10] * 48))], {1: "0", 2: "0"}, local=EASTERN)
    register = {"accumulationBehaviour": "1"}
    course = hours(START, climbing(DAY_WH * 2))
    feed.meters.append(Meter(course, point=2, type_fields=register))
    is_the_record(demand_of(written(feed.text())))


def test_a_register_that_stands_still_is_nothing_drawn(written):
    register = {"accumulationBehaviour": "1"}
    feed = Feed([Meter(hours(START, [12_345_000] * 48), type_fields=register)])
    assert demand_of(written(feed.text())).maximum_w == 0


def test_a_register_read_twice_shows_what_was_drawn_between(written):
    register = {"accumulationBehaviour": "1"}
    feed = Feed([Meter(hours(START, [5_000_000, 5_001_000]), type_fields=register)])
    assert demand_of(written(feed.text())).maximum_w == 1000


def test_a_register_without_durations_is_differenced_too(written):
    register = {"accumulationBehaviour": "1", "intervalLength": None}
    readings = [
        (START + 3600 * at, 0, value) for at, value in enumerate(climbing(DAY_WH * 2))
    ]
    feed = Feed([Meter([readings], type_fields=register)], local=EASTERN)
    is_the_record(demand_of(written(feed.text())))


# --- copies -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("older", "newer"),
    [
        ("2025-02-01T00:00:00Z", "2025-02-01T00:00:00.5Z"),
        ("2025-02-01T00:00:00-05:00", "2025-02-01T05:00:01Z"),
        ("2025-02-01T00:00:00", "2025-02-01T00:00:01Z"),
        ("2025-02-01T00:00:00.1234567Z", "2025-02-01T00:00:00.2234567Z"),
        ("", "2025-02-01T00:00:00Z"),
        ("no time", "1999-01-01T00:00:00Z"),
    ],
)
@pytest.mark.parametrize("turned", [True, False])
def test_of_two_values_the_later_updated_one_is_kept(written, older, newer, turned):
    blocks = [[(START, 3600, 900)], [(START, 3600, 300)], [(START + 3600, 3600, 10)]]
    stamps = [older, newer, newer]
    if turned:
        blocks[:2], stamps[:2] = blocks[1::-1], stamps[1::-1]
    found = demand_of(written(Feed([Meter(blocks, updated=stamps)]).text()))
    assert (found.maximum_w, found.duplicates, found.corrected) == (300, 1, 1)


def test_a_time_without_a_zone_is_not_read_by_the_clock_of_the_computer(
    written, monkeypatch
):
    import time

    blocks = [[(START, 3600, 900)], [(START, 3600, 300)], [(START + 3600, 3600, 10)]]
    stamps = ["2025-02-01T02:00:00Z", "2025-02-01T03:00:00", ""]
    for zone in ("Pacific/Honolulu", "Asia/Tokyo"):
        monkeypatch.setenv("TZ", zone)
        time.tzset()
        try:
            found = demand_of(written(Feed([Meter(blocks, updated=stamps)]).text()))
        finally:
            monkeypatch.delenv("TZ")
            time.tzset()
        assert found.maximum_w == 300


# --- the utility's own totals -------------------------------------------------------


def with_summary(**fields):
    feed = two_days()
    feed.summary = fields
    return feed.text()


WHOLE = {"duration": 172_800, "start": START}


@pytest.mark.parametrize(
    ("name", "tens", "value"),
    [
        ("overallConsumptionLastPeriod", 0, 49_400),
        ("overallConsumptionLastPeriod", -3, 49_400_000),
        ("currentBillingPeriodOverAllConsumption", 2, 494),
    ],
)
@pytest.mark.parametrize("period", [WHOLE, {"duration": 10, "start": 10}])
def test_a_total_that_agrees_is_said_to_with_or_without_a_period(
    written, name, tens, value, period
):
    total = {"powerOfTenMultiplier": tens, "uom": 72, "value": value}
    found = demand_of(written(with_summary(billingPeriod=period, **{name: total})))
    assert found.summary_differs_fraction == pytest.approx(0)
    assert not said(found, "total")


def test_a_total_that_differs_is_asked_about_if_its_period_is_known(written):
    total = {"uom": 72, "value": 2 * 49_400}
    text = with_summary(billingPeriod=WHOLE, overallConsumptionLastPeriod=total)
    found = demand_of(written(text))
    assert found.summary_differs_fraction == pytest.approx(0.5)
    assert said(found, "total")[0].asks
    unknown = text.replace(
        f"<duration>172800</duration><start>{START}</start>",
        "<duration>10</duration><start>10</start>",
    )
    assert unknown != text
    assert demand_of(written(unknown)).summary_differs_fraction is None


def test_of_the_two_totals_of_a_period_the_nearer_counts(written):
    text = with_summary(
        billingPeriod=WHOLE,
        overallConsumptionLastPeriod={"uom": 72, "value": 30_000},
        currentBillingPeriodOverAllConsumption={"uom": 72, "value": 49_400},
    )
    assert demand_of(written(text)).summary_differs_fraction == 0


def test_a_total_of_a_period_that_was_not_all_recorded_proves_nothing(written):
    total = {"uom": 72, "value": 900_000}
    month = {"duration": 30 * 86_400, "start": START}
    text = with_summary(billingPeriod=month, overallConsumptionLastPeriod=total)
    assert demand_of(written(text)).summary_differs_fraction is None


@pytest.mark.parametrize("watts", [4_100, 4_141, 4_142])
def test_a_peak_of_the_utility_above_the_readings_is_said(written, watts):
    # A hundredth above 4,100 W is 4,141 W.
    peak = {"uom": 38, "value": watts}
    found = demand_of(written(with_summary(billingPeriod=WHOLE, peakDemand=peak)))
    assert [each.asks for each in said(found, "peak")] == [False] * (watts > 4_141)


def test_a_peak_that_a_record_of_15_minutes_should_hold_is_asked_about(written):
    feed = Feed([Meter(hours(START, [500] * 192, duration=900))], local=EASTERN)
    peak = {"uom": 38, "value": 9_000}
    feed.summary = {"billingPeriod": WHOLE, "peakDemand": peak}
    assert said(demand_of(written(feed.text())), "peak")[0].asks


# --- the same file written otherwise ------------------------------------------------


def split(feed, at):
    """Cut every block in two at a place."""
    for meter in feed.meters:
        meter.blocks = [
            part for block in meter.blocks for part in (block[:at], block[at:]) if part
        ]


@FEW
@given(
    seed=st.integers(0, 10_000),
    prefix=st.sampled_from(["", "espi", "n-1"]),
    tens=st.sampled_from([-3, -1, 0, 2]),
    at=st.integers(0, 12),
    again=st.booleans(),
)
def test_order_copies_prefix_blocks_and_multiplier_change_nothing(
    written, seed, prefix, tens, at, again
):
    mix = random.Random(seed)
    values = [100 * mix.randrange(1, 60) for _ in range(72)]
    plain = Feed([Meter(hours(START, values))], local=EASTERN)
    expected = demand_of(written(plain.text()))
    scaled = [round(value / 10.0**tens) for value in values]
    kind = {"powerOfTenMultiplier": str(tens)}
    feed = Feed([Meter(hours(START, scaled), type_fields=kind)], local=EASTERN)
    feed.prefix = prefix
    split(feed, at)
    if again:
        feed.meters[0].blocks.append(mix.choice(feed.meters[0].blocks))
    for block in feed.meters[0].blocks:
        mix.shuffle(block)
    order = list(range(len(list(feed.entries()))))
    mix.shuffle(order)
    found = demand_of(written(feed.text(order)))
    assert found.readings == expected.readings
    assert found.energy_wh == pytest.approx(expected.energy_wh, rel=1e-12)
    assert found.maximum_w == pytest.approx(expected.maximum_w, rel=1e-12)
    assert found.maximum_start_s == expected.maximum_start_s
    assert (found.gaps, found.corrected) == (0, 0)
    assert found.worst_weeks[0].monday == expected.worst_weeks[0].monday


def test_the_names_of_this_file_are_those_of_the_standard():
    assert ESPI == "http://naesb.org/espi"
