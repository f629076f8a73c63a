"""What every answer tells a browser to refuse."""

import pytest
from django.test import Client

from tests.factories import AccountFactory

pytestmark = pytest.mark.django_db

LETS_NOTHING_IN = "default-src 'none'"


def policy(address, browser=None):
    answer = (browser or Client()).get(address)
    parts = answer["Content-Security-Policy"].split("; ")
    return {name: value for name, _, value in (part.partition(" ") for part in parts)}


@pytest.mark.parametrize(
    "address", ["/api/v1/vehicles", "/api/v1/problems", "/api/nothing", "/healthz"]
)
def test_what_is_no_page_may_do_nothing(address):
    found = policy(address)
    for what in ("default-src", "base-uri", "form-action", "frame-ancestors"):
        assert found[what] == "'none'"


@pytest.mark.parametrize("address", ["/sign-in", "/forgotten-password", "/nothing"])
def test_our_pages_have_our_own_styles_and_no_script(address):
    found = policy(address)
    assert found["default-src"] == "'none'" and "script-src" not in found
    assert (found["style-src"], found["form-action"]) == ("'self'", "'self'")


@pytest.mark.parametrize("address", ["/api/v1/docs/", "/admin/"])
def test_scripts_of_packages_come_from_here_and_stand_in_no_page(address):
    operator = Client()
    operator.force_login(AccountFactory(is_staff=True, is_superuser=True))
    found = policy(address, operator)
    assert found["script-src"] == found["style-src"] == found["connect-src"] == "'self'"
    assert "unsafe" not in str(found)


@pytest.mark.parametrize(
    "address",
    ["/", "/sign-in", "/api/v1/vehicles", "/admin/", "/healthz", "/static/pages/idle-years.css"],
)
def test_every_answer_says_the_rest(address):
    headers = Client().get(address).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "camera=()" in headers["Permissions-Policy"]
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]


def test_the_health_of_the_service_is_asked_without_tls(settings):
    settings.SECURE_SSL_REDIRECT = True
    assert Client().get("/healthz").status_code == 200
    assert Client().get("/sign-in")["Location"] == "https://testserver/sign-in"
