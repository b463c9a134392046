"""Acids that one year has and another lacks: what a month of want leaves, and its odds.

The sewage's acids are lognormal about the month's mean. More acids than the phosphorus calls for
remove nothing more, so want and plenty do not cancel: on average more phosphorus is left than at
the mean of the acids. Carbon that is bought, or a trim, is sized by the bad months and paid for by
the average of all.
"""

from __future__ import annotations

from dataclasses import dataclass

from pcompare.arrays import (
    Quantity,
    maximum,
    minimum,
    normal_nodes,
    normal_quantile,
    plain,
    where,
)
from pcompare.equations import reliability
from pcompare.records import Inputs

NODES = 7  # of the quadrature over the acids


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Varying:
    """Soluble phosphorus that storage leaves, as the acids of a month vary from year to year."""

    acids: Quantity  # mg COD/L of volatile fatty acids, mean of the month
    variability: Quantity
    cod_per_phosphorus: Quantity  # g COD/g P
    left: Quantity  # mg P/L at the mean of the acids; below 0 where there are acids to spare
    unstored: Quantity  # mg P/L without any storage: no month leaves more

    def excess(self, level: Quantity) -> Quantity:
        """Give what is left above a level, on average over good months and bad [mg P/L]."""
        short = self._short(level) - self._short(maximum(self.unstored, level))
        return short / self.cod_per_phosphorus

    def chance(self, level: Quantity) -> Quantity:
        """Give the chance that more than a level is left [-]."""
        chance = reliability.carbon_shortfall_chance(
            self.acids, self._needed(level), self.variability
        )
        return where(level < self.unstored, chance, 0.0)

    def excess_at(self, score: Quantity, level: Quantity) -> Quantity:
        """Give what is left above a level in a month of this standard score of acids [mg P/L]."""
        acids = reliability.lognormal_quantile(self.acids, self.variability, score)
        short = (self._needed(level) - acids) / self.cod_per_phosphorus
        return maximum(minimum(short, self.unstored - level), 0.0)

    def _short(self, level: Quantity) -> Quantity:
        """Acids short of a level, on average [mg COD/L]."""
        return reliability.expected_carbon_shortfall(
            self.acids, self._needed(level), self.variability
        )

    def _needed(self, level: Quantity) -> Quantity:
        """Acids that would just leave a level [mg COD/L]."""
        return self.acids + (self.left - level) * self.cod_per_phosphorus


def varying(
    inputs: Inputs, cod_per_phosphorus: Quantity, left: Quantity, unstored: Quantity
) -> Varying:
    """Describe the month-to-month chance of a plant's acids."""
    return Varying(
        acids=inputs["influent.vfa"],
        variability=inputs.coefficient("vfa_variability"),
        cod_per_phosphorus=cod_per_phosphorus,
        left=left,
        unstored=unstored,
    )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Held:
    """Soluble phosphorus of good and bad months, as far as what is installed reaches."""

    varying: Varying
    floor: Quantity  # mg P/L that organisms leave with acids enough
    wanted: Quantity  # mg P/L that dosing aims at
    reach: Quantity  # mg P/L that dosing can take at its capacity
    mean: Quantity  # mg P/L, what the whole leaves on average

    def effluents(self) -> list[tuple[float, Quantity]]:
        """Give weights, and what is left above the mean at each node of the acids [mg P/L]."""
        scores, weights = normal_nodes(NODES)
        found = []
        for score, weight in zip(scores, weights, strict=True):
            came = self.floor + self.varying.excess_at(score, self.floor)
            left = maximum(minimum(came, self.wanted), came - self.reach)
            found.append((weight, left - self.mean))
        return found


def low_score(inputs: Inputs) -> Quantity:
    """Give the standard score of the acids that the wanted reliability has to bear [-]."""
    return -normal_quantile(plain(inputs["permit.reliability"]))
