"""The certificate that this computer makes: served, checked against itself by Python's own TLS, kept, renewed."""

from __future__ import annotations

import asyncio
import datetime as dt
import hashlib
import http.client
import socket
import ssl
import threading
from pathlib import Path

import pytest
from fastapi import FastAPI

from feltload.app.errors import AppError
from feltload.app.live.server.address import LOOPBACK, bind
from feltload.app.live.server.certificate import LIFE, OwnCertificate, own_certificate
from feltload.app.live.server.door import door
from feltload.app.live.server.guard import Guard, cookie_name
from feltload.app.live.server.origins import Origins
from feltload.app.live.server.serving import Place, serve
from feltload.app.live.server.sessions import Sessions

OTHER = "127.0.0.2"
"""As good as an address on a network: Linux answers on all of 127.0.0.0/8."""
NOW = dt.datetime(2026, 3, 2, 12, tzinfo=dt.UTC)

pytestmark = pytest.mark.timeout(300)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> OwnCertificate:
    return own_certificate([OTHER], folder=tmp_path_factory.mktemp("tls"))


@pytest.fixture(scope="module")
def served(kept: OwnCertificate) -> tuple[int, Sessions]:
    """Both places of one application, as `feltload live --share` has them; port and sessions."""
    try:
        own, *listeners = bind(0, (OTHER,))
    except AppError:
        pytest.skip("this system has no second loopback address")
    port = own.getsockname()[1]
    sessions = Sessions(shared=True)
    app = FastAPI()
    app.include_router(door(sessions, cookie_name(port)))
    plain = Place(Guard(app, Origins("http", port), sessions), [own])
    secure = Place(Guard(app, Origins("https", port, (OTHER,)), sessions), listeners, kept)
    ready = threading.Event()
    # Nothing in the product ends it but a signal; here it ends with the tests.
    threading.Thread(target=lambda: asyncio.run(serve(plain, secure, ready=ready.set)), daemon=True).start()
    assert ready.wait(60)
    return port, sessions


def trusting(kept: OwnCertificate) -> ssl.SSLContext:
    """A client that believes this certificate alone, and compares the address with it."""
    return ssl.create_default_context(cafile=str(kept.certificate))


def test_the_certificate_is_valid_for_its_address_and_for_no_other(
    served: tuple[int, Sessions], kept: OwnCertificate
) -> None:
    port, _ = served
    with (
        socket.create_connection((OTHER, port), 60) as raw,
        trusting(kept).wrap_socket(raw, server_hostname=OTHER) as talk,
    ):
        sent = talk.getpeercert(binary_form=True)
        assert sent is not None and talk.version() in ("TLSv1.2", "TLSv1.3")
    assert hashlib.sha256(sent).hexdigest().upper() == kept.fingerprint.replace(":", "")
    for context, name in ((trusting(kept), "192.0.2.7"), (ssl.create_default_context(), OTHER)):
        with (
            socket.create_connection((OTHER, port), 60) as raw,
            pytest.raises(ssl.SSLCertVerificationError),
        ):
            context.wrap_socket(raw, server_hostname=name)


def test_the_cookie_of_tls_is_for_tls_only(served: tuple[int, Sessions], kept: OwnCertificate) -> None:
    port, sessions = served
    over_tls = http.client.HTTPSConnection(OTHER, port, timeout=60, context=trusting(kept))
    over_tls.request("GET", f"/open?key={sessions.view_key}")
    assert "secure" in str(over_tls.getresponse().getheader("set-cookie")).lower()
    over_tls.close()
    here = http.client.HTTPConnection(LOOPBACK, port, timeout=60)
    here.request("GET", f"/open?key={sessions.own_key}")
    cookie = str(here.getresponse().getheader("set-cookie")).lower()
    assert "httponly" in cookie and "secure" not in cookie
    here.close()


def test_the_network_is_not_answered_without_tls(served: tuple[int, Sessions]) -> None:
    port, sessions = served
    plain = http.client.HTTPConnection(OTHER, port, timeout=60)
    with pytest.raises((http.client.HTTPException, ConnectionError)):
        plain.request("GET", f"/open?key={sessions.view_key}")
        plain.getresponse()


def test_it_is_kept_until_addresses_change_or_it_runs_out(tmp_path: Path) -> None:
    first = own_certificate(["192.0.2.7"], folder=tmp_path, now=NOW)
    assert first.key.stat().st_mode & 0o777 == 0o600
    first.key.chmod(0o644)
    again = own_certificate(["192.0.2.7"], folder=tmp_path, now=NOW + LIFE / 2)
    assert again == first and again.key.stat().st_mode & 0o777 == 0o600
    moved = own_certificate(["192.0.2.8"], folder=tmp_path, now=NOW + LIFE / 2)
    assert moved.fingerprint != first.fingerprint
    renewed = own_certificate(["192.0.2.8"], folder=tmp_path, now=moved.ends - dt.timedelta(hours=3))
    assert renewed.fingerprint != moved.fingerprint and renewed.ends > moved.ends


def test_a_damaged_one_is_made_anew_and_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    first = own_certificate([], folder=tmp_path)
    first.key.write_bytes(first.key.read_bytes()[:40])
    assert own_certificate([], folder=tmp_path).fingerprint != first.fingerprint
    (tmp_path / "file").write_text("")
    with pytest.raises(AppError, match="cannot be kept"):
        own_certificate([], folder=tmp_path / "file")
