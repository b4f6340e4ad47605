"""What the predictions are worth, where they come from, and what to do next: the words of the report. Pure.

Sources are taken from the constants themselves, so that the page cannot say another one.
"""

from __future__ import annotations

from soak.physics import activity, diffusivity, energizer, gas, heat, scaling, surface
from soak.report.facts import Facts
from soak.report.show import Units
from soak.sources import Sourced

OPEN_C = 60.0  # hot charcoal takes fire again: open only below (judgement, the design's figure)
THIN_SOAKS = 1.0  # fewer soaks left than this at the low end: measure the wall first

_LAWS: tuple[tuple[str, Sourced], ...] = (
    ("how fast carbon moves in iron", diffusivity.D_0),
    ("how much carbon iron takes up", activity.H_C),
    ("how carbon leaves the charcoal", surface.K1F),
    ("gas over charcoal", gas.DG_0),
    ("what the energizer adds", energizer.DOSE),
    ("heat into the pack", heat.K_MULT_SIGMA),
    ("how fast the wall turns to scale", scaling.KP_0),
    ("how much faster at its thinnest spot", scaling.LOCAL),
)
# The notice its licence asks for wherever numbers made with it are shown.
_NOTICE = "what Mn, Cr and Ni change: contains information from mc_fe 2.059 (E. Povoden-Karadeniz, TU Wien), ODbL"
_HOW = {
    "seen": "read in the source",
    "memory": "from memory, not checked",
    "computed": "worked out here",
    "judgement": "a judgement",
}

WORTH = (
    "A band runs from the 10 % to the 90 % point of many runs of the same soak, each with other values of what is not "
    "known (the table under Inputs). One result in ten lies below a band, one above: if the doubts are judged rightly.",
    "Most doubt comes from the pack (how fast its charcoal gives carbon, how tight the lute is) and from the true "
    "temperature of the iron. The doubts are mostly judgements, not measurements.",
    "Not in the band: slag and its blisters, scale or rust left on the iron, pieces that moved and touch, a lid that "
    "lifted, an iron that is not what its profile says.",
    "Nothing here was measured in the iron unless the notes say so. A weighing to 0.1 g in a kilogram narrows the "
    "mean carbon more than any calculation.",
)


def sources() -> tuple[str, ...]:
    """One line a law: what it is for, its source, and how that is known."""
    return (*(f"{what}: {law.source} ({_HOW[law.how]})" for what, law in _LAWS), _NOTICE)


def next_steps(facts: Facts, units: Units) -> tuple[str, ...]:
    """What to do now, most pressing first."""
    open_at = units.temperature_text(OPEN_C)
    steps = [
        f"Do not open the canister above {open_at}: it holds carbon monoxide, and hot charcoal takes fire again. "
        "Open it outdoors or under a hood; a CO alarm stands by."
    ]
    if facts.core_end_c is not None and facts.core_end_c > OPEN_C:
        last = units.temperature_text(facts.core_end_c)
        steps.insert(0, f"Leave it shut: the core was estimated at {last} when this record ends.")
    steps += [
        "Wash off the pack in hot water, dry, and weigh every piece cold. Compare with the weight before: "
        "the gain is carbon, less what scaled off. Record it with soak note.",
        "Keep a coupon of each iron from this soak, marked with the run's name. Break or file-test one before "
        "working up the rest.",
    ]
    low = facts.soaks_left.low
    if low is not None and low < THIN_SOAKS:
        steps.append("Measure the canister's wall at its thinnest spot before using it again: it may not bear a soak.")
    else:
        steps.append("Brush the canister, look for thin spots and cracked welds, and record what you see.")
    steps.append("Keep the used pack dry and labelled with how often it was used: a used pack gives less carbon.")
    return tuple(steps)
