import pytest


@pytest.fixture
def mail_set_up(settings):
    """A mail server is named; Django's test runner keeps the mails in `mail.outbox`."""
    settings.EMAIL_URL = "smtp://127.0.0.1"
