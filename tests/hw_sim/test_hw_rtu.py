"""The wire: check sums and frames against published ones, and how the server takes a stream of bytes apart."""

from __future__ import annotations

import random

import pytest
from pymodbus.framer import FramerRTU

from hw_sim.crc import crc16, sealed
from hw_sim.rtu import ILLEGAL_ADDRESS, Refusal, RtuServer

# body, CRC as sent: the spec's own example and others (first row and its reply seen in public test suites)
FRAMES = [
    ("11 03 00 6B 00 03", "76 87"),
    ("11 03 06 AE 41 56 52 43 40", "49 AD"),
    ("11 04 00 08 00 01", "B2 98"),
    ("11 06 00 01 00 03", "9A 9B"),
    ("11 10 00 01 00 02 04 00 0A 01 02", "C6 F0"),
    ("11 10 00 01 00 02", "12 98"),
    ("11 01 00 13 00 25", "0E 84"),
    ("11 05 00 AC FF 00", "4E 8B"),
    ("01 03 00 00 00 01", "84 0A"),
    ("01 03 02 21 35", "60 03"),
    ("01 83 02", "C0 F1"),
    ("02 07", "41 12"),
]


def hexed(text: str) -> bytes:
    return bytes.fromhex(text)


class Memory:
    """Plain registers 0 to 199, all writable."""

    def __init__(self) -> None:
        self.words = [0] * 200

    def read(self, at: int, count: int) -> list[int]:
        if at + count > 200:
            raise Refusal(ILLEGAL_ADDRESS)
        return self.words[at : at + count]

    def write(self, at: int, words: list[int]) -> None:
        if at + len(words) > 200:
            raise Refusal(ILLEGAL_ADDRESS)
        self.words[at : at + len(words)] = words


def unit(address: int = 0x11) -> tuple[RtuServer, Memory]:
    memory = Memory()
    return RtuServer(address, memory), memory


@pytest.mark.parametrize(("body", "crc"), FRAMES)
def test_check_sums_of_known_frames(body: str, crc: str) -> None:
    assert sealed(hexed(body)) == hexed(body) + hexed(crc)


def test_check_value_of_the_crc() -> None:
    # CRC-16 with this polynomial and start over ASCII 123456789: 0x4B37 (seen in public test code)
    assert crc16(b"123456789") == 0x4B37


def test_crc_agrees_with_an_independent_library() -> None:
    chance = random.Random(5)
    for _ in range(200):
        data = chance.randbytes(chance.randrange(1, 250))
        assert sealed(data)[-2:] == FramerRTU.compute_CRC(data).to_bytes(2, "big")


def test_the_spec_example_is_answered_as_in_the_spec() -> None:
    server, memory = unit()
    memory.words[0x6B:0x6E] = [0xAE41, 0x5652, 0x4340]
    assert server.feed(hexed("11 03 00 6B 00 03 76 87")) == hexed("11 03 06 AE 41 56 52 43 40 49 AD")


def test_function_4_reads_the_same_registers() -> None:
    server, memory = unit()
    memory.words[8] = 7
    assert server.feed(hexed("11 04 00 08 00 01 B2 98")) == sealed(hexed("11 04 02 00 07"))


def test_function_6_writes_and_answers_with_the_request() -> None:
    server, memory = unit()
    assert server.feed(hexed("11 06 00 01 00 03 9A 9B")) == hexed("11 06 00 01 00 03 9A 9B")
    assert memory.words[1] == 3


def test_function_16_writes_several() -> None:
    server, memory = unit()
    assert server.feed(hexed("11 10 00 01 00 02 04 00 0A 01 02 C6 F0")) == hexed("11 10 00 01 00 02 12 98")
    assert memory.words[1:3] == [0x0A, 0x102]


def test_exception_2_is_the_known_frame() -> None:
    server, _ = unit(1)
    assert server.feed(sealed(hexed("01 03 00 C8 00 01"))) == hexed("01 83 02 C0 F1")


@pytest.mark.parametrize(
    ("body", "answer"),
    [
        ("11 03 00 00 00 00", "11 83 03"),  # none asked
        ("11 03 00 00 00 7E", "11 83 03"),  # more than 125
        ("11 10 00 01 00 02 02 00 0A", "11 90 03"),  # count and bytes disagree
        ("11 01 00 13 00 25", "11 81 01"),
        ("11 02 00 C4 00 16", "11 82 01"),
        ("11 05 00 AC FF 00", "11 85 01"),
        ("11 08 00 00 A5 37", "11 88 01"),
        ("11 0F 00 13 00 0A 02 CD 01", "11 8F 01"),
        ("11 07", "11 87 01"),
        ("11 2B 0E 01 00", "11 AB 01"),
    ],
)
def test_what_is_refused(body: str, answer: str) -> None:
    server, memory = unit()
    assert server.feed(sealed(hexed(body))) == sealed(hexed(answer))
    assert memory.words == [0] * 200


def test_another_address_is_met_with_silence() -> None:
    server, memory = unit(0x12)
    assert server.feed(hexed("11 06 00 01 00 03 9A 9B")) == b""
    assert memory.words[1] == 0


def test_a_broadcast_is_obeyed_in_silence() -> None:
    server, memory = unit()
    assert server.feed(sealed(hexed("00 06 00 01 00 03"))) == b""
    assert memory.words[1] == 3


def test_every_damaged_bit_is_met_with_silence() -> None:
    frame = hexed("11 06 00 01 00 03 9A 9B")
    for bit in range(8 * len(frame)):
        server, memory = unit()
        damaged = bytearray(frame)
        damaged[bit // 8] ^= 1 << bit % 8
        assert server.feed(bytes(damaged)) == b""
        assert memory.words[1] == 0


def test_a_frame_in_single_bytes() -> None:
    server, _ = unit()
    frame = hexed("11 10 00 01 00 02 04 00 0A 01 02 C6 F0")
    answers = [server.feed(frame[i : i + 1]) for i in range(len(frame))]
    assert answers == [b""] * (len(frame) - 1) + [hexed("11 10 00 01 00 02 12 98")]


def test_two_frames_at_once_are_both_answered() -> None:
    server, _ = unit()
    frame = hexed("11 06 00 01 00 03 9A 9B")
    assert server.feed(frame + frame) == frame + frame


@pytest.mark.parametrize("noise", ["FF", "00 00 00", "11", "11 03", "11 10 00 01 00 40 80", "11 06 00 01 00 03 9A 9C"])
def test_noise_before_a_good_frame_is_thrown_away(noise: str) -> None:
    server, _ = unit()
    frame = hexed("11 06 00 01 00 03 9A 9B")
    assert server.feed(hexed(noise)) == b""
    assert server.feed(frame) == frame


def test_half_a_frame_is_forgotten_after_silence() -> None:
    server, memory = unit()
    frame = hexed("11 06 00 01 00 03 9A 9B")
    server.feed(frame[:5])
    server.silence()
    assert server.feed(frame[5:]) == b""
    assert memory.words[1] == 0


def test_endless_noise_is_not_kept() -> None:
    server, _ = unit()
    frame = hexed("11 06 00 01 00 03 9A 9B")
    for _ in range(100):
        server.feed(b"\xff" * 100)
    assert len(server._pending) <= 256
    assert server.feed(frame) == frame
