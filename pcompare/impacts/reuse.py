"""Long-run salt of a supply that takes the effluent back, in closed form.

The increment of use is the plant's influent less the source water, ion by ion, never a second
input. What a strategy adds counts with the cation that restores alkalinity it did not restore
itself: somebody downstream puts it back.
"""

from __future__ import annotations

from collections.abc import Mapping

from pcompare.arrays import Quantity, maximum
from pcompare.equations import reuse
from pcompare.records import Inputs


def long_run(
    inputs: Inputs, quantities: Mapping[str, Quantity], baseline: Mapping[str, Quantity]
) -> dict[str, Quantity]:
    """Dissolved solids (residue at 180 degC) and chloride of the reused supply [mg/L]."""
    loop = (inputs["reuse.return_fraction"], inputs["reuse.evaporation_fraction"])
    lost = maximum(baseline["alkalinity_residual"] - quantities["alkalinity_residual"], 0.0)
    solids = (
        quantities["tds_residue"] + reuse.restored_solids(lost, "Na") - inputs["reuse.source_tds"]
    )
    chloride = quantities["effluent_chloride"] - inputs["reuse.source_chloride"]
    return {
        "reuse_tds": reuse.long_run_supply(inputs["reuse.source_tds"], solids, *loop),
        "reuse_chloride": reuse.long_run_supply(inputs["reuse.source_chloride"], chloride, *loop),
    }
