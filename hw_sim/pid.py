"""The control law of the simulated controller. Pure but for its own memory."""

from __future__ import annotations

from hw_sim.ovens import Tuning

RATE_FILTER = 3.0  # the rate term is smoothed over rate time / this [judgement]


class Pid:
    """Output in % from setpoint and reading: gain (r - y) + integral - gain Td dy/dt, held to 0-100 %.

    The gain rises with temperature (from gain_cold at 0 to gain_hot at 1000 degC), because the sheathed couple is slow
    when cold and quick when hot. Against windup the integral does not move further the way the output is already
    stuck, and stays within 0-100 % itself.
    """

    def __init__(self, tuning: Tuning) -> None:
        self._tuning = tuning
        self.reset()

    def reset(self) -> None:
        """Forget: the integral, and the way the reading was moving."""
        self._integral = 0.0
        self._smooth: float | None = None
        self._slope = 0.0

    def output_pct(self, setpoint_c: float, reading_c: float, dt_s: float) -> float:
        """The output [%] for the next dt_s."""
        tune = self._tuning
        gain = tune.gain_cold + (tune.gain_hot - tune.gain_cold) * min(max(reading_c / 1000.0, 0.0), 1.2)
        if self._smooth is None:
            self._smooth = reading_c
        if dt_s > 0.0 and tune.rate_s > 0.0:
            share = dt_s / (tune.rate_s / RATE_FILTER + dt_s)
            moved = share * (reading_c - self._smooth)
            self._smooth += moved
            self._slope = moved / dt_s
        error = setpoint_c - reading_c
        wanted = gain * (error - tune.rate_s * self._slope) + self._integral
        step = gain * error * dt_s / tune.reset_s
        stuck = (wanted >= 100.0 and step > 0.0) or (wanted <= 0.0 and step < 0.0)
        if not stuck:
            self._integral = min(100.0, max(0.0, self._integral + step))
        return min(100.0, max(0.0, wanted))
