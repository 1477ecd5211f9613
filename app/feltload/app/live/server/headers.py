"""What every answer tells the browser to refuse."""

from __future__ import annotations

import secrets

BASE = {
    "x-content-type-options": "nosniff",
    # Without a referrer a form would be sent with no origin either.
    "referrer-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "x-frame-options": "DENY",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=(), serial=()",
}

_COMMON = (
    "default-src 'none'; img-src 'self' data:; font-src 'self'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'; style-src 'self' 'unsafe-inline'; "
)


def new_nonce() -> str:
    """A word that no injected script can know."""
    return secrets.token_urlsafe(16)


def page_policy(nonce: str) -> str:
    """Content-Security-Policy of a page: scripts of this server and those that carry the nonce; nothing is evaluated.

    Styles may stand in the page ('unsafe-inline'), since NiceGUI puts its own there; a style cannot run anything.
    """
    return f"{_COMMON}connect-src 'self'; script-src 'self' 'nonce-{nonce}'"


def document_policy() -> str:
    """Content-Security-Policy of a report or a sheet: no script at all, and nothing is fetched."""
    return _COMMON.rstrip("; ")


def with_nonce(page: bytes, nonce: str) -> bytes:
    """The page with the nonce on its scripts.

    What comes from outside never brings a ``<script`` of its own: NiceGUI writes elements with ``<`` escaped,
    and the template engine escapes the rest.
    """
    return page.replace(b"<script", f'<script nonce="{nonce}"'.encode())
