"""Activated sludge with nutrient removal, dynamic: the published model ASM2d without precipitation.

Henze et al. (1999) Activated sludge model no. 2d, Water Sci. Technol. 39(1), 165-182. A test-only
oracle: nothing here shares a line with the steady-state equations it is compared with.
Concentrations in g/m3 (alkalinity in mol/m3), time in days, flows as multiples of the influent.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace

import numpy as np
from scipy.integrate import solve_ivp

COMPONENTS = (
    "s_o2", "s_f", "s_a", "s_nh4", "s_no3", "s_po4", "s_i", "s_alk", "s_n2",
    "x_i", "x_s", "x_h", "x_pao", "x_pp", "x_pha", "x_aut",
)  # fmt: skip
PLACE = {name: i for i, name in enumerate(COMPONENTS)}
SOLUBLE = np.array([name.startswith("s_") for name in COMPONENTS])
TINY = 1e-12  # keeps 0/0 of two absent components at 0
PARAMETER_FILE = Path(__file__).with_name("dynamic_model_parameters.csv")


def parameters(**changes):
    """Read the typical values at 20 degC."""
    with PARAMETER_FILE.open(newline="", encoding="utf-8") as file:
        values = {row["name"]: float(row["value"]) for row in csv.DictReader(file)}
    if unknown := changes.keys() - values.keys():
        raise KeyError(f"{PARAMETER_FILE.name}: no parameter {sorted(unknown)}")
    return SimpleNamespace(**{**values, **changes})


def contents(p):
    """Content of COD, N, P, charge and solids in each component, one row each."""
    biomass = {"x_h", "x_pao", "x_aut"}
    cod = {name: 1.0 for name in ("s_f", "s_a", "s_i", "x_i", "x_s", "x_pha", *biomass)}
    cod |= {"s_o2": -1.0, "s_no3": -64.0 / 14.0, "s_n2": -24.0 / 14.0}
    nitrogen = {"s_nh4": 1.0, "s_no3": 1.0, "s_n2": 1.0, "s_f": p.i_n_sf, "s_i": p.i_n_si}
    nitrogen |= {"x_i": p.i_n_xi, "x_s": p.i_n_xs, **dict.fromkeys(biomass, p.i_n_bm)}
    phosphorus = {"s_po4": 1.0, "x_pp": 1.0, "s_f": p.i_p_sf, "s_i": p.i_p_si}
    phosphorus |= {"x_i": p.i_p_xi, "x_s": p.i_p_xs, **dict.fromkeys(biomass, p.i_p_bm)}
    charge = {"s_a": -1.0 / 64.0, "s_nh4": 1.0 / 14.0, "s_no3": -1.0 / 14.0}
    charge |= {"s_po4": -1.5 / 31.0, "x_pp": -1.0 / 31.0, "s_alk": -1.0}
    solids = {"x_i": p.i_tss_xi, "x_s": p.i_tss_xs, **dict.fromkeys(biomass, p.i_tss_bm)}
    solids |= {"x_pp": p.i_tss_pp, "x_pha": p.i_tss_pha}
    rows = (cod, nitrogen, phosphorus, charge, solids)
    return np.array([[row.get(name, 0.0) for name in COMPONENTS] for row in rows])


def stoichiometry(p):
    """Return the matrix, processes by components.

    As published, ammonium, phosphate and alkalinity follow from the balances of N, P and charge;
    oxygen and nitrate are written out, so that the COD balance is a check.
    """
    nitrate = 40.0 / 14.0  # g O2 saved by reducing 1 g of nitrate N to N2
    hydrolysis = {"x_s": -1.0, "s_f": 1.0 - p.f_si, "s_i": p.f_si}
    lysis = {"x_i": p.f_xi, "x_s": 1.0 - p.f_xi}

    def growth(substrate, organism, oxygen, yield_):
        return {substrate: -1.0 / yield_, organism: 1.0, "s_o2": -oxygen / yield_}

    def anoxic(process):
        used = -process.pop("s_o2") / nitrate
        return {**process, "s_no3": -used, "s_n2": used}

    on_f = growth("s_f", "x_h", 1.0 - p.y_h, p.y_h)
    on_a = growth("s_a", "x_h", 1.0 - p.y_h, p.y_h)
    storage = {"s_o2": -p.y_pha, "x_pha": -p.y_pha, "x_pp": 1.0, "s_po4": -1.0}
    on_pha = growth("x_pha", "x_pao", 1.0 - p.y_pao, p.y_pao)
    nitrification = {"x_aut": 1.0, "s_no3": 1.0 / p.y_aut}
    nitrification["s_o2"] = -(64.0 / 14.0 - p.y_aut) / p.y_aut
    processes = (
        hydrolysis, hydrolysis, hydrolysis,
        on_f, on_a, anoxic(dict(on_f)), anoxic(dict(on_a)),
        {"s_f": -1.0, "s_a": 1.0},
        {"x_h": -1.0, **lysis},
        {"s_a": -1.0, "x_pha": 1.0, "x_pp": -p.y_po4, "s_po4": p.y_po4},
        storage, anoxic(dict(storage)), on_pha, anoxic(dict(on_pha)),
        {"x_pao": -1.0, **lysis},
        {"x_pp": -1.0, "s_po4": 1.0},
        {"x_pha": -1.0, "s_a": 1.0},
        nitrification,
        {"x_aut": -1.0, **lysis},
    )  # fmt: skip
    matrix = np.array([[row.get(name, 0.0) for name in COMPONENTS] for row in processes])
    _, nitrogen, phosphorus, charge, _ = contents(p)
    matrix[:, PLACE["s_nh4"]] -= matrix @ nitrogen
    matrix[:, PLACE["s_po4"]] -= matrix @ phosphorus
    matrix[:, PLACE["s_alk"]] += matrix @ charge
    return matrix


def rates(c, p):
    """Rates of the 19 processes; `c` has the components on its last axis, any axes before."""
    c = np.maximum(c, 0.0)
    o2, f, a, nh4, no3, po4, _, alk, _, _, x_s, h, pao, pp, pha, aut = np.moveaxis(c, -1, 0)

    def on(value, half):
        return value / (half + value)

    def off(value, half):
        return half / (half + value)

    surface = p.k_h * x_s / (p.k_x * h + x_s + TINY) * h
    free, bound = off(o2, p.k_o2_hydrolysis), on(no3, p.k_no3_hydrolysis)

    heterotroph = p.mu_h * on(nh4, p.k_nh4_h) * on(po4, p.k_p_h) * on(alk, p.k_alk_h) * h
    by_f = heterotroph * on(f, p.k_f) * f / (f + a + TINY)
    by_a = heterotroph * on(a, p.k_a_h) * a / (f + a + TINY)
    aerobic, anoxic = on(o2, p.k_o2_h), p.eta_no3_h * off(o2, p.k_o2_h) * on(no3, p.k_no3_h)
    fermentation = p.q_fe * off(o2, p.k_o2_h) * off(no3, p.k_no3_h) * on(f, p.k_fe)
    fermentation = fermentation * on(alk, p.k_alk_h) * h

    alkaline = on(alk, p.k_alk_pao)
    room = np.maximum(p.k_max * pao - pp, 0.0)
    has_pha = pha / (p.k_pha * pao + pha + TINY)
    stored = p.q_pha * on(a, p.k_a_pao) * alkaline * pp / (p.k_pp * pao + pp + TINY) * pao
    uptake = p.q_pp * on(po4, p.k_ps) * alkaline * has_pha * room / (p.k_ipp * pao + room + TINY)
    uptake = uptake * pao
    grown = p.mu_pao * on(nh4, p.k_nh4_pao) * on(po4, p.k_p_pao) * alkaline * has_pha * pao
    pao_aerobic = on(o2, p.k_o2_pao)
    pao_anoxic = p.eta_no3_pao * off(o2, p.k_o2_pao) * on(no3, p.k_no3_pao)

    nitrifier = p.mu_aut * on(o2, p.k_o2_aut) * on(nh4, p.k_nh4_aut) * on(po4, p.k_p_aut)
    return np.stack(
        (
            on(o2, p.k_o2_hydrolysis) * surface,
            p.eta_no3_hydrolysis * free * bound * surface,
            p.eta_fe * free * off(no3, p.k_no3_hydrolysis) * surface,
            aerobic * by_f, aerobic * by_a, anoxic * by_f, anoxic * by_a,
            fermentation, p.b_h * h,
            stored, pao_aerobic * uptake, pao_anoxic * uptake,
            pao_aerobic * grown, pao_anoxic * grown,
            p.b_pao * alkaline * pao, p.b_pp * alkaline * pp, p.b_pha * alkaline * pha,
            nitrifier * on(alk, p.k_alk_aut) * aut, p.b_aut * aut,
        ),
        axis=-1,
    )  # fmt: skip


@dataclass(frozen=True)
class Zone:
    """One completely mixed reactor; `hours` is its volume over the influent flow."""

    hours: float
    oxygen: float | None = None  # set point, g/m3; None: only what flows in


@dataclass(frozen=True)
class Plant:
    """Zones in series; sludge returns to the first, the internal recycle to `recycle_to`.

    The clarifier holds nothing and lets no solids escape. Sludge is wasted from the last reactor
    at the flow volume over sludge age; all zones count.
    """

    zones: tuple[Zone, ...]
    sludge_age: float
    influent: np.ndarray
    p: SimpleNamespace = field(default_factory=parameters)
    sludge_return: float = 0.5
    internal_recycle: float = 0.0
    recycle_to: int = 0

    @property
    def volumes(self):
        return np.array([zone.hours for zone in self.zones]) / 24.0

    @property
    def wasted(self):
        return self.volumes.sum() / self.sludge_age

    @property
    def held(self):
        """Where oxygen is held at its set point, zones by components."""
        place = np.zeros((len(self.zones), len(COMPONENTS)), dtype=bool)
        place[:, PLACE["s_o2"]] = [zone.oxygen is not None for zone in self.zones]
        return place

    def transport(self):
        """Flows of the balances: d(concentration)/dt = matrix @ concentrations + feed + rates."""
        zones, one = len(self.zones), np.eye(len(COMPONENTS))
        through = np.full(zones, 1.0 + self.sludge_return)
        through[self.recycle_to :] += self.internal_recycle
        # Of the solids that reach the last reactor all come back but those wasted.
        returned = np.where(SOLUBLE, self.sludge_return, 1.0 + self.sludge_return - self.wasted)
        flow = np.zeros((zones, len(COMPONENTS), zones, len(COMPONENTS)))
        for k in range(zones):
            flow[k, :, k] -= through[k] * one
            if k:
                flow[k, :, k - 1] += through[k - 1] * one
        flow[0, :, -1] += np.diag(returned)
        flow[self.recycle_to, :, -1] += self.internal_recycle * one
        flow /= self.volumes[:, None, None, None]
        feed = np.zeros((zones, len(COMPONENTS)))
        feed[0] = self.influent / self.volumes[0]
        return flow.reshape(feed.size, feed.size), feed.ravel()


class Balances:
    """The balances of a plant as functions of the vector of all concentrations."""

    def __init__(self, plant):
        self.p, self.matrix = plant.p, stoichiometry(plant.p)
        self.flow, self.feed = plant.transport()
        self.shape, self.held = plant.held.shape, plant.held.ravel()

    def _reactions(self, c):
        return rates(c, self.p) @ self.matrix

    def free(self, y):
        """Change of every concentration if no oxygen were supplied."""
        return self.flow @ y + self.feed + self._reactions(y.reshape(self.shape)).ravel()

    def change(self, y):
        return np.where(self.held, 0.0, self.free(y))

    def jacobian(self, y):
        """Derivative by a complex step: one component at a time, in all zones at once."""
        step = 1e-30
        zones, count = self.shape
        stepped = y.reshape(1, zones, count) + 1j * step * np.eye(count)[:, None, :]
        slopes = self._reactions(stepped).imag / step  # by component stepped, zone, component
        whole = self.flow.reshape(zones, count, zones, count).copy()
        for k in range(zones):
            whole[k, :, k] += slopes[:, k].T
        whole = whole.reshape(y.size, y.size)
        whole[self.held] = 0.0
        return whole

    def jacobian_to_solve(self, y):
        """Regular where oxygen is held: there the change is 0 whatever the rest."""
        return self.jacobian(y) - np.diag(self.held.astype(float))


def seeded(plant, storing):
    """Give a start: a sludge with all organisms, `storing` g COD/m3 of those that store."""
    start = np.tile(plant.influent, (len(plant.zones), 1))
    sludge = {
        "s_f": 1.0, "s_a": 1.0, "x_i": 1000.0, "x_s": 100.0, "x_h": 1200.0, "x_pao": storing,
        "x_pp": 0.25 * storing, "x_pha": 0.05 * storing, "x_aut": 60.0,
    }  # fmt: skip
    for name, value in sludge.items():
        start[:, PLACE[name]] = value
    start[:, PLACE["s_o2"]] = [zone.oxygen or 0.0 for zone in plant.zones]
    return start.ravel()


@dataclass(frozen=True)
class State:
    """Concentrations of a plant at steady state, zones by components."""

    plant: Plant
    c: np.ndarray

    def at(self, zone, name):
        return self.c[zone, PLACE[name]]

    @property
    def solids(self):
        """Suspended solids of the zones, g/m3."""
        return self.c @ contents(self.plant.p)[4]

    @property
    def phosphorus_share(self):
        """Phosphorus of the wasted solids, g P/g TSS."""
        return (contents(self.plant.p)[2] * ~SOLUBLE) @ self.c[-1] / self.solids[-1]

    @property
    def oxygen_supplied(self):
        """Oxygen that holds the set points, g per m3 of influent."""
        lack = np.where(
            self.plant.held, -Balances(self.plant).free(self.c.ravel()).reshape(self.c.shape), 0.0
        )
        return self.plant.volumes @ lack.sum(axis=1)

    def leaving(self):
        """All that leaves with effluent and wasted sludge, g per m3 of influent."""
        return np.where(SOLUBLE, 1.0, self.plant.wasted) * self.c[-1]

    def slowest_return(self):
        """Largest growth rate of a small disturbance, 1/d; below 0 where the state is stable."""
        balances = Balances(self.plant)
        moving = ~balances.held
        return np.linalg.eigvals(
            balances.jacobian(self.c.ravel())[np.ix_(moving, moving)]
        ).real.max()


def steady_state(plant, *, storing=400.0):
    """Integrate over 60 sludge ages from a seeded start, then solve for the steady state."""
    balances = Balances(plant)
    path = solve_ivp(
        lambda _, y: balances.change(y), (0.0, 60.0 * plant.sludge_age), seeded(plant, storing),
        method="BDF", jac=lambda _, y: balances.jacobian(y), rtol=1e-5, atol=1e-6,
    )  # fmt: skip
    if not path.success:
        raise RuntimeError(f"no steady state at sludge age {plant.sludge_age} d: {path.message}")
    y = path.y[:, -1]
    for _ in range(20):
        step = np.linalg.solve(balances.jacobian_to_solve(y), balances.change(y))
        y = y - step
        if np.abs(step).max() < 1e-9:
            return State(plant, y.reshape(balances.shape))
    raise RuntimeError(f"steady state at sludge age {plant.sludge_age} d is not found: {step}")


def municipal_sewage(p, *, acids, phosphorus=9.0, ammonium=25.0, alkalinity=7.0):
    """Influent with phosphorus in total as stated: what particles do not hold is phosphate.

    Ammonium is as stated; organic nitrogen comes on top, with the contents of each fraction.
    """
    organics = {"s_a": acids, "s_f": 60.0, "x_s": 225.0, "x_h": 30.0, "s_i": 25.0, "x_i": 50.0}
    present = {**organics, "s_nh4": ammonium, "s_alk": alkalinity}
    c = np.array([present.get(name, 0.0) for name in COMPONENTS])
    c[PLACE["s_po4"]] = phosphorus - contents(p)[2] @ c
    return c
