"""A seeded sample of the campaign that `make prove` runs whole."""

from __future__ import annotations

import mutate_tables as tool


def test_sixty_changed_cells_and_parameters_are_noticed():
    tried, missed = tool.campaign(sample=60)
    assert tried == 60
    assert [str(mutant) for mutant in missed] == []


def test_a_change_to_the_same_value_would_not_be_noticed(tmp_path):
    """The campaign can fail: an entry as it stands is caught by nothing."""
    mutant = next(tool.mutants())
    path = tool.BOOK / mutant.year / f"{mutant.name}.toml"
    entry = tool.tomllib.loads(path.read_text(encoding="utf-8"))
    same = tool.Mutant(mutant.year, mutant.name, "nothing", entry, False)
    assert not tool.caught(same, folder=tmp_path)
    assert tool.caught(mutant, folder=tmp_path)
