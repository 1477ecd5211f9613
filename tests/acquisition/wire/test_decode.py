import binascii
import struct

import numpy as np
import pytest
from cobs import cobs

from feltload.acquisition import decode, load_stream_description
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from published_data import published

FORCE = load_stream_description("reference-force")
INERTIAL = load_stream_description("reference-inertial")


def with_crc(payload):
    """Append CRC-16/IBM-3740; the standard library's crc_hqx is that with 0xFFFF as its start value."""
    return payload + struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))


def force_frame(seq, device_us, counts):
    payload = struct.pack("<BHIi", 0x46, seq & 0xFFFF, device_us & 0xFFFFFFFF, counts)
    return cobs.encode(with_crc(payload)) + b"\0"


def inertial_frame(seq, device_us, axes):
    payload = struct.pack("<BHI6h", 0x49, seq & 0xFFFF, device_us & 0xFFFFFFFF, *axes)
    return cobs.encode(with_crc(payload)) + b"\0"


def each_its_own(frames, period_ns=12_500_000):
    return [(k * period_ns, frame) for k, frame in enumerate(frames)]


def test_values_and_units_of_reference_frames():
    axes = (1000, -1000, 0, 8192, -8192, 255)
    out = decode([(5_000_000, inertial_frame(7, 1_500_000, axes))], INERTIAL)
    assert np.isnan(out.health.peak_force_n)
    row = out.frame.iloc[0]
    assert row["host_s"] == pytest.approx(0.005)
    assert row["device_s"] == pytest.approx(1.5)
    assert row["seq"] == 7
    # 1000 deg/s and 4 g at full scale, 32768 counts.
    assert row["gyro_x_rad_s"] == pytest.approx(1000 * 1000 / 32768 * np.pi / 180)
    assert row["accel_x_m_s2"] == pytest.approx(9.80665)


def test_sequence_and_clock_wrap():
    n = 200
    frames = [force_frame(65500 + k, 2**32 - 1_000_000 + k * 12_500, k) for k in range(n)]
    out = decode(each_its_own(frames), FORCE)
    assert np.allclose(np.diff(out.frame["device_s"]), 0.0125)
    assert (np.diff(out.frame["seq"]) == 1).all()
    assert (out.health.lost, out.health.resets, out.health.gaps) == (0, 0, 0)


def test_losses_and_resets_are_counted():
    first = [force_frame(k, 10_000_000 + k * 12_500, k) for k in range(100) if k not in (30, 31, 60)]
    again = [force_frame(k, 40_000 + k * 12_500, k) for k in range(100)]
    out = decode(each_its_own(first + again), FORCE)
    assert (out.health.lost, out.health.gaps, out.health.resets) == (3, 2, 1)
    assert out.frame["device_s"].iloc[97] == pytest.approx(0.04)
    assert out.frame["seq"].iloc[97] == 0


def test_two_streams_on_one_link():
    flow = b"".join(force_frame(k, k * 5000, k) + inertial_frame(k, k * 5000, (k,) * 6) for k in range(50))
    force = decode([(0, flow)], FORCE, siblings=[INERTIAL])
    inertial = decode([(0, flow)], INERTIAL, siblings=[FORCE])
    assert len(force.frame) == len(inertial.frame) == 50
    assert force.health.bad_frames == inertial.health.bad_frames == 0


def test_several_samples_per_notification():
    ble = load_stream_description("reference-ble-force")
    messages = []
    for k in range(30):
        n = 3 + k % 2
        first = sum(3 + j % 2 for j in range(k))
        head = struct.pack("<BHIBH", 0x46, first, first * 12_500, n, 12_500)
        body = struct.pack(f"<{n}i", *range(first, first + n))
        messages.append((k, with_crc(head + body)))
    out = decode(messages, ble)
    assert out.frame["force_counts"].tolist() == list(range(105))
    assert np.allclose(out.frame["device_s"], np.arange(105) * 0.0125)
    assert out.frame["seq"].tolist() == list(range(105))
    assert out.health.bad_frames == 0


@pytest.mark.parametrize("example", published("weight_measurement")["examples"])
def test_bluetooth_weight_measurement(example):
    scale = load_stream_description("bluetooth-weight-scale")
    out = decode([(0, bytes.fromhex(example["bytes"]))], scale)
    kilogram = {"kg": 1.0, "lb": 0.45359237}[example["unit"]]
    assert out.frame["force_n"].tolist() == pytest.approx([example["mass"] * kilogram * 9.80665])


def test_bluetooth_weight_units_mixed_and_unsuccessful():
    scale = load_stream_description("bluetooth-weight-scale")
    sent = ["00 20 4E", "01 10 27", "00 FF FF", "00 40 1F"]
    out = decode([(k, bytes.fromhex(text)) for k, text in enumerate(sent)], scale)
    assert out.frame["force_n"].to_numpy() / 9.80665 == pytest.approx([100, 45.359237, 40])


@pytest.mark.parametrize("type_, size", [("i24", 3), ("i16", 2), ("i32", 4)])
@pytest.mark.parametrize("big_endian", [False, True])
def test_signed_numbers_of_any_size(type_, size, big_endian):
    plain = StreamDescription(
        name="cell",
        kind="force",
        framing="notification",
        fields=[
            {"name": "force", "type": type_, "unit": "N", "scale": 0.5, "zero": 10, "big_endian": big_endian}
        ],
    )
    values = [-(1 << (8 * size - 1)) + 5, -1, 0, 1, 32000]
    sent = [value.to_bytes(size, "big" if big_endian else "little", signed=True) for value in values]
    out = decode(each_its_own(sent), plain)
    assert out.frame["force_n"].tolist() == [(value - 10) * 0.5 for value in values]
    assert out.frame["device_s"].isna().all() and out.frame["seq"].isna().all()


def test_saturation_and_overload():
    cell = load_stream_description(
        "reference-force",
        changes={"rated_capacity_n": 500.0, "set": {"force": {"unit": "N", "scale": 1e-4}}},
    )
    counts = [0, 8388607, -8388608, 4_000_000, 6_000_000]
    out = decode(each_its_own([force_frame(k, k * 12_500, c) for k, c in enumerate(counts)]), cell)
    assert (out.health.saturated, out.health.overloads) == (2, 3)
    assert out.health.peak_force_n == pytest.approx(838.8608)


def test_lines_with_faults():
    board = load_stream_description("csv-board-force")
    lines = [b"%d,%.2f\n" % (k * 12, k / 2) for k in range(1000)]
    lines[10] = b"120,5.0.0\n"
    lines[20] = b"24\xff,1.0\n"
    lines[30] = b"360\n"
    lines[40] = b"480,1,2\n"
    lines[50] = b"hello\n"
    lines[60] = b"6000,30.0\n"  # one digit too many in the clock
    lines[70] = b"840,35.0\r\n"
    out = decode(each_its_own([b"9,9\n", *lines]), board)
    left = [k for k in range(1000) if k not in (10, 20, 30, 40, 50, 60)]
    assert out.frame["force_n"].tolist() == [k / 2 for k in left]
    assert out.health.bad_frames == 6
    assert out.health.resets == 0


def test_lines_at_the_ends_of_a_range_and_bytes_dropped():
    cell = StreamDescription(
        name="cell", kind="force", framing="lines",
        fields=[{"name": "seq"}, {"name": "force", "unit": "N", "scale": 0.5, "zero": 2, "limits": (-10.0, 10.0)}],
    )  # fmt: skip
    sent = [b"9,9\n", b"0,10\n", b"1,-11\n", b"2,9\n", b"3,x\n", b"4,-9\n", b"5,"]
    out = decode(each_its_own(sent), cell)
    assert out.frame["force_n"].tolist() == [4.0, -6.5, 3.5, -5.5]
    assert out.health.saturated == 2
    # The cut first line, the one that is no number, and the open end.
    assert (out.health.bad_frames, out.health.dropped_bytes) == (1, 3 + 3 + 2)


def test_quoted_cells_may_hold_the_delimiter():
    cell = StreamDescription(
        name="cell", kind="force", framing="lines", quoted=True, decimal=",",
        fields=[{"name": "seq"}, {"name": "force", "unit": "N"}],
    )  # fmt: skip
    sent = [b"\n", b'"0","1,5"\n', b'"1","2,5\n', b'"2","3,5"\n', b'3,"4,5"\n']
    out = decode(each_its_own(sent), cell)
    assert out.frame["force_n"].tolist() == [1.5, 3.5, 4.5]
    assert out.health.bad_frames == 1


def test_lines_marked_by_a_word_and_split_by_blanks():
    description = StreamDescription(
        name="cell",
        kind="force",
        framing="lines",
        delimiter="whitespace",
        fields=[
            {"name": "tag", "type": "text", "equals": "F"},
            {"name": "seq", "wrap": 256},
            {"name": "force", "unit": "kgf"},
        ],
    )
    lines = [b"F %d  %d.5\n" % (k % 256, k) if k % 2 == 0 else b"I 1 2 3\n" for k in range(600)]
    out = decode(each_its_own([b"\n", *lines]), description)
    assert out.frame["force_n"].tolist() == pytest.approx([(k + 0.5) * 9.80665 for k in range(0, 600, 2)])
    assert out.health.ignored_frames == 300


def test_mutated_frames_never_pass_beyond_the_odds_of_their_checksum():
    """120 000 frames, one in three with a byte changed, dropped, added, or a bit turned."""
    rng = np.random.default_rng(20)
    n = 120_000
    truth = rng.integers(-(2**23), 2**23, n)
    frames = [force_frame(k, k * 1000, int(truth[k])) for k in range(n)]
    hit = rng.random(n) < 1 / 3
    kinds, places, values = rng.integers(0, 4, n), rng.random(n), rng.integers(1, 256, n)
    for k in np.flatnonzero(hit):
        frame = bytearray(frames[k])
        at = int(places[k] * len(frame))
        if kinds[k] == 0:
            frame[at] ^= int(values[k])
        elif kinds[k] == 1:
            del frame[at]
        elif kinds[k] == 2:
            frame.insert(at, int(values[k]) - 1)
        else:
            frame[at] ^= 1 << (int(values[k]) % 8)
        frames[k] = bytes(frame)
    out = decode([(k * 1_000_000, frame) for k, frame in enumerate(frames)], FORCE)
    sequence = out.frame["seq"].to_numpy(dtype=int)
    wrong = out.frame["force_counts"].to_numpy() != truth[sequence % n]
    assert wrong.sum() <= 8  # 40 000 damaged frames x 2^-16 = 0.6 expected
    # Resynchronised at once: an untouched frame is lost only if the delimiter before it is gone.
    closed = np.array([frame.endswith(b"\0") for frame in frames])
    untouched = ~hit
    untouched[1:] &= closed[:-1]
    assert np.isin(np.flatnonzero(untouched), sequence).all()


def test_a_column_read_past_before_the_last_used_one_and_more_after_it():
    board = StreamDescription(
        name="cell",
        kind="force",
        framing="lines",
        more_columns=True,
        fields=[
            {"name": "label", "type": "text"},
            {"name": "device_time", "unit": "ms"},
            {"name": "state", "type": "text"},
            {"name": "force", "unit": "N"},
        ],
    )
    lines = [b"x,1,y,2\n"] + [b"cell,%d,ok,%d,3.3%s\n" % (n * 10, n, b",9" * (n % 3)) for n in range(100)]
    out = decode([(0, b"".join(lines))], board)
    # The first line may have lost its beginning.
    assert out.frame["force_n"].tolist() == list(range(100))
    assert out.frame["device_s"].to_numpy() == pytest.approx(np.arange(100) / 100)
    assert out.health.bad_frames == 0


@pytest.mark.parametrize("name", ["reference-force", "reference-ble-inertial", "csv-board-force"])
def test_noise_does_not_crash(name):
    rng = np.random.default_rng(3)
    description = load_stream_description(name)
    for _ in range(30):
        messages = [(k, rng.bytes(int(rng.integers(0, 60)))) for k in range(200)]
        decode(messages, description)
    assert decode([], description).frame.empty
