"""Write the invented readings of a load cell: ``python recordings/make_cell_readings.py``.

The cell is invented, and so are its errors: 850 counts per newton, slightly bent, 0.03 % of hysteresis, creep,
and weights that are off by draws of their own stated uncertainty.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

HEAD = """\
# note: invented cell, invented weights: an example, no measurement
# serial: C-1042
# sensor: S-type load cell, 2 kN, with 24-bit converter
# number: example-1
# calibrated by: example
# place: invented bench, 52° north
# date: 2026-03-02
# latitude: 52.2 deg
# height: 20 m
# temperature: 21.0 degC
# pressure: 1013 hPa
# humidity: 45 %
# rated capacity: 2 kN
# weight density: 7300(200) kg/m3
series,direction,position_deg,mass,reading,time_s
"""
COUNTS_PER_N, ZERO, FULL_N = 850.0, 11840.0, 1000.0
MASSES = [10, 20, 30, 40, 50, 60, 70, 80, 90, 100]
U_KG = 0.003


def main() -> None:
    """Write ``cell-readings.csv`` beside this file."""
    rng = np.random.default_rng(1042)
    own = {kg: rng.normal(0, U_KG * (kg / 10) ** 0.5) for kg in MASSES}

    def counts(kg: float, side: float) -> float:
        force = (kg + own.get(kg, 0.0)) * 9.8126 * (1 - 1.2 / 8000)
        k = force / FULL_N
        bent = 1.5e-4 * k**2 + side * 1.5e-4 * 4 * k * (1 - k)
        return ZERO + COUNTS_PER_N * (force + FULL_N * bent) + rng.normal(0, 25.0)

    rows, clock = [], 0
    for series, position in enumerate((0, 0, 120, 240), start=1):
        for side, name, ladder in ((-1, "rising", [0, *MASSES]), (1, "falling", [*MASSES[-2::-1], 0])):
            for kg in ladder:
                clock += 40
                mass = f"{kg}({U_KG * (kg / 10) ** 0.5:.3f}) kg" if kg else "0"
                rows.append(f"{series},{name},{position},{mass},{counts(kg, side):.0f},{clock}")
    top = counts(100, 0.0)
    for time_s in (20, 30, 60, 120, 180, 240, 300):
        creep = 2e-4 * COUNTS_PER_N * FULL_N * (1 - np.exp(-time_s / 120))
        rows.append(
            f"creep,hold,240,100({U_KG * 10**0.5:.3f}) kg,{top + creep + rng.normal(0, 25):.0f},{time_s}"
        )
    out = Path(__file__).with_name("cell-readings.csv")
    out.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
