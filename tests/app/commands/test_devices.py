"""`feltload devices` with addresses: what cannot be is one line, and a program's output is understood."""

from __future__ import annotations

import json
import sys

import pytest

PRINTER = (
    "import math, time\n"
    "for k in range(400):\n"
    "    print(f'{k * 10},{100 + 50 * math.sin(k / 20):.2f}', flush=True)\n"
    "    time.sleep(0.005)\n"
)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("/dev/no-such-port",), "/dev/no-such-port: no such serial port"),
        (("tcp://127.0.0.1:x",), "cannot be understood as a sensor's address"),
        (("/dev/null", "--start", "hex:zz"), "bytes in hexadecimal"),
    ],
)
def test_what_cannot_be_is_one_line(words, said, feltload):
    ran = feltload("devices", *words, "--scan", "0.2 s")
    assert said in ran.one_line_error()


def test_a_programs_output_is_understood_and_nothing_is_overwritten(tmp_path, feltload):
    script, rig = tmp_path / "printer.py", tmp_path / "rig.toml"
    script.write_text(PRINTER)
    address = f"program:{sys.executable} {script}"
    ran = feltload("devices", address, "--scan", "2 s", "--write", rig, "--json")
    assert ran.code == 0, ran.err
    record = json.loads(ran.out)
    assert (record["framing"], record["written"]) == ("lines", str(rig))
    (stream,) = record["streams"]
    assert [item["name"] for item in stream["keys"]["fields"]] == ["device_time", "force"]
    before = rig.read_bytes()
    assert (
        "already exists" in feltload("devices", address, "--scan", "0.2 s", "--write", rig).one_line_error()
    )
    assert rig.read_bytes() == before


def test_silence_writes_nothing(tmp_path, feltload):
    rig = tmp_path / "rig.toml"
    address = f"program:{sys.executable} -c 'import time; time.sleep(5)'"
    ran = feltload("devices", address, "--scan", "0.3 s", "--write", rig)
    assert "no sensor was recognised" in ran.err
    assert ran.code == 2 and not rig.exists()


def test_a_scale_with_the_open_service_is_known(bluetooth, feltload):
    # Service 0x181D: Bluetooth SIG, Assigned Numbers (weight scale).
    bluetooth.order(
        "add",
        address="02:00:5E:00:53:0E",
        name="invented scale",
        service="0000181d-0000-1000-8000-00805f9b34fb",
        characteristic="00002a9d-0000-1000-8000-00805f9b34fb",
    )
    ran = feltload("devices", "--scan", "1 s", "--json")
    assert ran.code == 0, ran.err
    (found,) = json.loads(ran.out)["bluetooth"]
    assert (found["name"], found["description"]) == ("invented scale", "bluetooth-weight-scale")
