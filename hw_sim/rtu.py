"""The serving side of Modbus RTU: bytes in, bytes out. It finds frames in a stream and answers those for its address.

Functions served: 3 and 4 (read, the same registers), 6 (write one), 16 (write several). Any other is answered with
exception 1. A frame with a wrong check sum, or for another address, is answered with silence; a broadcast (address 0)
is obeyed in silence. Bytes before a good frame are thrown away. Touches nothing but the registers it is given.
"""

from __future__ import annotations

from typing import Protocol

from hw_sim.crc import crc16, sealed

ILLEGAL_FUNCTION, ILLEGAL_ADDRESS, ILLEGAL_VALUE = 1, 2, 3
READ_MOST, WRITE_MOST = 125, 123  # registers in one frame, by the open standard [memory]
FRAME_MOST = 256  # bytes [seen]
_FIXED = frozenset((1, 2, 3, 4, 5, 6, 8))  # requests of eight bytes


class Refusal(Exception):
    """A request that is answered with an exception code."""

    def __init__(self, code: int) -> None:
        super().__init__(f"exception {code}")
        self.code = code


class Registers(Protocol):
    """What is read and written: words of 16 bits by address. Both raise Refusal; a refused write changes nothing."""

    def read(self, at: int, count: int) -> list[int]: ...

    def write(self, at: int, words: list[int]) -> None: ...


class RtuServer:
    """One unit on the line."""

    def __init__(self, address: int, registers: Registers) -> None:
        self._address = address
        self._registers = registers
        self._pending = bytearray()

    def feed(self, data: bytes) -> bytes:
        """The answers to all frames that are complete with these bytes; empty when there is nothing to say."""
        pending = self._pending
        pending += data
        answers = b""
        start = 0
        while start + 4 <= len(pending):
            length = self._complete(start)
            if length:
                answers += self._answer(bytes(pending[start : start + length - 2]))
                del pending[: start + length]
                start = 0
            else:
                start += 1
        if len(pending) > FRAME_MOST:
            del pending[:-FRAME_MOST]
        return answers

    def silence(self) -> None:
        """The line was quiet for longer than a frame may pause: what is half there will not be finished."""
        self._pending.clear()

    def _complete(self, start: int) -> int:
        """Length of the good frame at start, 0 if none stands there (yet)."""
        pending = self._pending
        function = pending[start + 1]
        if function in _FIXED:
            length = 8
        elif function in (15, 16):
            length = 9 + pending[start + 6] if len(pending) > start + 6 else FRAME_MOST + 1
        elif pending[start] == self._address:
            return self._unknown(start)
        else:
            return 0
        end = start + length
        return length if end <= len(pending) and crc16(pending[start:end]) == 0 else 0

    def _unknown(self, start: int) -> int:
        """A function whose length is not known: the shortest run of bytes with a good check sum."""
        for end in range(start + 4, len(self._pending) + 1):
            if crc16(self._pending[start:end]) == 0:
                return end - start
        return 0

    def _answer(self, body: bytes) -> bytes:
        if body[0] not in (0, self._address):
            return b""
        try:
            reply = body[:1] + self._obey(body[1], body[2:])
        except Refusal as refusal:
            reply = bytes((body[0], body[1] | 0x80, refusal.code))
        return sealed(reply) if body[0] else b""

    def _obey(self, function: int, rest: bytes) -> bytes:
        if function in (3, 4):
            count = _word(rest, 2)
            if not 1 <= count <= READ_MOST:
                raise Refusal(ILLEGAL_VALUE)
            words = self._registers.read(_word(rest, 0), count)
            return bytes((function, 2 * count)) + b"".join(word.to_bytes(2, "big") for word in words)
        if function == 6:
            self._registers.write(_word(rest, 0), [_word(rest, 2)])
            return bytes((function,)) + rest
        if function == 16:
            count = _word(rest, 2)
            if not 1 <= count <= WRITE_MOST or rest[4] != 2 * count:
                raise Refusal(ILLEGAL_VALUE)
            self._registers.write(_word(rest, 0), [_word(rest, 5 + 2 * i) for i in range(count)])
            return bytes((function,)) + rest[:4]
        raise Refusal(ILLEGAL_FUNCTION)


def _word(data: bytes, at: int) -> int:
    return data[at] << 8 | data[at + 1]
