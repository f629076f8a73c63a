"""A browser at the sign-in page."""

import re

from django.test import Client

from tests.pages.conftest import PASSWORD


def sign_in(name="marit", password=PASSWORD, *, browser=None, address="192.0.2.7", **more):
    return (browser or Client()).post(
        "/sign-in", {"username": name, "password": password, **more}, REMOTE_ADDR=address
    )


def fail(times, name="marit", **more):
    """Try wrong passwords; returns the last answer."""
    return [sign_in(name, f"guess {number}", **more) for number in range(times)][-1]


def words(answer):
    """Return what a page says, without what differs by the form that was sent."""
    text = re.sub(r'(name="csrfmiddlewaretoken"|name="username") value="[^"]*"', "", answer.text)
    return re.sub(r'value="[^"]*"', "", text)
