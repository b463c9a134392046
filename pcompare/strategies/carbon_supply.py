"""Carbon that can be bought: what of it is stored, what it brings along, and what it weighs.

What the organisms do not store feeds the ordinary ones: it costs oxygen and makes sludge, and
takes up the little phosphorus that growth takes.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from pcompare import tables
from pcompare.arrays import Array, Quantity, as_cases, plain
from pcompare.equations import carbon
from pcompare.equations import stoichiometry as stoich
from pcompare.records import Inputs
from pcompare.rows import Alternatives, of_each


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Product:
    """One carbon product, as numbers."""

    name: str
    cod: Quantity  # g COD/g of the pure compound, or of the product where it is a mixture
    strength: Quantity  # kg of that per kg as delivered
    density: Quantity  # kg/L as delivered
    usable: Quantity  # share of the COD that is stored
    sodium: Quantity  # g Na/g COD
    alkalinity: Quantity  # g CaCO3/g COD


@functools.cache
def formulas() -> dict[str, str]:
    """Give the formula of every carbon product of the tables, "" for a mixture."""
    return {row.text("product"): row.text("formula") for row in tables.read("carbon_products")}


def product(inputs: Inputs, name: str) -> Product:
    """Read one product from the coefficients, or several side by side."""
    if isinstance(name, Alternatives):
        return _abreast(name, {one: product(inputs, one) for one in name.names})
    c, formula = inputs.coefficient, formulas()[name]
    none = 0.0 * c(f"{name}_usable")
    return Product(
        name=name,
        cod=carbon.carbon_product_cod(formula) if formula else c(f"{name}_cod"),
        strength=c(f"{name}_strength") if formula else none + 1.0,
        density=c(f"{name}_density"),
        usable=c(f"{name}_usable"),
        sodium=none + (carbon.sodium_per_cod(formula) if formula else 0.0),
        alkalinity=none + (carbon.alkalinity_per_cod(formula) if formula else 0.0),
    )


def _abreast(names: str, made: Mapping[str, Product]) -> Product:
    def column(what: str) -> Quantity:
        return of_each(names, lambda one: getattr(made[one], what))

    numbers = ("cod", "strength", "density", "usable", "sodium", "alkalinity")
    return Product(name=names, **{what: column(what) for what in numbers})


def considered(inputs: Inputs) -> tuple[str, ...]:
    """List the products that the user considers."""
    return tuple(p.strip() for p in inputs.choice("bio.carbon_products").split(",") if p.strip())


def cheapest(inputs: Inputs) -> str:
    """Choose the product of lowest price per COD that is stored, at point values."""
    prices = prices_per_stored(inputs)
    return min(prices, key=lambda name: float(prices[name].mean()))


def prices_per_stored(inputs: Inputs) -> dict[str, Array]:
    """Give the price of every product considered for the COD of it that is stored, by case."""

    def price(name: str) -> Array:
        bought = product(inputs, name)
        paid = inputs[f"prices.{name}"] / 1000.0 * bought.strength  # as delivered, per kg
        found = carbon.price_per_usable_cod(paid, bought.cod, bought.strength, bought.usable)
        return as_cases(plain(found))

    return {name: price(name) for name in considered(inputs)}


def bought_lines(inputs: Inputs, name: str, cod: Quantity) -> dict[str, Quantity]:
    """Purchased carbon [kg COD/d] as COD, as the compound that is priced, and as product."""
    if not name:
        none = 0.0 * cod
        return {"carbon_dose": none, "carbon_use": none, "carbon_volume": none}
    bought = product(inputs, name)
    delivered = carbon.carbon_product_use(cod, bought.cod, bought.strength)
    return {
        "carbon_dose": cod,
        "carbon_use": delivered * bought.strength,
        "carbon_volume": stoich.product_volume(delivered, bought.density),
    }
