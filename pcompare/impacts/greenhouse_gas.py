"""Greenhouse gas beyond no action, item by item and by scope.

Scope 1 is let go at the plant, scope 2 in making the electricity that it buys, scope 3 in making
and hauling what it buys and sends away. Nitrous oxide is common to all strategies and counted once
for the plant, unless the user states that organisms which store phosphorus make more or less of it.
"""

from __future__ import annotations

from pcompare import tables
from pcompare.arrays import Quantity, as_cases, mean, plain
from pcompare.equations import greenhouse
from pcompare.equations.stoichiometry import mass_load
from pcompare.records import Inputs, Operation
from pcompare.rows import of_each

# Bases whose own carbon leaves as carbon dioxide when they take up acid.
CARBONATES = {"soda_ash": "Na2CO3", "sodium_bicarbonate": "NaHCO3"}
LIMES = {"hydrated_lime": "Ca(OH)2", "quicklime": "CaO"}
SCOPES: dict[str, tuple[str, ...]] = {
    "greenhouse_scope_1": ("greenhouse_freed_carbon", "greenhouse_nitrous_oxide"),
    "greenhouse_scope_2": ("greenhouse_energy", "greenhouse_digester"),
    "greenhouse_scope_3": (
        "greenhouse_salt", "greenhouse_base", "greenhouse_carbon", "greenhouse_recovery",
        "greenhouse_polymer", "greenhouse_haulage",
    ),
}  # fmt: skip


def increase(
    inputs: Inputs, operation: Operation, baseline: Operation, digester: Quantity
) -> dict[str, Quantity]:
    """Every item, every scope and their sum, months averaged [t CO2e/y].

    ``digester`` is the electricity of digester gas lost, less that gained [kWh/d].
    """
    used, before = operation.quantities, baseline.quantities

    def more(name: str) -> Quantity:
        return used[name] - before[name]

    c = inputs.coefficient
    power = more("aeration_energy") + more("mixing_energy") + more("pumping_energy")
    items = {
        **_chemicals(inputs, operation, baseline),
        "greenhouse_polymer": greenhouse.mass_emission(more("polymer_use"), c("emission_polymer")),
        "greenhouse_haulage": greenhouse.haulage_emission(
            more("cake_total"), inputs["haul.distance"], c("haul_factor")
        ),
        "greenhouse_energy": greenhouse.energy_emission(power, c("grid_factor")),
        # What a digester no longer makes is made up by electricity that is bought.
        "greenhouse_digester": greenhouse.energy_emission(digester, c("grid_factor")),
        "greenhouse_nitrous_oxide": nitrous_oxide(inputs) * (_share(inputs, operation) - 1.0)
        + 0.0 * power,
    }
    found = {name: mean(value) for name, value in items.items()}
    scopes = {
        scope: sum((found[name] for name in names[1:]), found[names[0]])
        for scope, names in SCOPES.items()
    }
    return {**found, **scopes, "greenhouse_gas": sum(scopes.values(), 0.0 * mean(power))}


def _chemicals(inputs: Inputs, operation: Operation, baseline: Operation) -> dict[str, Quantity]:
    """Count the making of salt or lime, base and carbon, and the carbon they free in the plant."""
    c = inputs.coefficient
    used, base = operation.quantities, operation.design.base
    more_base = used["base_use"] - baseline.quantities["base_use"]
    carbon, lime = used["carbon_use"], used["lime_use"]
    made = operation.design.carbon or "acetic_acid"
    freed = of_each(made, lambda name: _oxidised(inputs, name, carbon, fossil=True))
    biogenic = of_each(made, lambda name: _oxidised(inputs, name, carbon, fossil=False))
    if base in CARBONATES:
        freed = freed + greenhouse.fossil_carbon_emission(more_base, CARBONATES[base])
    burnt = greenhouse.calcination_emission(lime, LIMES["hydrated_lime"])
    if base in LIMES:
        burnt = burnt + greenhouse.calcination_emission(more_base, LIMES[base])
    return {
        "greenhouse_salt": greenhouse.coagulant_emission(
            used["metal_molar"], inputs["flow.average"], c("emission_per_metal")
        )
        + greenhouse.mass_emission(lime, c("emission_hydrated_lime")),
        "greenhouse_base": greenhouse.mass_emission(more_base, c(f"emission_{base}")),
        "greenhouse_calcination": burnt,
        "greenhouse_carbon": greenhouse.mass_emission(
            carbon, of_each(made, lambda name: c(f"emission_{name}"))
        ),
        "greenhouse_recovery": greenhouse.mass_emission(
            used["magnesium_use"], c("emission_magnesium_hydroxide")
        )
        + greenhouse.mass_emission(used["recovery_caustic"], c("emission_caustic")),
        "greenhouse_freed_carbon": freed,
        "greenhouse_biogenic": biogenic,
    }


def _oxidised(inputs: Inputs, product: str, used: Quantity, fossil: bool) -> Quantity:
    """Count the carbon of one product where it is of that origin, else nothing [t CO2e/y]."""
    formula, is_fossil = _origin(inputs, product)
    if not formula or is_fossil != fossil:
        return 0.0 * used
    return greenhouse.fossil_carbon_emission(used, formula)


def _origin(inputs: Inputs, carbon: str) -> tuple[str, bool]:
    """Give the formula of bought carbon, "" for a mixture of plants, and whether it is fossil.

    What is made of oil can also be made of plants: there the user says which it is.
    """
    for row in tables.read("carbon_products"):
        if row.text("product") == carbon:
            fossil = row.text("origin") == "fossil"
            return row.text("formula"), fossil and inputs.choice(
                "climate.carbon_origin"
            ) == "fossil"
    return "", False


def nitrous_oxide(inputs: Inputs) -> Quantity:
    """Nitrous oxide of the plant as it stands, common to all strategies [t CO2e/y]."""
    load = mass_load(inputs["influent.tkn"] + inputs["influent.nitrate"], inputs["flow.average"])
    return greenhouse.nitrous_oxide_emission(
        load,
        inputs.coefficient("nitrous_oxide_fraction"),
        inputs.coefficient("gwp_nitrous_oxide"),
    )


def _share(inputs: Inputs, operation: Operation) -> Quantity:
    """Nitrous oxide over that of the plant as it stands: 1 without an anaerobic zone."""
    anaerobic = as_cases(plain(operation.design.zones.anaerobic_fraction))
    return inputs["climate.nitrous_oxide_biological"] if (anaerobic > 0.0).any() else 1.0
