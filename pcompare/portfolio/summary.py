"""A portfolio added up: who is recommended what, how much of everything, and what fails."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np

from pcompare import lines
from pcompare.findings import Chosen, PlantFault, Portfolio
from pcompare.portfolio import fleet
from pcompare.portfolio.tasks import CURRENCY, UNUSUAL, Result

SUMS = {
    "flow": "flow_average",
    "metal": "chosen_metal_load",
    "sludge": "chosen_sludge_increase",
    "salt": "chosen_salt_load",
    "capital": "chosen_capital",
    "annual_cost": "chosen_annual_cost",
    "present_worth": "chosen_present_worth",
}


class Summary:
    """Sums over chunks, as they come: of no plant is anything kept."""

    def __init__(self) -> None:
        self.chosen: dict[str, dict[str, float]] = {}
        self.missed: Counter[str] = Counter()
        self.counts: Counter[str] = Counter()
        self.currencies: set[str] = set()
        self.labels: dict[str, str] = {}
        self.faults: list[PlantFault] = []

    def add(self, result: Result) -> None:
        """Add one chunk."""
        self.faults += result.faults
        self.labels |= result.labels
        columns = result.columns
        if not columns:
            return
        recommended = columns["recommended"]
        self.counts["compared"] += len(recommended)
        self.counts["infeasible"] += int((recommended == "").sum())
        standing = columns[fleet.column(fleet.BASELINE, "meets")]
        self.counts["standing"] += int((standing == 1.0).sum())
        self.counts["close"] += int((columns["close"] == 1.0).sum())
        self.counts["unusual"] += int((columns[UNUSUAL] != "").sum())
        self.currencies |= set(columns[CURRENCY])
        self.missed.update(key for keys in columns["missed"] for key in keys.split())
        for strategy in fleet.STRATEGY_NAMES:
            rows = recommended == strategy
            if rows.any():
                sums = self.chosen.setdefault(strategy, dict.fromkeys(("plants", *SUMS), 0.0))
                sums["plants"] += float(rows.sum())
                for name, column in SUMS.items():
                    sums[name] += float(np.nansum(columns[column][rows]))

    def portfolio(
        self, *, source: str, base: str, assumed: Sequence[str], version: str, run_id: str,
        taken_over: int, chunks: int,
    ) -> Portfolio:  # fmt: skip
        """Give what was added up."""
        faults = sorted(self.faults, key=lambda fault: fault.row)
        return Portfolio(
            source=source,
            base=base,
            assumed=tuple(assumed),
            compared=self.counts["compared"],
            skipped=len({fault.row for fault in faults}),
            choices=tuple(self._choices()),
            infeasible=self.counts["infeasible"],
            missed=tuple((self.labels[key], count) for key, count in self.missed.most_common()),
            standing=self.counts["standing"],
            close=self.counts["close"],
            unusual=self.counts["unusual"],
            currencies=tuple(sorted(self.currencies)),
            faults=tuple(faults),
            version=version,
            run_id=run_id,
            taken_over=taken_over,
            chunks=chunks,
        )

    def _choices(self) -> Iterable[Chosen]:
        by_plants = sorted(self.chosen.items(), key=lambda item: -item[1]["plants"])
        for strategy, sums in by_plants:
            amounts = {name: sums[name] for name in SUMS}
            yield Chosen(
                strategy=strategy,
                label=lines.LABELS[strategy],
                plants=round(sums["plants"]),
                **amounts,
            )
