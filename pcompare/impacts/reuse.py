"""Long-run salt of a supply that takes the effluent back, in closed form.

The increment of use is the plant's influent less the source water, ion by ion, never a second
input. What a strategy adds counts with the cation that restores alkalinity it did not restore
itself: somebody downstream puts it back.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from pcompare.arrays import Quantity, maximum
from pcompare.equations import ions, reuse, reuse_forms, water_use
from pcompare.records import Inputs

CATION = "Na"  # of the base that somebody downstream uses
# Quantity of the reused supply -> the field of its source water. All of them mix in proportion to
# flow. Conductivity does so nearly: against mixed ions it is 0.4 % low with the effluent of the
# worked example and up to 4 % low with one four times as salty; evaporation makes it 2 to 3 % high.
SOURCES = {
    "tds": "reuse.source_tds",
    "chloride": "reuse.source_chloride",
    "sulfate": "reuse.source_sulfate",
    "sodium": "reuse.source_sodium",
    "calcium": "reuse.source_calcium",
    "magnesium": "reuse.source_magnesium",
    "alkalinity": "reuse.source_alkalinity",
    "conductivity": "reuse.source_conductivity",
}


class Loop(NamedTuple):
    """Shares of the loop as they count, and what evaporation alone does to the source water."""

    return_fraction: Quantity
    evaporation: Quantity  # in use, and from a reservoir
    concentrated: Quantity  # source water in a reservoir over the source water itself


def loop(inputs: Inputs) -> Loop:
    """Give the loop of a normal year, in the form that the user names."""
    used = inputs["reuse.evaporation_fraction"]
    share = reuse_forms.captured_share(
        inputs["reuse.return_fraction"], used, inputs["reuse.capture_fraction"]
    )
    if inputs.choice("reuse.form") != "reservoir":
        return Loop(share, used, 1.0)
    lake = inputs["reuse.lake_evaporation"]
    thickened = reuse_forms.reservoir_concentration(1.0, 1.0, 0.0, lake)
    return Loop(share, reuse_forms.evaporation_in_series(used, lake), thickened)


def handed_on(
    quantities: Mapping[str, Quantity], baseline: Mapping[str, Quantity]
) -> dict[str, Quantity]:
    """Effluent as it counts downstream: alkalinity not restored at the plant put back."""
    lost = maximum(baseline["alkalinity_residual"] - quantities["alkalinity_residual"], 0.0)
    cation = reuse.replacement_cation(lost, CATION)
    bicarbonate = water_use.bicarbonate_from_alkalinity(lost)
    none = 0.0 * lost
    return {
        "tds": quantities["tds_residue"] + reuse.restored_solids(lost, CATION),
        "chloride": quantities["effluent_chloride"],
        "sulfate": quantities["effluent_sulfate"],
        "sodium": quantities["effluent_sodium"] + cation,
        "calcium": quantities["effluent_calcium"],
        "magnesium": quantities["effluent_magnesium"],
        "alkalinity": quantities["alkalinity_residual"] + lost,
        "conductivity": quantities["conductivity"]
        + ions.conductivity(
            *(cation, none, none, none, none, none, none, none),
            ions.ion_molar(bicarbonate, "HCO3"),
            *(none, none, none),
            quantities["ionic_strength"],
        ),
    }


def judged(water: Mapping[str, Quantity]) -> dict[str, Quantity]:
    """Turn what mixes into what limits are set on: bicarbonate, and the ratio of sodium."""
    kept = ("tds", "chloride", "sulfate", "sodium", "conductivity")
    return {
        **{name: water[name] for name in kept},
        "bicarbonate": water_use.bicarbonate_from_alkalinity(water["alkalinity"]),
        "sar": ions.sodium_adsorption_ratio(water["sodium"], water["calcium"], water["magnesium"]),
    }


def supply(inputs: Inputs, effluent: Mapping[str, Quantity], shares: Loop) -> dict[str, Quantity]:
    """Long-run supply, quantity by quantity; not a number without a steady state."""
    found = {}
    for name, field in SOURCES.items():
        source = inputs[field]
        found[name] = reuse_forms.settled_supply(
            source * shares.concentrated,
            effluent[name] - source,
            shares.return_fraction,
            shares.evaporation,
        )
    return found


def long_run(
    inputs: Inputs, quantities: Mapping[str, Quantity], baseline: Mapping[str, Quantity]
) -> dict[str, Quantity]:
    """Quantities of the reused supply that limits are set on, in the long run of a normal year."""
    settled = supply(inputs, handed_on(quantities, baseline), loop(inputs))
    return {f"reuse_{name}": value for name, value in judged(settled).items()}
