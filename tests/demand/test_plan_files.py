"""The meter files a plan names: where they are looked for, and read once."""

import os
from pathlib import Path

import pytest

from lugbook.demand import cache, plan_files
from lugbook.demand.plan_files import cache_folder, meter_records
from lugbook.premises.plan import parse_plan

FILES = Path(__file__).parent / "files"


def plan(*entries):
    return parse_plan(f"schema = 1\nmeter_files = [{', '.join(entries)}]")


@pytest.fixture
def house(tmp_path):
    """A plan's folder with a meter file in it, one below it, and one outside."""
    folder = tmp_path / "house"
    (folder / "utility").mkdir(parents=True)
    text = (FILES / "plain-day.xml").read_bytes()
    for path in (folder / "day.xml", folder / "utility/day.xml", tmp_path / "day.xml"):
        path.write_bytes(text)
    return folder


def test_a_file_beside_the_plan_or_below_it_is_read_under_its_own_name(house):
    records, unread = meter_records(plan('"day.xml"', '"utility/day.xml"'), house)
    assert [each.name for each in records] == ["day.xml", "utility/day.xml"]
    assert unread == ()
    assert records[0].interval_s == 3600


def test_a_path_out_of_the_plans_folder_is_not_followed(house):
    records, unread = meter_records(plan('"../day.xml"'), house)
    assert records == ()
    assert "out of the plan's folder" in unread[0].why
    assert unread[0].path == "../day.xml"


def test_a_link_out_of_the_plans_folder_is_not_followed(house):
    (house / "link.xml").symlink_to(house.parent / "day.xml")
    _, unread = meter_records(plan('"link.xml"'), house)
    assert "out of the plan's folder" in unread[0].why


def test_a_whole_path_in_a_persons_own_plan_is_followed(house):
    records, _ = meter_records(plan(f'"{house.parent / "day.xml"}"'), house)
    assert len(records) == 1


@pytest.mark.parametrize(
    ("entry", "why"),
    [
        ('"none.xml"', "no such file"),
        ('"utility"', "no such file"),
        ('{ path = "day.xml", zone = "Nowhere/Town" }', "time zone"),
        ('"words.txt"', "accepted: interval data"),
    ],
)
def test_a_file_that_cannot_be_used_says_why_in_one_sentence(house, entry, why):
    (house / "words.txt").write_text("no table at all\n")
    records, (unread,) = meter_records(plan(entry), house)
    assert records == ()
    assert why in unread.why
    assert "\n" not in unread.why


def test_a_plan_that_came_from_no_file_has_nothing_beside_it():
    _, (unread,) = meter_records(plan('"day.xml"'), None)
    assert "did not come from a file" in unread.why


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read anything")
def test_a_file_nobody_may_read_is_no_crash(house, tmp_path):
    (house / "day.xml").chmod(0)
    _, (unread,) = meter_records(plan('"day.xml"'), house, cache=tmp_path / "kept")
    assert "cannot be read" in unread.why


def test_what_only_a_person_can_say_of_a_file_goes_before_it(house):
    (house / "table.csv").write_text(
        "start time,usage\n"
        + "".join(f"2026-01-05 {hour:02d}:00,{hour + 1}\n" for hour in range(24))
    )
    said = '{ path = "table.csv", unit = "kWh", zone = "America/Chicago" }'
    (record,), _ = meter_records(plan(said), house)
    # 24 kWh in an hour; 00:00 in Chicago in January is 06:00 UTC
    assert record.recorded_w == pytest.approx(24_000)
    assert record.first_s % 86_400 == 6 * 3_600


@pytest.fixture
def reads(monkeypatch):
    """Count how often a file is really read."""
    counted = []
    really = cache.demand_of
    monkeypatch.setattr(
        cache,
        "demand_of",
        lambda *given, **more: counted.append(1) or really(*given, **more),
    )
    plan_files._read.cache_clear()
    return counted


def test_a_what_if_reads_a_file_once_however_often_it_asks(house, reads):
    for _ in range(5):
        meter_records(plan('"day.xml"'), house)
    assert len(reads) == 1


def test_the_next_run_reads_the_summary_and_not_the_file(house, reads, tmp_path):
    kept = tmp_path / "kept"
    first = meter_records(plan('"day.xml"'), house, cache=kept)
    plan_files._read.cache_clear()  # as a new process
    assert meter_records(plan('"day.xml"'), house, cache=kept) == first
    assert len(reads) == 1


def test_a_file_that_changed_is_read_anew(house, reads):
    (before,), _ = meter_records(plan('"day.xml"'), house)
    path = house / "day.xml"
    path.write_text(path.read_text().replace("<value>4100<", "<value>42000<"))
    (after,), _ = meter_records(plan('"day.xml"'), house)
    assert after.recorded_w > before.recorded_w
    assert len(reads) == 2


@pytest.mark.parametrize(
    ("named", "expected"),
    [("/kept", "/kept/lugbook"), ("", "/person/.cache/lugbook"), ("kept", None)],
)
def test_the_cache_lies_where_the_platform_keeps_them(monkeypatch, named, expected):
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("HOME", "/person")
    monkeypatch.setenv("XDG_CACHE_HOME", named)
    # a path that is not whole is passed over
    assert str(cache_folder()) == (expected or "/person/.cache/lugbook")


def test_without_a_home_nothing_is_kept(monkeypatch):
    def nowhere():
        raise RuntimeError

    monkeypatch.setattr(Path, "home", nowhere)
    assert cache_folder() is None


def test_what_is_kept_is_for_its_owner_only(house, tmp_path):
    meter_records(plan('"day.xml"'), house, cache=tmp_path / "kept")
    (kept,) = (tmp_path / "kept").iterdir()
    assert (tmp_path / "kept").stat().st_mode & 0o077 == 0
    assert kept.stat().st_mode & 0o077 == 0
