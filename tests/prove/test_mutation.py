"""Every cell and every parameter changed in turn: each change must be noticed."""

from __future__ import annotations

import mutate_tables as tool

# Of some 26,000; a campaign that tries few has lost sight of the tables.
LEAST_TRIED = 20_000


def test_every_changed_cell_and_parameter_is_noticed():
    assert tool.unchanged_differ() == []
    tried, missed = tool.campaign()
    print(f"caught {tried - len(missed)} of {tried} changes")
    assert [str(mutant) for mutant in missed] == []
    assert tried >= LEAST_TRIED
