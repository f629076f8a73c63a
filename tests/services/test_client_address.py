"""Whose failures are whose: addresses that a client can't make up."""

import pytest
from django.test import RequestFactory

from maintenance.services.client_address import client_address


def address(*, proxies=0, told=None, peer="192.0.2.7", settings):
    settings.TRUSTED_PROXIES = proxies
    headers = {"X-Forwarded-For": told} if told is not None else {}
    return client_address(RequestFactory().get("/", headers=headers, REMOTE_ADDR=peer))


def test_without_a_proxy_what_a_client_says_of_itself_is_not_believed(settings):
    assert address(told="198.51.100.9", settings=settings) == "192.0.2.7"


@pytest.mark.parametrize(
    ("proxies", "told", "found"),
    [
        (1, "198.51.100.9", "198.51.100.9"),
        (1, "203.0.113.1, 198.51.100.9", "198.51.100.9"),
        (2, "203.0.113.1, 198.51.100.9, 10.0.0.4", "198.51.100.9"),
        (2, "198.51.100.9", "192.0.2.7"),
        (1, "made up", "192.0.2.7"),
        (1, "", "192.0.2.7"),
        (1, None, "192.0.2.7"),
    ],
)
def test_behind_proxies_the_address_is_the_one_that_the_first_of_them_saw(
    proxies, told, found, settings
):
    assert address(proxies=proxies, told=told, settings=settings) == found


@pytest.mark.parametrize(
    ("peer", "found"),
    [
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::"),
        ("::ffff:192.0.2.7", "192.0.2.7"),
        ("", None),
    ],
)
def test_a_client_is_told_by_its_network(peer, found, settings):
    assert address(peer=peer, settings=settings) == found
