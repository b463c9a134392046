"""The cautions of the reference tables that concern what the alternatives of a run handle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pcompare import products, tables
from pcompare.documents import names
from pcompare.documents.words import choice, has
from pcompare.records import Dossier, StrategyResult

FERROUS = ("ferrous_chloride", "ferrous_sulfate", "pickle_liquor")
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
    return about in _kinds() or about in _bases()


def heading(about: str) -> str:
    """Name what a caution is about."""
    if about in ABOUT:
        return ABOUT[about]
    return names.base(about) if about in _bases() else names.product(about)


def _concerned(dossier: Dossier) -> Iterator[str]:
    yield "general"
    if choice(dossier.inputs, "project.downstream_use"):
        yield "reuse"
    yield from _of_products(tuple(dossier.salts))
    for result in dossier.comparison.strategies.values():
        yield from _of_strategy(result)


def _of_strategy(result: StrategyResult) -> Iterator[str]:
    if result.product:
        yield from _of_products((result.product, *result.others))
    if has(result, "base_dose"):
        yield result.design.base
    if "carbon" in result.design.choices:
        yield result.design.choices["carbon"].replace(" ", "_")
    if result.kind in ("biological", "combined"):
        yield from ("anaerobic_zone", "storing_organisms")
    if result.kind == "combined" and SLUDGE in result.design.points:
        yield "salt_trim"


def _of_products(names: tuple[str, ...]) -> Iterator[str]:
    """Give each product, and the families that it belongs to; a user's own is a metal salt."""
    kinds = _kinds()
    for name in names:
        metal, kind = kinds.get(name, ("", "metal salt"))
        yield name
        if kind != "lime":
            yield "metal_salt"
        if metal == "Fe":
            yield "iron"
        if name in FERROUS:
            yield "ferrous"


def _kinds() -> dict[str, tuple[str, str]]:
    return {found.name: (found.metal, found.kind) for found in products.all_products()}


def _bases() -> set[str]:
    return {row.text("base") for row in tables.read("base_products")}
