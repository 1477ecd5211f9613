"""Time of the board: a microsecond clock of 32 bits, and a steady beat that does not drift."""

import time


class Clock:
    """Microseconds since the start, as the protocol counts them: 32 bits, then again from 0.

    The port's own ticks wrap earlier; the clock has to be read at least every few minutes, which
    sampling does.
    """

    def __init__(self, ticks_us=time.ticks_us, ticks_diff=time.ticks_diff):
        self._ticks_us = ticks_us
        self._ticks_diff = ticks_diff
        self._last = ticks_us()
        self._passed = 0

    def now_us(self):
        ticks = self._ticks_us()
        self._passed += self._ticks_diff(ticks, self._last)
        self._last = ticks
        return self._passed & 0xFFFFFFFF


class Beat:
    """Due times at a fixed rate. A beat that was missed is skipped and counted, not made up for.

    Sequence numbers go on over skipped beats, so the host sees each of them as a lost sample.
    """

    def __init__(self, clock, rate_hz):
        self._clock = clock
        self.interval_us = 1000000 // rate_hz
        self._last_us = clock.now_us()
        self._due_us = 0
        self._passed_us = 0
        self.seq = -1
        self.skipped = 0

    def take(self):
        """True when the next sample is due; `seq` is then its number."""
        now = self._clock.now_us()
        self._passed_us += (now - self._last_us) & 0xFFFFFFFF
        self._last_us = now
        late_us = self._passed_us - self._due_us
        if late_us < 0:
            return False
        missed = late_us // self.interval_us
        self.skipped += missed
        self.seq = (self.seq + 1 + missed) & 0xFFFF
        self._due_us += (missed + 1) * self.interval_us
        return True


class Batch:
    """Gathers consecutive samples for one notification; a gap closes it early."""

    def __init__(self, size):
        self._size = size
        self.records = []
        self.first_seq = 0
        self.first_us = 0

    def add(self, seq, device_us, record):
        """Add a sample; gives the (seq, us, records) of the batch that this completes, else None."""
        done = None
        if self.records and seq != (self.first_seq + len(self.records)) & 0xFFFF:
            done = self._close()
        if not self.records:
            self.first_seq, self.first_us = seq, device_us
        self.records.append(record)
        if done is None and len(self.records) == self._size:
            done = self._close()
        return done

    def _close(self):
        done = (self.first_seq, self.first_us, self.records)
        self.records = []
        return done
