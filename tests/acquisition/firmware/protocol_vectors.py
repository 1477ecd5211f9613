# Runs under MicroPython: CRC and COBS of each line of hexadecimal on standard input.
import sys

import protocol

for line in sys.stdin:
    data = bytes.fromhex(line.strip())
    print(hex(protocol.crc16(data)), protocol.cobs(data).hex())
