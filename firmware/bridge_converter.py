"""Driver for a 24-bit bridge converter with a two-wire interface (clock, data).

The data line falls when a conversion is ready; 24 clock pulses shift it out, most significant bit first, two's
complement; one to three more pulses choose channel and gain of the next conversion. Check pulses and timing
against your part's data sheet.
"""

import machine
import micropython
from machine import Pin


class BridgeConverter:
    def __init__(self, clock_pin, data_pin, extra_pulses=1):
        self._clock = Pin(clock_pin, Pin.OUT, value=0)
        self._data = Pin(data_pin, Pin.IN)
        self._pulses = 24 + extra_pulses

    @micropython.native
    def read(self):
        """Signed count, or None when no conversion is ready."""
        if self._data.value():
            return None
        value = 0
        clock, data = self._clock, self._data
        # A clock held high too long (60 us on common parts) switches the converter off.
        state = machine.disable_irq()
        for _ in range(self._pulses):
            clock.value(1)
            value = (value << 1) | data.value()
            clock.value(0)
        machine.enable_irq(state)
        value >>= self._pulses - 24
        return value - 0x1000000 if value & 0x800000 else value
