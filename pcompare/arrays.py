"""The array contract, and the only operations that equations may use.

Every quantity is a number, an array of shape ``(cases, months)`` or a recording number. Each axis
has length 1 or its full length and is never dropped: a point run is ``(1, 1)`` or ``(1, 12)``.
*Cases* are draws, targets, tornado ends, map cells or plants. Plain floats enter only at the public
edge of an equation.

The names below work alike on all three kinds. Recording numbers answer numpy's own protocols, so
this module never imports them; where numpy has no protocol it asks the argument for a method.
"""

from __future__ import annotations

import functools
import inspect
import math
import operator
from collections.abc import Callable, Iterable, Iterator
from contextvars import ContextVar
from typing import Any, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
# A number, an array (cases, months) or a recording number: the operators are the contract.
Quantity: TypeAlias = Any

MOST_PASSES = 100  # of a bracketed root; 10 are usual
EXPLICIT_PASSES = 8  # of a root written out: 1e-15 over random plants, 3e-13 at 7
LARGEST_QUOTIENT = 0.5  # of a row whose end is worth telling
RESOLUTION = 4e-16  # relative width to which a bracket is narrowed
ERFC = np.frompyfunc(math.erfc, 1, 1)
SMALL = 5000  # elements up to which a point run does without scipy

exp = np.exp
log = np.log
log10 = np.log10
sqrt = np.sqrt
maximum = np.maximum
minimum = np.minimum
absolute = np.absolute
where: Callable[[Quantity, Quantity, Quantity], Quantity] = np.where

NEVER_RECORDED = (np.ndarray, float, str)
PLAIN_KINDS = frozenset((np.ndarray, float, str, int, bool))  # an input record holds hundreds


def as_cases(value: object) -> Array:
    """Give ``value`` the shape (cases, months): a number becomes (1, 1), a list of 12 (1, 12)."""
    if type(value) is np.ndarray and value.ndim == 2 and value.dtype == np.float64:
        return value
    if type(value) is float:
        return np.array([[value]])
    return np.atleast_2d(np.asarray(value, dtype=np.float64))


def plain(value: Quantity) -> Quantity:
    """Strip recording numbers to their values, inside tuples, mappings and records too.

    Anything else is returned as it is, and so is what holds no recording number.
    """
    if isinstance(value, NEVER_RECORDED):
        return value
    if isinstance(value, dict):
        if PLAIN_KINDS.issuperset(map(type, value.values())):
            return value
        return {key: plain(part) for key, part in value.items()}
    if isinstance(value, tuple):
        parts = [plain(part) for part in value]
        if all(map(operator.is_, parts, value)):
            return value
        return type(value)(*parts) if hasattr(value, "_fields") else tuple(parts)
    fields = getattr(value, "__dataclass_fields__", None)
    if fields is not None:
        held = [getattr(value, name) for name in fields]
        parts = [plain(part) for part in held]
        if all(map(operator.is_, parts, held)):
            return value
        return type(value)(**dict(zip(fields, parts, strict=True)))
    return getattr(value, "plain", value)


def _recorded_in(value: Quantity) -> Quantity | None:
    """Find a recording number in an argument: itself, or inside a tuple, mapping or record."""
    parts: Iterable[Quantity] = ()
    if hasattr(value, "solved"):
        return value
    if isinstance(value, dict):
        if PLAIN_KINDS.issuperset(map(type, value.values())):
            return None
        parts = value.values()
    elif isinstance(value, tuple):
        parts = value
    elif hasattr(value, "__dataclass_fields__"):
        parts = [getattr(value, name) for name in value.__dataclass_fields__]
    for part in parts:
        if type(part) not in NEVER_RECORDED:
            found = _recorded_in(part)
            if found is not None:
                return found
    return None


def total(value: Quantity) -> Quantity:
    """Sum over the months, axis kept."""
    if isinstance(value, np.ndarray):
        return np.add.reduce(value, axis=1, keepdims=True)
    return np.sum(value, axis=1, keepdims=True)


def mean(value: Quantity) -> Quantity:
    """Mean over the months, axis kept."""
    if isinstance(value, np.ndarray):
        return total(value) / value.shape[1]
    return np.mean(value, axis=1, keepdims=True)


def highest(value: Quantity) -> Quantity:
    """Largest of the months, axis kept."""
    if isinstance(value, np.ndarray):
        return np.maximum.reduce(value, axis=1, keepdims=True)
    return np.max(value, axis=1, keepdims=True)


def lowest(value: Quantity) -> Quantity:
    """Smallest of the months, axis kept."""
    if isinstance(value, np.ndarray):
        return np.minimum.reduce(value, axis=1, keepdims=True)
    return np.min(value, axis=1, keepdims=True)


def weighted_mean(value: Quantity, weight: Quantity) -> Quantity:
    """Mean over the months weighted by ``weight`` (a concentration by its flow), axis kept."""
    if isinstance(value, np.ndarray) and isinstance(weight, np.ndarray):
        product = value * weight
        # The product takes the wider shape, so a value without months is weighted by all of them.
        each = weight.shape[1] == product.shape[1]
        return total(product) / total(weight if each else weight + 0.0 * value)
    return total(value * weight) / total(weight + 0.0 * value)


def ratio(numerator: Quantity, denominator: Quantity, empty: Quantity) -> Quantity:
    """Divide, giving ``empty`` where the denominator is zero, without evaluating the bad branch."""
    bad = denominator == 0.0
    return where(bad, empty, numerator / where(bad, 1.0, denominator))


def normal_cdf(value: Quantity) -> Quantity:
    """Chance that a standard normal number is at most ``value``."""
    method = getattr(value, "normal_cdf", None)
    if method is not None:
        return method()
    array = np.asarray(value, dtype=np.float64)
    if array.size <= SMALL:
        return np.asarray(0.5 * ERFC(array / -math.sqrt(2.0)), dtype=np.float64)
    from scipy.special import ndtr

    return ndtr(array)


def normal_quantile(probability: Quantity) -> Quantity:
    """Give the standard normal number not exceeded with ``probability``, between 0 and 1.

    For choices only: it takes plain values.
    """
    array = np.asarray(probability, dtype=np.float64)
    if array.size <= SMALL:
        return np.array([_normal_score(p) for p in array.ravel().tolist()]).reshape(array.shape)
    from scipy.special import ndtri

    return ndtri(array)


@functools.lru_cache(maxsize=1000)
def _normal_score(probability: float) -> float:
    from statistics import NormalDist

    return NormalDist().inv_cdf(probability)


@functools.cache
def normal_nodes(count: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Give standard scores and weights that average over a standard normal number.

    Gauss's quadrature: exact for polynomials up to degree 2 ``count`` - 1. Nodes and weights are
    eigenvalues and vectors of the recurrence of Hermite polynomials (Golub and Welsch, Mathematics
    of Computation 23 (1969) 221-230).
    """
    beside = np.sqrt(np.arange(1.0, count))
    nodes, vectors = np.linalg.eigh(np.diag(beside, 1) + np.diag(beside, -1))
    return tuple(map(float, nodes)), tuple(map(float, vectors[0] ** 2))


def solve(
    solver: Callable[..., Quantity], residual: Callable[..., Quantity], *arguments: Quantity
) -> Quantity:
    """Solve with plain values and hand the answer back in the arguments' own kind.

    Parameters
    ----------
    solver : callable
        ``solver(*arguments)`` gives the unknown, or a tuple of unknowns, from plain values.
    residual : callable
        ``residual(*unknowns, *arguments)`` gives what must be zero, one for each unknown.
    *arguments : float, array (cases, months) or recording number
        Every quantity that the equation depends on; records and tuples of them serve too.

    Returns
    -------
    array (cases, months), recording number, or a tuple of either
        A recording number among the arguments makes the answer a solved value that carries its
        residual as an expression.

    """
    recorded = _recorded_in(arguments)
    if recorded is None:
        return solver(*arguments)
    return recorded.solved(solver(*map(plain, arguments)), residual, arguments)


def solve_monotone(
    function: Callable[..., Quantity], low: Quantity, high: Quantity, *arguments: Quantity
) -> Quantity:
    """Find where a rising function crosses zero between ``low`` and ``high``.

    Parameters
    ----------
    function : callable
        ``function(x, *arguments)``, rising in ``x``.
    low, high : float, array (cases, months) or recording number
        The bracket. Where the function does not change sign inside it, the answer is the end
        nearer to the crossing, and the caller reports it: a check says by how much.
    *arguments : float, array (cases, months) or recording number
        Everything else the function depends on.

    Returns
    -------
    array (cases, months) or recording number

    Notes
    -----
    The residual, x - min(high, max(low, x - f(x))), is zero at a crossing and at a justified end
    alike.
    """

    def solver(low: Quantity, high: Quantity, *arguments: Quantity) -> Quantity:
        return bracketed_root(lambda x: function(x, *arguments), low, high)

    def residual(x: Quantity, low: Quantity, high: Quantity, *arguments: Quantity) -> Quantity:
        return x - minimum(high, maximum(low, x - function(x, *arguments)))

    found = solve(solver, residual, low, high, *arguments)
    unrolled = getattr(found, "unrolled", None)
    if unrolled is None:
        return found
    # A recording number also keeps a formula that follows its inputs.
    return unrolled(lambda: explicit_root(function, low, high, *arguments))


def explicit_root(
    function: Callable[..., Quantity], low: Quantity, high: Quantity, *arguments: Quantity
) -> Quantity:
    """Find the same crossing as ``solve_monotone`` in a fixed number of explicit passes.

    Parameters
    ----------
    function : callable
        ``function(x, *arguments)``, rising in ``x``.
    low, high : float, array (cases, months) or recording number
        The bracket; its nearer end is the answer where the function does not change sign inside.
    *arguments : float, array (cases, months) or recording number

    Returns
    -------
    array (cases, months) or recording number

    Notes
    -----
    Ridders' method (IEEE Transactions on Circuits and Systems 26 (1979) 979-980): each pass halves
    the bracket at least and, near the crossing, squares the error.
    """
    a, b = low, high
    f_a, f_b = function(a, *arguments), function(b, *arguments)
    at_low, at_high = f_a >= 0.0, f_b <= 0.0
    x = b
    for _ in passes(EXPLICIT_PASSES):
        middle = 0.5 * (a + b)
        f_middle = function(middle, *arguments)
        slope = sqrt(maximum(f_middle * f_middle - f_a * f_b, 0.0))
        x = middle - ratio((middle - a) * f_middle, slope, 0.0)
        x = minimum(maximum(x, a), b)  # rounding never leaves the bracket
        f = function(x, *arguments)
        short, half_short = f < 0.0, f_middle < 0.0
        a, b = (
            where(short, x, where(half_short, middle, a)),
            where(short, where(half_short, b, middle), x),
        )
        f_a, f_b = (
            where(short, f, where(half_short, f_middle, f_a)),
            where(short, where(half_short, f_b, f_middle), f),
        )
    return where(at_low, low, where(at_high, high, x))


_PASS: ContextVar[tuple[int, int] | None] = ContextVar("pass", default=None)


def passes(count: int) -> Iterator[int]:
    """Count the passes of a contracting loop from 1, so that a recording can tell them apart."""
    outside = _PASS.get()
    try:
        for number in range(1, count + 1):
            _PASS.set((number, count))
            yield number
    finally:
        _PASS.set(outside)


def settled(
    step: Callable[..., tuple[Quantity, ...]], start: tuple[Quantity, ...], count: int
) -> tuple[Quantity, ...]:
    """Find where a contracting step gives back what it is given, in a fixed number of passes.

    Parameters
    ----------
    step : callable
        ``step(*values)`` gives as many quantities as it takes.
    start : tuple of quantities
        Where to begin.
    count : int
        Passes of two steps each.

    Returns
    -------
    tuple of quantities

    Notes
    -----
    Steffensen's method, one quantity at a time: two steps tell where their geometric row ends
    (Aitken, Proceedings of the Royal Society of Edinburgh 46 (1926) 289-305). Near the end a pass
    squares the error, where two plain steps would multiply it twice by the contraction. No end is
    farther from the last member than this is from the one before, so a row that turns at a bend
    goes nowhere it should not.
    """
    found = start
    for _ in passes(count):
        once = step(*found)
        twice = step(*once)
        found = tuple(map(_row_end, found, once, twice))
    return found


def _row_end(first: Quantity, second: Quantity, third: Quantity) -> Quantity:
    """Tell where three members of a geometric row lead, or the last where they stand still."""
    last = third - second
    quotient = ratio(last, second - first, 0.0)
    quotient = minimum(maximum(quotient, -LARGEST_QUOTIENT), LARGEST_QUOTIENT)
    return third + last * quotient / (1.0 - quotient)


def current_pass() -> tuple[int, int] | None:
    """Give the pass that the innermost loop is in and how many it has; outside of loops None."""
    return _PASS.get()


def bracketed_root(function: Callable[[Array], Array], low: Array, high: Array) -> Array:
    """Find the crossing of a rising function inside a bracket, by plain values.

    Parameters
    ----------
    function : callable
        Rising; takes and gives arrays of one shape.
    low, high : float or array (cases, months)
        The bracket; without a crossing inside, the nearer end is the answer.

    Returns
    -------
    array (cases, months)

    Notes
    -----
    Inverse quadratic interpolation where it is safe, bisection where not (the published rule of
    Chandrupatla, Advances in Engineering Software 28 (1997) 145-149). What has converged is put
    aside at once: a case never depends on its neighbours, and the last few cost little.
    """
    f_high = function(high)
    high = high + 0.0 * f_high  # the full shape, once
    low = low + 0.0 * high
    f_low = function(low)
    answer = np.where(f_low >= 0.0, low, high)  # the end, where there is no crossing inside
    at, flat = answer.copy(), answer.reshape(-1)
    left = np.flatnonzero(np.logical_not((f_low >= 0.0) | (f_high <= 0.0)))
    a, f_a, b, f_b = (np.reshape(x, -1)[left] for x in (high, f_high, low, f_low))
    share = np.full_like(a, 0.5)
    with np.errstate(divide="ignore", invalid="ignore"):  # of two ends that are alike
        for _ in range(MOST_PASSES):
            if not left.size:
                break
            x = a + share * (b - a)
            at.reshape(-1)[left] = x
            f = np.reshape(function(at), -1)[left]
            same = (f > 0.0) == (f_a > 0.0)
            c, f_c = np.where(same, a, b), np.where(same, f_a, f_b)
            b, f_b = np.where(same, b, a), np.where(same, f_b, f_a)
            a, f_a = x, f
            best = np.where(np.abs(f_a) < np.abs(f_b), a, b)
            finest = RESOLUTION * np.abs(best) / np.abs(b - a)
            done = (finest > 0.5) | (f_a == 0.0) | (f_b == 0.0)
            flat[left] = best
            if done.any():
                going = ~done
                left, a, f_a, b, f_b, c, f_c, finest = (
                    part[going] for part in (left, a, f_a, b, f_b, c, f_c, finest)
                )
            xi, phi = (a - b) / (c - b), (f_a - f_b) / (f_c - f_b)
            safe = (phi * phi < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
            inverse = f_a / (f_b - f_a) * f_c / (f_b - f_c) + (c - a) / (b - a) * f_a / (
                f_c - f_a
            ) * f_b / (f_c - f_b)
            share = np.where(safe, np.minimum(np.maximum(inverse, finest), 1.0 - finest), 0.5)
    return answer


class NamedConstant(float):
    """A constant of a reference table that remembers its name, so that a record can show it."""

    name: str

    def __new__(cls, value: float, name: str) -> NamedConstant:
        """Make the number and keep its name."""
        self = super().__new__(cls, value)
        self.name = name
        return self


EQUATIONS: dict[str, Callable[..., Any]] = {}
SIGNATURE = functools.cache(inspect.signature)  # read when a recording first asks for it
F = TypeVar("F", bound=Callable[..., Any])


def equation(function: F) -> F:
    """Register a cited equation and make its result a named step of a recording.

    Plain numbers and arrays pass straight through. A recording number that comes back is given
    the equation's name and its arguments; a tuple of results is named field by field.
    """
    name = function.__name__
    if name in EQUATIONS:
        raise ValueError(f"two equations are called {name}")

    def bound(args: tuple[Any, ...], kwargs: dict[str, Any]) -> dict[str, Any]:
        return SIGNATURE(function).bind(*args, **kwargs).arguments

    @functools.wraps(function)
    def wrapped(*args: Any, **kwargs: Any) -> Any:
        result = function(*args, **kwargs)
        if type(result) is np.ndarray:
            return result
        if isinstance(result, tuple):
            if any(hasattr(part, "of_equation") for part in result):
                arguments = bound(args, kwargs)
                fields = getattr(result, "_fields", range(len(result)))
                named = [
                    part.of_equation(f"{name}.{field}", arguments)
                    if hasattr(part, "of_equation")
                    else part
                    for field, part in zip(fields, result, strict=True)
                ]
                return type(result)(*named) if hasattr(result, "_fields") else tuple(named)
        elif hasattr(result, "of_equation"):
            return result.of_equation(name, bound(args, kwargs))
        return result

    EQUATIONS[name] = wrapped
    return wrapped  # type: ignore[return-value]
