"""Let the long campaigns import the tools they run, and their own parts."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
for folder in (str(HERE.parents[1] / "tools"), str(HERE)):
    if folder not in sys.path:
        sys.path.insert(0, folder)
