"""Requests that reach no view are refused in the manner of the address they were made to."""

import pytest

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("address", "kind"),
    [("/api/v1/no-such-noun", "application/problem+json"), ("/no-such-page", "text/html")],
)
def test_an_address_that_does_not_exist_is_refused_in_its_own_manner(client, address, kind):
    response = client.get(address)
    assert response.status_code == 404
    assert response["Content-Type"].startswith(kind)


@pytest.mark.parametrize(
    ("address", "kind"),
    [("/api/v1/vehicles", "application/problem+json"), ("/admin/", "text/html")],
)
def test_a_foreign_host_name_is_refused_in_its_own_manner(client, address, kind):
    response = client.get(address, headers={"host": "elsewhere.invalid"})
    assert response.status_code == 400
    assert response["Content-Type"].startswith(kind)
