"""A run looked at again with what was found afterwards: its record folded, its members weighed. Touches no file."""

from __future__ import annotations

from typing import Any

import numpy as np

from soak.errors import RecordError
from soak.job.fit import fit
from soak.job.read import job_from_record
from soak.process import evidence
from soak.process.charge import build
from soak.process.draws import Draws
from soak.process.evidence import Witness
from soak.process.outcome import reached, slowest
from soak.process.state import cold
from soak.record.rows import Note, Record
from soak.run.playback import PlaybackOven, replay


def witnesses(notes: tuple[Note, ...]) -> tuple[Witness, ...]:
    """The melting witnesses among a run's notes."""
    told = [n.values for n in notes if n.kind == "witness"]
    return tuple(Witness(float(v["witness_c"]), bool(v["melted"])) for v in told)


def with_witnesses(record: Record) -> dict[str, Any] | None:
    """What the witnesses make of a run's carbon and temperature; None without any.

    Raises RecordError when the record cannot be folded again.
    """
    found = witnesses(record.notes)
    if not found:
        return None
    job = job_from_record(record.header.job_text, record.header.profiles, record.header.job)
    told = record.header.draws
    try:
        arrays = [np.array(told[k], dtype=float) for k in ("scores", "values", "weights")]
        draws = Draws(tuple(told["names"]), *arrays)
        charge = build(job, fit(job), draws)
    except (KeyError, ValueError) as error:
        raise RecordError(
            "cannot-fold", f"the run keeps no usable draws ({error})", "older runs cannot be weighed"
        ) from None
    state, _ = replay(charge, cold(charge), PlaybackOven(record.readings))
    weighed = evidence.weigh(charge, state, found)
    piece = slowest(charge, state, job.target)
    values = 100.0 * reached(charge, state, job.target)[:, piece]
    return {
        "witnesses": [{"melts_c": w.melts_c, "melted": w.melted} for w in found],
        "agrees": evidence.agreed(state, weighed),
        "piece": charge.pieces[piece].label,
        "carbon_pct": evidence.posterior(values, weighed.weight).as_dict(),
        "carbon_before_pct": evidence.posterior(values, state.weight).as_dict(),
        "temperature_sigma_k": round(evidence.temperature_doubt_k(charge, weighed), 1),
        "temperature_sigma_before_k": round(evidence.temperature_doubt_k(charge, state), 1),
    }
