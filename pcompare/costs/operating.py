"""Annual cost beyond no action, item by item, from what an operation uses."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from pcompare import units
from pcompare.arrays import Quantity, as_cases, mean, plain
from pcompare.records import Design, Inputs, Operation


def annual_costs(
    inputs: Inputs, operation: Operation, baseline: Operation, direct_capital: Quantity
) -> dict[str, Quantity]:
    """Annual cost of each item, months averaged [money/y]."""
    used, before = operation.quantities, baseline.quantities

    def more(name: str) -> Quantity:
        return mean(used[name] - before[name])

    def yearly(use: Quantity, price: Quantity) -> Quantity:
        return use * price * units.DAYS_PER_YEAR

    tonne = units.KILOGRAMS_PER_TONNE
    zero = 0.0 * more("cake_total")
    product = operation.design.product
    salt = zero
    if product:
        # Lime is priced as pure, metal salts as delivered.
        bought = "lime_use" if product == "hydrated_lime" else "product_use"
        salt = yearly(mean(used[bought]) / tonne, inputs[f"prices.{product}"])
    energy = _energy(used) - _energy(before)
    return {
        "cost_salt": salt,
        "cost_base": yearly(more("base_use") / tonne, inputs[f"prices.{operation.design.base}"]),
        "cost_carbon": _carbon(inputs, operation.design, yearly, more("carbon_use") / tonne),
        "cost_recovery": yearly(more("magnesium_use") / tonne, inputs["prices.magnesium_compound"])
        + yearly(more("recovery_caustic") / tonne, inputs["prices.caustic"])
        - yearly(more("struvite") / tonne, inputs["prices.struvite"]),
        "cost_sludge": yearly(more("cake_total"), inputs["prices.cake"]),
        "cost_polymer": yearly(more("polymer_use"), inputs["prices.polymer"]),
        "cost_energy": yearly(mean(energy), inputs["prices.electricity"]),
        "cost_maintenance": direct_capital * inputs["finance.maintenance"] + zero,
        "cost_labour": yearly(_labour(inputs, operation.design), inputs["prices.labour"]) + zero,
    }


def _carbon(
    inputs: Inputs,
    design: Design,
    yearly: Callable[[Quantity, Quantity], Quantity],
    tonnes: Quantity,
) -> Quantity:
    """Cost of bought carbon: tonnes a day of the compound that is priced."""
    return yearly(tonnes, inputs[f"prices.{design.carbon}"]) if design.carbon else 0.0 * tonnes


def _energy(used: Mapping[str, Quantity]) -> Quantity:
    return (
        used["aeration_energy"]
        + used["mixing_energy"]
        + used["pumping_energy"]
        + used["gas_energy_lost"]
    )


def _labour(inputs: Inputs, design: Design) -> Quantity:
    """Hours a day that feed systems and zones take."""
    hours: Quantity = 0.0 * inputs["finance.labour_chemical"]
    if design.product or "carbon" in design.choices:
        hours = hours + inputs["finance.labour_chemical"]
    if (as_cases(plain(design.zones.anaerobic_fraction)) > 0.0).any():
        hours = hours + inputs["finance.labour_biological"]
    return hours
