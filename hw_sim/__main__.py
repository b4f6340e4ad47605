"""`python -m hw_sim`: the stand-in as a process of its own. Reads its arguments, opens the port, serves."""

from __future__ import annotations

import argparse
import json
import signal
import sys
from collections.abc import Callable
from typing import Any

from hw_sim import serve
from hw_sim.canister import Canister, read_size
from hw_sim.errors import WrongInput
from hw_sim.faults import FAULTS, read_fault
from hw_sim.lines_in import LinesIn
from hw_sim.ovens import oven_names
from hw_sim.tcp_port import TcpPort
from hw_sim.world import World

FASTEST_RATE = 20_000.0  # seconds of world in one of wall time that a small computer can keep up with [judgement]


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m hw_sim",
        description="A simulated oven with a packed canister and a Modbus controller, to try things on without heat.",
        epilog="faults: " + "; ".join(f"{name} ({fault.text})" for name, fault in FAULTS.items()),
    )
    parser.add_argument("--oven", default="medium", metavar="NAME", help=f"{', '.join(oven_names())} (medium)")
    parser.add_argument(
        "--canister-mm", default="96x64x220", metavar="SIZE",
        help="outside: box 96x64x220 (width x height x length), pipe 100x250 (diameter x length), or empty",
    )  # fmt: skip
    parser.add_argument("--wall-mm", type=float, default=2.0, help="the canister's wall (2)")
    parser.add_argument("--steel-kg", type=float, default=1.4, help="iron in it (1.4)")
    parser.add_argument("--pack-kg", type=float, default=None, help="pack in it (filled up at 230 kg/m3)")
    parser.add_argument("--lime", type=float, default=0.05, help="calcium carbonate, fraction of the pack (0.05)")
    parser.add_argument("--moisture", type=float, default=0.05, help="water, fraction of the pack (0.05)")
    parser.add_argument("--seed", type=int, default=0, help="which world: the same seed is the same world (0)")
    parser.add_argument("--address", type=int, default=1, help="the controller's address on the line (1)")
    parser.add_argument("--port", default=None, help="pty, or tcp:PORT (tcp:0 for any free one)")
    parser.add_argument("--start-c", type=float, default=20.0, help="everything's temperature at the start (20)")
    parser.add_argument("--limiter-c", type=float, default=None, help="where the limiter opens (oven's most + 30)")
    parser.add_argument("--fault", action="append", default=[], metavar="NAME@TIME", help="as sensor-open@6h30")
    pace = parser.add_mutually_exclusive_group()
    pace.add_argument("--rate", type=float, default=1.0, help="seconds of world in one second (1)")
    pace.add_argument("--piped", action="store_true", help="time moves at commands on standard input")
    return parser


def _world(said: argparse.Namespace) -> World:
    canister = None
    if said.canister_mm != "empty":
        size = read_size(said.canister_mm)
        canister = Canister(size, said.wall_mm, said.steel_kg, said.pack_kg, said.lime, said.moisture)
    return World(
        oven=said.oven,
        seed=said.seed,
        canister=canister,
        faults=[read_fault(text) for text in said.fault],
        address=said.address,
        start_c=said.start_c,
        limiter_c=said.limiter_c,
    )


def _port(text: str | None) -> serve.Port:
    """The port asked for; nothing asked: a pseudo-terminal where there is such a thing."""
    kind, _, number = (text or "pty").partition(":")
    if kind == "tcp" and number.isdigit() and int(number) <= 65535:
        return TcpPort(int(number))
    if text is not None and text != "pty":
        raise WrongInput(f"port {text!r} is not read here: write pty, or tcp:PORT with PORT 0 to 65535, as tcp:0")
    try:
        from hw_sim.posix_pty import PtyPort
    except ImportError:
        if text is None:
            return TcpPort(0)
        raise WrongInput("there is no pty on this system: write --port tcp:0") from None
    return PtyPort()


def _say(text: str) -> None:
    print(text, flush=True)


def _greet(said: argparse.Namespace, port: serve.Port, say: Callable[[str], None]) -> None:
    if said.piped:
        first: dict[str, Any] = {"port": port.name, "address": said.address, "oven": said.oven}
        say(json.dumps(first))
        return
    say(
        f"A simulated {said.oven} oven listens on {port.name}, address {said.address}. "
        f"Try, in another terminal: soak run plane-irons --port {port.name} --address {said.address}"
        + (f" --rate {said.rate:g}" if said.rate != 1.0 else "")
    )
    say("Stop it with Ctrl-C.")


def main(words: list[str] | None = None) -> int:
    """Runs until the end of standard input (piped) or an interrupt. Returns the exit code."""
    said = _arguments().parse_args(words)
    try:
        if not 0.0 < said.rate <= FASTEST_RATE:
            raise WrongInput(f"rate {said.rate:g}: write above 0 and at most {FASTEST_RATE:g}")
        world = _world(said)
        port = _port(said.port)
    except WrongInput as wrong:
        print(f"hw_sim: {wrong}", file=sys.stderr)
        return 2
    commands = LinesIn() if said.piped else None
    try:
        _greet(said, port, _say)
        if commands is not None:
            # Ctrl-C at a terminal reaches parent and child alike; what to do about it is the parent's to decide
            signal.signal(signal.SIGINT, signal.SIG_IGN)
            serve.piped(world, port, commands, _say)
        else:
            serve.by_clock(world, port, said.rate, _say)
    except (KeyboardInterrupt, BrokenPipeError):
        return 0
    finally:
        port.close()
        if commands is not None:
            commands.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
