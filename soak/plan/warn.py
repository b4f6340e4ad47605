"""What a plan should say before anybody lights anything: one code, one line each. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from soak.job.job import Job
from soak.physics.activity import A1_K, acm
from soak.physics.coupon import slag_carbon
from soak.physics.scaling import limits
from soak.plan.ceiling import ALKALI_MOST_C, ALKALI_SHARE, alkali_share
from soak.plan.choose import BREACH_REFUSE, BREACH_WARN, Planned
from soak.plan.packdoc import accounts
from soak.process.outcome import breach_chance
from soak.process.outcome import surface as surface_of
from soak.process.state import ZERO_C

CARBON_RATIO_LEAST = 5.0
VENT_MOST_PA = 500.0  # 200 L in an hour through 3 mm; more lifts a lid or cracks a lute (judgement)
FERRITE_C = 900.0
FITTED_TO = {"C": 0.022, "P": 0.007}  # mass fractions; 0.012 for the other elements


@dataclass(frozen=True, slots=True)
class Warning:
    code: str
    text: str


def warnings(planned: Planned) -> tuple[Warning, ...]:
    """All that apply: what can hurt somebody first, then canister, pack, iron and model."""
    return (*_always(planned.job), *_canister(planned), *_pack(planned), *_iron(planned), *_model(planned))


def _canister(planned: Planned) -> list[Warning]:
    job, hold_c = planned.job, planned.chosen.hold_c
    out = []
    chance = breach_chance(planned.charge, planned.outcome.state)
    if chance > BREACH_REFUSE:
        text = f"breach in {100 * chance:.0f} of 100 such soaks, accepted because: {planned.overridden}"
        out.append(Warning("breach-accepted", text))
    elif chance > BREACH_WARN:
        out.append(Warning("breach", f"breach in {100 * chance:.0f} of 100 such soaks: use a thicker canister"))
    for limit in limits(job.canister.material):
        if limit.severity == "warning" and hold_c + ZERO_C > limit.above_K:
            out.append(Warning(limit.code, f"{limit.text} (hold {hold_c:.0f} degC)"))
    if job.oven.heat == "gas":
        text = "burnt gas scales a canister 1.2 to 1.6 times faster than air, or worse; wall figures are for air"
        out.append(Warning("fuel-fired", text))
    return out


def _pack(planned: Planned) -> list[Warning]:
    job, pack, hold_c = planned.job, planned.job.pack, planned.chosen.hold_c
    if pack.surface is not None:
        return [Warning("surface-stated", "the surface is stated, not computed: lute, gas and charcoal play no part")]
    out = []
    books = accounts(planned)
    ratio = books["carbon_ratio"]
    if ratio < CARBON_RATIO_LEAST:
        out.append(
            Warning(
                "pack-short",
                f"the pack holds {ratio:.1f} times the carbon needed; below 5 it runs short: more cover, less iron",
            )
        )
    if alkali_share(job) > 0.0 and hold_c > ALKALI_MOST_C:
        share = "more" if alkali_share(job) > ALKALI_SHARE else "no more"
        text = (
            f"above 1000 degC soda and potash leave as vapour that attacks brick and elements ({share} than 5 % here)"
        )
        out.append(Warning("alkali-vapour", text))
    if books["vent_pressure_pa"] > VENT_MOST_PA:
        litres, pascal = books["gas_made_l"], books["vent_pressure_pa"]
        text = f"{litres:.0f} L of gas through this vent needs {pascal:.0f} Pa: a wider one"
        out.append(Warning("vent-narrow", text))
    co = float(planned.outcome.state.co[0])
    if not pack.energizer.get("BaCO3") and co < 0.6:
        text = (
            f"the energizer's gas is spent in the ramp; CO falls to {100 * co:.0f} % as air creeps in through the lute"
        )
        out.append(Warning("gas-spent", text))
    if pack.caution:
        out.append(Warning("pack-caution", pack.caution))
    if pack.moisture > 0.02:
        out.append(
            Warning(
                "damp-pack",
                f"{100 * pack.moisture:.0f} % water in the pack: dry it, or keep the vent open in the drying hold",
            )
        )
    return out


def _iron(planned: Planned) -> list[Warning]:
    out = []
    state, job = planned.outcome.state, planned.job
    hold_c = planned.chosen.hold_c
    surface = float(surface_of(planned.charge, state)[0, : planned.charge.work].max())
    if job.target.surface_max is not None and surface > job.target.surface_max:
        text = f"surface {100 * surface:.2f} % C is above surface_max: use a cooler hold or a weaker pack"
        out.append(Warning("surface-max", text))
    if surface > float(acm(A1_K.value)):
        text = (
            f"surface {100 * surface:.2f} % C: slow cooling leaves a carbide network there; normalise before hardening"
        )
        out.append(Warning("carbide-network", text))
    for stock in job.stock:
        iron = stock.iron
        p = iron.composition.get("P", 0.0)
        if (p >= 0.003 and surface >= 0.012 and hold_c >= 1000.0) or (
            p >= 0.005 and surface >= 0.008 and hold_c >= 950.0
        ):
            text = f"{iron.name}: phosphide may begin to melt ({100 * p:.2f} % P, {100 * surface:.2f} % C)"
            out.append(Warning("phosphide-melting", text))
        far = [f"{n} {100 * x:.2f} %" for n, x in iron.composition.items() if x > FITTED_TO.get(n, 0.012)]
        if far:
            text = f"{iron.name}: {', '.join(far)} is outside what the activity law was fitted to"
            out.append(Warning("out-of-range", text))
        if p > 0.0:
            text = f"{iron.name}: phosphorus takes off a few per cent of the carbon (to a factor of two); cold-short"
            out.append(Warning("phosphorus", text))
        if iron.slag_feo > 0.0:
            most = 100 * float(slag_carbon(1.0, iron.slag_feo, 1.0))
            text = f"{iron.name}: its slag eats up to {most:.2f} % C (counted: about half) and spoils weighing"
            out.append(Warning("slag", text))
    if job.packing.touching > 1:
        n = job.packing.touching
        out.append(
            Warning(
                "touching",
                f"{n} pieces touch: they carburize as one {n} times as thick and take far less",
            )
        )
    if hold_c < FERRITE_C:
        out.append(
            Warning(
                "ferrite-core",
                "below 900 degC a ferrite core takes little carbon; leaving that out errs by 2 % or more",
            )
        )
    return out


def _model(planned: Planned) -> list[Warning]:
    return [Warning(e.code, e.text) for e in planned.outcome.events if e.code in ("out-of-range", "member-frozen")]


def _always(job: Job) -> list[Warning]:
    out = [
        Warning(
            "carbon-monoxide",
            "the vent gives off carbon monoxide, no smell: CO alarm, extraction, vent never blocked",
        ),
        Warning("open-cold", "open only below 60 degC: hot charcoal reignites when air reaches it"),
        Warning(
            "not-a-safety-device",
            "supervision, no safety device: fit an independent limiter; local codes and licensed practice come first",
        ),
    ]
    if not job.oven.controlled:
        out.append(
            Warning(
                "no-controller",
                "no controller: follow the segments by hand, log the temperature, then soak predict",
            )
        )
    return out
