"""An invented but complete dossier for the tests of the documents.

Every value is made up: no plant, price or result here is real, and nothing here checks the
calculation. ``invented()`` is an ordinary run; ``ugly()`` is the worst that a document may meet.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from pcompare import lines, tables
from pcompare.records import (
    CapitalItem,
    Check,
    Comparison,
    Design,
    Dossier,
    EquationRow,
    FieldRow,
    Inputs,
    Line,
    Provenance,
    StrategyResult,
    Study,
    Sweep,
    Swing,
    Zones,
)

NAN = math.nan
KIND = {
    "no_action": "baseline",
    "salt_single_point": "chemical",
    "bio_existing_carbon": "biological",
    "bio_purchased_carbon": "biological",
    "bio_with_salt_trim": "combined",
}
PRODUCT = {"salt_single_point": "ferric_chloride", "bio_with_salt_trim": "liquid_alum"}

# name, sheet, label, unit, value, low, high, status, source, origin
FIELDS: tuple[tuple[object, ...], ...] = (
    ("plant.households", "Plant", "Equivalent households", "-", 41200.0, None, None,
     "", "", "Plant!C5"),
    ("flow.average", "Plant", "Average flow", "m3/d", 20150.0, 18000.0, 22500.0,
     "", "", "Plant!C6"),
    ("flow.peak_factor", "Plant", "Maximum-month factor", "-", 1.3, 1.15, 1.5,
     "judgement", "JUDGEMENT", "default"),
    ("influent.tp", "Water", "Total phosphorus", "mg P/L", 7.1, 6.2, 8.0,
     "", "", "Water!C4"),
    ("influent.orthophosphate", "Water", "Orthophosphate", "mg P/L", 4.3, 3.6, 5.0,
     "", "", "Water!C5"),
    ("influent.cod", "Water", "COD", "mg COD/L", 483.0, 420.0, 560.0, "", "", "Water!C6"),
    ("influent.rbcod", "Water", "Readily biodegradable COD", "mg COD/L", 86.0, 55.0, 120.0,
     "", "", "Water!C7"),
    ("influent.vfa", "Water", "Volatile fatty acids", "mg COD/L", 22.5, 10.0, 40.0,
     "judgement", "JUDGEMENT", "default"),
    ("influent.alkalinity", "Water", "Alkalinity", "mg CaCO3/L", 211.0, None, None,
     "", "", "Water!C9"),
    ("influent.temperature_average", "Water", "Temperature, average", "degC", 16.2, None, None,
     "", "", "Water!C10"),
    ("influent.temperature_minimum", "Water", "Temperature, coldest month", "degC", 11.1, None,
     None, "", "", "Water!C11"),
    ("permit.tp", "Permit", "Limit on total phosphorus", "mg P/L", 0.8, None, None,
     "", "", "Permit!C4"),
    ("permit.averaging", "Permit", "Averaging period", "", "monthly", None, None,
     "", "", "Permit!C5"),
    ("permit.reliability", "Permit", "Wanted reliability", "-", 0.95, None, None,
     "judgement", "JUDGEMENT", "default"),
    ("permit.months", "Permit", "Months of the limit", "", "all", None, None, "", "", "default"),
    ("permit.load", "Permit", "Limit as load", "kg/d", 0.0, None, None, "", "", "default"),
    ("permit.ammonia", "Permit", "Limit on ammonia", "mg N/L", 2.0, None, None,
     "", "", "Permit!C7"),
    ("secondary.srt", "Plant", "Sludge age", "d", 12.0, None, None, "", "", "Plant!C12"),
    ("secondary.layout", "Plant", "Layout as it stands", "", "anoxic-aerobic", None, None,
     "", "", "Plant!C13"),
    ("secondary.volume", "Plant", "Activated-sludge tanks", "m3", 11500.0, None, None,
     "", "", "Plant!C14"),
    ("prices.liquid_alum", "Prices", "Liquid alum", "money/t", 270.0, 160.0, 430.0,
     "judgement", "JUDGEMENT", "default"),
    ("prices.ferric_chloride", "Prices", "Ferric chloride", "money/t", 375.0, 200.0, 680.0,
     "judgement", "JUDGEMENT", "Prices!C5"),
    ("prices.electricity", "Prices", "Electricity", "money/kWh", 0.11, 0.07, 0.2,
     "judgement", "JUDGEMENT", "default"),
    ("finance.period", "Finance", "Planning period", "y", 20.0, None, None,
     "judgement", "JUDGEMENT", "default"),
    ("finance.discount_rate", "Finance", "Discount rate", "-", 0.02, 0.01, 0.07,
     "judgement", "JUDGEMENT", "default"),
    ("finance.currency", "Finance", "Currency", "", "EUR", None, None, "", "", "Finance!C4"),
    ("finance.price_year", "Finance", "Price year", "-", 2026.0, None, None, "", "", "default"),
    ("project.name", "Project", "Project name", "", "Three Elms works", None, None,
     "", "", "Project!C3"),
    ("project.date", "Project", "Date", "", "2026-11-02", None, None, "", "", "Project!C4"),
    ("project.prepared_for", "Project", "Prepared for", "", "The utility's board", None, None,
     "", "", "Project!C5"),
    ("project.note", "Project", "Note", "", "An invented plant.", None, None, "", "", ""),
    ("project.downstream_use", "Project", "Use of the effluent", "",
     "orchards, and blending into a neighbour's supply in dry months", None, None, "", "", ""),
)  # fmt: skip

# Invented values in the order of ``KIND``.
VALUES: dict[str, tuple[float, ...]] = {
    "effluent_tp": (4.92, 0.502, 0.871, 0.478, 0.489),
    "effluent_tp_governing": (5.31, 0.512, 1.04, 0.495, 0.503),
    "effluent_soluble_p": (4.61, 0.21, 0.352, 0.104, 0.117),
    "effluent_particulate_p": (0.31, 0.292, 0.519, 0.374, 0.372),
    "effluent_ammonia": (0.62, 0.62, 0.81, 0.81, 0.81),
    "effluent_nitrate": (8.35, 8.31, 6.92, 6.77, 6.95),
    "design_mean": (0.512, 0.512, 0.495, 0.495, 0.503),
    "effluent_solids": (8.0, 8.0, 8.0, 8.0, 8.0),
    "solids_for_target": (0.0, 8.0, 0.0, 7.4, 8.0),
    "metal_dose": (0.0, 14.7, 0.0, 0.0, 1.36),
    "metal_dose_primary": (0.0, 0.0, 0.0, 0.0, 0.0),
    "metal_dose_sludge": (0.0, 14.7, 0.0, 0.0, 1.36),
    "metal_dose_filter": (0.0, 0.0, 0.0, 0.0, 0.0),
    "metal_to_p_removed": (NAN, 1.87, NAN, NAN, 2.63),
    "product_use": (0.0, 2147.0, 0.0, 0.0, 623.0),
    "product_volume": (0.0, 1.51, 0.0, 0.0, 0.467),
    "vfa_required": (NAN, NAN, 61.2, 61.2, 58.3),
    "vfa_available": (NAN, NAN, 52.4, 52.4, 52.4),
    "carbon_dose": (0.0, 0.0, 0.0, 214.0, 0.0),
    "anaerobic_phosphate": (NAN, NAN, 22.6, 27.1, 22.4),
    "phosphorus_potential": (NAN, NAN, 5.87, 6.55, 5.87),
    "recoverable_p": (11.2, 14.8, 47.3, 52.9, 43.1),
    "chemical_sludge": (0.0, 706.0, 0.0, 0.0, 118.0),
    "sludge_total": (5120.0, 5826.0, 5433.0, 5602.0, 5517.0),
    "sludge_increase": (0.0, 706.0, 313.0, 482.0, 397.0),
    "cake_total": (19.4, 22.3, 21.6, 22.4, 21.9),
    "cake_increase": (0.0, 2.92, 2.21, 3.02, 2.53),
    "mixed_liquor": (3410.0, 4057.0, 3702.0, 3866.0, 3789.0),
    "solids_phosphorus": (0.0207, 0.0412, 0.0571, 0.0604, 0.0565),
    "alkalinity_influent": (211.0,) * 5,
    "alkalinity_ammonification": (12.1,) * 5,
    "alkalinity_nitrification": (-214.0, -214.0, -212.0, -212.0, -212.0),
    "alkalinity_denitrification": (77.3, 77.4, 83.2, 83.9, 83.1),
    "alkalinity_metal": (0.0, -32.6, 0.0, 0.0, -6.84),
    "alkalinity_phosphorus": (3.4, 3.4, 2.9, 2.8, 2.9),
    "alkalinity_before_base": (89.8, 57.3, 97.2, 97.8, 90.3),
    "base_dose": (0.0, 18.2, 0.0, 0.0, 0.0),
    "alkalinity_residual": (89.8, 80.0, 97.2, 97.8, 90.3),
    "ph": (7.21, 7.16, 7.24, 7.24, 7.21),
    "chloride_added": (0.0, 28.0, 0.0, 0.0, 0.0),
    "sulfate_added": (0.0, 0.0, 0.0, 0.0, 7.26),
    "sodium_added": (0.0, 10.5, 0.0, 0.0, 0.0),
    "calcium_added": (0.0,) * 5,
    "magnesium_added": (0.0, 0.0, -1.02, -1.18, -0.97),
    "potassium_change": (0.0, 0.0, -1.66, -1.91, -1.57),
    "bicarbonate_change": (0.0, -12.0, 9.03, 9.75, 0.61),
    "other_ions_change": (0.0, -13.4, -13.1, -13.9, -13.2),
    "tds_increase_ion_sum": (0.0, 13.1, -6.75, -7.24, -7.87),
    "tds_increase_residue": (0.0, 19.2, -11.3, -12.2, -8.18),
    "conductivity": (1043.0, 1112.0, 1038.0, 1036.0, 1047.0),
    "conductivity_increase": (0.0, 68.7, -5.1, -6.9, 4.2),
    "sar": (2.87, 3.24, 2.88, 2.88, 2.88),
    "chloride_sulfate_ratio": (1.36, 1.72, 1.36, 1.36, 1.24),
    "larson_ratio": (1.91, 3.09, 1.77, 1.76, 1.98),
    "reuse_tds": (652.0, 668.0, 648.0, 648.0, 647.0),
    "reuse_chloride": (131.0, 149.0, 131.0, 131.0, 131.0),
    "oxygen_demand": (6210.0, 6210.0, 5870.0, 5925.0, 5871.0),
    "aeration_energy": (5480.0, 5480.0, 5180.0, 5228.0, 5181.0),
    "mixing_energy": (418.0, 418.0, 577.0, 577.0, 577.0),
    "pumping_energy": (402.0, 402.0, 516.0, 516.0, 516.0),
    "energy_increase": (0.0, 0.0, -27.0, 21.0, -26.0),
    "capital": (0.0, 1_540_000.0, 1_870_000.0, 2_610_000.0, 2_480_000.0),
    "cost_salt": (0.0, 294_000.0, 0.0, 0.0, 61_400.0),
    "cost_base": (0.0, 132_000.0, 0.0, 0.0, 0.0),
    "cost_carbon": (0.0, 0.0, 0.0, 88_000.0, 0.0),
    "cost_sludge": (0.0, 82_000.0, 62_000.0, 84_600.0, 71_000.0),
    "cost_polymer": (0.0, 9_100.0, 14_600.0, 17_200.0, 15_400.0),
    "cost_energy": (0.0, 0.0, -1_080.0, 843.0, -1_040.0),
    "cost_maintenance": (0.0, 31_000.0, 37_000.0, 52_000.0, 50_000.0),
    "cost_labour": (0.0, 36_500.0, 54_700.0, 73_000.0, 91_200.0),
    "annual_cost": (0.0, 584_600.0, 167_220.0, 315_643.0, 287_960.0),
    "present_worth": (0.0, 10_990_000.0, 4_560_000.0, 7_620_000.0, 7_060_000.0),
    "equal_annual_cost": (0.0, 672_000.0, 279_000.0, 466_000.0, 432_000.0),
    "cost_per_kg_p": (NAN, 20.7, 9.37, 14.3, 13.3),
    "household_month": (0.0, 1.36, 0.564, 0.943, 0.874),
    "greenhouse_gas": (0.0, 412.0, 33.6, 148.0, 71.2),
    "probability_meets_permit": (0.0004, 0.951, 0.394, 0.953, 0.952),
    "probability_meets_permit_year": (0.0, 0.547, 0.0000139, 0.561, 0.554),
}


def invented(draws: int = 2000, monthly: bool = False) -> Dossier:
    """Make an ordinary run: salt, purchased carbon and trim meet the permit, one does not."""
    fields = (*_fields(), *_coefficient_fields())
    strategies = {name: _result(name, i, draws, monthly) for i, name in enumerate(KIND)}
    return Dossier(
        inputs=_inputs(fields),
        fields=fields,
        equations=_equations(),
        sources=dict(tables.sources()),
        comparison=Comparison(
            strategies=strategies,
            basis=_basis(),
            ranking=("bio_with_salt_trim", "bio_purchased_carbon", "salt_single_point"),
            reference="salt_single_point",
            recommendation="Biological with salt trim has the lowest present worth.",
            what_would_change_it=("A limit of 2 mg P/L would open the cheapest way.",),
            notes=("Fixed at point values: layout, product, capacities.",),
        ),
        recorded={},
        study=_study(draws),
        targets=_targets(),
        sensitivity=_swings(),
        salts=_salts(strategies),
        dose_models=_dose_models(),
        provenance=Provenance(
            version="0.1.0",
            run_id="0123456789ab",
            input_hash="ab" * 32,
            seed=1,
            draws=draws,
            libraries={"numpy": "2.4.0"},
        ),
    )


def ugly() -> Dossier:
    """Make the worst case: eight failing strategies, nan everywhere, markup and long texts."""
    plain = invented(draws=0)
    nasty = 'A & B <b>works</b> <img src="/etc/passwd"> <a href="javascript:x">' + "long " * 60
    choices = {
        **plain.inputs.choices,
        "project.name": nasty,
        "project.prepared_for": "Пункт <Nord> & 漢字\x07",
        "project.downstream_use": nasty,
        "project.date": "no date",
    }
    notes = {f"influent.note{i}": f"=1+{i} & <note {i}> " + "very long " * 70 for i in range(40)}
    fields = (
        *(replace(row, value=choices.get(row.name, row.value)) for row in plain.fields),
        *(replace(plain.fields[3], name=n, source=t, value=NAN) for n, t in notes.items()),
    )
    strategies = {}
    for i, result in enumerate([*plain.comparison.strategies.values()] * 2):
        if i == 8:
            break
        name = f"{result.name}_{i}"
        strategies[name] = replace(
            result,
            name=name,
            label=f"{result.label} & a <very> long name that goes on and on, number {i}",
            checks=tuple(
                replace(c, met=False, found=NAN if i % 2 else c.found) for c in result.checks
            ),
            lines={
                q: replace(
                    line,
                    key=f"{name}.{q}",
                    value=None if i % 2 else line.value,
                    reason="solver <gave> up & stopped" if i % 2 else line.reason,
                )
                for q, line in result.lines.items()
            },
        )
    empty = replace(plain.targets, points=(), values={}, feasible={})
    return replace(
        plain,
        inputs=replace(
            plain.inputs,
            choices=choices,
            notes=notes,
            warnings=tuple(f"Water!C{i}: 9e9 is outside <usual> & odd" for i in range(40)),
        ),
        fields=fields,
        comparison=replace(plain.comparison, strategies=strategies, ranking=(), reference="x"),
        targets=empty,
        sensitivity=(),
    )


def _fields() -> tuple[FieldRow, ...]:
    return tuple(
        FieldRow(
            name=str(name),
            sheet=str(sheet),
            label=str(label),
            unit=str(unit),
            value=value,  # type: ignore[arg-type]
            low=low,  # type: ignore[arg-type]
            high=high,  # type: ignore[arg-type]
            status=str(status),
            source=str(source),
            locator="",
            origin=str(origin),
        )
        for name, sheet, label, unit, value, low, high, status, source, origin in FIELDS
    )


def _coefficient_fields() -> tuple[FieldRow, ...]:
    return tuple(
        FieldRow(
            name=f"coefficient.{c.name}",
            sheet="Coefficients",
            label=c.label,
            unit=c.unit,
            value=c.value,
            low=c.low if c.low < c.high else None,
            high=c.high if c.low < c.high else None,
            status=c.status,
            source=c.source,
            locator=c.locator,
            origin=f"{c.table}.csv",
        )
        for c in tables.coefficients().values()
    )


def _inputs(fields: tuple[FieldRow, ...]) -> Inputs:
    numbers = {f.name: np.array([[f.value]]) for f in fields if not isinstance(f.value, str)}
    return Inputs(
        values=numbers,
        choices={f.name: f.value for f in fields if isinstance(f.value, str)},
        origins={f.name: f.origin for f in fields},
        low={f.name: f.low for f in fields if f.low is not None},
        high={f.name: f.high for f in fields if f.high is not None},
        notes={"prices.ferric_chloride": "Quotation of March 2026"},
        warnings=("Water!C7 (Readily biodegradable COD): 86 mg COD/L is below the usual range",),
        name="invented case",
    )


def _line(subject: str, kind: lines.LineKind, value: float, draws: int, monthly: bool) -> Line:
    null = math.isnan(value)
    spread = draws > 0 and not null and value != 0.0
    wave = tuple(value * (1.0 + 0.1 * math.sin(m)) for m in range(12))
    with_months = monthly and not null and kind.reduced_by != lines.SUM
    return Line(
        key=f"{subject}.{kind.quantity}",
        label=kind.label,
        value=None if null else value,
        unit=kind.unit,
        equation="" if null else "metal_dose_for_residual",
        sources=() if null else ("SZABO2008", "COMPUTED"),
        low=value - 0.2 * abs(value) if spread else None,
        middle=value if spread else None,
        high=value + 0.35 * abs(value) if spread else None,
        months=wave if with_months else (),
        reduced_by=kind.reduced_by if with_months else "",
        solved=kind.quantity == "ph",
        reason="not defined for this strategy" if null else "",
    )


def _lines(subject: str, column: int, draws: int, monthly: bool) -> dict[str, Line]:
    return {
        kind.quantity: _line(subject, kind, VALUES.get(kind.quantity, (0.0,) * 5)[column], draws, monthly)
        for kind in lines.LINES
    }


def _result(name: str, column: int, draws: int, monthly: bool) -> StrategyResult:
    product = PRODUCT.get(name, "")
    label = lines.LABELS[name]
    if product:
        label += f" ({lines.PRODUCTS[product].lower()})"
    others: Mapping[str, Mapping[str, Line]] = {}
    if product:
        others = {p: _lines(f"{name}.products.{p}", column, 0, False) for p in lines.PRODUCTS}
    return StrategyResult(
        name=name,
        label=label,
        kind=KIND[name],
        product=product,
        design=_design(name, product, column),
        lines=_lines(name, column, draws, monthly),
        checks=_checks(name, column),
        others=others,
    )


def _checks(name: str, column: int) -> tuple[Check, ...]:
    mean = VALUES["effluent_tp_governing"][column]
    target = VALUES["design_mean"][column]
    rows = [
        Check(key="permit.tp", label="Mean total phosphorus in the governing period",
              needed=target, found=mean, unit="mg P/L", met=mean <= target),
        Check(key="mixed_liquor", label="Mixed-liquor solids in the peak month", needed=4500.0,
              found=VALUES["mixed_liquor"][column], unit="mg/L", met=True),
        Check(key="alkalinity", label="Alkalinity that remains", needed=80.0,
              found=VALUES["alkalinity_residual"][column], unit="mg CaCO3/L", met=True,
              sense="at least"),
    ]  # fmt: skip
    if name == "bio_existing_carbon":
        rows.append(
            Check(key="potential", label="Biological potential above the reserve, worst month",
                  needed=0.0, found=-1.31, unit="mg P/L", met=False, sense="at least")
        )  # fmt: skip
    return tuple(rows)


def _design(name: str, product: str, column: int) -> Design:
    def size(value: float) -> np.ndarray:  # type: ignore[type-arg]
        return np.array([[value]])

    items: list[CapitalItem] = []
    choices = {"layout": "anoxic-aerobic"}
    if product:
        items += [
            CapitalItem(key="feed", label="Salt feed system", price="capital.feed_system",
                        size=size(2.04), unit="m3/d", kind="equipment"),
            CapitalItem(key="storage", label="Salt storage and containment",
                        price="capital.storage", size=size(30.6), unit="m3", kind="structure"),
        ]  # fmt: skip
        choices |= {"product": product, "base": "caustic soda"}
    if name.startswith("bio"):
        items.append(
            CapitalItem(key="zones", label="Baffles, mixers and controls of the zones",
                        price="capital.zone_conversion", size=size(1150.0), unit="m3",
                        kind="equipment")
        )  # fmt: skip
        choices |= {"layout": "anaerobic-anoxic-aerobic"}
    if name == "bio_purchased_carbon":
        choices |= {"carbon": "acetic acid"}
    return Design(
        strategy=name,
        product=product,
        design_mean=size(VALUES["design_mean"][column]),
        sizes={"metal": size(290.0)},
        capital=tuple(items),
        choices=choices,
        zones=Zones(
            layout=choices["layout"],
            anaerobic_fraction=size(0.1 if name.startswith("bio") else 0.0),
            anoxic_fraction=size(0.3),
            internal_recycle=size(2.0),
            srt=size(12.0),
            volume=size(11500.0),
            added_volume=size(0.0),
            phosphorus_content="phosphorus_content_anoxic",
        ),
        points=("activated sludge",) if product else (),
        base="caustic",
    )


def _salts(strategies: dict[str, StrategyResult]) -> dict[str, dict[str, Line]]:
    """Give every salt at the target the lines of the invented one-point strategy."""
    lines_of_one = dict(strategies["salt_single_point"].lines)
    return {"liquid_alum": lines_of_one, "ferric_chloride": lines_of_one}


def _dose_models() -> Sweep:
    points = (2.0, 1.0, 0.5, 0.2, 0.1)
    factor = {"uptake": 1.0, "handbook ratio": 0.9, "kinetic": 2.2, "fixed ratio": 0.7}
    return Sweep(
        along="permit.tp",
        label="Limit on total phosphorus",
        unit="mg P/L",
        points=points,
        values={n: {"metal_dose": tuple(f * 8.0 / p for p in points)} for n, f in factor.items()},
        feasible={n: (True, True, True, True, False) for n in factor},
    )


def _basis() -> dict[str, Line]:
    line = Line(
        key="basis.temperature", label="Temperature of the reactor", value=16.2, unit="degC",
        equation="", sources=(), low=None, middle=None, high=None, months=(), reduced_by="",
        solved=False,
    )  # fmt: skip
    return {"temperature": line}


def _equations() -> tuple[EquationRow, ...]:
    return (
        EquationRow(
            name="metal_dose_for_residual",
            subject="precipitation",
            summary="Metal dose that leaves a residual of soluble phosphorus.",
            formula="m = (P - S) * b_min * (1 + K / S)",
            unit="mmol/L",
            references=("SZABO2008", "SMITH2008"),
        ),
        EquationRow(
            name="equal_annual_cost",
            subject="finance",
            summary="Present worth spread evenly over the years.",
            formula="A = W * r / (1 - (1 + r)^-n)",
            unit="money/y",
            references=("COMPUTED",),
        ),
    )


def _study(draws: int) -> Study:
    if draws == 0:
        return Study(draws=0, seed=1, lines={}, chance_cheapest={}, varied=())
    return Study(
        draws=draws,
        seed=1,
        lines={"salt_single_point.capital": (1.2e6, 1.5e6, 2.1e6)},
        chance_cheapest={
            "bio_with_salt_trim": 0.58, "bio_purchased_carbon": 0.31, "salt_single_point": 0.11,
        },
        varied=("influent.tp", "prices.ferric_chloride"),
    )  # fmt: skip


def _targets() -> Sweep:
    points = tuple(2.0 * (0.05 / 2.0) ** (i / 19) for i in range(20))
    names = tuple(KIND)
    strength = {"no_action": 0.0, "salt_single_point": 1.0, "bio_existing_carbon": 0.0,
                "bio_purchased_carbon": 0.0, "bio_with_salt_trim": 0.35}  # fmt: skip
    base = {"no_action": 0.0, "salt_single_point": 380e3, "bio_existing_carbon": 279e3,
            "bio_purchased_carbon": 350e3, "bio_with_salt_trim": 395e3}  # fmt: skip
    values = {
        n: {
            "metal_dose": tuple(strength[n] * (10.0 + 3.0 / p**0.8) for p in points),
            "equal_annual_cost": tuple(
                base[n] + 4e5 * (strength[n] + 0.1) * 0.2 / p**0.7 if base[n] else 0.0
                for p in points
            ),
        }
        for n in names
    }
    floor = {"no_action": 9.0, "salt_single_point": 0.35, "bio_existing_carbon": 1.3,
             "bio_purchased_carbon": 0.55, "bio_with_salt_trim": 0.42}  # fmt: skip
    return Sweep(
        along="permit.tp",
        label="Limit on total phosphorus",
        unit="mg P/L",
        points=points,
        values=values,
        feasible={n: tuple(p >= floor[n] for p in points) for n in names},
    )


def _swings() -> tuple[Swing, ...]:
    rows = (
        (
            "coefficient.phosphorus_content_anoxic",
            "Phosphorus content of the storing organisms",
            "g P/g VSS",
            0.2,
            0.38,
            2.61e6,
            -0.94e6,
        ),
        ("influent.vfa", "Volatile fatty acids", "mg COD/L", 10.0, 40.0, 1.92e6, -0.35e6),
        ("prices.acetic_acid", "Acetic acid", "money/t", 770.0, 1760.0, 0.12e6, 1.31e6),
        ("prices.liquid_alum", "Liquid alum", "money/t", 160.0, 430.0, 0.97e6, -0.02e6),
        ("finance.discount_rate", "Discount rate", "-", 0.01, 0.07, 0.61e6, 0.38e6),
        ("prices.electricity", "Electricity", "money/kWh", 0.07, 0.2, 0.55e6, 0.57e6),
    )
    return tuple(
        Swing(field=f, label=lab, unit=u, low_input=a, high_input=b, at_low=x, at_high=y)
        for f, lab, u, a, b, x, y in rows
    )
