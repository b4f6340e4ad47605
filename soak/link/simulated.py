"""Is the thing on the line the simulator, and how fast does its time run? Touches the wire."""

from __future__ import annotations

from soak.errors import LinkError, UsageError
from soak.job.controller import Controller
from soak.link.modbus import Wire, check_address
from soak.link.port import open_port
from soak.link.registers import Block

MARKER = Block("holding", 9000, 3)
MARKER_WORDS = (0x736F, 0x616B)


def must_run_at(url: str, address: int, controller: Controller, rate: float) -> None:
    """Raises UsageError unless the simulator is there and its time runs `rate` times as fast as the wall's.

    A real oven's time never runs fast: hurrying its setpoints would be dangerous, so this is proven, not believed.
    """
    check_address(address)
    port = open_port(url, controller.line, controller.reply_timeout_s)
    wire = Wire(port, address, controller.worst_reply_s)
    try:
        words = wire.read(MARKER)
    except LinkError as error:
        raise UsageError(
            "not-simulated",
            f"--rate {rate:g} is only for the simulator, and {url} does not answer as one.",
            "Leave --rate out for a real oven.",
        ) from error
    finally:
        wire.close()
    if words[:2] != MARKER_WORDS:
        raise UsageError("not-simulated", f"{url} is not the simulator.", "Leave --rate out for a real oven.")
    if words[2] != round(rate):
        told = f"--rate {words[2]}" if words[2] != 1 else "no --rate"
        raise UsageError("other-rate", f"The simulator runs {words[2]} times as fast as the wall.", f"Write {told}.")
