"""Sensors on the network: TCP connections and UDP datagrams."""

from __future__ import annotations

import contextlib
import socket

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.source import DEFAULT_GATHER_S, SourceLink, reason_text
from feltload.acquisition.wire.descriptions.link_config import TcpLinkConfig, UdpLinkConfig, command_bytes

__all__ = ["TcpLink", "UdpLink"]

CONNECT_S = 5.0
_LARGEST = 65_536


class _SocketSource:
    """A connected or bound socket as a source of bytes."""

    def __init__(self, own: socket.socket, *, whole_messages: bool) -> None:
        self.whole_messages = whole_messages
        self._socket = own
        self._socket.settimeout(DEFAULT_GATHER_S)

    def read(self) -> bytes:
        """Take what is there, waiting a few milliseconds."""
        try:
            data = self._socket.recv(_LARGEST)
        except TimeoutError:
            return b""
        if not data and not self.whole_messages:
            raise OSError("the other side closed the connection")
        return data

    def send(self, data: bytes) -> None:
        """Send to the other side."""
        self._socket.sendall(data)

    def close(self) -> None:
        """Close the socket."""
        with contextlib.suppress(OSError):
            self._socket.close()


class TcpLink(SourceLink):
    """A sensor that sends over a TCP connection.

    Parameters
    ----------
    described : TcpLinkConfig
    """

    def __init__(self, described: TcpLinkConfig) -> None:
        self._described = described
        super().__init__(
            f"tcp://{described.host}:{described.port}",
            lost="the connection was lost",
            remedy="check the sensor's power and the network",
            start=command_bytes(described.start),
            stop=command_bytes(described.stop),
        )

    def open_source(self) -> _SocketSource:
        """Connect."""
        try:
            own = socket.create_connection((self._described.host, self._described.port), timeout=CONNECT_S)
        except OSError as error:
            raise LinkError(
                f"cannot be connected ({reason_text(error)})",
                reason=LinkReason.NOT_FOUND,
                where=self.where,
                remedy="check the address and the port, and that the sensor is in this network",
            ) from error
        own.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
        return _SocketSource(own, whole_messages=False)


class UdpLink(SourceLink):
    """A sensor that sends datagrams to this computer; one arrival is one datagram.

    Parameters
    ----------
    described : UdpLinkConfig
    """

    def __init__(self, described: UdpLinkConfig) -> None:
        self._described = described
        super().__init__(
            f"udp://{described.host}:{described.port}",
            lost="the socket was lost",
            remedy="check the network",
            start=command_bytes(described.start),
            stop=command_bytes(described.stop),
        )

    def open_source(self) -> _SocketSource:
        """Listen on the port."""
        try:
            board = socket.gethostbyname(self._described.host) if self._described.host else ""
            own = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
            try:
                own.bind(("", self._described.port))
            except OSError:
                own.close()
                raise
        except OSError as error:
            raise LinkError(
                f"cannot be listened to ({reason_text(error)})",
                reason=LinkReason.BUSY,
                where=self.where,
                remedy="close the other program that has the port, or check the board's address",
            ) from error
        return _DatagramSource(own, board, self._described.board_port)


class _DatagramSource(_SocketSource):
    """Datagrams of one board, or of whoever sends."""

    def __init__(self, own: socket.socket, board: str, board_port: int | None) -> None:
        super().__init__(own, whole_messages=True)
        self._board, self._board_port = board, board_port

    def read(self) -> bytes:
        """Take the next datagram; one of another sender is nothing."""
        try:
            data, (sender, *_) = self._socket.recvfrom(_LARGEST)
        except TimeoutError:
            return b""
        except ConnectionError:
            # The board's answer to a command that it does not listen for.
            return b""
        return data if self._board in ("", sender) else b""

    def send(self, data: bytes) -> None:
        """Send a datagram to the board."""
        self._socket.sendto(data, (self._board, self._board_port))
