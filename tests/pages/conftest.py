import os

import pytest
from django.test import Client

from tests.factories import AccountFactory, MemberFactory

# Nothing of it depends on the database, and emptying all tables after each test of a live server
# is slow on PostgreSQL: the browser is asked on SQLite alone.
if os.environ.get("DATABASE_URL", "").startswith("postgres"):
    collect_ignore = ["test_in_a_browser.py"]

PASSWORD = "seven old brake hoses"


@pytest.fixture
def person(db):
    """Somebody with a password, who keeps cars in a collection."""
    account = AccountFactory(username="marit")
    account.set_password(PASSWORD)
    account.save()
    MemberFactory(account=account, role="keeper", collection__name="Harrowmere Motor Club")
    return account


@pytest.fixture
def browser(person):
    """A browser in which the person is signed in."""
    browser = Client()
    browser.force_login(person)
    return browser


@pytest.fixture
def quick_hashes(settings):
    """For tests that try many passwords and are not about how these are kept."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
