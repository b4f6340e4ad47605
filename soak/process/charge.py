"""The charge: everything about this canister that does not change while time passes, as arrays. Pure.

Built once from a job and its draws by `build`. Leading axis: member. Pieces: every kind of stock appears twice, at the
wall and in the core, because the two are not heated alike.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from soak.job.history import History
from soak.job.job import Job
from soak.job.pack import Surface
from soak.job.packing import Fit
from soak.job.stock import Stock
from soak.physics import energizer, section, spall
from soak.physics.activity import Alloy, alloy
from soak.physics.diffusion import Grid, grid, stack
from soak.physics.section import Section
from soak.physics.tube import tube_grid
from soak.process.draws import Draws
from soak.process.heat import HeatModel, heat_model

Array = NDArray[np.float64]
Index = NDArray[np.int64]

STEEL_DENSITY = 7870.0  # kg/m3 at room temperature; lengths too are those at room temperature (both neglect 1.2 %)
VOID_SHARE = 0.69  # of the pack's volume: between the grains and inside them (computed from 230 kg/m3 of charcoal)
NODES = 31
EDGE_RATIO = 6.0  # strips narrower than this many thicknesses are taken as whole sections


@dataclass(frozen=True, slots=True)
class Piece:
    """One kind of stock at one place. label as shown to people; count: how many it stands for."""

    label: str
    stock: Stock
    where: Literal["wall", "core"]
    half_m: float
    count: float
    mass_kg: float  # of one
    role: Literal["work", "coupon"] = "work"


@dataclass(frozen=True, slots=True)
class Gas:
    """The room between the grains and what comes in and out of it.

    void_m3; leak [m], shape (member,): area over length of every path to the outside, so that leak * D is m3/s.
    lime_mol, barium_mol, volatile_mol: gas (CO or like it) each could still make, mol.
    """

    void_m3: float
    leak: Array
    lime_mol: float
    barium_mol: float
    volatile_mol: float


@dataclass(frozen=True, slots=True)
class Charge:
    """See the module. Shapes: member m, piece p, node n.

    Most pieces carburize through one depth; bars and narrow strips through a whole section. `flat` and `bars` are the
    indices of the two kinds among `pieces`; depth (p, n) is that of a profile from the surface in, for both.
    """

    pieces: tuple[Piece, ...]
    flat: Index
    bars: Index
    depth: Array
    grid: Grid  # of the flat ones
    section: Section | None  # of the bars
    alloy: Alloy  # sites (p,); a, b, g (m, p), since what phosphorus does is drawn
    start: Array  # (p,), as is depth_s
    slag: Array  # (m, p): FeO that carbon can reduce, mass fraction
    depth_s: Array  # thickness of pack that feeds each piece [m]
    heat: HeatModel
    gas: Gas
    pack_kg: float
    catalyst: float
    energizer: dict[str, float]
    grain_m: float
    surface: Surface | None
    pack_conductance: Array  # (m,) and so on: the draws, in SI
    offset_k: Array
    diffusivity: Array
    ln_activity: Array
    scaling: Array
    local: Array
    wall_m: Array  # (m,) as new, with its tolerance
    wall_lost_m: float
    wet: bool  # burnt gas round the canister
    breakaway_k: Array  # (m,): wall temperature from which an 18-8 canister scales without protection
    material: str
    measured: Literal["oven", "charge"]
    weights: Array
    watch_grain: bool = True
    still_k: float = 6.0  # a process step may grow to its longest while the oven moves less than this
    longest_s: float = 300.0
    behind_k: float = 20.0  # ... and only once the core has come this close to a hot oven

    @property
    def work(self) -> int:
        """How many of the pieces are work; coupons stand behind them."""
        return sum(p.role == "work" for p in self.pieces)

    @property
    def volume_m(self) -> Array:
        """Volume over surface of each piece [m], shape (p,)."""
        out = np.empty(len(self.pieces))
        out[self.flat] = self.grid.volume.sum(axis=-1)
        if self.section is not None:
            out[self.bars] = self.section.volume.sum(axis=(-2, -1))
        return out

    @property
    def members(self) -> int:
        return len(self.weights)

    def member(self, index: int) -> Charge:
        """The same charge with one member only."""
        i = slice(index, index + 1)
        return replace(
            self,
            heat=self.heat.member(index),
            gas=replace(self.gas, leak=self.gas.leak[i]),
            alloy=replace(self.alloy, **{f: np.asarray(getattr(self.alloy, f))[i] for f in ("a", "b", "g")}),
            **{
                name: getattr(self, name)[i]
                for name in (
                    "pack_conductance",
                    "offset_k",
                    "diffusivity",
                    "ln_activity",
                    "scaling",
                    "local",
                    "wall_m",
                    "breakaway_k",
                    "slag",
                    "weights",
                )
            },
        )


def build(
    job: Job, fit: Fit, draws: Draws, measured: Literal["oven", "charge"] = "oven", history: History | None = None
) -> Charge:
    """Turn a job into arrays.

    Args:
        job: what the smith has.
        fit: how it lies in the canister (steel share, volume of the pack).
        draws: the ensemble.
        measured: what the readings are: the oven's couple, or the iron's own temperature.
        history: what earlier soaks left of the canister and taught about its scaling.
    """
    history = history or History()
    work = [p for i, s in enumerate(job.stock) for p in _pieces(i, s, job)]
    pieces = (*work, *(_coupon(i, s) for i, s in enumerate(job.coupons)))
    pack = job.pack
    pack_kg = fit.pack_volume_m3 * pack.density
    made = {name: pack_kg * share for name, share in pack.energizer.items()}
    gas = Gas(
        void_m3=fit.pack_volume_m3 * VOID_SHARE,
        leak=_leak(job, draws),
        lime_mol=made.get("CaCO3", 0.0) * energizer.co_per_kg("CaCO3") * (1.0 - pack.reuse),
        barium_mol=made.get("BaCO3", 0.0) * energizer.co_per_kg("BaCO3") * (1.0 - 0.5 * pack.reuse),
        volatile_mol=pack_kg * pack.volatiles * energizer.VOLATILE_GAS.value * (1.0 - pack.reuse),
    )
    two = np.array([_two_dimensional(p) for p in pieces])
    grids = [_grid(p) for p in pieces]
    bars = [p for p in pieces if _two_dimensional(p)]
    return Charge(
        pieces=pieces,
        flat=np.nonzero(~two)[0],
        bars=np.nonzero(two)[0],
        depth=np.concatenate([g.depth for g in grids]),
        grid=stack(tuple(g for g, is_bar in zip(grids, two, strict=True) if not is_bar)),
        section=section.stack(tuple(section.section(2.0 * p.half_m, p.stock.width_m) for p in bars)) if bars else None,
        alloy=_alloys(pieces, draws["phosphorus"]),
        start=np.array([p.stock.iron.carbon for p in pieces]),
        slag=draws["slag_reduced"][:, None] * np.array([p.stock.iron.slag_feo for p in pieces]),
        depth_s=np.array([_feeding_depth(p, job) for p in pieces]),
        heat=heat_model(job, fit, draws["pack_conductivity"], pieces_where=tuple(p.where for p in pieces)),
        gas=gas,
        pack_kg=pack_kg,
        catalyst=energizer.catalyst(pack.energizer, pack.reuse, pack.uses),
        energizer=pack.energizer,
        grain_m=pack.grain_m,
        surface=pack.surface,
        pack_conductance=draws["pack_conductance"],
        offset_k=draws["temperature_offset_k"],
        diffusivity=draws["diffusivity"],
        ln_activity=draws["ln_activity"],
        scaling=draws["scaling_rate"] * history.scaling_scale,
        local=draws["local_factor"],
        wall_m=job.canister.wall_m * draws["wall_thickness"],
        wall_lost_m=history.wall_lost_m,
        wet=job.oven.heat == "gas",
        breakaway_k=spall.breakaway_onset(_early(draws)),
        material=job.canister.material,
        measured=measured,
        weights=draws.weights,
    )


def _pieces(index: int, stock: Stock, job: Job) -> list[Piece]:
    """The stock at the wall and in the core; touching pieces are one piece of the summed thickness."""
    touching = max(1, min(job.packing.touching, stock.count)) if stock.shape == "strip" else 1
    half = 0.5 * stock.thickness_m * touching
    mass = _mass_kg(stock)
    name = f"{index + 1}"
    if stock.count == 1:
        return [Piece(f"{name} core", stock, "core", half, 1.0, mass)]
    core = stock.count / 2.0
    return [
        Piece(f"{name} wall", stock, "wall", half, stock.count - core, mass),
        Piece(f"{name} core", stock, "core", half, core, mass),
    ]


def _two_dimensional(piece: Piece) -> bool:
    """Bars, and strips that gain noticeably through their edges."""
    stock = piece.stock
    narrow = stock.shape == "strip" and stock.width_m < EDGE_RATIO * 2.0 * piece.half_m
    return stock.shape in ("square", "rectangle") or narrow


def _grid(piece: Piece) -> Grid:
    """The depth that carbon goes through in this piece: for a bar that from the middle of its wide face."""
    stock = piece.stock
    if stock.shape == "tube":
        return tube_grid(0.5 * stock.width_m, stock.thickness_m, NODES)
    return grid("round" if stock.shape == "round" else "strip", piece.half_m, NODES)


def _coupon(index: int, stock: Stock) -> Piece:
    """A coupon lies in the core, apart from everything."""
    half = 0.5 * stock.thickness_m
    return Piece(f"coupon {index + 1}", stock, "core", half, float(stock.count), _mass_kg(stock), "coupon")


def _mass_kg(stock: Stock) -> float:
    """Of one piece. A tube's thickness is its wall, its width its outside diameter."""
    t, w = stock.thickness_m, stock.width_m
    area = {"round": 0.25 * np.pi * t * t, "tube": np.pi * t * (w - t)}.get(stock.shape, t * w)
    return float(area) * stock.length_m * STEEL_DENSITY


def _alloys(pieces: tuple[Piece, ...], phosphorus: Array) -> Alloy:
    """Activity coefficients by member and piece: the share that phosphorus has in them is known to a factor of two."""
    full = [alloy(p.stock.iron.composition) for p in pieces]
    free = [alloy({k: v for k, v in p.stock.iron.composition.items() if k != "P"}) for p in pieces]
    sums = {}
    for name in ("a", "b", "g"):
        with_p, without = (np.array([float(getattr(x, name)) for x in group]) for group in (full, free))
        sums[name] = without + phosphorus[:, None] * (with_p - without)
    return Alloy(np.array([float(a.sites) for a in full]), **sums)


def _early(draws: Draws) -> Array:
    """0 to 1: members that scale fast also break away early. Shape (member,)."""
    scores = draws.scores[:, draws.names.index("scaling_rate")]
    return np.array([1.0 - NormalDist().cdf(z) for z in scores])


def _feeding_depth(piece: Piece, job: Job) -> float:
    """Thickness of pack that turns CO2 back for one face: half the gap between pieces, or the cover at the wall."""
    half_gap = 0.5 * job.packing.gap_m
    if sum(s.count for s in job.stock) <= job.packing.touching:
        return job.packing.cover_m
    return half_gap if piece.where == "core" else 0.5 * (half_gap + job.packing.cover_m)


def _leak(job: Job, draws: Draws) -> Array:
    """Area over length [m] of the vent (known) and of the lute's crack (drawn). Shape (member,).

    A hole has an end correction of 0.8 diameters in all, because gas must also reach its mouths (memory).
    """
    canister = job.canister
    vent = canister.vent
    open_path = 0.0
    if vent.kind != "none":
        area = 0.25 * np.pi * vent.diameter_m**2
        open_path = area / (max(vent.length_m, canister.wall_m) + 0.8 * vent.diameter_m)
    crack = canister.lute_gap_m * canister.lute_m / canister.lute_depth_m
    leak: Array = open_path + crack * draws["lute_leakage"]
    return leak
