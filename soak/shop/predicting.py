"""What a logged temperature record made of a charge. Puts parts together; touches files through others."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from soak.errors import PlanError
from soak.job.fit import fit
from soak.job.history import History
from soak.job.job import Job
from soak.physics.thermocouple import tolerance
from soak.plan.choose import MEMBERS, spreads
from soak.plan.document import target_document
from soak.process import result
from soak.process.charge import build
from soak.process.draws import draw
from soak.process.state import cold
from soak.run.playback import PlaybackOven, replay
from soak.shop.trace_file import Measured, TraceFile, read_trace

# the iron's own temperature by a class 2 type K couple at 1000 degC, its tolerance read as two sigma
CHARGE_SIGMA_K = 0.5 * float(tolerance("K", "2", 1273.15))


@dataclass(frozen=True, slots=True)
class Predicted:
    document: dict[str, Any]
    trace: TraceFile


def predict(job: Job, history: History, path: Path, measured: Measured, members: int = MEMBERS) -> Predicted:
    """Fold a trace through the model.

    Raises JobError for a bad trace, PlanError for a charge that could not have been in that canister.
    """
    trace = read_trace(path, measured)
    fitted = fit(job)
    if not fitted.fits:
        raise PlanError(
            "does-not-fit", fitted.text, "correct count, gap or cover in the job to what was in the canister"
        )
    spread = spreads(job, history)
    base = CHARGE_SIGMA_K if measured == "charge" else spread["temperature_offset_k"]
    spread["temperature_offset_k"] = math.hypot(base, trace.doubt_k)
    charge = build(job, fitted, draw(members, spread), measured, history)
    first = trace.readings[0]
    shifted = tuple(replace(r, time_s=r.time_s - first.time_s) for r in trace.readings)
    state, events = replay(
        charge, cold(charge, (first.oven_c or 20.0) if measured == "charge" else 20.0), PlaybackOven(shifted)
    )
    target = job.target
    warnings = [{"code": "gap", "text": text} for text in trace.gaps]
    last_c = trace.readings[-1].oven_c or 0.0
    if last_c > 727.0:
        text = f"the trace ends at {last_c:.0f} degC: what the cooling adds is not counted"
        warnings.append({"code": "ends-hot", "text": text})
    hottest = max(r.oven_c or 0.0 for r in trace.readings)
    if hottest < 727.0:
        text = f"the trace never passes 727 degC (hottest {hottest:.0f} degC): no carbon went in"
        warnings.append({"code": "never-hot", "text": text})
    document = {
        "job": job.name,
        "title": job.title,
        "target": target_document(target),
        "measured_in": measured,
        "readings": len(trace.readings),
        "hours": round(shifted[-1].time_s / 3600.0, 3),
        "temperature_sigma_k": round(spread["temperature_offset_k"], 2),
        "predicted": result.predicted(charge, state, target),
        "pieces": result.pieces(charge, state, target, profile=True),
        "coupons": result.coupons(charge, state),
        "canister": result.canister(charge, state, job.canister),
        "events": [asdict(e) for e in events],
        "warnings": warnings,
    }
    return Predicted(document, trace)
