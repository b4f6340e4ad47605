"""The check sum of a Modbus RTU frame. Pure."""

from __future__ import annotations

_POLYNOMIAL = 0xA001  # reflected 0x8005 [memory of the open standard; checked in tests against known frames]


def _row(byte: int) -> int:
    for _ in range(8):
        byte = (byte >> 1) ^ _POLYNOMIAL if byte & 1 else byte >> 1
    return byte


_TABLE = tuple(_row(byte) for byte in range(256))


def crc16(data: bytes | bytearray | memoryview) -> int:
    """CRC-16 as in Modbus: start 0xFFFF, reflected. Over a whole frame with its check sum it comes to 0."""
    crc = 0xFFFF
    for byte in data:
        crc = (crc >> 8) ^ _TABLE[(crc ^ byte) & 0xFF]
    return crc


def sealed(body: bytes) -> bytes:
    """The body with its check sum, low byte first."""
    return body + crc16(body).to_bytes(2, "little")
