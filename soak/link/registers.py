"""Register words to values and back, and which registers are read together. Pure: no port, no clock.

A Modbus RTU reply carries no number, so a late one passes as the answer to the next question. Every repeated read
therefore gets a reply length of its own: a late reply is then rejected, or is the same block one poll old.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from soak.errors import JobError, Refused
from soak.job.controller import Controller, Signal
from soak.sources import Sourced

Space = Literal["holding", "input"]

REQUIRED = ("pv", "setpoint_asked", "output_pct")
LAST_ADDRESS = Sourced(0xFFFF, "1", "wire address", "Modbus Application Protocol v1.1b3: 16-bit addresses", "memory")
BLOCK_MAX = Sourced(
    32, "registers", "one poll", "many devices refuse longer reads; the standard allows 125", "judgement"
)
GAP_MAX = Sourced(8, "registers", "one poll", "reading a few unused registers beats a second question", "judgement")


@dataclass(frozen=True, slots=True)
class Block:
    """`count` registers of one space from wire address `at`: one question, one reply of 5 + 2 count bytes."""

    space: Space
    at: int
    count: int

    def holds(self, signal: Signal) -> bool:
        return signal.space == self.space and self.at <= signal.at < self.at + self.count


@dataclass(frozen=True, slots=True)
class Reads:
    """The repeated reads of one controller: the poll, the setpoint's read-back, the run command's read-back."""

    poll: tuple[Block, ...]
    setpoint: Block
    command: Block | None

    def all(self) -> tuple[Block, ...]:
        return (*self.poll, self.setpoint, *((self.command,) if self.command else ()))


def decode(signal: Signal, word: int) -> float | None:
    """Value of one register word [degC, percent or a code]: word * scale, or None for the codes of no reading.

    >>> decode(Signal(at=0, scale=0.1, no_reading=(32767,)), 0x2135)
    850.1
    """
    number = word - 0x10000 if signal.kind == "i16" and word >= 0x8000 else word
    if number in signal.no_reading:
        return None
    return round(number * signal.scale, 9)


def encode(signal: Signal, value: float, ceiling: float = math.inf) -> int:
    """Register word nearest to `value`, one step lower where rounding would pass `ceiling`. Raises Refused.

    >>> hex(encode(Signal(at=2, scale=0.1), 850.0))
    '0x2134'
    """
    if not math.isfinite(value):
        raise Refused("not-a-number", f"A setpoint must be a number, not {value}.", "Ask for a temperature in degC.")
    number = math.floor(value / signal.scale + 0.5)
    if number * signal.scale > ceiling + 1e-9:
        number -= 1
    low, high = (-0x8000, 0x7FFF) if signal.kind == "i16" else (0, 0xFFFF)
    if not low <= number <= high:
        raise Refused(
            "does-not-fit",
            f"{value:g} does not fit register {signal.at}: {signal.kind} in steps of {signal.scale:g} "
            f"reaches {low * signal.scale:g} to {high * signal.scale:g}.",
            "Check kind and scale of setpoint_asked in the controller's profile.",
        )
    return number & 0xFFFF


def plan_reads(controller: Controller) -> Reads:
    """Which registers are read together, each read with its own reply length. Raises JobError for a map that cannot be.

    For signals 0..6 and a run command at 16: the poll reads 7 registers, the setpoint 1, the run command 2.
    """
    _check(controller)
    polled = [s for name, s in controller.signals.items() if name != "run_command"]
    known = {(s.space, s.at) for s in controller.signals.values()}
    taken: set[tuple[Space, int]] = set()
    poll = tuple(_own_length(block, known, taken) for block in _together(polled))
    asked = controller.signals["setpoint_asked"]
    setpoint = _own_length(Block(asked.space, asked.at, 1), known, taken)
    command = controller.signals.get("run_command")
    return Reads(poll, setpoint, _own_length(Block(command.space, command.at, 1), known, taken) if command else None)


def values(signals: Mapping[str, Signal], block: Block, words: Sequence[int]) -> dict[str, float | None]:
    """Values by signal name of those signals that lie in the block."""
    return {n: decode(s, words[s.at - block.at]) for n, s in signals.items() if block.holds(s)}


def _check(controller: Controller) -> None:
    missing = [n for n in REQUIRED if n not in controller.signals]
    if missing:
        raise JobError(
            "signal-missing",
            f"Controller {controller.name}: no signal {', '.join(missing)}.",
            f"A controller's profile must name {', '.join(REQUIRED)} with their wire addresses.",
        )
    for name, signal in controller.signals.items():
        if not 0 <= signal.at <= LAST_ADDRESS.value:
            raise JobError(
                "bad-register",
                f"Controller {controller.name}: signal {name} is at {signal.at}, outside 0 to 65535.",
                "Give the address on the wire, not the table number: holding register 40001 is at = 0.",
            )
    for name in ("setpoint_asked", "run_command"):
        if name in controller.signals and controller.signals[name].space != "holding":
            raise JobError(
                "bad-register",
                f"Controller {controller.name}: {name} is an input register, which nobody can write.",
                'Give it space = "holding".',
            )


def _together(signals: Iterable[Signal]) -> list[Block]:
    blocks: list[Block] = []
    for signal in sorted(signals, key=lambda s: (s.space, s.at)):
        last = blocks[-1] if blocks else None
        if last and last.space == signal.space:
            span = signal.at - last.at + 1
            if span <= BLOCK_MAX.value and span - last.count <= GAP_MAX.value + 1:
                blocks[-1] = Block(last.space, last.at, max(last.count, span))
                continue
        blocks.append(Block(signal.space, signal.at, 1))
    return sorted(blocks, key=lambda b: -b.count)


def _own_length(block: Block, known: set[tuple[Space, int]], taken: set[tuple[Space, int]]) -> Block:
    """Lengthen the block until no other read of its space has its length; over registers the map knows, if it can."""
    count = block.count
    while (block.space, count) in taken:
        count += 1
    taken.add((block.space, count))
    first = max(0, block.at + block.count - count)
    last = min(block.at, int(LAST_ADDRESS.value) + 1 - count)

    def unknown(at: int) -> tuple[int, int]:
        return sum((block.space, a) not in known for a in range(at, at + count)), block.at - at

    return Block(block.space, min(range(first, last + 1), key=unknown), count)
