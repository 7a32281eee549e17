import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
if str(HERE) not in sys.path:
    sys.path.insert(0, str(HERE))


@pytest.fixture
def file_of():
    """The path of a hand-made meter file by its name."""
    return lambda name: HERE / "files" / name


@pytest.fixture
def written(tmp_path):
    """Write text or bytes as a meter file and return its path."""

    def write(content, name="meter.xml"):
        path = tmp_path / name
        if isinstance(content, str):
            content = content.encode()
        path.write_bytes(content)
        return path

    return write
