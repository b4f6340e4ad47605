"""The simulated controller: a single loop with Modbus registers. Touches nothing; the world hands it time and readings.

Registers (holding and input alike; wire addresses, 16 bits; temperatures and percents are signed tenths):

  at  name             access  what
   0  pv               read    what the sensor says, 0.1 degC; 32767 when the sensor is open
   1  setpoint_in_use  read    what the loop works to, 0.1 degC; follows 2, but stands still while held
   2  setpoint_asked   write   0 to setpoint_max, 0.1 degC; outside that the write is refused, exception 3
   3  output_pct       read    heater output, 0.1 %; 0 when idle or when the sensor is open
   4  run_state        read    0 idle, 1 run, 2 held (3 done is never shown: no program is kept here)
   5  alarm_word       read    bit 0 sensor open; bit 3 high limit: the oven's own limiter has opened
   6  setpoint_max     read    0.1 degC
  16  run_command      write   0 idle, 1 run, 2 hold; reads back the last one; anything else: exception 3
9000  marker           read    three words that only this stand-in has: 0x736F, 0x616B, and how many seconds of its
                               world pass in one of wall time (0: its time moves at commands)

Any other address, also a read that runs across the gap or a write to a register that is only read: exception 2.
At power-up: idle, setpoint 0. Idle cuts the output at once; run takes effect at the next sample. There is no resident
program: its addresses (256 and up in the example map) answer exception 2.
"""

from __future__ import annotations

from hw_sim.ovens import Tuning
from hw_sim.pid import Pid
from hw_sim.rtu import ILLEGAL_ADDRESS, ILLEGAL_VALUE, Refusal

PV, SETPOINT_IN_USE, SETPOINT_ASKED, OUTPUT_PCT, RUN_STATE, ALARM_WORD, SETPOINT_MAX = range(7)
RUN_COMMAND = 16
MARKER, MARKER_WORDS = 9000, (0x736F, 0x616B)
IDLE, RUN, HOLD = 0, 1, 2
SENSOR_OPEN_BIT, HIGH_LIMIT_BIT = 0, 3
NO_READING = 32767


class Controller:
    """Registers, states and the control loop."""

    def __init__(self, tuning: Tuning, max_c: float) -> None:
        self._pid = Pid(tuning)
        self._setpoint_max = round(10.0 * max_c)
        self._setpoint_asked = 0
        self._setpoint_in_use = 0
        self._state = IDLE
        self._pv: int | None = None
        self._limiter_open = False
        self.output_pct = 0.0
        self.rate = 0

    def sample(self, dt_s: float, reading_c: float | None, limiter_open: bool = False) -> None:
        """A new reading (None: sensor open) dt_s after the last; sets the output for the time until the next."""
        self._limiter_open = limiter_open
        self._pv = None if reading_c is None else max(-32768, min(NO_READING - 1, round(10.0 * reading_c)))
        if self._pv is None or self._state == IDLE:
            self._off()
            return
        self.output_pct = self._pid.output_pct(self._setpoint_in_use / 10.0, self._pv / 10.0, dt_s)

    def read(self, at: int, count: int) -> list[int]:
        """Words from `at` on. Raises Refusal 2 when one of them is not there."""
        if (at, count) == (MARKER, 3):
            return [*MARKER_WORDS, self.rate]
        if at >= 0 and at + count <= RUN_COMMAND:
            words = self._first_seven()[at : at + count]
        else:
            words = [self._state] if (at, count) == (RUN_COMMAND, 1) else []
        if len(words) != count:
            raise Refusal(ILLEGAL_ADDRESS)
        return words

    def write(self, at: int, words: list[int]) -> None:
        """Words from `at` on, all or none. Raises Refusal 2 for a place that cannot be written, 3 for a bad value."""
        if len(words) != 1 or at not in (SETPOINT_ASKED, RUN_COMMAND):
            raise Refusal(ILLEGAL_ADDRESS)
        word = words[0]
        if at == SETPOINT_ASKED:
            if not 0 <= word <= self._setpoint_max:  # a negative value is a word above 32767
                raise Refusal(ILLEGAL_VALUE)
            self._setpoint_asked = word
        else:
            if word not in (IDLE, RUN, HOLD):
                raise Refusal(ILLEGAL_VALUE)
            self._state = word
            if word == IDLE:
                self._off()
        if self._state != HOLD:
            self._setpoint_in_use = self._setpoint_asked

    def _off(self) -> None:
        self.output_pct = 0.0
        self._pid.reset()

    def _first_seven(self) -> list[int]:
        return [
            NO_READING if self._pv is None else self._pv & 0xFFFF,
            self._setpoint_in_use,
            self._setpoint_asked,
            round(10.0 * self.output_pct),
            self._state,
            (self._pv is None) << SENSOR_OPEN_BIT | self._limiter_open << HIGH_LIMIT_BIT,
            self._setpoint_max,
        ]
