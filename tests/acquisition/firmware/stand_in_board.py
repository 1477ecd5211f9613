# Runs under MicroPython: the firmware's own protocol, schedule and sampling with sensors that stand in.
# Arguments: force|inertial, rate in Hz, samples, serial|ble; frames leave by standard output,
# notifications as lines of hexadecimal.
import sys
import time

from sampling import Force, Inertial, NotificationOut, Sampler, SerialOut


class Converter:
    def __init__(self):
        self.count = 0

    def read(self):
        self.count += 1
        # Every 50th conversion is not ready, and the values have zeros in every byte at times.
        return None if self.count % 50 == 0 else (self.count * 65537) % 0x1000000 - 0x800000


class Axes:
    def __init__(self):
        self.count = 0

    def read(self):
        self.count += 1
        return tuple((self.count * (axis + 1) * 37) % 65536 - 32768 for axis in range(6))


kind, rate, samples, way = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), sys.argv[4]
sampler = Sampler(Force(Converter()) if kind == "force" else Inertial(Axes()), rate)
if way == "serial":
    sampler.ways_out.append(SerialOut(sys.stdout.buffer.write))
else:

    def notify(data):
        sys.stdout.write(data.hex() + "\n")

    sampler.ways_out.append(NotificationOut(notify, sampler.source.kind, sampler.beat.interval_us, 180))
taken = 0
while taken < samples:
    if sampler.step():
        taken += 1
    else:
        time.sleep_us(50)
