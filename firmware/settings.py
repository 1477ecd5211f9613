"""What differs from board to board. Copy to the board and change it there."""

SENSOR = "force"  # or "inertial"
NAME = "feltload-force"  # as it advertises; "feltload-inertial" for the other
RATE_HZ = 80  # at most what the converter makes
USE_SERIAL = True
USE_BLE = True
BYTES_PER_NOTIFICATION = 180

# Bridge converter
BRIDGE_CLOCK_PIN = 18
BRIDGE_DATA_PIN = 19
BRIDGE_EXTRA_PULSES = 1

# Inertial sensor: from its data sheet. These are examples, not a part's values. The start-up writes must set the
# ranges that `protocol` states: GYRO_RANGE_DEG_S and ACCEL_RANGE_G over 32768 counts.
I2C_CLOCK_PIN = 22
I2C_DATA_PIN = 21
INERTIAL_ADDRESS = 0x6A
INERTIAL_START_WRITES = ((0x10, 0x40), (0x11, 0x44))
INERTIAL_GYRO_REGISTER = 0x22
INERTIAL_ACCEL_REGISTER = 0x28
INERTIAL_BYTE_ORDER = "<"
