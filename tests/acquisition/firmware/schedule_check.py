# Runs under MicroPython: the beat and the clock on ticks that are made up, so that a wrap takes no hours.
from schedule import Batch, Beat, Clock

PERIOD = 1 << 30  # of this port's ticks


class Ticks:
    def __init__(self, start):
        self.now = start

    def us(self):
        return self.now % PERIOD

    @staticmethod
    def diff(later, earlier):
        return (later - earlier + PERIOD // 2) % PERIOD - PERIOD // 2


ticks = Ticks(PERIOD - 5000)
clock = Clock(ticks.us, ticks.diff)
beat = Beat(clock, 100)
# Steady beat over the wrap of the ticks.
seen = []
for _ in range(40):
    if beat.take():
        seen.append(beat.seq)
    ticks.now += 2500
print(seen, beat.skipped)
# A stall of 35 ms skips beats, and the sequence shows it.
ticks.now += 35000
beat.take()
print(beat.seq, beat.skipped)
# The 32-bit clock wraps as the protocol says.
total = 0
ticks2 = Ticks(0)
clock2 = Clock(ticks2.us, ticks2.diff)
while total < (1 << 32) + 7:
    step = min(PERIOD // 4, (1 << 32) + 7 - total)
    ticks2.now += step
    total += step
    value = clock2.now_us()
print(value)
# A gap closes a batch early; nothing is lost.
batch = Batch(3)
print([batch.add(seq, seq * 10, bytes([seq])) for seq in (0, 1, 2, 3, 5, 6, 7)])
