"""What of a run the board brief tells: the handful of options that matter, and the odds."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from pcompare.documents.words import NONE, number
from pcompare.findings import Dossier, Swing
from pcompare.records import Check, StrategyResult

NO_ACTION = "no_action"
HANDFUL = 6  # options besides the one that keeps the users' salt limits
NEAREST = 3  # options shown where none meets everything, beside the best of each family
NEITHER = ("lime", NO_ACTION)  # what is no metal salt, though a chemical or nothing at all

Test = Callable[[StrategyResult], bool]


@dataclass(frozen=True, kw_only=True, slots=True)
class Odds:
    """How often options were cheapest, and met everything; ``trials`` 0 where none were made."""

    trials: int
    cheapest: dict[str, float]
    meets: dict[str, float]

    @property
    def likeliest(self) -> str:
        """Name the option that was the cheapest most often."""
        return max(self.cheapest, key=lambda name: self.cheapest[name], default="")


def odds(dossier: Dossier) -> Odds:
    """Give the odds; the one place that knows which of a study's chances the brief prints."""
    return Odds(
        trials=dossier.study.draws,
        cheapest=dict(dossier.study.chance_cheapest),
        meets={name: found.meets.value for name, found in dossier.study.odds.items()},
    )


def best(dossier: Dossier) -> StrategyResult | None:
    """Give the cheapest option that meets every requirement; None where there is none."""
    compared = dossier.comparison
    return compared.strategies[compared.ranking[0]] if compared.ranking else None


def nearest(dossier: Dossier) -> StrategyResult | None:
    """Give the option that misses fewest requirements, and these by least."""
    found = [r for r in dossier.comparison.strategies.values() if r.kind != "baseline"]
    return min(found, key=_rank, default=None)


def _rank(result: StrategyResult) -> tuple[int, float, float]:
    """Order options: those that miss fewest first, then by how much, then by cost."""
    misses = [c for c in result.checks if not c.met]
    worth = number(result, "present_worth")
    return len(misses), max(map(_shortfall, misses), default=0.0), _or_last(worth)


def _shortfall(check: Check) -> float:
    """Tell by what share of its own amount a requirement is missed; to order options only."""
    size = abs(check.needed) or abs(check.found) or 1.0
    return _or_last(abs(check.found - check.needed) / size)


def _or_last(found: float) -> float:
    return found if math.isfinite(found) else math.inf


def keeps_salt(dossier: Dossier, name: str, when: str) -> bool | None:
    """Tell whether an option keeps the users' salt limits; None where that cannot be said.

    ``when`` is ``normal`` or ``drought`` of the supply, or ``effluent`` for the water undiluted.
    """
    picture = dossier.reuse
    if name not in picture.verdicts:
        return None
    if when != "effluent":
        loop = picture.drought if when == "drought" else picture.normal
        if not is_reused(dossier) or not loop.steady:
            return None
    return picture.passes(name, when)


def is_reused(dossier: Dossier) -> bool:
    """Tell whether effluent comes back into a supply."""
    return dossier.reuse.normal.return_fraction > 0.0


def cheapest_with_salt(dossier: Dossier) -> StrategyResult | None:
    """Give the cheapest that meets everything and keeps the salt limits in the drought too."""
    compared = dossier.comparison
    kept = (n for n in compared.ranking if keeps_salt(dossier, n, "drought"))
    name = next(kept, None)
    return compared.strategies[name] if name else None


def handful(dossier: Dossier, most: int = HANDFUL) -> list[StrategyResult]:
    """Give the options that the brief shows: those that meet all first, no action last."""
    named = list(dict.fromkeys(r.name for r in _that_matter(dossier)))
    shown = [n for n in named if n != NO_ACTION][: most - (NO_ACTION in named)]
    compared = dossier.comparison
    order = {name: place for place, name in enumerate(compared.ranking)}
    shown.sort(key=lambda n: (order.get(n, len(order)), _rank(compared.strategies[n])))
    return [compared.strategies[n] for n in [*shown, *(n for n in named if n == NO_ACTION)]]


def _that_matter(dossier: Dossier) -> Iterator[StrategyResult]:
    """Give the options by how much a board needs them; some may come twice."""
    compared = dossier.comparison
    if not compared.ranking:
        found = [r for r in compared.strategies.values() if r.kind != "baseline"]
        yield from sorted(found, key=_rank)[:NEAREST]
    yield from (compared.strategies[n] for n in compared.ranking[:2])
    with_salt = cheapest_with_salt(dossier)
    yield from (with_salt,) if with_salt else ()
    for test in (_is_biological, _is_salt):
        cheapest = _first(dossier, test)
        yield from (cheapest,) if cheapest else ()
    if compared.reference in compared.strategies:
        yield compared.strategies[compared.reference]
    if NO_ACTION in compared.strategies:
        yield compared.strategies[NO_ACTION]


def _first(dossier: Dossier, test: Test) -> StrategyResult | None:
    """Give the cheapest of a family: of those that miss fewest requirements."""
    found = [r for r in dossier.comparison.strategies.values() if test(r)]
    return min(found, key=_rank, default=None)


def _is_biological(result: StrategyResult) -> bool:
    return result.kind == "biological"


def _is_salt(result: StrategyResult) -> bool:
    return result.kind == "chemical" and result.name not in NEITHER


def built_to_stay(result: StrategyResult, size: Callable[[str], float]) -> list[str]:
    """List the structures that an option builds, by label."""
    return [
        item.label for item in result.design.capital
        if item.kind == "structure" and size(item.key) > 0.0
    ]  # fmt: skip


def turning(dossier: Dossier) -> list[Swing]:
    """Give the inputs that turn the order of the two best, one of money and one of the plant first.

    Both are the widest swing of their kind; the others follow by width.
    """
    found = [s for s in dossier.sensitivity if min(s.at_low, s.at_high) < 0.0]
    first: list[Swing] = []
    for is_money in (True, False):
        first += [s for s in found if _is_money(s) is is_money][:1]
    first.sort(key=found.index)
    return [*first, *(s for s in found if s not in first)]


def _is_money(swing: Swing) -> bool:
    return swing.field.split(".")[0] in ("prices", "capital", "finance")


def stricter(dossier: Dossier, limit: float) -> tuple[float, str]:
    """Give the nearest stricter limit at which the best no longer is, and who then is.

    The name is empty where nothing meets that limit; the limit is 0 where none was tried.
    """
    sweep, ranking = dossier.targets, dossier.comparison.ranking
    for place, point in sorted(enumerate(sweep.points), key=lambda p: -p[1]):
        if point >= limit or not ranking:
            continue
        costs = {
            name: rows["equal_annual_cost"][place]
            for name, rows in sweep.values.items()
            if name != NO_ACTION and sweep.feasible.get(name, ())[place]
        }
        winner = min(costs, key=lambda name: costs[name], default="")
        if winner != ranking[0]:
            return point, winner
    return 0.0, NONE
