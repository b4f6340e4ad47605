"""What may be said to a piped world, one line each, and what it answers: one JSON object a line. No input, no output.

  advance 50     50 s pass; answers what really is (see World.true)
  true           nothing passes; answers the same
  fault NAME     a fault begins now; answers {"fault": NAME, "time_s": ...}
Anything else: {"error": ...}, and nothing has happened.
"""

from __future__ import annotations

import json
import math

from hw_sim.errors import WrongInput
from hw_sim.world import LONGEST_ADVANCE_S, World


def obey(world: World, line: str) -> str:
    """One command; the JSON text of its answer, without the end of line."""
    word, _, rest = line.partition(" ")
    rest = rest.strip()
    try:
        if word == "advance":
            world.advance(_seconds(rest))
            return json.dumps(world.true())
        if word == "true" and not rest:
            return json.dumps(world.true())
        if word == "fault":
            world.start_fault(rest)
            return json.dumps({"fault": rest, "time_s": world.true()["time_s"]})
        raise WrongInput(f"command {line!r} is not known: write advance SECONDS, true, or fault NAME")
    except WrongInput as wrong:
        return json.dumps({"error": str(wrong)})


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = math.nan
    if not 0.0 <= seconds <= LONGEST_ADVANCE_S:
        raise WrongInput(f"advance {text!r}: write seconds from 0 to {LONGEST_ADVANCE_S:g}, as in: advance 50")
    return seconds
