"""Where the pages are: the ports and addresses of this computer, as text and as a square code to point a phone at."""

from __future__ import annotations

import socket
from io import BytesIO

from feltload.app.errors import AppError
from feltload.app.live.server.origins import bracketed, network_addresses

LOOPBACK = "127.0.0.1"


def bind(port: int, addresses: tuple[str, ...] = ()) -> list[socket.socket]:
    """Sockets that nobody else has, all on one port: this computer's own first, then one for each address.

    Parameters
    ----------
    port : int
        0 for any that is free.
    addresses : tuple of str
        Of this computer on its networks.

    Raises
    ------
    AppError
        If the port is taken.
    """
    bound: list[socket.socket] = []
    for host in (LOOPBACK, *addresses):
        listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        bound.append(listener)
        try:
            listener.bind((host, port))
        except OSError as error:
            for one in bound:
                one.close()
            raise AppError(
                f"port {port} is not free ({error.strerror})",
                where="--port",
                remedy="close the other feltload live, or give another port, or 0 for any",
            ) from error
        port = int(listener.getsockname()[1])
    return bound


def own_addresses() -> tuple[str, ...]:
    """IPv4 addresses of this computer on its networks; nothing is sent to find them."""
    import ifaddr

    found = [ip.ip for adapter in ifaddr.get_adapters() for ip in adapter.ips if isinstance(ip.ip, str)]
    return network_addresses(found)


def page_address(scheme: str, host: str, port: int, path: str = "/") -> str:
    """Address to open in a browser."""
    return f"{scheme}://{bracketed(host)}:{port}{path}"


def square_code(text: str) -> bytes:
    """The text as a QR code, as an SVG picture that fits where it is put."""
    import segno

    code = segno.make_qr(text, error="m")
    picture = BytesIO()
    code.save(picture, kind="svg", border=4, dark="#000", light="#fff", omitsize=True)
    return picture.getvalue()
