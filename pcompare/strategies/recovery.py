"""Phosphorus taken from the sludge liquor as struvite, an add-on to any biological strategy.

The nitrogen of the liquor is not modelled, so that of the struvite is not counted as removed.
"""

from __future__ import annotations

from dataclasses import dataclass

from pcompare.arrays import Quantity
from pcompare.equations import recovery
from pcompare.equations.stoichiometry import concentration_from_load
from pcompare.records import Inputs
from pcompare.tables import composition, molar_mass


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Recovered:
    """What a struvite reactor takes and gives, all loads in kg/d."""

    phosphorus: Quantity  # that leaves as product
    struvite: Quantity
    compound: Quantity  # magnesium compound, pure
    caustic: Quantity  # pure NaOH
    magnesium: Quantity  # mg/L of plant flow that comes back, less what the product holds
    chloride: Quantity  # mg/L of plant flow
    sodium: Quantity  # mg/L of plant flow


def wanted(inputs: Inputs) -> bool:
    """Tell whether phosphorus is recovered: it takes digested sludge to have a rich liquor."""
    return (
        inputs.choice("recovery.product") == "struvite"
        and inputs.choice("solids.digestion") == "anaerobic"
    )


def recover(
    inputs: Inputs, flow: Quantity, liquor: Quantity, entering: Quantity
) -> Recovered | None:
    """Precipitate struvite from the liquor.

    ``liquor`` and ``entering`` are the phosphorus [kg/d] that would return and that of the sewage.
    """
    if not wanted(inputs):
        return None
    c, formula = inputs.coefficient, inputs.choice("recovery.magnesium")
    product = recovery.recovered_phosphorus(
        liquor, c("recovery_efficiency"), c("recovery_product"), entering, c("recovery_ceiling")
    )
    precipitating = product / c("recovery_product")
    magnesium = recovery.magnesium_demand(precipitating, c("magnesium_excess"))
    compound = recovery.magnesium_product(magnesium, formula)
    caustic = recovery.struvite_caustic(
        precipitating, c("struvite_acid"), c("magnesium_excess"), formula
    )
    chlorides = composition(formula).get("Cl", 0)
    left = magnesium - recovery.magnesium_demand(product, 1.0)
    return Recovered(
        phosphorus=product,
        struvite=recovery.struvite_mass(product),
        compound=compound,
        caustic=caustic,
        magnesium=concentration_from_load(left, flow),
        chloride=concentration_from_load(
            compound * (chlorides * molar_mass("Cl") / molar_mass(formula)), flow
        ),
        sodium=concentration_from_load(caustic * (molar_mass("Na") / molar_mass("NaOH")), flow),
    )
