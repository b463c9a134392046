"""The engine behind the acid-base equations: species, their sums, and the joint solution.

Everything here is in mol/L. pH and ionic strength are found together by a fixed number of
vectorised passes, so that a case never depends on its neighbours: a few bisections at an
estimated ionic strength, then Newton steps on both.
"""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from pcompare.arrays import (
    Quantity,
    absolute,
    exp,
    log,
    maximum,
    minimum,
    sqrt,
    where,
)
from pcompare.tables import constant

MILLI = 1000.0  # mmol per mol
LOG_TEN = log(10.0)
LOWEST_PH, HIGHEST_PH = 1.0, 14.0  # of the first bracket; the Newton steps may leave it
BISECTIONS = 6
NEWTON_PASSES = 7  # 1e-12 meq/L over unlike waters; 2e-10 at 6
LONGEST_STEP = 0.5  # of a Newton step, in pH
LEAST_SHARE = 0.2  # of the ionic strength that one step leaves
PURE = 1e-7  # mol/L, about the ions of water itself: where the search for the strength starts
TRACE = 1e-30  # mol/L, gives a mean charge to a substance that is absent


class AcidConstants(NamedTuple):
    """Equilibrium constants at one temperature, and the Davies coefficient."""

    k_co2_1: Quantity
    k_co2_2: Quantity
    k_henry: Quantity
    k_water: Quantity
    k_ammonium: Quantity
    k_p1: Quantity
    k_p2: Quantity
    k_p3: Quantity
    davies_a: Quantity


class _Activity(NamedTuple):
    """Hydrogen ion activity, and activity coefficients by charge."""

    hydrogen: Quantity
    neutral: Quantity
    one: Quantity
    two: Quantity
    three: Quantity


class _Part(NamedTuple):
    """What some species give to alkalinity and ionic strength, with the slopes. [mol/L].

    A slope is against the natural logarithm of the hydrogen ion activity, a pull against minus
    that of the activity coefficient of a single charge; small pulls are left out.
    """

    alkalinity: Quantity
    alkalinity_slope: Quantity
    strength: Quantity
    strength_slope: Quantity
    alkalinity_pull: Quantity
    strength_pull: Quantity


def power_of_ten(exponent: Quantity) -> Quantity:
    """Give 10 to an exponent."""
    return exp(LOG_TEN * exponent)


def davies_term(ionic_strength: Quantity) -> Quantity:
    """Give the part of the Davies equation that holds for every ion."""
    root = sqrt(ionic_strength)
    return root / (1.0 + root) - constant("davies_slope") * ionic_strength


def davies_slope(ionic_strength: Quantity) -> Quantity:
    """Give the derivative of the same part against the ionic strength."""
    root = sqrt(ionic_strength)
    return 0.5 / (root * (1.0 + root) ** 2) - constant("davies_slope")


def activities(acid: Quantity, strength: Quantity, constants: AcidConstants) -> _Activity:
    """Give the activities at ``acid``, the natural logarithm of that of H+."""
    one = exp(-LOG_TEN * constants.davies_a * davies_term(strength))
    square = one * one
    two = square * square
    neutral = exp(LOG_TEN * constant("neutral_slope") * strength)
    return _Activity(exp(acid), neutral, one, two, two * two * one)


def carbonate_open(a: _Activity, k: AcidConstants, gas: Quantity) -> tuple[Quantity, ...]:
    """Split carbon by the activity ``gas`` of CO2: HCO3, CO3 and CO2."""
    first = k.k_co2_1 * gas / a.hydrogen
    second = first * k.k_co2_2 / a.hydrogen
    return first / a.one, second / a.two, gas / a.neutral


def carbonate_closed(a: _Activity, k: AcidConstants, total: Quantity) -> tuple[Quantity, ...]:
    """Split a total of carbon into HCO3, CO3 and CO2."""
    first, second, gas = carbonate_open(a, k, 1.0)
    activity = total / (first + second + gas)
    return activity * first, activity * second, activity * gas


def phosphate_split(a: _Activity, k: AcidConstants, total: Quantity) -> tuple[Quantity, ...]:
    """Split a total of phosphate, by protons lost."""
    acid = a.hydrogen / (k.k_p1 * a.neutral)
    once = 1.0 / a.one
    second = k.k_p2 / a.hydrogen
    twice = second / a.two
    thrice = second * k.k_p3 / (a.hydrogen * a.three)
    activity = total / (acid + once + twice + thrice)
    return activity * acid, activity * once, activity * twice, activity * thrice


def ammonia_split(a: _Activity, k: AcidConstants, total: Quantity) -> tuple[Quantity, ...]:
    """Split a total of ammonia into NH4 and NH3."""
    free = k.k_ammonium * a.one / (a.hydrogen * a.neutral)
    ammonium = total / (1.0 + free)
    return ammonium, free * ammonium


def _carbonate_part(bicarbonate: Quantity, carbonate: Quantity, total: Quantity) -> _Part:
    """Count carbonate; ``total`` is infinite where the pressure of carbon dioxide is kept."""
    alkalinity = bicarbonate + 2.0 * carbonate
    strength = 0.5 * bicarbonate + 2.0 * carbonate
    mean = alkalinity / (total + TRACE)
    four = 4.0 * carbonate
    square = (bicarbonate + four) / (total + TRACE)
    return _Part(
        alkalinity,
        mean * alkalinity - bicarbonate - four,
        strength,
        mean * strength - 0.5 * bicarbonate - four,
        bicarbonate + 2.0 * four - square * alkalinity,
        0.5 * bicarbonate + 2.0 * four - square * strength,
    )


def _phosphate_part(a: _Activity, k: AcidConstants, total: Quantity) -> _Part:
    acid, once, twice, thrice = phosphate_split(a, k, total)
    alkalinity = twice + 2.0 * thrice - acid
    strength = 0.5 * once + 2.0 * twice + 4.5 * thrice
    mean = alkalinity / (total + TRACE)
    return _Part(
        alkalinity,
        mean * alkalinity - twice - 4.0 * thrice - acid,
        strength,
        mean * strength - 2.0 * twice - 9.0 * thrice,
        0.0,
        0.0,
    )


def _ammonia_part(a: _Activity, k: AcidConstants, total: Quantity) -> _Part:
    ammonium, ammonia = ammonia_split(a, k, total)
    strength = 0.5 * ammonium
    mean = ammonia / (total + TRACE)
    return _Part(ammonia, mean * ammonia - ammonia, strength, mean * strength, 0.0, 0.0)


def _water_part(a: _Activity, k: AcidConstants) -> _Part:
    hydrogen = a.hydrogen / a.one
    hydroxide = k.k_water / (a.hydrogen * a.one)
    both = hydroxide + hydrogen
    difference = hydroxide - hydrogen
    return _Part(difference, -both, 0.5 * both, -0.5 * difference, difference, 0.5 * both)


class Totals(NamedTuple):
    """The totals of a water in mol/L; carbon is a total, or a CO2 activity where open."""

    alkalinity: Quantity
    carbon: Quantity
    phosphate: Quantity
    ammonia: Quantity
    strong: Quantity
    constants: AcidConstants
    is_open: bool

    def carbonates(self, a: _Activity) -> tuple[Quantity, ...]:
        """Split the carbon as the water is open or closed."""
        split = carbonate_open if self.is_open else carbonate_closed
        return split(a, self.constants, self.carbon)

    def whole(self, acid: Quantity, strength: Quantity) -> _Part:
        """Sum alkalinity and ionic strength at a pH and an ionic strength."""
        k = self.constants
        a = activities(acid, strength, k)
        bicarbonate, carbonate, _ = self.carbonates(a)
        c = _carbonate_part(bicarbonate, carbonate, inf if self.is_open else self.carbon)
        p = _phosphate_part(a, k, self.phosphate)
        n = _ammonia_part(a, k, self.ammonia)
        w = _water_part(a, k)
        return _Part(
            c.alkalinity + p.alkalinity + n.alkalinity + w.alkalinity,
            c.alkalinity_slope + p.alkalinity_slope + n.alkalinity_slope + w.alkalinity_slope,
            c.strength + p.strength + n.strength + w.strength + self.strong,
            c.strength_slope + p.strength_slope + n.strength_slope + w.strength_slope,
            c.alkalinity_pull + w.alkalinity_pull,
            c.strength_pull + w.strength_pull,
        )

    def charged(self, a: _Activity) -> Quantity:
        """Sum the alkalinity alone, where the activity coefficients are known."""
        k = self.constants
        bicarbonate, carbonate, _ = self.carbonates(a)
        acid, _, twice, thrice = phosphate_split(a, k, self.phosphate)
        _, ammonia = ammonia_split(a, k, self.ammonia)
        water = (k.k_water / a.hydrogen - a.hydrogen) / a.one
        return bicarbonate + 2.0 * carbonate + twice + 2.0 * thrice - acid + ammonia + water


def solved(water: Totals) -> tuple[Quantity, Quantity]:
    """Find pH and ionic strength: bisections for a start, then Newton steps on both.

    Alkalinity rises with pH, so bisection cannot fail. What the ionic strength does to phosphate
    and ammonia is left out of the Newton step: each pass still gains two digits and more.
    """
    strength = absolute(water.alkalinity) + water.phosphate + water.ammonia + water.strong + PURE
    acid = _bracketed(water, strength)
    longest = LOG_TEN * LONGEST_STEP
    for _ in range(NEWTON_PASSES):
        part = water.whole(acid, strength)
        lean = LOG_TEN * water.constants.davies_a * davies_slope(strength)
        own = 1.0 / (1.0 - lean * part.strength_pull)
        off = part.strength - strength
        pull = lean * part.alkalinity_pull * own
        step = (water.alkalinity - part.alkalinity - pull * off) / (
            part.alkalinity_slope + pull * part.strength_slope
        )
        step = minimum(longest, maximum(-longest, step))
        acid = acid + step
        more = (off + step * part.strength_slope) * own
        strength = maximum(LEAST_SHARE * strength, strength + more)
    return -acid / LOG_TEN, strength


def _bracketed(water: Totals, strength: Quantity) -> Quantity:
    """Halve the range of pH a few times, at one ionic strength."""
    low, high = -LOG_TEN * HIGHEST_PH, -LOG_TEN * LOWEST_PH
    coefficients = activities(0.0, strength, water.constants)
    for _ in range(BISECTIONS):
        acid = 0.5 * (low + high)
        found = water.charged(coefficients._replace(hydrogen=exp(acid)))
        too_high = found > water.alkalinity
        low = where(too_high, acid, low)
        high = where(too_high, high, acid)
    return 0.5 * (low + high)


def left_over(ph: Quantity, strength: Quantity, water: Totals) -> tuple[Quantity, Quantity]:
    """Give what must be zero: alkalinity in meq/L, ionic strength in mol/L."""
    part = water.whole(-LOG_TEN * ph, strength)
    return MILLI * (part.alkalinity - water.alkalinity), part.strength - strength
