"""Which addresses a webhook may reach: public ones by HTTPS, others only by a setting."""

import pytest

from maintenance.reminders.channels.webhook_guard import (
    NotAllowed,
    require_public,
    resolved,
    target_of,
)

PUBLIC = ["93.184.215.14", "2606:2800:21f:cb07:6820:80da:af6b:8b2c"]
REFUSED = [
    ("loopback", "127.0.0.1"),
    ("loopback in another guise", "127.8.9.10"),
    ("this machine", "0.0.0.0"),
    ("a private network", "10.1.2.3"),
    ("a private network", "172.16.0.1"),
    ("a private network", "192.168.1.1"),
    ("link-local", "169.254.1.1"),
    ("a cloud's metadata", "169.254.169.254"),
    ("a cloud's metadata", "100.100.100.200"),
    ("a cloud's own service", "168.63.129.16"),
    ("a carrier's shared range", "100.64.0.1"),
    ("protocol assignments", "192.0.0.9"),
    ("retired relays", "192.88.99.1"),
    ("benchmarks", "198.18.0.1"),
    ("documentation", "203.0.113.5"),
    ("multicast", "224.0.0.251"),
    ("reserved", "240.0.0.1"),
    ("broadcast", "255.255.255.255"),
    ("loopback", "::1"),
    ("nowhere", "::"),
    ("IPv4-mapped loopback", "::ffff:127.0.0.1"),
    ("IPv4-mapped public", "::ffff:93.184.215.14"),
    ("IPv4-compatible loopback", "::127.0.0.1"),
    ("translated loopback", "64:ff9b::7f00:1"),
    ("tunnelled loopback", "2002:7f00:1::"),
    ("tunnelled", "2001:0:53aa:64c:0:fbff:ba73:18e7"),
    ("unique local", "fd00::1"),
    ("a cloud's metadata", "fd00:ec2::254"),
    ("link-local", "fe80::1"),
    ("link-local with a zone", "fe80::1%eth0"),
    ("site-local", "fec0::1"),
    ("multicast", "ff02::1"),
    ("documentation", "2001:db8::1"),
    ("documentation", "3fff::1"),
]


@pytest.mark.parametrize(("what", "address"), REFUSED)
def test_a_host_at_an_address_that_is_not_public_is_refused(what, address):
    target = target_of("https://garage.example/hook", allowed_hosts=[])

    with pytest.raises(NotAllowed, match="no public address"):
        require_public(target, [address], allowed_hosts=[])


def test_a_host_at_public_addresses_is_let_through():
    target = target_of("https://garage.example/hook", allowed_hosts=[])

    assert require_public(target, PUBLIC, allowed_hosts=[]) is None


def test_one_private_address_among_public_ones_refuses_the_host():
    target = target_of("https://garage.example/hook", allowed_hosts=[])

    with pytest.raises(NotAllowed, match="10.0.0.1"):
        require_public(target, [*PUBLIC, "10.0.0.1"], allowed_hosts=[])


def test_a_host_named_by_the_setting_may_have_a_private_address():
    target = target_of("http://Shelf.example:8080/hook", allowed_hosts=["shelf.example"])

    assert require_public(target, ["10.0.0.1"], allowed_hosts=["shelf.example"]) is None


def test_the_setting_names_that_host_and_no_host_below_it():
    target = target_of("https://other.shelf.example/hook", allowed_hosts=["shelf.example"])

    with pytest.raises(NotAllowed):
        require_public(target, ["10.0.0.1"], allowed_hosts=["shelf.example"])


@pytest.mark.parametrize("host", ["127.0.0.1", "[::1]", "169.254.169.254", "[::ffff:10.0.0.1]"])
def test_a_number_that_is_not_public_is_refused_when_it_is_written(host):
    with pytest.raises(NotAllowed, match="no public address"):
        target_of(f"https://{host}/hook", allowed_hosts=[])


@pytest.mark.parametrize("host", ["2130706433", "0x7f.1", "127.1", "017700000001"])
def test_loopback_in_an_unusual_spelling_is_refused_when_it_is_written(host):
    with pytest.raises(NotAllowed, match=r"127\.0\.0\.1"):
        target_of(f"https://{host}/hook", allowed_hosts=[])


@pytest.mark.parametrize("host", ["localhost", "LocalHost.", "shelf.localhost"])
def test_the_machine_itself_is_refused_by_its_name(host):
    with pytest.raises(NotAllowed, match="machine of this service"):
        target_of(f"https://{host}/hook", allowed_hosts=[])


@pytest.mark.parametrize("host", ["2130706433", "127.1", "localhost"])
def test_loopback_is_found_out_when_a_name_is_resolved_to_it(host):
    target = target_of("https://garage.example/hook", allowed_hosts=[])

    with pytest.raises(NotAllowed, match="no public address"):
        require_public(target, resolved(host, 443), allowed_hosts=[])


@pytest.mark.parametrize(
    ("url", "said"),
    [
        ("http://garage.example/hook", "https://"),
        ("ftp://garage.example/hook", "https://"),
        ("file:///etc/passwd", "https://"),
        ("https:///hook", "must name a host"),
        ("https://key@garage.example/hook", "neither user nor fragment"),
        ("https://garage.example/hook#part", "neither user nor fragment"),
        ("https://garage.example:99999/", "can be read"),
        ("https://[::1/", "can be read"),
        ("https://garage.example/a b", "without blanks"),
        ("https://garage.example/\r\nHost: x", "without blanks"),
        ("https://gärage.example/", "ASCII"),
        ("garage.example/hook", "https://"),
    ],
)
def test_an_address_that_is_none_is_refused(url, said):
    with pytest.raises(NotAllowed, match=said):
        target_of(url, allowed_hosts=[])


def test_port_and_path_are_taken_as_they_are_written():
    target = target_of("https://garage.example:8443/hook?car=HM%207", allowed_hosts=[])

    assert target == (True, "garage.example", 8443, "/hook?car=HM%207")
