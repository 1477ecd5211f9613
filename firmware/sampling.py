"""The board's main loop: read the sensor on the beat, hand the sample to every way out."""

import protocol
from schedule import Batch, Beat, Clock


class Force:
    """Samples of a bridge converter; `read` gives a signed count, or None when none is ready."""

    kind = protocol.FORCE

    def __init__(self, converter):
        self._converter = converter

    def record(self):
        counts = self._converter.read()
        return None if counts is None else protocol.force_record(counts)


class Inertial:
    """Samples of a six-axis sensor; `read` gives six signed words."""

    kind = protocol.INERTIAL

    def __init__(self, sensor):
        self._sensor = sensor

    def record(self):
        axes = self._sensor.read()
        return None if axes is None else protocol.inertial_record(axes)


class SerialOut:
    """Sends each sample as a frame over the cable."""

    def __init__(self, write):
        self._write = write

    def send(self, kind, seq, device_us, record):
        self._write(protocol.serial_frame(kind, seq, device_us, record))


class NotificationOut:
    """Sends batches of samples as notifications."""

    def __init__(self, notify, kind, interval_us, bytes_per_notification):
        self._notify = notify
        self._interval_us = interval_us
        self._batch = Batch(protocol.records_that_fit(kind, bytes_per_notification))

    def send(self, kind, seq, device_us, record):
        done = self._batch.add(seq, device_us, record)
        if done is not None:
            first_seq, first_us, records = done
            self._notify(protocol.notification(kind, first_seq, first_us, self._interval_us, records))


class Sampler:
    """One sensor, its beat, and the ways out."""

    def __init__(self, source, rate_hz, clock=None):
        self.clock = clock or Clock()
        self.source = source
        self.beat = Beat(self.clock, rate_hz)
        self.ways_out = []

    def step(self):
        """Read and send if it is time; True if a sample was taken."""
        if not self.beat.take():
            return False
        device_us = self.clock.now_us()
        record = self.source.record()
        if record is None:
            return False
        for way in self.ways_out:
            way.send(self.source.kind, self.beat.seq, device_us, record)
        return True
