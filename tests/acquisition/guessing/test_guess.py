import binascii
import struct

import numpy as np
import pytest
from cobs import cobs

from feltload.acquisition.guessing.guess import guess_description


@pytest.mark.parametrize(
    ("mark", "number", "delimiter"),
    [
        (",", "0.25", ","),
        (";", "0.25", ";"),
        (";", "0,25", ";"),
        ("\t", "0.25", "\t"),
        ("  ", "0.25", "whitespace"),
    ],
)
def test_lines(mark, number, delimiter):
    lines = [(k * 12_500_000, f"{k}{mark}{number}{mark}-3\r\n".encode()) for k in range(200)]
    guess = guess_description(lines)
    assert (guess.framing, guess.delimiter, guess.frames[0].size) == ("lines", delimiter, 3)
    assert guess.frames[0].example.startswith("199")
    assert guess.frames[0].rate_hz == pytest.approx(80, rel=0.02)
    assert guess.description is None


def test_cobs_frames_and_their_checksum_cut_anywhere():
    rng = np.random.default_rng(5)
    flow = b""
    for k in range(400):
        payload = struct.pack("<BHIi", 0x46, k, k * 5000, int(rng.integers(-(2**20), 2**20)))
        flow += cobs.encode(payload + struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))) + b"\0"
    pieces = [flow[k : k + 37] for k in range(5, len(flow), 37)]
    guess = guess_description([(int(k * 2e9 / len(pieces)), piece) for k, piece in enumerate(pieces)])
    assert guess.framing == "cobs"
    assert (guess.frames[0].size, guess.frames[0].checksum) == (13, "CRC-16/IBM-3740")
    assert guess.frames[0].rate_hz == pytest.approx(200, rel=0.02)
    assert guess.description == "reference-force"


def test_noise_and_silence_are_not_guessed():
    noise = np.random.default_rng(6).bytes(20_000)
    guess = guess_description([(k, noise[k : k + 40]) for k in range(0, 20_000, 40)])
    assert (guess.framing, guess.description) == (None, None)
    assert guess.unread == noise[:24].hex(" ")
    silence = guess_description([])
    assert (silence.framing, silence.unread) == (None, "")


def test_notifications():
    guess = guess_description([(k * 50_000_000, bytes(range(20))) for k in range(21)], notifications=True)
    assert (guess.framing, guess.frames[0].size) == ("notification", 20)
    assert guess.frames[0].rate_hz == pytest.approx(20)
