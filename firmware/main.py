"""Starts on the board: one sensor, sent over the cable, the air, or both."""

import sys
import time

import settings
from sampling import Force, Inertial, NotificationOut, Sampler, SerialOut


def source():
    if settings.SENSOR == "force":
        from bridge_converter import BridgeConverter

        return Force(
            BridgeConverter(settings.BRIDGE_CLOCK_PIN, settings.BRIDGE_DATA_PIN, settings.BRIDGE_EXTRA_PULSES)
        )
    from inertial_sensor import InertialSensor

    return Inertial(
        InertialSensor(
            settings.I2C_CLOCK_PIN,
            settings.I2C_DATA_PIN,
            settings.INERTIAL_ADDRESS,
            settings.INERTIAL_START_WRITES,
            settings.INERTIAL_GYRO_REGISTER,
            settings.INERTIAL_ACCEL_REGISTER,
            settings.INERTIAL_BYTE_ORDER,
        )
    )


def main():
    sampler = Sampler(source(), settings.RATE_HZ)
    if settings.USE_SERIAL:
        sampler.ways_out.append(SerialOut(sys.stdout.buffer.write))
    if settings.USE_BLE:
        from ble_out import Peripheral

        peripheral = Peripheral(settings.NAME, sampler.source.kind)
        sampler.ways_out.append(
            NotificationOut(
                peripheral.notify,
                sampler.source.kind,
                sampler.beat.interval_us,
                settings.BYTES_PER_NOTIFICATION,
            )
        )
    while True:
        if not sampler.step():
            time.sleep_us(50)


main()
