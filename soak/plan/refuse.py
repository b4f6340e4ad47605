"""Jobs that no plan can serve, told before anything is tried. Pure."""

from __future__ import annotations

from soak.errors import PlanError
from soak.job.fit import chamber_complaint, fit
from soak.job.job import Job
from soak.job.packing import Fit
from soak.physics.activity import alloy, carbon_at
from soak.plan import ceiling
from soak.process.state import ZERO_C


def must_fit(job: Job) -> Fit:
    """How the charge lies, if it does and the canister goes into the oven and can breathe."""
    fitted = fit(job)
    if not fitted.fits:
        hint = f"{fitted.count_that_fits} would fit: lay fewer, or narrow gap and cover"
        raise PlanError("does-not-fit", fitted.text, hint, {"count_that_fits": fitted.count_that_fits})
    complaint = chamber_complaint(job)
    if complaint:
        raise PlanError("canister-too-big", complaint, "use a smaller canister or another oven")
    if job.canister.vent.kind == "none":
        text = f"the canister {job.canister.name} declares no vent: gas made in the heat would burst it"
        raise PlanError("no-vent", text, 'give it a hole or a tube of 3 to 6 mm, and say so: vent = { hole = "3 mm" }')
    return fitted


def must_be_below_saturation(job: Job, hottest_c: float, top: ceiling.Ceiling) -> None:
    """No pack puts in more than graphite saturation at the hottest hold allowed."""
    if job.pack.surface is not None:
        return
    kelvin = hottest_c + ZERO_C
    for stock in job.stock:
        most = float(carbon_at(0.0, kelvin, alloy(stock.iron.composition)))
        if job.target.carbon >= most:
            text = (
                f"{100 * job.target.carbon:.2f} % C is above saturation: {stock.iron.name} holds at most "
                f"{100 * most:.2f} % at {hottest_c:.0f} degC ({top.whose})"
            )
            raise PlanError("above-saturation", text, "ask for less carbon", {"carbon_pct": round(90 * most, 2)})
        if stock.iron.carbon > job.target.carbon:
            text = f"{stock.iron.name} already holds {100 * stock.iron.carbon:.2f} % C, more than the target"
            raise PlanError("already-there", text, "ask for more carbon, or leave this iron out")
