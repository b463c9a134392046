"""The cautions of the reference tables that concern what the alternatives of a run handle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from pcompare import lines, products, tables
from pcompare.documents import names
from pcompare.documents.words import choice, has
from pcompare.findings import Dossier
from pcompare.records import StrategyResult

FERROUS = ("ferrous_chloride", "ferrous_sulfate", "pickle_liquor")
OWN, OWN_SALT = "own_product", "own_product.salt"  # the user's product, and its neutral salt
SLUDGE = "activated sludge"  # a dosing point
ABOUT = {
    "general": "What this memo is",
    "metal_salt": "Metal salts",
    "iron": "Iron salts",
    "ferrous": "Ferrous salts",
    "acetic_acid": "Acetic acid",
    "anaerobic_zone": "Zones without air",
    "storing_organisms": "Organisms that store phosphorus",
    "salt_trim": "Salt trim",
    "reuse": "Reuse of the water",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Caution:
    """One caution with what it is about, its status and its source."""

    text: str
    about: str
    status: str
    source: str


def cautions(dossier: Dossier) -> list[Caution]:
    """Give the cautions that concern what the alternatives of this run handle."""
    concerned = set(_concerned(dossier))
    return [caution for caution in everything() if caution.about in concerned]


def everything() -> Iterator[Caution]:
    """Read every caution of the table."""
    for row in tables.read("cautions"):
        yield Caution(
            text=row.text("text"),
            about=row.text("about"),
            status=row.text("status"),
            source=row.text("source"),
        )


def is_chemical(about: str) -> bool:
    """Tell whether a caution is about one product or one base."""
    return about in lines.PRODUCTS or about in _bases()


def heading(about: str) -> str:
    """Name what a caution is about."""
    if about in ABOUT:
        return ABOUT[about]
    return names.base(about) if about in _bases() else names.product(about)


def _concerned(dossier: Dossier) -> Iterator[str]:
    yield "general"
    if choice(dossier.inputs, "project.downstream_use"):
        yield "reuse"
    handled = list(dossier.salts)
    for result in dossier.comparison.strategies.values():
        handled += [name for name in (result.product, *result.others) if name]
        yield from _of_strategy(result)
    yield from _of_products(handled, choice(dossier.inputs, OWN_SALT))


def _of_strategy(result: StrategyResult) -> Iterator[str]:
    if has(result, "base_dose"):
        yield result.design.base
    if result.design.carbon:
        yield result.design.carbon
    if result.design.source:
        yield f"fermented_{result.design.source.replace(' ', '_')}"
    if result.kind in ("biological", "combined"):
        yield from ("anaerobic_zone", "storing_organisms")
    if result.kind == "combined" and SLUDGE in result.design.points:
        yield "salt_trim"


def _of_products(handled: Iterable[str], own_salt: str) -> Iterator[str]:
    """Give each product, and the families that it belongs to."""
    kinds = _kinds()
    for name in handled:
        metal, kind = kinds.get(name, ("", "metal salt"))
        is_iron = metal == "Fe" or (name == OWN and own_salt.startswith("Fe"))
        yield name
        if kind != "lime":
            yield "metal_salt"
        if is_iron:
            yield "iron"
        if name in FERROUS or (name == OWN and own_salt.startswith(("FeCl2", "FeSO4"))):
            yield "ferrous"


def _kinds() -> dict[str, tuple[str, str]]:
    return {found.name: (found.metal, found.kind) for found in products.all_products()}


def _bases() -> set[str]:
    return {row.text("base") for row in tables.read("base_products")}
