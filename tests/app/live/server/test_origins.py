"""Only pages of this server may drive it, under names that nobody else can own."""

from __future__ import annotations

import pytest

from feltload.app.live.server.origins import Origins, network_addresses

OWN = Origins("http", 8137, ("192.168.7.20",))


@pytest.mark.parametrize("host", ["127.0.0.1:8137", "LOCALHOST:8137", "[::1]:8137", "192.168.7.20:8137"])
def test_own_names_are_known(host: str) -> None:
    assert OWN.knows_host({"host": host})


@pytest.mark.parametrize(
    "host",
    [
        "",
        "127.0.0.1",
        "127.0.0.1:80",
        "192.168.7.21:8137",
        "rebound.example:8137",
        "127.0.0.1.rebound.example:8137",
        "localhost:8137@rebound.example",
    ],
)
def test_names_that_were_made_to_point_here_are_not(host: str) -> None:
    assert not OWN.knows_host({"host": host})


def test_a_usual_port_may_be_left_out() -> None:
    assert Origins("https", 443).knows_host({"host": "localhost"})


HERE = {"host": "127.0.0.1:8137"}


@pytest.mark.parametrize(
    ("method", "more", "allowed"),
    [
        ("GET", {}, True),
        ("GET", {"sec-fetch-site": "none", "sec-fetch-mode": "navigate"}, True),
        ("GET", {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}, True),
        ("GET", {"sec-fetch-site": "cross-site", "sec-fetch-mode": "no-cors"}, False),
        ("GET", {"origin": "https://elsewhere.example"}, False),
        ("POST", {"origin": "http://127.0.0.1:8137"}, True),
        ("POST", {}, False),
        ("POST", {"origin": "null"}, False),
        ("POST", {"origin": "http://127.0.0.1:9999"}, False),
        ("POST", {"origin": "https://127.0.0.1:8137"}, False),
        ("WEBSOCKET", {"origin": "http://127.0.0.1:8137"}, True),
        ("WEBSOCKET", {"origin": "http://elsewhere.example"}, False),
        ("WEBSOCKET", {}, False),
    ],
)
def test_other_sites_may_only_link_to_here(method: str, more: dict[str, str], allowed: bool) -> None:
    assert OWN.allows(method, HERE | more) is allowed


def test_addresses_that_a_phone_can_reach_come_first() -> None:
    # RFC 5735 loopback and link-local, RFC 1918 private, RFC 5737 documentation.
    found = ["127.0.0.1", "169.254.3.4", "8.8.4.4", "10.1.2.3", "192.168.7.20", "10.1.2.3"]
    assert network_addresses(found) == ("10.1.2.3", "192.168.7.20", "8.8.4.4")
