"""Reading and writing one world's registers through real frames, for the tests beside this."""

from __future__ import annotations

from hw_sim.crc import sealed
from hw_sim.world import World


def read(world: World, at: int, count: int = 1) -> list[int]:
    answer = world.answer(sealed(bytes((1, 3)) + at.to_bytes(2, "big") + count.to_bytes(2, "big")))
    assert answer[:3] == bytes((1, 3, 2 * count))
    return [int.from_bytes(answer[3 + 2 * i : 5 + 2 * i], "big", signed=True) for i in range(count)]


def write(world: World, at: int, value: int, function: int = 16) -> bytes:
    """Write one register; what came back without its check sum."""
    word = (value & 0xFFFF).to_bytes(2, "big")
    body = bytes((1, function)) + at.to_bytes(2, "big")
    return world.answer(sealed(body + (b"\x00\x01\x02" + word if function == 16 else word)))[:-2]
