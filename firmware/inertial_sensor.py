"""Driver for a six-axis inertial sensor on I2C, by its register addresses.

The addresses, start-up writes and byte order come from the part's data sheet and stand in `settings.py`; the
sensor has to be set there to the ranges that `protocol` states, or the host's stream description be changed.
"""

import struct

from machine import I2C, Pin


class InertialSensor:
    def __init__(self, clock_pin, data_pin, address, start_writes, gyro_register, accel_register, order="<"):
        self._bus = I2C(0, scl=Pin(clock_pin), sda=Pin(data_pin), freq=400000)
        self._address = address
        self._gyro_register, self._accel_register = gyro_register, accel_register
        self._format = order + "3h"
        self._buffer = bytearray(6)
        for register, value in start_writes:
            self._bus.writeto_mem(address, register, bytes([value]))

    def read(self):
        """Raw words: gyroscope x, y, z, accelerometer x, y, z; None when the bus gives no answer."""
        try:
            self._bus.readfrom_mem_into(self._address, self._gyro_register, self._buffer)
            gyro = struct.unpack(self._format, self._buffer)
            self._bus.readfrom_mem_into(self._address, self._accel_register, self._buffer)
        except OSError:
            return None
        return gyro + struct.unpack(self._format, self._buffer)
