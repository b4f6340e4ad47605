"""A real controller as an `Oven` (run/ports.py): one poll a look, setpoints that are proven, the safe end state.

Touches the wire, nothing else; the time it knows is the run's, handed in with each look.
"""

from __future__ import annotations

import contextlib
import dataclasses

from soak.errors import BadReply, LinkError, NoReply, PortError, Refused
from soak.job.controller import Controller
from soak.link.modbus import Wire, check_address
from soak.link.port import open_port
from soak.link.registers import decode, encode, plan_reads, values
from soak.link.wear import Wear, over_budget
from soak.sources import Sourced
from soak.trace import Reading

WRITE_TRIES = Sourced(2, "1", "one setpoint", "a setpoint written twice is the same setpoint", "judgement")
LOOKS = Sourced(3, "1", "after one command", "a controller may take some polls to change its state", "judgement")
SAFE_TRIES = Sourced(3, "1", "the safe end state", "some 10 s on a silent line, then a person must act", "judgement")
CUT_POWER = "Cut power at the isolator now, and stay until the oven falls."


class ModbusOven:
    """An oven behind a Modbus controller. limit_c [degC] is the ceiling no setpoint may pass.

    writes_before: setpoint writes this run made before it was resumed; they count against the budget.
    """

    def __init__(self, wire: Wire, controller: Controller, limit_c: float, writes_before: int = 0) -> None:
        self._wire = wire
        self._controller = controller
        self._limit_c = limit_c
        self._signals = controller.signals
        self._reads = plan_reads(controller)
        self._wear = Wear(writes_before)
        self._time_s = 0.0
        self._seen: dict[str, float | None] = {}
        encode(self._signals["setpoint_asked"], limit_c)  # a register that cannot hold the limit is found here, not hot
        self._word(controller.safe_setpoint_c)

    @classmethod
    def open(cls, url: str, address: int, controller: Controller, limit_c: float, writes_before: int = 0) -> ModbusOven:
        """The oven at a device path or `socket://host:port`. Raises UsageError, PortError, Refused, JobError."""
        check_address(address)
        port = open_port(url, controller.line, controller.reply_timeout_s)
        try:
            return cls(Wire(port, address, controller.worst_reply_s), controller, limit_c, writes_before)
        except BaseException:
            port.close()
            raise

    @property
    def writes(self) -> int:
        """Setpoint writes of this run so far, safety writes included."""
        return self._wear.writes

    @property
    def questions(self) -> int:
        """Modbus questions sent so far."""
        return self._wire.questions

    def read(self, time_s: float) -> Reading:
        """One look at run time `time_s` [s]. With the sensor open there is no temperature: oven_c is None."""
        self._time_s = time_s
        seen = self._look()
        bit, word = self._controller.sensor_open, seen.get("alarm_word")
        is_open = bit is not None and word is not None and bool(int(word) >> bit & 1)
        return Reading(
            time_s,
            oven_c=None if is_open else seen["pv"],
            setpoint_c=seen["setpoint_asked"],
            output_pct=seen["output_pct"],
            sensor_open=is_open,
        )

    def ask(self, setpoint_c: float) -> None:
        """Ask for a setpoint [degC], prove it by a separate read-back, start the controller if it is idle.

        Nothing leaves if the setpoint stands already. Raises Refused: not-a-number, over-limit, below-safe,
        controller-limit, write-budget (no frame leaves), not-accepted, not-obeyed, held; or another LinkError.
        """
        word = self._word(setpoint_c)
        if self._seen.get("setpoint_asked") is None:
            self._look()
        most_c = self._seen.get("setpoint_max")
        if most_c is not None and setpoint_c > most_c:
            raise Refused(
                "controller-limit",
                f"The controller takes at most {most_c:g} degC; {setpoint_c:g} degC was asked.",
                "Raise the setpoint limit at the controller, or plan a cooler soak.",
            )
        standing_c = self._seen.get("setpoint_asked")
        if decode(self._signals["setpoint_asked"], word) != standing_c:
            why = over_budget(self._controller, self._wear, self._time_s, standing_c, setpoint_c)
            if why:
                raise Refused("write-budget", f"Setpoint {setpoint_c:g} degC not written: {why}.", "Ask less often.")
            self._send_setpoint(setpoint_c)
            # Only now: one that was lost may be asked again at once (it has been counted all the same).
            self._wear = dataclasses.replace(self._wear, last_s=self._time_s)
        if setpoint_c > self._controller.safe_setpoint_c:
            self._start()

    def make_safe(self) -> None:
        """Lowest setpoint and idle, both read back; up to 3 tries, no budget. Raises LinkError if not proven."""
        last: LinkError | None = None
        for _ in range(int(SAFE_TRIES.value)):
            failed: LinkError | None = None
            try:
                self._send_setpoint(self._controller.safe_setpoint_c)
            except (NoReply, PortError) as error:  # a silent line stays silent for the idle command too
                last = error
                continue
            except LinkError as error:
                failed = error
            try:
                self._command("idle")
            except LinkError as error:
                failed = failed or error
            if failed is None:
                return
            last = failed
        why = last.text if last else ""
        raise LinkError("not-safe", f"The oven could not be made safe. {why} {CUT_POWER}", CUT_POWER) from last

    def close(self) -> None:
        """Lets go of the port. What the controller does then is its own affair: make_safe first."""
        self._wire.close()

    def _word(self, setpoint_c: float) -> int:
        """The register word of a setpoint. Refuses, never clips."""
        word = encode(self._signals["setpoint_asked"], setpoint_c, self._limit_c)
        if setpoint_c > self._limit_c:
            raise Refused(
                "over-limit",
                f"Setpoint {setpoint_c:g} degC is over the limit of this run, {self._limit_c:g} degC.",
                "Nothing was sent. Plan a cooler soak, or raise the limit in the job.",
            )
        safe_c = self._controller.safe_setpoint_c
        if setpoint_c < safe_c:
            raise Refused(
                "below-safe",
                f"Setpoint {setpoint_c:g} degC is below the safe setpoint of the controller, {safe_c:g} degC.",
                "Nothing was sent. Ask for the safe setpoint itself to switch heating off.",
            )
        return word

    def _send_setpoint(self, setpoint_c: float) -> None:
        """The one way a setpoint leaves. Whatever the write seemed to do, only the read-back counts."""
        signal, word = self._signals["setpoint_asked"], self._word(setpoint_c)
        for left in reversed(range(int(WRITE_TRIES.value))):
            self._wear = dataclasses.replace(self._wear, writes=self._wear.writes + 1)
            self._seen.pop("setpoint_asked", None)
            failed: LinkError | None = None
            try:
                self._wire.write(signal.at, word, self._controller.write_with)
            except (NoReply, BadReply) as error:
                failed = error
            block = self._reads.setpoint
            stands = self._wire.read(block)[signal.at - block.at]
            self._seen["setpoint_asked"] = decode(signal, stands)
            if stands == word:
                return
            if failed is None:
                raise Refused(
                    "not-accepted",
                    f"Setpoint {setpoint_c:g} degC was written, but {decode(signal, stands)} degC stands.",
                    "The controller may be in local mode, locked, or following its own program or limit.",
                )
            if not left:
                raise failed

    def _start(self) -> None:
        """Start the controller if it is idle. A hold at its front panel is a person's will: refused, not overruled."""
        state = self._state()
        if state == "held":
            raise Refused("held", "The controller is held at its front panel.", "Release the hold there.")
        if state == "idle":
            self._command("run")

    def _command(self, name: str) -> None:
        """Command a run state and prove it. Never repeated blindly: the state is read again before a second try."""
        signal = self._signals.get("run_command")
        code = self._controller.run_commands.get(name)
        if signal is None or code is None:
            return
        for _ in range(int(WRITE_TRIES.value)):
            with contextlib.suppress(NoReply, BadReply):  # it may have arrived all the same: the state says
                self._wire.write(signal.at, code, self._controller.write_with)
            if self._obeyed(name, code):
                return
        raise Refused(
            "not-obeyed",
            f"The controller was told {name} and reports {self._state() or 'something else'}.",
            "Is it in local mode or locked?",
        )

    def _obeyed(self, name: str, code: int) -> bool:
        for _ in range(int(LOOKS.value)):
            if "run_state" in self._signals and name in self._controller.run_states.values():
                self._look()
                done = self._state() == name
            else:  # no state to look at: the command register itself must stand
                block, signal = self._reads.command, self._signals["run_command"]
                done = block is not None and self._wire.read(block)[signal.at - block.at] == code
            if done:
                return True
        return False

    def _state(self) -> str:
        code = self._seen.get("run_state")
        return "" if code is None else self._controller.run_states.get(int(code), "")

    def _look(self) -> dict[str, float | None]:
        seen: dict[str, float | None] = {}
        for block in self._reads.poll:
            seen |= values(self._signals, block, self._wire.read(block))
        self._seen = seen
        return seen
