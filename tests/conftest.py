"""What all tests share. The database is the one that DATABASE_URL names."""

import datetime
import os

import hypothesis
import pytest
from django.conf import settings

from tests.unguarded import let_tests_empty_tables

let_tests_empty_tables()

# A change is not held up by what another one did: where the checks decide, the cases are the same
# each time. By hand they are new ones each time.
hypothesis.settings.register_profile("checks", derandomize=True, database=None)
if os.environ.get("CI") == "true":
    hypothesis.settings.load_profile("checks")

# Every test client sets up the middleware, and this one would look through all static files anew.
settings.WHITENOISE_AUTOREFRESH = True


@pytest.fixture(autouse=True)
def unlimited(settings):
    """Let tests ask as often as they like; all of them come from one address."""
    settings.RATE_LIMITS = {}


@pytest.fixture
def today():
    return datetime.date(2026, 11, 25)


@pytest.fixture
def now():
    return datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
