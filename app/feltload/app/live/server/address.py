"""Where the pages are: the ports and addresses of this computer, as text and as a square code to point a phone at."""

from __future__ import annotations

import socket

from feltload.app.errors import AppError
from feltload.app.live.server.origins import bracketed, network_addresses

LOOPBACK = "127.0.0.1"
EVERYWHERE = "0.0.0.0"


def bind(port: int, *, shared: bool) -> socket.socket:
    """A socket that nobody else has; port 0 for any that is free.

    Raises
    ------
    AppError
        If the port is taken.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((EVERYWHERE if shared else LOOPBACK, port))
    except OSError as error:
        listener.close()
        raise AppError(
            f"port {port} is not free ({error.strerror})",
            where="--port",
            remedy="close the other feltload live, or give another port, or 0 for any",
        ) from error
    return listener


def own_addresses() -> tuple[str, ...]:
    """IPv4 addresses of this computer on its networks; nothing is sent to find them."""
    import ifaddr

    found = [ip.ip for adapter in ifaddr.get_adapters() for ip in adapter.ips if isinstance(ip.ip, str)]
    return network_addresses(found)


def page_address(scheme: str, host: str, port: int, path: str = "/") -> str:
    """Address to open in a browser."""
    return f"{scheme}://{bracketed(host)}:{port}{path}"


def square_code(text: str) -> str:
    """The text as a QR code, as SVG that fits where it is put."""
    import segno

    code = segno.make_qr(text, error="m")
    return str(code.svg_inline(scale=4, border=4, dark="#000", light="#fff", omitsize=True))
