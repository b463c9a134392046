"""Annual cost beyond no action, item by item, from what an operation uses."""

from __future__ import annotations

from pcompare import units
from pcompare.arrays import Quantity, as_cases, mean, plain, where
from pcompare.equations.purchases import yearly_cost
from pcompare.records import Design, Inputs, Operation
from pcompare.rows import of_each


def annual_costs(
    inputs: Inputs,
    operation: Operation,
    baseline: Operation,
    direct_capital: Quantity,
    energy: Quantity,
    emission: Quantity,
) -> dict[str, Quantity]:
    """Annual cost of each item, months averaged, at today's load and prices [money/y].

    ``energy`` [kWh/d] is the increase of electricity bought; ``emission`` [t CO2e/y] costs what
    the user puts on it, nothing by default.
    """
    used, before = operation.quantities, baseline.quantities

    def more(name: str) -> Quantity:
        return mean(used[name] - before[name])

    tonne = units.KILOGRAMS_PER_TONNE
    zero = 0.0 * more("cake_total")
    product = operation.design.product
    salt = zero
    if product:
        # Lime is priced as pure, metal salts as delivered.
        bought = "lime_use" if product == "hydrated_lime" else "product_use"
        salt = yearly_cost(mean(used[bought]) / tonne, _price(inputs, product))
    return {
        "cost_salt": salt,
        "cost_base": yearly_cost(
            more("base_use") / tonne, inputs[f"prices.{operation.design.base}"]
        ),
        "cost_carbon": _carbon(inputs, operation.design, more("carbon_use") / tonne),
        "cost_recovery": yearly_cost(
            more("magnesium_use") / tonne, inputs["prices.magnesium_compound"]
        )
        + yearly_cost(more("recovery_caustic") / tonne, inputs["prices.caustic"])
        - yearly_cost(more("struvite") / tonne, inputs["prices.struvite"]),
        "cost_sludge": yearly_cost(more("cake_total"), inputs["prices.cake"]),
        "cost_polymer": yearly_cost(more("polymer_use"), inputs["prices.polymer"]),
        "cost_energy": yearly_cost(mean(energy), inputs["prices.electricity"]),
        "cost_maintenance": direct_capital * inputs["finance.maintenance"] + zero,
        "cost_labour": yearly_cost(_labour(inputs, operation.design), inputs["prices.labour"])
        + zero,
        "cost_climate": emission * inputs["finance.carbon_price"] + zero,
    }


def _carbon(inputs: Inputs, design: Design, tonnes: Quantity) -> Quantity:
    """Cost of bought carbon: tonnes a day of the compound that is priced."""
    if not design.carbon:
        return 0.0 * tonnes
    return yearly_cost(tonnes, _price(inputs, design.carbon))


def _price(inputs: Inputs, product: str) -> Quantity:
    return of_each(product, lambda name: inputs[f"prices.{name}"])


def _labour(inputs: Inputs, design: Design) -> Quantity:
    """Hours a day that feed systems and zones take."""
    chemical = inputs["finance.labour_chemical"]
    hours: Quantity = 0.0 * chemical
    if "carbon" in design.choices:
        hours = hours + chemical
    elif design.product:  # none where nothing is installed
        installed = as_cases(plain(design.sizes["product_volume"])) > 0.0
        hours = hours + where(installed, chemical, hours)
    if (as_cases(plain(design.zones.anaerobic_fraction)) > 0.0).any():
        hours = hours + inputs["finance.labour_biological"]
    return hours
