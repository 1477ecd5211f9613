"""Counters that wrap while the host stalls: are losses exact or said to be unknown, and are the times right?

Every case is half a minute of a sensor over a link whose host stalls for 0.3 to 1 s some times. With a buffer of 60
samples the stalls lose samples, and 0.5 % are lost elsewhere. A case is exact if every lost sample is counted, unknown
if it is said that some cannot be, and wrong if it says anything else.

    python benchmarks/study_stalls.py --seeds 40
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field

import numpy as np

from feltload.acquisition.wire.counting.timeline import Counter, count_timeline
from feltload.emulator import SentSamples, send_over_stalls
from feltload.signal import join_clock

#: What the stream sends: bits and tick of the clock, bits of the number.
COUNTERS: dict[str, tuple[tuple[int, float] | None, int | None]] = {
    "clock u16 us": ((16, 1e-6), None),
    "clock u8 ms": ((8, 1e-3), None),
    "clock u8 us": ((8, 1e-6), None),
    "clock u24 us": ((24, 1e-6), None),
    "clock u32 us": ((32, 1e-6), None),
    "number u8": (None, 8),
    "clock u16 us, number u8": ((16, 1e-6), 8),
    "clock u8 ms, number u16": ((8, 1e-3), 16),
    "neither": (None, None),
}


@dataclass
class Outcome:
    """Cases of one kind."""

    exact: int = 0
    unknown: int = 0
    wrong: int = 0
    off_ms: list[float] = field(default_factory=list)
    within: list[float] = field(default_factory=list)


def case(
    sent: SentSamples, counters: tuple[tuple[int, float] | None, int | None], rate_hz: float, into: Outcome
) -> None:
    clock, number_bits = counters
    clocks = numbers = None
    if clock is not None:
        clocks = Counter(sent.clock % (1 << clock[0]), 1 << clock[0], clock[1])
    if number_bits is not None:
        numbers = Counter((sent.number % (1 << number_bits)).astype(float), 1 << number_bits)
    message = np.cumsum(np.diff(sent.arrival_s, prepend=-1.0) > 0.0)
    found = count_timeline(sent.arrival_s, message, clocks, numbers, rate_hz=rate_hz)
    if found.uncounted and found.lost <= sent.lost:
        into.unknown += 1
    elif found.lost == sent.lost and not found.restarts.any():
        into.exact += 1
    else:
        into.wrong += 1
    fit = join_clock(sent.arrival_s, found.device_s, found.seq, rate_hz=rate_hz)
    off = fit.time_s - sent.true_s
    off = np.abs(off - np.median(off))
    into.off_ms.append(1e3 * float(np.sqrt(np.mean(off**2))))
    into.within.append(float(np.mean(off <= 3.0 * fit.u_s + 1e-4)))


def main() -> None:
    arguments = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    arguments.add_argument("--seeds", type=int, default=40)
    seeds = arguments.parse_args().seeds
    print(
        "| stream | link | stalls lose | exact | unknown | wrong | time rms, ms (median, worst) | within 3 u |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for name, counters in COUNTERS.items():
        for link in ("usb", "ble"):
            for buffer in (None, 60):
                outcome = Outcome()
                for seed in range(seeds):
                    sent = send_over_stalls(
                        seed,
                        link=link,
                        buffer=buffer,
                        dropped=0.0 if buffer is None else 0.005,
                        tick_s=1e-6 if counters[0] is None else counters[0][1],
                    )
                    case(sent, counters, 250.0, outcome)
                print(
                    f"| {name} | {link} | {'nothing' if buffer is None else 'samples'} | {outcome.exact} | "
                    f"{outcome.unknown} | {outcome.wrong} | {np.median(outcome.off_ms):.2f}, "
                    f"{max(outcome.off_ms):.2f} | {100 * np.mean(outcome.within):.1f} % |",
                    flush=True,
                )


if __name__ == "__main__":
    main()
