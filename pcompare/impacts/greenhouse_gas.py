"""Greenhouse gas beyond no action. Nitrous oxide is common to all strategies and left out."""

from __future__ import annotations

from pcompare.arrays import Quantity, mean
from pcompare.equations import greenhouse
from pcompare.records import Inputs, Operation

ACID = "C2H4O2"


def increase(inputs: Inputs, operation: Operation, baseline: Operation) -> Quantity:
    """Salt, base, carbon, polymer, electricity and haulage, months averaged [t CO2e/y]."""
    c = inputs.coefficient
    used, before = operation.quantities, baseline.quantities

    def more(name: str) -> Quantity:
        return used[name] - before[name]

    energy = sum(
        (more(name) for name in ("mixing_energy", "pumping_energy", "gas_energy_lost")),
        more("aeration_energy"),
    )
    parts = (
        greenhouse.coagulant_emission(
            used["metal_molar"], inputs["flow.average"], c("emission_per_metal")
        ),
        greenhouse.mass_emission(more("base_use"), c(_emission_of(operation))),
        greenhouse.mass_emission(more("lime_use"), c("emission_hydrated_lime")),
        greenhouse.mass_emission(more("carbon_use"), c("emission_acetic_acid")),
        greenhouse.fossil_carbon_emission(more("carbon_use"), ACID),
        greenhouse.mass_emission(more("polymer_use"), c("emission_polymer")),
        greenhouse.energy_emission(energy, c("grid_factor")),
        greenhouse.haulage_emission(more("cake_total"), inputs["haul.distance"], c("haul_factor")),
    )
    return mean(sum(parts[1:], parts[0]))


def _emission_of(operation: Operation) -> str:
    """Name the emission factor of the base that holds the alkalinity."""
    lime = ("hydrated_lime", "quicklime")
    return "emission_hydrated_lime" if operation.design.base in lime else "emission_caustic"
