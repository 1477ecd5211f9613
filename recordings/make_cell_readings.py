"""Write the invented readings of the emulated load cell: ``python recordings/make_cell_readings.py``."""

from __future__ import annotations

from pathlib import Path

from feltload.emulator import calibration_readings

if __name__ == "__main__":
    Path(__file__).with_name("cell-readings.csv").write_text(calibration_readings(), encoding="utf-8")
