"""What is found about a computer, each fault made for real where a test may make it."""

from __future__ import annotations

import os
import shutil
from datetime import UTC, datetime

import pytest
from packaging.requirements import Requirement

from feltload.app.doctor import serial_ports as ports_room
from feltload.app.doctor.bluetooth import examine_bluetooth
from feltload.app.doctor.browser import tls_fact
from feltload.app.doctor.computer import (
    BYTES_PER_HOUR,
    date_facts,
    examine_folder,
    installed,
    room_fact,
    step_fact,
)
from feltload.app.doctor.examination import Examination
from feltload.app.doctor.facts import DoctorFact
from feltload.app.doctor.libraries import examine_libraries, library_fault
from feltload.app.text.facts import describe
from feltload.core import Fact, Severity


def test_the_gravest_fact_counts():
    severities = (Severity.NOTE, Severity.SERIOUS, Severity.CAUTION)
    facts = tuple(Fact(DoctorFact.BROWSER_FOUND, severity) for severity in severities)
    assert Examination("browser", facts).severity is Severity.SERIOUS


def test_bluetooth_is_scanned_for_real(bluetooth):
    bluetooth.order(
        "add",
        address="02:00:5E:00:53:0C",
        name="invented scale",
        characteristic="6e400003-0000-4000-8000-00805f9b34fb",
        payloads=["00"],
        rate_hz=5,
    )
    (fact,) = examine_bluetooth(1.0)
    assert (fact.kind, fact.figures["in_reach"]) == (DoctorFact.BLUETOOTH_READY, 1)
    bluetooth.kill_service()
    (fact,) = examine_bluetooth(0.2)
    assert fact.kind == DoctorFact.BLUETOOTH_NOT_USABLE
    assert fact.severity is Severity.CAUTION
    assert str(fact.figures["remedy"]) in describe(fact)


def test_a_forbidden_port_names_its_group_and_the_remedy(tmp_path, monkeypatch):
    import grp

    port = tmp_path / "ttyUSB7"
    port.touch()
    named = type("Port", (), {"name": str(port), "device": ""})
    monkeypatch.setattr(ports_room, "serial_ports", lambda: [named])
    assert [fact.kind for fact in ports_room.examine_ports()] == [DoctorFact.PORTS_USABLE]
    # Tests may run as root, from whom nothing is kept.
    monkeypatch.setattr(os, "access", lambda *_: False)
    (fact,) = ports_room.examine_ports()
    group = grp.getgrgid(port.stat().st_gid).gr_name
    assert fact.severity is Severity.SERIOUS
    assert fact.figures["group"] == group
    assert f"usermod -aG {group}" in describe(fact)
    member = Fact(fact.kind, figures={**fact.figures, "member": True})
    assert "log out and in again" in describe(member) and "usermod" not in describe(member)


def test_the_disk_is_asked_for_its_real_room(tmp_path):
    (fact,) = examine_folder(tmp_path)
    assert fact.figure("free_byte") == pytest.approx(shutil.disk_usage(tmp_path).free, rel=0.2)
    assert room_fact(int(0.5 * BYTES_PER_HOUR), tmp_path).severity is Severity.SERIOUS
    assert room_fact(int(2 * BYTES_PER_HOUR), tmp_path).severity is Severity.NOTE
    (gone,) = examine_folder(tmp_path / "gone")
    assert gone.kind == DoctorFact.FOLDER_READ_ONLY


def test_a_date_before_the_installation_is_wrong():
    since = datetime(2026, 3, 1, tzinfo=UTC)
    assert date_facts(datetime(2026, 3, 2, tzinfo=UTC), since) == ()
    assert date_facts(datetime(2026, 3, 2, tzinfo=UTC), None) == ()
    (fact,) = date_facts(datetime(2001, 1, 1, tzinfo=UTC), since)
    assert "2001-01-01" in describe(fact) and "2026-03-01" in describe(fact)
    assert installed() is None or installed() < datetime.now(UTC)


def test_a_coarse_clock_is_a_caution():
    assert step_fact(1e-9).severity is Severity.NOTE
    assert "15.6 ms" in describe(step_fact(0.0156))
    assert step_fact(0.0156).severity is Severity.CAUTION


def test_libraries_are_compared_with_what_is_needed():
    assert library_fault(Requirement("numpy>=1.26")) is None
    assert library_fault(Requirement("numpy>=999")).kind == DoctorFact.LIBRARY_UNSUITED
    assert library_fault(Requirement("no-such-library-of-ours")).kind == DoctorFact.LIBRARY_MISSING
    facts = examine_libraries()
    assert facts[0].kind == DoctorFact.LIBRARIES_SOUND and facts[0].figure("count") > 10
    extras = {fact.figures["extra"] for fact in facts if "extra" in fact.figures}
    assert {"parquet", "c3d"} <= extras and "dev" not in extras


def test_old_encryption_is_refused_by_phones():
    assert tls_fact("some library", modern=False).severity is Severity.CAUTION
