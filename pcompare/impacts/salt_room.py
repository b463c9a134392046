"""Salt room: the largest dose of a metal that those who use the water can bear.

The dose is added to the effluent of no action with its anions, and with the cation of the base that
puts its alkalinity back. The phosphate that it removes is not credited, which is on the safe side.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pcompare.arrays import Array, Quantity, as_cases, maximum, solve_monotone, where
from pcompare.equations import alkalinity, conductivity, ions, reuse, stoichiometry
from pcompare.findings import SaltRoom, UseLimit
from pcompare.impacts import reuse as downstream
from pcompare.records import Inputs

MOST = 2000.0  # mg metal/L: beyond it nobody doses, and the limit does not bind
PROPERTIES = (
    "chloride_per_metal",
    "sulfate_per_metal",
    "sodium_per_metal",
    "equivalents_per_metal",
)
IONS = ("sodium", "potassium", "calcium", "magnesium", "chloride", "sulfate")
NEEDED = (
    *(f"effluent_{ion}" for ion in IONS),
    "effluent_ammonia",
    "effluent_nitrate",
    "bicarbonate",
    "alkalinity_residual",
    "tds_residue",
    "conductivity",
    "ionic_strength",
)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Products:
    """Metal salts and what each brings for a mole of metal, as a column each."""

    names: tuple[str, ...]
    metals: tuple[str, ...]
    per_metal: Mapping[str, Array]


def rooms(
    inputs: Inputs,
    products: Products,
    waters: Sequence[tuple[Mapping[str, Quantity], downstream.Loop]],
    limits: Sequence[UseLimit],
) -> tuple[SaltRoom, ...]:
    """Solve for the dose at which the long-run supply reaches each limit.

    Parameters
    ----------
    inputs : Inputs
    products : Products
    waters : sequence of (quantities, Loop)
        No action in a normal year and in the design drought.
    limits : sequence of UseLimit

    Returns
    -------
    tuple of SaltRoom
    """
    found = []
    for limit in limits:
        doses = [_doses(inputs, products, water, loop, limit) for water, loop in waters]
        for place, name in enumerate(products.names):
            (normal, first), (drought, second) = (_told(column, place) for column in doses)
            found.append(
                SaltRoom(product=name, limit=limit.key, normal=normal, drought=drought,
                         reason=first or second)
            )  # fmt: skip
    return tuple(found)


def dosed(
    products: Products, metal_dose: Quantity, water: Mapping[str, Quantity]
) -> dict[str, Quantity]:
    """Effluent of no action with a dose of metal in it, alkalinity put back [mg metal/L]."""
    molar = metal_dose / _masses(products)
    per = products.per_metal
    change = per["equivalents_per_metal"] * molar  # meq/L lost; negative is gained
    lost = alkalinity.alkalinity_all_hydroxide(molar, maximum(per["equivalents_per_metal"], 0.0))
    gained = maximum(-change, 0.0)  # mmol/L of bicarbonate
    added = {
        "chloride": ions.ion_from_metal(molar, per["chloride_per_metal"], "Cl"),
        "sulfate": ions.ion_from_metal(molar, per["sulfate_per_metal"], "SO4"),
        "sodium": ions.ion_from_metal(molar, per["sodium_per_metal"], "Na")
        + reuse.replacement_cation(lost, downstream.CATION),
    }
    none = 0.0 * molar
    solids = ions.dissolved_solids_residue(
        added["sodium"], none, none, none, none, added["chloride"], added["sulfate"], none,
        gained, none, none, none,
    )  # fmt: skip
    more = {f"effluent_{ion}": water[f"effluent_{ion}"] + value for ion, value in added.items()}
    after = {**water, **more}
    return {
        "tds": water["tds_residue"] + solids,
        "chloride": after["effluent_chloride"],
        "sulfate": after["effluent_sulfate"],
        "sodium": after["effluent_sodium"],
        "calcium": water["effluent_calcium"] + none,
        "magnesium": water["effluent_magnesium"] + none,
        "alkalinity": water["alkalinity_residual"]
        + alkalinity.alkalinity_all_hydroxide(gained, 1.0),
        "conductivity": water["conductivity"] + _conducting(after, gained) - _conducting(water, 0),
    }


def _conducting(water: Mapping[str, Quantity], gained: Quantity) -> Quantity:
    """Conductivity of the ions that are followed, at the ionic strength that they make."""
    names = (*IONS[:4], "ammonia", *IONS[4:], "nitrate")
    sodium, potassium, calcium, magnesium, ammonia, chloride, sulfate, nitrate = (
        water[f"effluent_{name}"] for name in names
    )
    bicarbonate = ions.ion_molar(water["bicarbonate"], "HCO3") + gained
    strength = ions.ionic_strength(
        sodium, potassium, calcium, magnesium, ammonia, chloride, sulfate, nitrate, bicarbonate
    )
    none = 0.0 * bicarbonate
    return conductivity.conductivity_with_pairs(
        sodium, potassium, calcium, magnesium, ammonia, chloride, sulfate, nitrate, bicarbonate,
        none, none, none, strength,
    )  # fmt: skip


def _masses(products: Products) -> Array:
    return as_cases([[stoichiometry.metal_mass(1.0, metal)] for metal in products.metals])


def _doses(
    inputs: Inputs,
    products: Products,
    water: Mapping[str, Quantity],
    loop: downstream.Loop,
    limit: UseLimit,
) -> tuple[Array, Array, Array]:
    """Give the dose of each product, and how far the limit is missed without and with the most."""

    def beyond(metal_dose: Quantity) -> Quantity:
        settled = downstream.supply(inputs, dosed(products, metal_dose, water), loop)
        over = downstream.judged(settled)[limit.quantity] - limit.value
        return where(over == over, over, 1.0)  # without a steady state every limit is passed

    least = as_cases(0.0) + 0.0 * _masses(products)
    most = least + MOST
    return solve_monotone(beyond, least, most), beyond(least), beyond(most)


def _told(column: tuple[Array, Array, Array], place: int) -> tuple[float | None, str]:
    dose, without, most = (float(as_cases(part)[place, 0]) for part in column)
    if without >= 0.0:
        return 0.0, "the limit is passed, or reached, without any metal"
    if most <= 0.0:
        return None, "the product adds nothing, or too little, of what is limited"
    return dose, ""
