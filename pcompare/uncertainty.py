"""Draws: ranges become cases. The equations never know.

Each field is a Latin hypercube (McKay, Beckman and Conover 1979) of its own stream, so that a new
field moves no other. Fields that move together are put into the ranks of correlated normal scores
(Iman and Conover 1982), which leaves the values of each field as they are.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeAlias
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from pcompare import shapes
from pcompare.arrays import Array, as_cases
from pcompare.records import Inputs

CHUNK = 2000
THREADS = 2  # chunks at a time: numpy lets others run while it works
Column: TypeAlias = NDArray[Any]  # single or double precision
Evaluate: TypeAlias = Callable[[Inputs], Mapping[str, Column]]
Progress: TypeAlias = Callable[[int, int], None]  # draws done, of how many


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Sample:
    """All draws: what went in, as numbers between 0 and 1, and what came out, one by one."""

    draws: int
    seed: int
    uniform: Mapping[str, Array]  # field -> (draws,), the share of its range's chance below it
    values: Mapping[str, Column]  # line key -> (draws,)


def varied_fields(inputs: Inputs) -> tuple[str, ...]:
    """Fields that have a range."""
    return tuple(sorted(name for name in inputs.low if inputs.low[name] < inputs.high[name]))


def stream(seed: int, name: str) -> np.random.Generator:
    """Give the random numbers of one field."""
    return np.random.default_rng([seed, crc32(name.encode())])


def uniform(inputs: Inputs, draws: int, seed: int) -> dict[str, Array]:
    """Draw every varied field between 0 and 1, one draw in each of as many equal parts."""
    found = {name: hypercube(draws, stream(seed, name)) for name in varied_fields(inputs)}
    pairs, _ = correlations(inputs)
    for group in shapes.groups(pairs):
        columns = np.stack([found[name] for name in group], axis=1)
        found |= dict(zip(group, _reordered(columns, shapes.matrix(group, pairs)).T, strict=True))
    return found


def hypercube(draws: int, generator: np.random.Generator) -> Array:
    """Give numbers between 0 and 1, one in each of ``draws`` equal parts, in random order."""
    from scipy.stats import qmc

    return np.asarray(qmc.LatinHypercube(1, rng=generator).random(draws)[:, 0])


def correlations(inputs: Inputs) -> tuple[dict[shapes.Pair, float], float]:
    """Rank correlations of the varied fields: the user's, and what is taken of capital and prices.

    Where the user's leave no room for the others, these are weakened until all can hold; the
    share of them that is left comes back too.
    """
    varied = varied_fields(inputs)
    own = {p: r for p, r in inputs.correlations.items() if p[0] in varied and p[1] in varied}
    taken = {pair: rank for pair, rank in _of_costs(inputs, varied).items() if pair not in own}
    for share in (1.0, 0.8, 0.6, 0.4, 0.2):
        both = own | {pair: share * rank for pair, rank in taken.items()}
        if shapes.can_hold(both):
            return both, share
    return own, 0.0


def _of_costs(inputs: Inputs, varied: tuple[str, ...]) -> dict[shapes.Pair, float]:
    """Take capital items to move together, and prices, and each with the other."""
    if "decision.correlation_capital" not in inputs.values:
        return {}
    capital = float(as_cases(inputs["decision.correlation_capital"]).flat[0])
    prices = float(as_cases(inputs["decision.correlation_prices"]).flat[0])
    costs = [name for name in varied if name.startswith(("capital.", "prices."))]
    found = {}
    for i, first in enumerate(costs):
        for second in costs[i + 1 :]:
            kinds = {name.split(".")[0] for name in (first, second)}
            rank = {"capital": capital, "prices": prices}.get(
                "".join(kinds) if len(kinds) == 1 else "", min(capital, prices)
            )
            if rank > 0.0:
                found[first, second] = rank
    return found


def _reordered(columns: Array, wanted: Array) -> Array:
    """Reorder each column so that the ranks of all are correlated as wanted.

    Notes
    -----
    Iman and Conover (1982): normal scores S of the columns, whose own correlation T = Q Q' is
    taken out, become S (P Q^-1)' with P P' = C; each column takes the ranks of its new scores.
    With fewer draws than columns T has no factor, and is taken as none.
    """
    from scipy.special import ndtri

    count = len(columns)
    scores = ndtri((np.floor(columns * count) + 0.5) / count)
    turned = np.linalg.cholesky(wanted)
    if count > 2 * columns.shape[1]:
        # Every column has the same scores, of mean zero, in an order of its own.
        own = np.linalg.cholesky(scores.T @ scores / np.sum(scores[:, 0] ** 2))
        turned = np.linalg.solve(own.T, turned.T).T
    ranks = np.argsort(np.argsort(scores @ turned.T, axis=0), axis=0)
    return np.take_along_axis(np.sort(columns, axis=0), ranks, axis=0)


def draw(inputs: Inputs, draws: int, seed: int) -> dict[str, Array]:
    """Draw every varied field, shape (draws, 1) or (draws, 12)."""
    return {
        name: shaped(inputs, name, numbers[:, None])
        for name, numbers in uniform(inputs, draws, seed).items()
    }


def shaped(inputs: Inputs, name: str, numbers: Array) -> Array:
    """Turn numbers between 0 and 1, shape (cases, 1), into values of one field.

    A field with months keeps its shape over the year: the draw scales all of them.
    """
    value = as_cases(inputs[name])
    mode = as_cases(value.mean())
    low, high = as_cases(inputs.low[name]), as_cases(inputs.high[name])
    quantile = shapes.QUANTILES[inputs.shapes.get(name, shapes.TRIANGULAR)]
    found = quantile(numbers, low, np.clip(mode, low, high), high)
    if value.shape[1] > 1:
        centre = float(mode[0, 0])
        found = value * (found / centre) if centre else value + found
    return found


def chunks(inputs: Inputs, drawn: Mapping[str, Array], draws: int) -> Iterator[Inputs]:
    """Give inputs with the drawn fields on the cases axis, a chunk at a time."""
    for start in range(0, draws, CHUNK):
        part = {
            name: shaped(inputs, name, numbers[start : start + CHUNK, None])
            for name, numbers in drawn.items()
        }
        yield replace(inputs, values={**inputs.values, **part})


def sample(
    inputs: Inputs, draws: int, seed: int, evaluate: Evaluate, progress: Progress | None = None
) -> Sample:
    """Run the draws, a chunk at a time, and keep each line as one row of numbers.

    Present worths are kept in full and all else in single precision, which a quantile does not
    notice: memory is 4 bytes for each line and draw.
    """
    drawn = uniform(inputs, draws, seed)
    kept: dict[str, Column] = {}
    start = 0
    for found in _in_order(evaluate, chunks(inputs, drawn, draws)):
        stop = min(start + CHUNK, draws)
        for key, values in found.items():
            if key not in kept:
                full = key.endswith(".present_worth")
                kept[key] = np.empty(draws, dtype=np.float64 if full else np.float32)
            kept[key][start:stop] = values[:, 0]
        start = stop
        if progress is not None:
            progress(start, draws)
    return Sample(draws=draws, seed=seed, uniform=drawn, values=kept)


def _in_order(evaluate: Evaluate, cases: Iterator[Inputs]) -> Iterator[Mapping[str, Column]]:
    """Evaluate a few chunks at a time, and give their results in order.

    No more wait than are worked on, so that memory does not grow with the draws.
    """
    from concurrent.futures import Future, ThreadPoolExecutor

    with ThreadPoolExecutor(THREADS) as pool:
        waiting: deque[Future[Mapping[str, Column]]] = deque()
        for case in cases:
            waiting.append(pool.submit(evaluate, case))
            if len(waiting) >= THREADS:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
