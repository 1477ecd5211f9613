"""Whose requests are answered: those sent to this computer by pages that came from it."""

from __future__ import annotations

import ipaddress
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
SAFE_METHODS = ("GET", "HEAD")


@dataclass(frozen=True)
class Origins:
    """Names under which this server answers.

    A page of another site may send requests here, and a name of another site may be made to point here (DNS
    rebinding). Both show in what the browser adds: the ``Host`` that it believes to talk to and the ``Origin`` that
    the page came from. So only names that nobody else can own are answered: addresses and ``localhost``.

    Attributes
    ----------
    scheme : str
        "http" or "https".
    port : int
    addresses : tuple of str
        Addresses of this computer on its networks; none unless the pages are shared.
    """

    scheme: str
    port: int
    addresses: tuple[str, ...] = ()
    _hosts: frozenset[str] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        names = (*LOOPBACK, *(bracketed(address) for address in self.addresses))
        hosts = {f"{name}:{self.port}" for name in names}
        if self.port == {"http": 80, "https": 443}[self.scheme]:
            hosts.update(names)
        object.__setattr__(self, "_hosts", frozenset(hosts))

    def knows_host(self, headers: Mapping[str, str]) -> bool:
        """Whether the request was sent to one of this computer's names."""
        return headers.get("host", "").lower() in self._hosts

    def allows(self, method: str, headers: Mapping[str, str]) -> bool:
        """Whether a request may do what it asks for: a page of another origin may only be a link to here.

        Parameters
        ----------
        method : str
            HTTP method; "WEBSOCKET" for a socket, which browsers open across origins without asking.
        headers : mapping of str to str
            Names in small letters.
        """
        own = f"{self.scheme}://{headers.get('host', '').lower()}"
        origin = headers.get("origin")
        if origin is not None:
            return origin.lower() == own
        if method not in SAFE_METHODS:
            return False
        # Browsers leave Origin out of most GETs and say here where they come from; links may be followed.
        site = headers.get("sec-fetch-site", "same-origin")
        return site in ("same-origin", "none") or headers.get("sec-fetch-mode") == "navigate"


def bracketed(address: str) -> str:
    """An address as it stands in a URL."""
    return f"[{address}]" if ":" in address else address


def network_addresses(found: Iterable[str]) -> tuple[str, ...]:
    """Of all addresses of this computer those that another device on its networks can reach, private ones first."""
    usable = []
    for text in found:
        address = ipaddress.ip_address(text)
        if not (
            address.is_loopback or address.is_link_local or address.is_multicast or address.is_unspecified
        ):
            usable.append(address)
    ordered = sorted(set(usable), key=lambda address: (address.version, not address.is_private, str(address)))
    return tuple(str(address) for address in ordered)
