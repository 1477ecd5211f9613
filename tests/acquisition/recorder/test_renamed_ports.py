"""Boards that come back under another name: real ptys, and only the list of USB ports is made."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import pytest
from serial.tools import list_ports
from serial.tools.list_ports_common import ListPortInfo

from board_rig import Rig
from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.ports import PortRegister
from feltload.acquisition.recorder.facts import LinkFact
from feltload.acquisition.recording.recording import read_recording


class Usb:
    """What the system would list: ports by name, with the device behind each."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.ports: dict[str, ListPortInfo] = {}
        monkeypatch.setattr(list_ports, "comports", lambda: list(self.ports.values()))

    def plug(
        self, name: object, *, serial: str | None = None, location: str = "1-1", pid: int = 0x5740
    ) -> None:
        port = ListPortInfo(str(name))
        port.vid, port.pid, port.serial_number, port.location = 0x0483, pid, serial, location
        self.ports[str(name)] = port

    def unplug(self, name: object) -> None:
        del self.ports[str(name)]


@pytest.fixture
def usb(monkeypatch: pytest.MonkeyPatch) -> Usb:
    return Usb(monkeypatch)


def test_recorded_on_under_its_new_name(rig: Rig, usb: Usb, tmp_path: Path) -> None:
    """Both boards are lost at once and come back with their names exchanged for others, as after a hub's reset."""
    force, inertial = rig.boards["force"], rig.boards["inertial"]
    usb.plug(force.port, serial="F-1")
    usb.plug(inertial.port, serial="I-1", location="1-2")
    old = {name: board.port for name, board in rig.boards.items()}
    rig.start()

    def disturb() -> None:
        time.sleep(0.7)
        for board in (force, inertial):
            usb.unplug(board.port)
            board.unplug()
        time.sleep(0.3)
        # The force board has the inertial one's name now, which in its turn has a new one.
        force.port, inertial.port = old["inertial"], tmp_path / "third"
        for board, serial in ((force, "F-1"), (inertial, "I-1")):
            board.plug()
            usb.plug(board.port, serial=serial)

    thread = threading.Thread(target=disturb)
    thread.start()
    summary = rig.record(tmp_path / "a.mcap", duration_s=2.5)
    thread.join()
    recording = read_recording(tmp_path / "a.mcap")
    for name in ("force", "inertial"):
        health = recording.health[name]
        assert health.samples == pytest.approx(250 * 2.1, abs=110)
        assert (health.gaps, health.ignored_frames, health.bad_checksum) == (1, 0, 0)
        assert recording.stream(name, raw=True)["host_s"].iloc[-1] > 2.3
    renamed = {
        (fact.figures["before"], fact.figures["now"])
        for fact in summary.events
        if fact.kind == LinkFact.PORT_RENAMED
    }
    third = str(tmp_path / "third")
    assert renamed == {(str(old["force"]), str(old["inertial"])), (str(old["inertial"]), third)}
    assert LinkFact.OTHER_SENSOR not in [fact.kind for fact in summary.events]


def test_by_its_place_on_the_bus_without_a_serial_number(usb: Usb) -> None:
    usb.plug("/dev/ttyUSB0", location="1-1.4")
    usb.plug("/dev/ttyUSB1", location="1-1.3")
    port = PortRegister().follow("/dev/ttyUSB0")
    assert port.locate() == "/dev/ttyUSB0"
    usb.ports.clear()
    assert port.locate() == "/dev/ttyUSB0"  # nothing there: the port itself will say so
    usb.plug("/dev/ttyUSB0", location="1-1.3")
    usb.plug("/dev/ttyUSB2", location="1-1.4")
    assert port.locate() == "/dev/ttyUSB2"
    assert port.name == "/dev/ttyUSB2"


def test_in_another_socket_or_replaced_it_is_the_only_free_one_of_its_kind(usb: Usb) -> None:
    usb.plug("/dev/ttyACM0", serial="F-1")
    usb.plug("/dev/ttyACM1", serial="I-1")
    usb.plug("/dev/ttyS9", pid=0x0001)
    register = PortRegister()
    force, inertial = register.follow("/dev/ttyACM0"), register.follow("/dev/ttyACM1")
    assert [force.locate(), inertial.locate()] == ["/dev/ttyACM0", "/dev/ttyACM1"]
    usb.unplug("/dev/ttyACM0")
    usb.plug("/dev/ttyACM4", serial="F-2")
    assert force.locate() == "/dev/ttyACM4"
    # Two that it may be: neither is taken unasked.
    usb.unplug("/dev/ttyACM4")
    usb.plug("/dev/ttyACM5", serial="F-3")
    usb.plug("/dev/ttyACM6", serial="F-4")
    assert force.locate() == "/dev/ttyACM4"
    assert inertial.locate() == "/dev/ttyACM1"


def test_another_sensors_board_is_not_taken_for_it(usb: Usb) -> None:
    usb.plug("/dev/ttyACM0", serial="F-1")
    usb.plug("/dev/ttyACM1", serial="I-1")
    register = PortRegister()
    force, inertial = register.follow("/dev/ttyACM0"), register.follow("/dev/ttyACM1")
    assert [force.locate(), inertial.locate()] == ["/dev/ttyACM0", "/dev/ttyACM1"]
    usb.ports.clear()
    usb.plug("/dev/ttyACM0", serial="I-1")
    assert inertial.locate() == "/dev/ttyACM0"
    with pytest.raises(
        LinkError, match="/dev/ttyACM0: the sensor is not plugged in, and its port's name"
    ) as caught:
        force.locate()
    assert caught.value.reason is LinkReason.NOT_FOUND


def test_a_port_that_is_no_usb_device_keeps_its_name(usb: Usb, tmp_path: Path) -> None:
    port = PortRegister().follow("/dev/ttyS0")
    assert port.locate() == "/dev/ttyS0"
    usb.plug("/dev/ttyACM0", serial="F-1")
    assert port.locate() == "/dev/ttyS0"


def test_a_link_that_names_the_port_follows_its_target(usb: Usb, tmp_path: Path) -> None:
    """As the links that some systems keep by device: the link is opened, whatever it points to."""
    (tmp_path / "ttyACM0").touch()
    link = tmp_path / "by-id"
    link.symlink_to(tmp_path / "ttyACM0")
    usb.plug(tmp_path / "ttyACM0", serial="F-1")
    port = PortRegister().follow(str(link))
    assert port.locate() == str(link)
    assert port.identity is not None and port.identity.unit == "F-1"
    link.unlink()
    (tmp_path / "ttyACM1").touch()
    link.symlink_to(tmp_path / "ttyACM1")
    usb.ports.clear()
    usb.plug(tmp_path / "ttyACM1", serial="F-1")
    assert port.locate() == str(link)
