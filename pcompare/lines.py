"""The vocabulary of results: every quantity that a strategy reports, once.

A line's key is ``strategy.quantity``. Labels, units and the way months are reduced stand here and
nowhere else, so that terminal, JSON, workbook and memo call a thing by one name.
"""

from __future__ import annotations

from dataclasses import dataclass

FLOW_WEIGHTED = "flow-weighted mean"
MEAN = "mean"
SUM = "year"  # already the year's figure: months were summed when it was made
HIGHEST = "highest month"
LOWEST = "lowest month"


@dataclass(frozen=True, kw_only=True, slots=True)
class LineKind:
    """What one reported quantity is."""

    quantity: str
    label: str
    unit: str
    reduced_by: str
    group: str


def _group(group: str, *rows: tuple[str, str, str, str]) -> tuple[LineKind, ...]:
    return tuple(
        LineKind(quantity=q, label=label, unit=unit, reduced_by=how, group=group)
        for q, label, unit, how in rows
    )


LINES: tuple[LineKind, ...] = (
    *_group(
        "Effluent",
        ("effluent_tp", "Total phosphorus", "mg P/L", FLOW_WEIGHTED),
        ("effluent_tp_governing", "Total phosphorus, governing period", "mg P/L", HIGHEST),
        ("effluent_soluble_p", "Soluble phosphorus", "mg P/L", FLOW_WEIGHTED),
        ("effluent_particulate_p", "Particulate phosphorus", "mg P/L", FLOW_WEIGHTED),
        ("effluent_ammonia", "Ammonia nitrogen", "mg N/L", FLOW_WEIGHTED),
        ("effluent_nitrate", "Nitrate nitrogen", "mg N/L", FLOW_WEIGHTED),
        ("effluent_solids", "Suspended solids", "mg/L", FLOW_WEIGHTED),
        ("solids_for_target", "Suspended solids that would meet the target", "mg/L", MEAN),
        ("design_mean", "Mean that the plant is sized to", "mg P/L", LOWEST),
    ),
    *_group(
        "Chemical dose",
        ("metal_dose", "Metal dose", "mg/L", FLOW_WEIGHTED),
        ("metal_dose_primary", "of it ahead of the primary tanks", "mg/L", FLOW_WEIGHTED),
        ("metal_dose_sludge", "of it into the activated sludge", "mg/L", FLOW_WEIGHTED),
        ("metal_dose_filter", "of it ahead of the filter", "mg/L", FLOW_WEIGHTED),
        ("lime_dose", "Lime, as pure Ca(OH)2", "mg/L", FLOW_WEIGHTED),
        ("recarbonation", "Carbon dioxide to bring limed water back", "kg/d", MEAN),
        ("metal_to_p_removed", "Metal per soluble P precipitated", "mol/mol", MEAN),
        ("product_use", "Product as delivered", "kg/d", MEAN),
        ("product_volume", "Product volume", "m3 product/d", MEAN),
    ),
    *_group(
        "Store and deliveries",
        ("storage_volume", "Store of product", "m3", HIGHEST),
        ("containment_volume", "Containment", "m3", HIGHEST),
        ("deliveries", "Deliveries a month", "-", MEAN),
        ("freezing_margin", "Coldest store above freezing point", "K", LOWEST),
        ("lorries", "Lorries a month, chemicals and cake, increase", "-", MEAN),
    ),
    *_group(
        "Carbon and organisms",
        ("vfa_required", "Stored COD needed for the target", "mg COD/L", FLOW_WEIGHTED),
        ("vfa_available", "Stored COD at hand, before purchase", "mg COD/L", FLOW_WEIGHTED),
        ("carbon_dose", "Purchased carbon", "kg COD/d", MEAN),
        ("fermented_carbon", "Acids from fermented primary sludge", "kg COD/d", MEAN),
        ("side_stream_carbon", "Carbon from fermented return sludge", "kg COD/d", MEAN),
        ("acids_short_chance", "Chance that a month's acids fall short", "-", MEAN),
        ("acids_short", "Acids short, average of good years and bad", "mg COD/L",
         FLOW_WEIGHTED),
        ("carbon_debit", "Carbon that nitrate and oxygen eat first", "mg COD/L", FLOW_WEIGHTED),
        ("fed_nitrate", "Nitrate fed to the anaerobic zone", "mg N/L", FLOW_WEIGHTED),
        ("anaerobic_phosphate", "Phosphate in the anaerobic zone", "mg P/L", FLOW_WEIGHTED),
        ("phosphorus_potential", "Biological removal potential", "mg P/L", FLOW_WEIGHTED),
        ("metal_share", "Metal's share of phosphorus stored or precipitated", "-", HIGHEST),
        ("recoverable_p", "Phosphorus open to recovery", "kg/d", MEAN),
        ("recovered_p", "Phosphorus recovered as struvite", "kg/d", MEAN),
        ("struvite", "Struvite", "kg/d", MEAN),
        ("magnesium_use", "Magnesium compound for struvite", "kg/d", MEAN),
        ("recovery_caustic", "Caustic soda for struvite", "kg/d", MEAN),
        ("stripped_p", "Phosphorus stripped and limed aside", "kg/d", MEAN),
    ),
    *_group(
        "Sludge",
        ("chemical_sludge", "Chemical solids", "kg TSS/d", MEAN),
        ("sludge_total", "Raw sludge", "kg TSS/d", MEAN),
        ("sludge_increase", "Raw sludge, increase", "kg TSS/d", MEAN),
        ("cake_total", "Cake hauled", "t/d", MEAN),
        ("cake_increase", "Cake hauled, increase", "t/d", MEAN),
        ("mixed_liquor", "Mixed-liquor solids, peak month", "mg/L", HIGHEST),
        ("volume_taken", "Tank volume that chemical solids fill", "m3", MEAN),
        ("solids_phosphorus", "Phosphorus in activated-sludge solids", "kg/kg", MEAN),
    ),
    *_group(
        "Alkalinity and pH",
        ("alkalinity_influent", "Alkalinity of the influent", "mg CaCO3/L", FLOW_WEIGHTED),
        ("alkalinity_ammonification", "Ammonification less assimilation", "mg CaCO3/L",
         FLOW_WEIGHTED),
        ("alkalinity_nitrification", "Nitrification", "mg CaCO3/L", FLOW_WEIGHTED),
        ("alkalinity_denitrification", "Denitrification", "mg CaCO3/L", FLOW_WEIGHTED),
        ("alkalinity_metal", "Metal salt, with the phosphate credit", "mg CaCO3/L",
         FLOW_WEIGHTED),
        ("alkalinity_lime", "Lime and its solids", "mg CaCO3/L", FLOW_WEIGHTED),
        ("alkalinity_phosphorus", "Phosphate taken up otherwise", "mg CaCO3/L", FLOW_WEIGHTED),
        ("alkalinity_carbon", "Bought carbon and recovery", "mg CaCO3/L", FLOW_WEIGHTED),
        ("alkalinity_before_base", "Alkalinity before base", "mg CaCO3/L", FLOW_WEIGHTED),
        ("base_dose", "Base, pure product", "mg/L", FLOW_WEIGHTED),
        ("alkalinity_residual", "Alkalinity that remains", "mg CaCO3/L", LOWEST),
        ("ph", "pH at the basin's carbon dioxide", "-", MEAN),
        ("ph_filter", "pH ahead of the filter, no gas lost", "-", MEAN),
    ),
    *_group(
        "Dissolved salts and reuse",
        ("chloride_added", "Chloride, added", "mg/L", FLOW_WEIGHTED),
        ("sulfate_added", "Sulfate, added", "mg/L", FLOW_WEIGHTED),
        ("sodium_added", "Sodium, added", "mg/L", FLOW_WEIGHTED),
        ("calcium_added", "Calcium, change", "mg/L", FLOW_WEIGHTED),
        ("magnesium_added", "Magnesium, change", "mg/L", FLOW_WEIGHTED),
        ("potassium_change", "Potassium, change", "mg/L", FLOW_WEIGHTED),
        ("bicarbonate_change", "Bicarbonate, change", "mg/L", FLOW_WEIGHTED),
        ("other_ions_change", "Other ions of N, P and C, change", "mg/L", FLOW_WEIGHTED),
        ("tds_increase_ion_sum", "Dissolved solids, ion sum, change", "mg/L", FLOW_WEIGHTED),
        ("tds_increase_residue", "Dissolved solids, residue at 180 °C, change", "mg/L",
         FLOW_WEIGHTED),
        ("conductivity", "Conductivity at 25 °C", "uS/cm", FLOW_WEIGHTED),
        ("conductivity_increase", "Conductivity, increase", "uS/cm", FLOW_WEIGHTED),
        ("sar", "Sodium adsorption ratio", "-", FLOW_WEIGHTED),
        ("chloride_sulfate_ratio", "Chloride to sulfate", "mg/mg", FLOW_WEIGHTED),
        ("larson_ratio", "Larson ratio", "eq/eq", FLOW_WEIGHTED),
        ("reuse_tds", "Dissolved solids of the reused supply, long run", "mg/L", FLOW_WEIGHTED),
        ("reuse_chloride", "Chloride of the reused supply, long run", "mg/L", FLOW_WEIGHTED),
    ),
    *_group(
        "Ions of the effluent",
        ("effluent_sodium", "Sodium", "mg/L", FLOW_WEIGHTED),
        ("effluent_potassium", "Potassium", "mg/L", FLOW_WEIGHTED),
        ("effluent_calcium", "Calcium", "mg/L", FLOW_WEIGHTED),
        ("effluent_magnesium", "Magnesium", "mg/L", FLOW_WEIGHTED),
        ("effluent_chloride", "Chloride", "mg/L", FLOW_WEIGHTED),
        ("effluent_sulfate", "Sulfate", "mg/L", FLOW_WEIGHTED),
        ("bicarbonate", "Bicarbonate", "mg/L", FLOW_WEIGHTED),
        ("carbonate", "Carbonate", "mg/L", FLOW_WEIGHTED),
        ("effluent_phosphate", "Phosphate", "mg P/L", FLOW_WEIGHTED),
        ("effluent_metal", "Metal left in solution", "mg/L", FLOW_WEIGHTED),
        ("unmeasured_ions", "Ions that the analysis leaves out", "meq/L", FLOW_WEIGHTED),
        ("ionic_strength", "Ionic strength", "mol/L", FLOW_WEIGHTED),
        ("tds_ion_sum", "Dissolved solids, ion sum", "mg/L", FLOW_WEIGHTED),
        ("tds_residue", "Dissolved solids, residue at 180 °C", "mg/L", FLOW_WEIGHTED),
        ("conductivity_standard", "Conductivity, estimate of the standard method", "uS/cm",
         FLOW_WEIGHTED),
    ),
    *_group(
        "Reused supply, long run",
        ("reuse_sulfate", "Sulfate of the reused supply", "mg/L", FLOW_WEIGHTED),
        ("reuse_sodium", "Sodium of the reused supply", "mg/L", FLOW_WEIGHTED),
        ("reuse_bicarbonate", "Bicarbonate of the reused supply", "mg/L", FLOW_WEIGHTED),
        ("reuse_conductivity", "Conductivity of the reused supply", "uS/cm", FLOW_WEIGHTED),
        ("reuse_sar", "Sodium adsorption ratio of the reused supply", "-", FLOW_WEIGHTED),
    ),
    *_group(
        "Air and power",
        ("oxygen_demand", "Oxygen demand", "kg/d", MEAN),
        ("aeration_energy", "Aeration", "kWh/d", MEAN),
        ("mixing_energy", "Mixing of unaerated zones", "kWh/d", MEAN),
        ("pumping_energy", "Return and recycle pumping", "kWh/d", MEAN),
        ("gas_energy_lost", "Electricity of digester gas lost", "kWh/d", MEAN),
        ("digester_gain", "Electricity of digester gas gained from sludge", "kWh/d", MEAN),
        ("energy_increase", "Energy, increase", "kWh/d", MEAN),
    ),
    *_group(
        "Cost, beyond no action",
        ("capital", "Capital", "money", SUM),
        ("capital_direct", "of it construction, direct", "money", SUM),
        ("capital_contingency", "of it contingency", "money", SUM),
        ("capital_engineering", "of it engineering and legal", "money", SUM),
        ("capital_later", "of it in a second phase, all included", "money", SUM),
        ("cost_salt", "Metal salt or lime", "money/y", SUM),
        ("cost_base", "Base", "money/y", SUM),
        ("cost_carbon", "Purchased carbon", "money/y", SUM),
        ("cost_recovery", "Recovery, product sold deducted", "money/y", SUM),
        ("cost_sludge", "Cake haulage and outlet", "money/y", SUM),
        ("cost_polymer", "Polymer", "money/y", SUM),
        ("cost_energy", "Electricity", "money/y", SUM),
        ("cost_maintenance", "Maintenance", "money/y", SUM),
        ("cost_labour", "Labour", "money/y", SUM),
        ("cost_downstream_salt", "Salt downstream, where counted", "money/y", SUM),
        ("cost_climate", "Price on greenhouse gas", "money/y", SUM),
        ("annual_cost", "Annual cost", "money/y", SUM),
        ("present_worth", "Present worth", "money", SUM),
        ("worth_construction", "of it construction", "money", SUM),
        ("worth_replacement", "of it replacements", "money", SUM),
        ("worth_operation", "of it operation", "money", SUM),
        ("worth_salvage", "of it salvage, deducted", "money", SUM),
        ("equal_annual_cost", "Equal annual cost", "money/y", SUM),
        ("cost_per_kg_p", "Cost per kg P removed", "money/kg", SUM),
        ("household_month", "Equal annual cost, each household and month", "money", SUM),
    ),
    *_group(
        "Climate",
        ("greenhouse_gas", "Greenhouse gas, increase", "t CO2e/y", SUM),
        ("greenhouse_scope_1", "Scope 1, let go at the plant", "t CO2e/y", SUM),
        ("greenhouse_freed_carbon", "of it carbon of acid and carbonate", "t CO2e/y", SUM),
        ("greenhouse_nitrous_oxide", "of it nitrous oxide, change", "t CO2e/y", SUM),
        ("greenhouse_scope_2", "Scope 2, electricity bought", "t CO2e/y", SUM),
        ("greenhouse_energy", "of it air, mixing and pumping", "t CO2e/y", SUM),
        ("greenhouse_digester", "of it for digester gas, lost less gained", "t CO2e/y", SUM),
        ("greenhouse_scope_3", "Scope 3, bought and hauled", "t CO2e/y", SUM),
        ("greenhouse_salt", "of it metal salt or lime", "t CO2e/y", SUM),
        ("greenhouse_base", "of it base", "t CO2e/y", SUM),
        ("greenhouse_carbon", "of it making of purchased carbon", "t CO2e/y", SUM),
        ("greenhouse_recovery", "of it making of what recovery takes", "t CO2e/y", SUM),
        ("greenhouse_polymer", "of it polymer", "t CO2e/y", SUM),
        ("greenhouse_haulage", "of it haulage of cake", "t CO2e/y", SUM),
        ("greenhouse_calcination", "Burning of lime, within scope 3", "t CO2e/y", SUM),
        ("greenhouse_biogenic", "Biogenic carbon dioxide, apart", "t CO2e/y", SUM),
    ),
    *_group(
        "Chance",
        ("probability_meets_permit", "Chance to meet the limit, one period", "-", MEAN),
        ("probability_meets_permit_year", "Chance to meet the limit all year", "-", SUM),
    ),
)  # fmt: skip

KINDS: dict[str, LineKind] = {kind.quantity: kind for kind in LINES}
COST_ITEMS = tuple(
    k.quantity for k in LINES if k.quantity.startswith("cost_") and k.unit == "money/y"
)

# Quantities that a strategy without organisms that store phosphorus cannot have.
STORING_ONLY = (
    "fermented_carbon",
    "side_stream_carbon",
    "acids_short_chance",
    "acids_short",
    "carbon_debit",
    "fed_nitrate",
    "vfa_required",
    "vfa_available",
    "anaerobic_phosphate",
    "phosphorus_potential",
    "metal_share",
)

LABELS: dict[str, str] = {
    "no_action": "No action",
    "salt_single_point": "Metal salt, one point",
    "salt_two_point": "Metal salt, two points",
    "salt_tertiary": "Metal salt in stages, with filter",
    "lime": "Lime in the primary tanks",
    "bio_existing_carbon": "Biological, carbon of the sewage",
    "bio_fermented_carbon": "Biological, fermented primary sludge",
    "bio_return_sludge_fermentation": "Biological, fermented return sludge",
    "bio_purchased_carbon": "Biological, purchased carbon",
    "side_stream_stripping": "Side-stream stripping with lime",
    "bio_with_salt_trim": "Biological with salt trim",
    "bio_with_salt_trim_and_filter": "Biological, salt trim and filter",
}
CARBON: dict[str, str] = {
    "acetic_acid": "Acetic acid",
    "sodium_acetate": "Sodium acetate",
    "propionic_acid": "Propionic acid",
    "glycerol": "Glycerol",
    "ethanol": "Ethanol",
    "molasses": "Molasses",
    "sugar": "Sugar solution",
}
PRODUCTS: dict[str, str] = {
    "liquid_alum": "Liquid alum",
    "ferric_chloride": "Ferric chloride",
    "ferric_sulfate": "Ferric sulfate",
    "ferric_chloride_sulfate": "Ferric chloride sulfate",
    "ferrous_chloride": "Ferrous chloride",
    "ferrous_sulfate": "Ferrous sulfate",
    "pickle_liquor": "Pickle liquor",
    "polyaluminium_chloride": "Polyaluminium chloride",
    "sodium_aluminate": "Sodium aluminate",
    "cerium_chloride": "Cerium chloride",
    "lanthanum_chloride": "Lanthanum chloride",
    "hydrated_lime": "Hydrated lime",
    "own_product": "Own product",
}

# What the recommended strategy is compared on with the reference, as paired differences.
DIFFERENCES = (
    "capital",
    "annual_cost",
    "present_worth",
    "equal_annual_cost",
    "sludge_increase",
    "cake_increase",
    "chloride_added",
    "sulfate_added",
    "sodium_added",
    "tds_increase_residue",
    "energy_increase",
    "greenhouse_gas",
)
