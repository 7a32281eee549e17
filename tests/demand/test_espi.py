import gzip
import io
import random
import time
import tracemalloc
import zipfile

import pytest
from espi_builder import EASTERN, Feed, Meter, hours, utc
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lugbook.demand import espi, espi_runs, opened
from lugbook.demand.espi import read_espi
from lugbook.demand.read import read_meter_file
from lugbook.demand.summary import demand_of
from lugbook.errors import InputError

START = utc("2025-01-15T05:00:00")
FEW = settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


def a_week(values=None, prefix="", **of_type):
    draw = random.Random(7)
    values = values or [draw.randrange(50, 5000) for _ in range(7 * 24)]
    return Feed([Meter(hours(START, values), type_fields=of_type)], local=EASTERN)


def core(summary):
    return (
        summary.readings,
        summary.energy_wh,
        summary.maximum_w,
        summary.maximum_start_s,
        summary.gaps,
    )


# --- the same file written otherwise --------------------------------------------


@FEW
@given(seed=st.integers(0, 10_000), prefix=st.sampled_from(["", "e", "ns2", "a-b.c"]))
def test_order_and_prefix_of_a_file_change_nothing(written, seed, prefix):
    plain = a_week()
    expected = core(demand_of(written(plain.text())))
    plain.prefix = prefix
    order = list(range(len(list(plain.entries()))))
    random.Random(seed).shuffle(order)
    assert core(demand_of(written(plain.text(order)))) == expected


@FEW
@given(seed=st.integers(0, 10_000))
def test_blocks_written_twice_change_nothing_but_the_count_of_copies(written, seed):
    feed = a_week()
    expected = demand_of(written(feed.text()))
    again = random.Random(seed).choice(feed.meters[0].blocks)
    feed.meters[0].blocks.append(again)
    found = demand_of(written(feed.text()))
    assert core(found) == core(expected)
    assert (found.duplicates, found.corrected) == (len(again), 0)


@pytest.mark.parametrize("multiplier", [-3, -2, -1, 0, 1, 2, 3])
def test_the_multiplier_scales_and_changes_nothing_else(written, multiplier):
    values = [1000 * (number % 9) for number in range(48)]
    expected = core(demand_of(written(a_week(values).text())))
    written_as = [round(value * 10.0**-multiplier) for value in values]
    feed = a_week(written_as, powerOfTenMultiplier=str(multiplier))
    found = core(demand_of(written(feed.text())))
    # A thousandth is not exact in binary.
    assert found == pytest.approx(expected, rel=1e-12)


@FEW
@given(
    values=st.lists(st.integers(-(10**9), 10**9), min_size=3, max_size=60),
    quality=st.lists(st.sampled_from([None, 0, 8, 17]), min_size=60, max_size=60),
    prefix=st.sampled_from(["", "ns2"]),
)
def test_the_short_cut_for_runs_reads_what_the_parser_reads(
    written, values, quality, prefix
):
    readings = [
        (START + 900 * place, 900, value, quality[place])
        for place, value in enumerate(values)
    ]
    feed = Feed([Meter([readings])], prefix=prefix)
    path = written(feed.text())
    quick = read_espi(path).series[0]
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(espi_runs.Runs, "taken_out", lambda _, piece: piece)
        slow = read_espi(path).series[0]
    for name in ("start_s", "duration_s", "amount", "quality", "rank"):
        assert getattr(quick, name).tolist() == getattr(slow, name).tolist()


def test_the_short_cut_is_really_taken(written, monkeypatch):
    taken = []
    take = espi_runs.Runs._take
    monkeypatch.setattr(
        espi_runs.Runs,
        "_take",
        lambda self, match: taken.append(match) or take(self, match),
    )
    assert len(read_espi(written(a_week().text())).series[0].start_s) == 168
    assert taken


READING = (
    "<IntervalReading><timePeriod><duration>3600</duration><start>{}</start>"
    "</timePeriod><value>{}</value></IntervalReading>"
)


@pytest.mark.parametrize(
    "hidden", ["<!-- {} -->", "<![CDATA[{}]]>", "<?hidden {} ?>", "<cost>{}</cost>"]
)
def test_readings_inside_a_comment_are_none(written, hidden):
    text = a_week([500] * 24).text()
    aside = hidden.format(READING.format(START + 24 * 3600, 9_999_999))
    text = text.replace("<IntervalReading>", aside + "<IntervalReading>", 1)
    if hidden.startswith("<cost"):  # an element of the file's own, around readings
        assert demand_of(written(text)).maximum_w == 9_999_999
    else:
        assert demand_of(written(text)).maximum_w == 500


def test_a_file_cannot_ask_for_a_run_that_is_not_there(written):
    text = a_week([500] * 24).text()
    text = text.replace("<IntervalReading>", '<IntervalReading run="x-0">', 1)
    assert demand_of(written(text)).readings == 24


def test_a_comment_across_pieces_of_the_file_hides_what_it_should(written, monkeypatch):
    monkeypatch.setattr(opened, "CHUNK_BYTES", 4096)
    text = a_week([500] * 24 * 20).text()
    hidden = "".join(READING.format(START + 3600 * n, 9_000) for n in range(1000, 1200))
    text = text.replace("<IntervalReading>", f"<!--{hidden}--><IntervalReading>", 1)
    found = demand_of(written(text))
    assert (found.readings, found.maximum_w) == (480, 500)


# --- meaning --------------------------------------------------------------------


def test_a_corrected_reading_wins_whatever_its_place(written):
    older = [(START, 3600, 900), (START + 3600, 3600, 100)]
    newer = [(START, 3600, 300)]
    for order in ([older, newer], [newer, older]):
        stamps = {900: "2025-02-01T00:00:00Z", 300: "2025-02-02T00:00:00Z"}
        updated = [stamps[block[0][2]] for block in order]
        found = demand_of(written(Feed([Meter(order, updated=updated)]).text()))
        assert (found.maximum_w, found.corrected) == (300, 1)


@pytest.mark.parametrize("quality", [8, 9, 11, 12, 15])
def test_what_was_not_measured_sets_no_maximum(written, quality):
    readings = [(START, 3600, 900, quality), (START + 3600, 3600, 100, 0)]
    found = demand_of(written(Feed([Meter([readings])]).text()))
    assert (found.maximum_w, found.energy_wh, found.estimated) == (100, 1000, 1)


@pytest.mark.parametrize("quality", [0, 7, 10, 13, 14, 16, 17, 18, 19])
def test_what_was_measured_sets_the_maximum(written, quality):
    readings = [(START, 3600, 900, quality), (START + 3600, 3600, 100, 0)]
    found = demand_of(written(Feed([Meter([readings])]).text()))
    assert (found.maximum_w, found.estimated) == (900, 0)


def test_the_gravest_of_several_qualities_counts(written):
    text = Feed([Meter([[(START, 3600, 900, 0), (START + 3600, 3600, 1, 0)]])]).text()
    one = "<ReadingQuality><quality>0</quality></ReadingQuality>"
    text = text.replace(one, one.replace("0", "8") + one, 1)
    assert demand_of(written(text)).estimated == 1


def test_a_default_quality_holds_where_a_reading_has_none(written):
    readings = [(START, 3600, 900), (START + 3600, 3600, 100, 0)]
    feed = Feed([Meter([readings], type_fields={"defaultQuality": "8"})])
    found = demand_of(written(feed.text()))
    assert (found.maximum_w, found.estimated) == (100, 1)


def test_a_file_of_estimates_alone_says_that_nothing_was_measured(written):
    readings = [(START + 3600 * hour, 3600, 900, 8) for hour in range(5)]
    found = demand_of(written(Feed([Meter([readings])]).text()))
    assert found.maximum_w == 900
    assert not found.maximum_is_measured


def test_average_power_is_used_where_there_is_no_energy(written):
    of_type = {"uom": "38", "kind": "37", "dataQualifier": "2", "intervalLength": "900"}
    readings = [(START + 900 * place, 900, 2000) for place in range(8)]
    found = demand_of(written(Feed([Meter([readings], type_fields=of_type)]).text()))
    # 2 kW for two hours.
    assert (found.maximum_w, found.energy_wh) == (2000, 4000)


def test_reactive_energy_is_not_demand(written):
    feed = Feed([Meter(hours(START, [5] * 24), type_fields={"uom": "73"})])
    with pytest.raises(InputError, match="no series of electricity in Wh or W"):
        demand_of(written(feed.text()))


def test_a_placeholder_of_a_summary_is_passed_over(written):
    feed = a_week([100] * 24)
    feed.summary = {
        "billingPeriod": {"duration": 10, "start": 10},
        "overallConsumptionLastPeriod": {"uom": 72, "value": 5},
    }
    assert demand_of(written(feed.text())).summary_differs_fraction is None


def test_a_bare_entry_may_be_the_whole_file(written):
    entry = list(Feed([Meter(hours(START, [700] * 24))], linked=False).entries())
    both = entry[1].replace("</entry>", "").replace("</content>", "")
    inner = entry[2].partition("<content>")[2].partition("</content>")[0]
    text = both.replace("<entry>", '<entry xmlns="http://www.w3.org/2005/Atom">')
    assert demand_of(written(f"{text}{inner}</content></entry>")).maximum_w == 700


def test_utf_16_and_a_mark_of_byte_order_are_read(written):
    text = a_week([700] * 24).text()
    wide = text.replace("UTF-8", "UTF-16").encode("utf-16")
    assert demand_of(written(wide)).energy_wh == 24 * 700
    assert demand_of(written(b"\xef\xbb\xbf" + text.encode())).energy_wh == 24 * 700


@pytest.mark.parametrize(
    "changed",
    [
        {"tzOffset": "99999999999999999"},
        {"dstOffset": "-9999999999"},
        {"dstStartRule": "F60E2000"},
        {"dstStartRule": "21D00000"},
        {"dstEndRule": "B40E"},
    ],
)
def test_a_clock_that_no_place_has_is_said_and_not_used(written, changed):
    feed = a_week([700] * 48)
    feed.local = {**EASTERN, **changed}
    found = demand_of(written(feed.text()))
    assert "summer" not in found.clock
    assert any("not in the form of the standard" in e.said for e in found.statements)


def test_a_file_without_summer_time_keeps_its_offset(written):
    feed = a_week([700] * 24)
    for rule in ("FFFFFFFF", ""):
        feed.local = {**EASTERN, "dstStartRule": rule, "dstEndRule": rule}
        assert demand_of(written(feed.text())).clock == "UTC-05:00"


def test_readings_without_value_or_time_are_counted_and_left_out(written):
    readings = [(START + 3600 * n, 3600, 500) for n in range(24)]
    readings[3] = (readings[3][0], 3600, "")
    readings[4] = (9_999_999_999_999, 3600, 500)
    found = demand_of(written(Feed([Meter([readings])]).text()))
    whys = {each.why for each in found.left_out}
    assert found.readings == 22
    assert whys == {"no value that is a number", "no time that can be right"}


def test_a_type_without_a_length_leaves_it_to_the_interval(written):
    text = Feed(
        [Meter([[(None, None, 500)] * 24], type_fields={"intervalLength": None})]
    ).text()
    given = f"<duration>86400</duration><start>{START}</start>"
    text = text.replace("<duration>0</duration><start>0</start>", given)
    assert demand_of(written(text)).interval_s == 3600


def test_the_total_of_both_directions_is_taken_with_a_word(written):
    feed = a_week([500] * 24, flowDirection="20")
    found = demand_of(written(feed.text()))
    assert found.maximum_w == 500
    assert any("adds what is drawn" in each.said for each in found.statements)


def test_what_only_flows_back_shows_no_demand(written):
    with pytest.raises(InputError, match="only what flows to the grid"):
        demand_of(written(a_week([500] * 24, flowDirection="19").text()))


def test_a_unit_that_is_not_said_is_not_guessed(written):
    with pytest.raises(InputError, match="no series of electricity"):
        demand_of(written(a_week([500] * 24, uom=None).text()))


# --- packed ---------------------------------------------------------------------


def test_gzip_and_zip_are_unpacked(written):
    text = a_week().text().encode()
    expected = core(demand_of(written(text)))
    assert core(demand_of(written(gzip.compress(text), "m.xml.gz"))) == expected
    assert core(demand_of(written(zipped({"m.xml": text}), "m.zip"))) == expected


def zipped(members):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return packed.getvalue()


# --- hostile --------------------------------------------------------------------

BOMB = (
    '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">'
    '<!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><x>&b;</x>'
)
HOSTILE = {
    "entities": (BOMB, "with a document type"),
    "an outer file": (
        '<!DOCTYPE x SYSTEM "file:///etc/passwd"><x/>',
        "with a document type",
    ),
    "deep nesting": ("<a>" * 65, "nested more than 64 deep"),
    "an end too few": (a_week().text()[:-20], "not well formed"),
    "an unknown prefix": ("<x:feed/>", "not well formed"),
    "another kind": ("<gpx><trk>1</trk></gpx>", 'first element is "gpx"'),
    "an unknown encoding": ('<?xml version="1.0" encoding="X-9"?><a/>', "XML"),
    "nothing": ("", "an empty file"),
    "zero bytes": ("a\0b,c\n", "zero bytes"),
    "half an archive": (gzip.compress(b"x" * 9999)[:-40], "damaged archive"),
    "no archive": (b"\x1f\x8bnothing", "cannot be read|damaged"),
    "no zip": (b"PK\x03\x04nothing", "damaged archive"),
    "a zip of two": (zipped({"a.xml": b"<a/>", "b.csv": b"x"}), "holds 2 files"),
    "a zip of none": (zipped({"a.jpg": b"x"}), "no .xml and no .csv"),
}


@pytest.mark.parametrize("case", HOSTILE)
def test_hostile_files_are_refused_in_one_sentence(written, case):
    content, sentence = HOSTILE[case]
    with pytest.raises(InputError, match=sentence) as refused:
        demand_of(written(content))
    assert len(refused.value.faults) == 1
    assert "\n" not in str(refused.value)


def test_depth_64_is_still_read(written):
    with pytest.raises(InputError, match="of another kind"):
        read_espi(written("<a>" * 64 + "</a>" * 64))


@pytest.mark.parametrize("packed", [gzip.compress, lambda raw: zipped({"m.csv": raw})])
def test_a_bomb_is_stopped_at_the_limit(written, packed):
    bomb = packed(b"0" * (opened.LARGEST_BYTES + 1))
    assert len(bomb) < 200_000
    with pytest.raises(InputError, match="unpacks to over 50 MB"):
        demand_of(written(bomb, "m"))


def test_a_file_over_the_limit_is_not_opened(written, monkeypatch):
    monkeypatch.setattr(opened, "LARGEST_BYTES", 100)
    with pytest.raises(InputError, match="larger than"):
        demand_of(written("x" * 101))


@pytest.mark.parametrize(
    "content",
    [
        b"<feed><!--" + b"> " * 4_000_000,
        b'<feed a="' + b">" * 8_000_000,
        b"<feed>" + b"x" * 8_000_000,
        b'<feed xmlns="http://www.w3.org/2005/Atom">' + b"<entry/>" * 1_000_000,
    ],
    ids=["comment", "attribute", "text", "entries"],
)
def test_files_made_to_be_slow_end_within_two_seconds(written, content):
    begun = time.process_time()
    with pytest.raises(InputError):
        demand_of(written(content))
    assert time.process_time() - begun < 2


@settings(
    max_examples=300,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(st.data())
def test_a_damaged_file_is_read_or_refused_and_never_crashes(written, data):
    raw = bytearray(a_week([700, 900] * 12).text().encode())
    for _ in range(data.draw(st.integers(1, 6))):
        place = data.draw(st.integers(0, len(raw) - 1))
        cut = data.draw(st.integers(0, 40))
        raw[place : place + cut] = data.draw(
            st.sampled_from(
                [b"", b"<", b">", b"-9", b"99999999999999999999", b"nan", b"]]>"]
            )
        )
    try:
        found = demand_of(written(bytes(raw)))
    except InputError:
        return
    assert found.maximum_w >= 0


def test_a_year_takes_little_memory(written):
    draw = random.Random(3)
    values = [draw.randrange(50, 5000) for _ in range(365 * 96)]
    path = written(Feed([Meter(hours(START, values, duration=900))]).text())
    read_espi(path)  # what is imported and kept by it is not counted
    tracemalloc.start()
    try:
        assert len(read_espi(path).series[0].start_s) == 365 * 96
        _, highest = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert highest < 15_000_000


def test_progress_is_told_to_the_end(written):
    told = []
    path = written(a_week().text())
    read_meter_file(path, progress=lambda read, whole: told.append((read, whole)))
    assert told[-1] == (path.stat().st_size, path.stat().st_size)


def test_the_codes_name_no_unit_twice():
    names = espi.codes()["unit_names"]
    assert len(set(names.values())) == len(names)
