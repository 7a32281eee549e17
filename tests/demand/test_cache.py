import json

import pytest

from lugbook.demand import cache
from lugbook.demand.cache import cached_demand
from lugbook.errors import InputError


@pytest.fixture
def counted(monkeypatch):
    """Count how often a file is really read."""
    reads = []
    really = cache.demand_of
    monkeypatch.setattr(
        cache,
        "demand_of",
        lambda *given, **more: reads.append(1) or really(*given, **more),
    )
    return reads


def test_a_file_is_read_once_and_comes_back_the_same(file_of, tmp_path, counted):
    path = file_of("outage.xml")
    first = cached_demand(path, tmp_path)
    assert cached_demand(path, tmp_path) == first
    assert len(counted) == 1


def test_another_zone_another_file_or_another_content_is_read_anew(
    file_of, written, tmp_path, counted
):
    text = file_of("plain-day.xml").read_text(encoding="utf-8")
    path = written(text)
    cached_demand(path, tmp_path / "kept")
    cached_demand(path, tmp_path / "kept", zone="America/Chicago")
    written(text.replace("<value>4100</value>", "<value>4200</value>"))
    assert cached_demand(path, tmp_path / "kept").maximum_w == 4200
    assert len(counted) == 3


@pytest.mark.parametrize("damage", ["", "{", "[]", "null", '{"name": 1}'])
def test_a_damaged_cache_is_no_harm(file_of, tmp_path, counted, damage):
    path = file_of("plain-day.xml")
    first = cached_demand(path, tmp_path)
    kept = next(tmp_path.glob("demand-*.json"))
    kept.write_text(damage, encoding="utf-8")
    assert cached_demand(path, tmp_path) == first
    assert len(counted) == 2
    assert json.loads(kept.read_text(encoding="utf-8"))["readings"] == 24


def test_a_folder_that_cannot_be_written_is_no_fault(file_of, tmp_path):
    (tmp_path / "kept").write_text("a file, not a folder")
    assert cached_demand(file_of("plain-day.xml"), tmp_path / "kept").readings == 24


def test_a_file_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        cached_demand(tmp_path / "none.xml", tmp_path)
