"""Files that are broken, hostile or something else: read rightly or refused.

A refusal is one sentence that names the file and says how to mend it.
"""

import bz2
import gzip
import io
import lzma
import random
import struct
import zipfile

import pytest
from espi_builder import ATOM, EASTERN, ESPI, Feed, Meter, hours, utc
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lugbook import cli
from lugbook.demand import espi, opened
from lugbook.demand.summary import demand_of
from lugbook.errors import InputError

START = utc("2025-01-15T05:00:00")
TEXT = Feed([Meter(hours(START, [700, 900] * 24))], local=EASTERN).text()


def zipped(members, how=zipfile.ZIP_DEFLATED):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", how) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return packed.getvalue()


def locked(members):
    """A zip whose members say that a password is needed."""
    raw = bytearray(zipped(members, zipfile.ZIP_STORED))
    for mark, place in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        raw[raw.find(mark) + place] |= 1
    return bytes(raw)


def crowded(count):
    """A zip that is nothing but a list of files."""
    one = struct.pack(
        "<4s6H3L5H2L", b"PK\1\2", 20, 20, 0, 0, 0, 0, 0, 0, 0, 5, 0, 0, 0, 0, 0, 0
    )
    listed = (one + b"a.xml") * count
    end = struct.pack("<4s4H2LH", b"PK\5\6", 0, 0, 9, 9, len(listed), 4, 0)
    return b"PK\3\4" + listed + end


def feed_of(inner):
    return f'<feed xmlns="{ATOM}">{inner}</feed>'


def refused(path):
    with pytest.raises(InputError) as caught:
        demand_of(path)
    (fault,) = caught.value.faults
    assert "\n" not in str(fault)
    assert str(fault).isprintable()
    assert fault.field.endswith(path.name)
    return fault


BROKEN = {
    # name of the case: content, what is said, how to mend it
    "cut off in a tag": (TEXT[:1500].rpartition("<")[0] + "<va", "unclosed", "cut off"),
    "cut off": (TEXT[: TEXT.rfind("</feed>")], "no element found", "cut off"),
    "declaration alone": ('<?xml version="1.0"?>', "no element found", "cut off"),
    "two roots": (TEXT + "<feed/>", "junk after document element", "again"),
    "space before": ("\n  " + TEXT, "not at start", 'before "<?xml"'),
    "said to be UTF-16": (TEXT.replace("UTF-8", "UTF-16"), "encoding", "UTF-8"),
    "said to be Shift_JIS": (TEXT.replace("UTF-8", "Shift_JIS"), "multi-byte", "UTF-8"),
    "UTF-32": (TEXT.encode("utf-32"), "not well formed", "again"),
    "Latin letters": (
        TEXT.replace("invented", "é").encode("latin-1"),
        "token",
        "again",
    ),
    "a bare ampersand": (TEXT.replace("invented", "A & B"), "well formed", "again"),
    "an unknown entity": (
        TEXT.replace("invented", "&nbsp;"),
        "undefined entity",
        "aga",
    ),
    "a zero byte": (TEXT.replace("invented", "\0"), "not well formed", "again"),
    "an attribute twice": (TEXT.replace("<id>", '<id a="1" a="2">'), "duplicate", "ag"),
    "outer entities": (
        f'<!DOCTYPE feed SYSTEM "http://127.0.0.1/x.dtd"><feed xmlns="{ATOM}"/>',
        "document type",
        "without one",
    ),
    "parameter entities": (
        '<!DOCTYPE f [<!ENTITY % p SYSTEM "file:///etc/passwd"> %p;]><f/>',
        "document type",
        "without one",
    ),
    "a billion words": (
        '<!DOCTYPE f [<!ENTITY a "aa"><!ENTITY b "&a;&a;&a;">]><f>&b;</f>',
        "document type",
        "without one",
    ),
    "a login page": ("<!DOCTYPE html><html><p>Log in</html>", "web page", "Log in"),
    "a login page of old": (
        '<!DOCTYPE HTML PUBLIC "x" "y">\n<HTML><BODY>Log in',
        "web page",
        "Log in",
    ),
    "a login page as XML": (
        '<?xml version="1.0"?><html xmlns="http://www.w3.org/1999/xhtml"/>',
        "web page",
        "Log in",
    ),
    "a page behind a long comment": (
        f"<!-- {'-x' * 400} --><!DOCTYPE html><html/>",
        "web page",
        "Log in",
    ),
    "a page behind a long comment, as XML": (
        f"<!-- {'x' * 800} --><html/>",
        "web page",
        "Log in",
    ),
    "a block alone": (
        f'<IntervalBlock xmlns="{ESPI}"><IntervalReading><timePeriod>'
        f"<duration>3600</duration><start>{START}</start></timePeriod>"
        "<value>5</value></IntervalReading></IntervalBlock>",
        "its unit is not said",
        "Ask the",
    ),
    "a register read once": (
        Feed(
            [Meter([[(START, 0, 5)]], type_fields={"accumulationBehaviour": "1"})]
        ).text(),
        "a register read once",
        "interval data",
    ),
    "JSON": ('{"readings": [1, 2]}', "JSON", "interval data"),
    "a list of JSON": ('[{"start": 1}]', "JSON", "interval data"),
    "a PDF": (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3", "PDF", "interval data"),
    "an old workbook": (b"\xd0\xcf\x11\xe0" + b"\0" * 99, "workbook", "interval data"),
    "a workbook": (
        zipped({"[Content_Types].xml": "<a/>", "xl/sheet1.xml": "<a/>"}),
        "workbook",
        "as CSV",
    ),
    "nothing": ("", "empty file", "Download"),
    "white space": (" \r\n\t\n", "empty file", "Download"),
    "a mark of byte order": (b"\xef\xbb\xbf", "empty file", "Download"),
    "an empty feed": (feed_of(""), "without a single interval reading", "Ask the"),
    "a usage point alone": (Feed([]).text(), "without a single interval", "Ask the"),
    "a block without readings": (
        feed_of(f'<entry><content><IntervalBlock xmlns="{ESPI}"/></content></entry>'),
        "without a single interval reading",
        "Ask the",
    ),
    "no number": (TEXT.replace("<value>", "<value>x"), "48 readings, none of", "Ask"),
    "another namespace": (TEXT.replace(ESPI, "urn:espi"), "without a single", "Ask"),
    "no type": (
        TEXT.replace("ReadingType", "Invented"),
        "its unit is not said (no ReadingType with a uom)",
        "Ask the",
    ),
    "gas": (
        Feed([Meter(hours(START, [5] * 24))], services={1: "1"}).text(),
        "gas, not electricity",
        "of electricity",
    ),
    "no duration": (
        Feed([Meter([[(START, 0, 5), (START + 1, 0, 5)]])]).text(),
        "no reading whose duration is above zero",
        "Ask the",
    ),
    "bzip2": (bz2.compress(TEXT.encode()), "neither zip nor gzip", "Unpack"),
    "xz": (lzma.compress(TEXT.encode()), "neither zip nor gzip", "Unpack"),
    "an empty zip": (zipped({}), "no .xml and no .csv", "Unpack"),
    "a zip of a zip": (zipped({"a.zip": zipped({"m.xml": TEXT})}), "no .xml", "Unpack"),
    "a zip under the name of XML in a zip": (
        zipped({"m.xml": zipped({"m.xml": TEXT})}),
        "archive within an archive",
        "Unpack it once",
    ),
    "gzip of gzip": (
        gzip.compress(gzip.compress(TEXT.encode())),
        "archive within an archive",
        "Unpack it once",
    ),
    "gzip of a zip": (
        gzip.compress(zipped({"m.xml": TEXT})),
        "archive within an archive",
        "Unpack it once",
    ),
    "a zip of XML and CSV": (
        zipped({"m.xml": TEXT, "m.csv": "a,b"}),
        "holds 2 files (m.xml, m.csv)",
        "name the one",
    ),
    "names that write on the screen": (
        zipped({"a\x1b[31m\n.xml": TEXT, "b.xml": TEXT}),
        "a?[31m?.xml",
        "name the one",
    ),
    "a zip with a password": (locked({"m.xml": TEXT}), "password", "Unpack"),
    "an unusual zip": (
        zipped({"m.xml": TEXT}, zipfile.ZIP_LZMA),
        "unusual way",
        "Unpack",
    ),
    "a zip that is only a list": (crowded(200_000), "far too many files", "Unpack"),
    "a zip cut off": (zipped({"m.xml": TEXT})[:-40], "damaged archive", "Download"),
    "gzip cut off": (gzip.compress(TEXT.encode())[:-20], "damaged archive", "Download"),
    "gzip with more behind it": (
        gzip.compress(TEXT.encode()) + b"more",
        "damaged archive",
        "Download",
    ),
}


@pytest.mark.parametrize("case", BROKEN)
def test_a_broken_file_is_refused_in_one_sentence_that_says_how_to_mend_it(
    written, case
):
    content, given_words, mend = BROKEN[case]
    fault = refused(written(content))
    assert given_words in fault.given
    assert mend in fault.mend


def test_a_zip_whose_member_has_a_path_is_read_and_writes_nothing(written, tmp_path):
    path = written(zipped({"../../outside/m.xml": TEXT}), "m.zip")
    before = sorted(tmp_path.rglob("*"))
    assert demand_of(path).readings == 48
    assert sorted(tmp_path.rglob("*")) == before


def test_what_a_file_is_shows_by_its_content_and_not_by_its_name(written):
    rows = "".join(
        f"2025-01-{15 + n // 24} {n % 24:02}:00,{0.7 + n % 2 / 5:.1f}\n"
        for n in range(48)
    )
    table = demand_of(written("Time,kWh\n" + rows, "meter.xml"))
    xml = demand_of(written(TEXT, "meter.csv"))
    assert (table.readings, xml.readings) == (48, 48)
    assert table.energy_wh == pytest.approx(xml.energy_wh)


@pytest.mark.parametrize("name", ["windows-1252", "ISO-8859-1", "us-ascii"])
def test_a_declared_encoding_of_single_bytes_is_read(written, name):
    text = TEXT.replace("UTF-8", name)
    if name != "us-ascii":
        text = text.replace("invented", "éè")
    assert demand_of(written(text.encode("latin-1"))).readings == 48


@pytest.mark.parametrize("name", ["utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("marked", [True, False])
def test_utf_16_is_read_with_and_without_its_mark(written, name, marked):
    text = "\ufeff" * marked + TEXT.replace("UTF-8", "UTF-16")
    assert demand_of(written(text.encode(name))).readings == 48


def test_a_huge_attribute_is_passed_over(written):
    text = TEXT.replace("<title>", f'<title a="{"x" * 900_000}">')
    assert demand_of(written(text)).readings == 48


def test_a_file_that_may_not_be_read_is_refused(written, monkeypatch):
    path = written(TEXT)

    def forbidden(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.open", forbidden)
    assert "cannot be read (Permission denied)" in refused(path).given


def test_a_folder_is_refused(tmp_path):
    assert refused(tmp_path).given == "not a file"


@pytest.mark.parametrize("more", [0, 1])
def test_the_most_elements_are_read_and_one_more_is_refused(written, monkeypatch, more):
    monkeypatch.setattr(espi, "MOST_ELEMENTS", 100)
    # The feed is one of them.
    fault = refused(written(feed_of("<a/>" * (99 + more))))
    assert ("more than 100 elements" in fault.given) == bool(more)


@pytest.mark.parametrize(("count", "is_refused"), [(3, False), (4, True)])
def test_more_series_than_any_house_has_are_refused(
    written, monkeypatch, count, is_refused
):
    monkeypatch.setattr(espi, "MOST_SERIES", 3)
    meters = [Meter(hours(START, [500] * 24), number=n) for n in range(count)]
    path = written(Feed(meters).text())
    if is_refused:
        assert "more than 3 series" in refused(path).given
    else:
        assert demand_of(path).readings == 24


def test_a_file_of_almost_the_largest_size_is_read(written):
    reading = (
        "<IntervalReading><timePeriod><duration>60</duration><start>{}</start>"
        "</timePeriod><value>{}</value></IntervalReading>"
    )
    count = 390_000
    inner = "".join(
        reading.format(START + 60 * n, 10 + n * 7 % 13) for n in range(count)
    )
    kind = f'<ReadingType xmlns="{ESPI}"><uom>72</uom></ReadingType>'
    kind = kind.replace(
        "<uom>", "<accumulationBehaviour>4</accumulationBehaviour><uom>"
    )
    block = f'<IntervalBlock xmlns="{ESPI}">{inner}</IntervalBlock>'
    entries = "".join(
        f"<entry><content>{each}</content></entry>" for each in (kind, block)
    )
    text = feed_of(entries)
    assert 45_000_000 < len(text) <= opened.LARGEST_BYTES
    found = demand_of(written(text))
    assert (found.readings, found.maximum_w) == (count, 22 * 60)


@settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(st.data())
def test_a_damaged_archive_is_read_or_refused_and_never_crashes(written, data):
    packed = gzip.compress(TEXT.encode()), zipped({"é.xml": TEXT})
    raw = bytearray(data.draw(st.sampled_from(packed)))
    for _ in range(data.draw(st.integers(1, 5))):
        raw[data.draw(st.integers(2, len(raw) - 1))] = data.draw(st.integers(0, 255))
    try:
        found = demand_of(written(bytes(raw)))
    except InputError:
        return
    assert found.maximum_w >= 0


@pytest.mark.parametrize("case", ["cut off", "a login page", "no type", "an empty zip"])
def test_the_command_says_it_on_one_line_and_ends_with_2(written, capsys, case):
    status = cli.main(["demand", str(written(BROKEN[case][0])), "--json"])
    printed = capsys.readouterr()
    assert (status, printed.out) == (2, "")
    assert printed.err.count("\n") == 1
    assert "Traceback" not in printed.err


def test_cutting_a_file_anywhere_never_gives_a_record(written):
    draw = random.Random(5)
    for _ in range(60):
        place = draw.randrange(1, len(TEXT) - len("</feed>\n"))
        with pytest.raises(InputError):
            demand_of(written(TEXT[:place]))
