"""Let the tests here import the plans they share, and the second version."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
for folder in (str(HERE.parent / "prove"), str(HERE)):
    if folder not in sys.path:
        sys.path.insert(0, folder)
