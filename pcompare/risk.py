"""What the draws say: spreads, odds, paired differences, regret, and what knowing is worth.

The worth of knowing one input is found by regression over the draws (Strong, Oakley and Brennan
2014) on Legendre polynomials of its own chance, which Latin hypercubes keep orthogonal; the same
coefficients give the share of the variance (Sudret 2008).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from pcompare import uncertainty
from pcompare.arrays import Array
from pcompare.findings import (
    Driver,
    Estimate,
    Gap,
    Odds,
    Study,
)
from pcompare.records import Inputs
from pcompare.uncertainty import Column, Evaluate, Progress, Sample

WORKS = ("MCKAY1979", "IMAN1982", "STRONG2014", "SUDRET2008")  # that the draws rest on
QUANTILES = (0.10, 0.50, 0.90)
TERMS = 3  # polynomials of each input, beyond the mean
FEWEST = 50  # draws below which inputs are not told apart
DRIVERS = 40  # kept
MEETS, KEEPS = "meets", "keeps"  # keys of a strategy's flags among the lines of a sample
DUMMIES = 8  # inputs without any effect, for what a regression finds in noise


def study(
    inputs: Inputs,
    draws: int,
    seed: int,
    evaluate: Evaluate,
    contenders: Sequence[str],
    progress: Progress | None = None,
) -> Study:
    """Run the draws and judge them.

    ``evaluate`` gives line key to (cases, 1) from inputs with cases, and for each strategy whether
    it meets all requirements (``NAME.meets``) and the salt limits too (``NAME.keeps``).
    ``contenders`` are the strategies that compete on present worth, the winner first.
    """
    if draws == 0:
        return Study(draws=0, seed=seed, lines={}, chance_cheapest={}, varied=())
    return judged(
        uncertainty.sample(inputs, draws, seed, evaluate, progress),
        contenders,
        *_correlated(inputs),
    )


def _correlated(inputs: Inputs) -> tuple[int, float]:
    pairs, share = uncertainty.correlations(inputs)
    return len(pairs), share


def judged(
    sample: Sample, contenders: Sequence[str], correlated: int = 0, share: float = 1.0
) -> Study:
    """Read a sample: spreads of the lines, odds of the strategies, drivers of the difference."""
    flags = (MEETS, KEEPS)
    keys = [key for key in sample.values if key.rpartition(".")[2] not in flags]
    worth: dict[str, Column] = {n: sample.values[f"{n}.present_worth"] for n in contenders}
    odds, none_keeps = _odds(sample, worth)
    return Study(
        draws=sample.draws,
        seed=sample.seed,
        lines=_spreads(sample.values, keys),
        chance_cheapest={name: odds[name].cheapest.value for name in contenders},
        varied=tuple(sample.uniform),
        odds=odds,
        none_keeps=none_keeps,
        gaps=_gaps(worth),
        drivers=_drivers(sample, worth),
        information=min((odds[name].regret for name in contenders), key=lambda e: e.value,
                        default=Estimate(0.0, 0.0)),
        noise=_noise(sample, worth),
        correlated=correlated,
        correlation_share=share,
    )  # fmt: skip


# --- spreads ----------------------------------------------------------------------------------


def _spreads(
    values: Mapping[str, Column], keys: Sequence[str]
) -> dict[str, tuple[float, float, float]]:
    found = {}
    for key in keys:
        column = values[key]
        if np.isfinite(column).all():
            low, middle, high = map(float, np.quantile(column, QUANTILES))
            found[key] = (low, middle, high)
    return found


def mean(values: Column) -> Estimate:
    """Give a mean with its standard error; of Latin hypercubes the true error is smaller."""
    count = len(values)
    spread = float(np.std(values, ddof=1)) if count > 1 else 0.0
    return Estimate(float(np.mean(values, dtype=np.float64)), spread / count**0.5)


def share(flags: Column) -> Estimate:
    """Give the share of draws in which something holds, with sqrt(p (1 - p) / n)."""
    found = float(np.mean(flags))
    return Estimate(found, (found * (1.0 - found) / len(flags)) ** 0.5)


# --- odds -------------------------------------------------------------------------------------


def _odds(sample: Sample, worth: Mapping[str, Column]) -> tuple[dict[str, Odds], Estimate]:
    values, draws = sample.values, sample.draws
    names = [key.rpartition(".")[0] for key in values if key.endswith(".present_worth")]
    names = [name for name in names if f"{name}.{MEETS}" in values or name in worth]
    if not names:
        return {}, Estimate(0.0, 0.0)
    always = np.ones(draws, dtype=bool)
    meets = {n: np.asarray(values.get(f"{n}.{MEETS}", always)) > 0.5 for n in names}
    keeps = {n: np.asarray(values.get(f"{n}.{KEEPS}", meets[n])) > 0.5 for n in names}
    kept = np.stack([np.where(keeps[n], values[f"{n}.present_worth"], np.inf) for n in names])
    first_kept = np.where(np.isfinite(kept.min(axis=0)), np.argmin(kept, axis=0), -1)
    least = np.min(np.stack(list(worth.values())), axis=0) if worth else np.zeros(draws)
    # Of several that cost the same the first counts, so that the shares sum to one.
    order = list(worth)
    first = np.argmin(np.stack(list(worth.values())), axis=0) if worth else np.full(draws, -1)
    never = np.zeros(draws, dtype=bool)
    found = {}
    for place, name in enumerate(names):
        regret = np.asarray(worth[name] - least if name in worth else np.full(draws, np.nan))
        period = values.get(f"{name}.probability_meets_permit", meets[name].astype(float))
        found[name] = Odds(
            meets=share(meets[name]),
            keeps=share(keeps[name]),
            in_period=mean(np.asarray(period)),
            competes=name in worth,
            cheapest=share(first == order.index(name) if name in worth else never),
            cheapest_kept=share(first_kept == place),
            regret=mean(regret),
            largest_regret=float(regret.max()),
        )
    return found, share(first_kept < 0)


def _gaps(worth: Mapping[str, Column]) -> tuple[Gap, ...]:
    """Hold every contender against the winner, draw by draw."""
    names = list(worth)
    found = []
    for name in names[1:]:
        gap = worth[name] - worth[names[0]]
        low, middle, high = map(float, np.quantile(gap, QUANTILES))
        found.append(
            Gap(strategy=name, low=low, middle=middle, high=high, mean=mean(gap),
                below=share(gap < 0.0))
        )  # fmt: skip
    return tuple(found)


# --- drivers and information ------------------------------------------------------------------


def _basis(numbers: Array) -> Array:
    """Orthonormal Legendre polynomials of numbers evenly spread between 0 and 1, (draws, 3)."""
    t = 2.0 * numbers - 1.0
    return np.stack(
        [3.0**0.5 * t, 5.0**0.5 * (1.5 * t * t - 0.5), 7.0**0.5 * (2.5 * t**3 - 1.5 * t)], axis=1
    )


def _ranks(values: Array) -> Array:
    ranks = np.empty(len(values))
    ranks[np.argsort(values)] = np.arange(len(values))
    return ranks


def _drivers(sample: Sample, worth: Mapping[str, Column]) -> tuple[Driver, ...]:
    """Tell the inputs apart by what they do to the difference between the two best."""
    if len(worth) < 2 or sample.draws < FEWEST:
        return ()
    names = list(worth)
    gap = worth[names[1]] - worth[names[0]]
    spread = float(np.var(gap))
    if spread == 0.0:
        return ()
    costs = np.stack([worth[name] for name in names], axis=1)
    centred = costs - costs.mean(axis=0)
    ranked = _ranks(gap)
    found = []
    for name, numbers in sample.uniform.items():
        basis = _basis(numbers)
        weights = basis.T @ centred / sample.draws
        explained = float(((weights[:, 1] - weights[:, 0]) ** 2).sum()) / spread
        found.append(
            Driver(
                field=name,
                rank_correlation=rank_correlation(numbers, ranked),
                variance_share=_explained(explained, sample.draws),
                information=_worth_of(costs, basis, weights),
            )
        )
    found.sort(key=lambda d: (-d.information, -abs(d.rank_correlation.value)))
    return tuple(found[:DRIVERS])


def rank_correlation(numbers: Array, ranked: Array) -> Estimate:
    """Spearman's correlation of a hypercube with some ranks, and its standard error.

    A hypercube's numbers are one in each part, so their ranks need no sorting.
    """
    count = len(numbers)
    ranks = np.floor(numbers * count)
    found = float(12.0 * np.mean((ranks - ranks.mean()) * (ranked - ranked.mean())))
    found /= count * count - 1.0
    return Estimate(found, (1.0 - found * found) / (count - 1) ** 0.5)


def _explained(explained: float, draws: int) -> Estimate:
    """Take from a share of variance what noise alone would explain."""
    held = min(max((explained - TERMS / draws) / (1.0 - TERMS / draws), 0.0), 1.0)
    return Estimate(held, 2.0 * (held / draws) ** 0.5 * (1.0 - held) + TERMS / draws)


def _worth_of(costs: Array, basis: Array, weights: Array) -> float:
    """Give the mean saved by choosing anew for each value of one input [money]."""
    means = costs.mean(axis=0)
    fitted = means + basis @ weights
    return float(max(means.min() - fitted.min(axis=1).mean(), 0.0))


def _noise(sample: Sample, worth: Mapping[str, Column]) -> float:
    """Give what the regression finds in inputs that do nothing, at most [money]."""
    if len(worth) < 2 or sample.draws < FEWEST:
        return 0.0
    costs = np.stack(list(worth.values()), axis=1)
    centred = costs - costs.mean(axis=0)
    found = []
    for i in range(DUMMIES):
        numbers = uncertainty.hypercube(sample.draws, uncertainty.stream(sample.seed, f"none {i}"))
        basis = _basis(numbers)
        found.append(_worth_of(costs, basis, basis.T @ centred / sample.draws))
    return max(found)
