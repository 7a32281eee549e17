"""The second, slow version of the load and ampacity rules: its one door.

`slow_load` holds the load calculation, `slow_ampacity` the circuit, `slow_tables` the
book's cells by the second typing. `second_version` lays them beside the project.
"""

from __future__ import annotations

from slow_ampacity import Circuit, Judged, circuit
from slow_load import Row, capacity, readings, service_rating_a

__all__ = [
    "Circuit",
    "Judged",
    "Row",
    "capacity",
    "circuit",
    "readings",
    "service_rating_a",
]
