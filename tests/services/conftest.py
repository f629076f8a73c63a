import pytest


@pytest.fixture
def when(now, today):
    """Who records, at which instant, on which local day."""
    return {"by": None, "at": now, "today": today}
