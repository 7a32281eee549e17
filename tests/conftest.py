"""What every test needs: no test reads or fills a person's own cache."""

import pytest


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory):
    """Keep summaries of meter files in a folder of this run."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield
