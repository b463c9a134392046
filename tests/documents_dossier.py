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
from pcompare.findings import (
    BreakEven,
    CashFlow,
    ChoiceMap,
    Crossing,
    Dossier,
    Driver,
    EquationRow,
    Estimate,
    FieldRow,
    Gap,
    Money,
    Odds,
    Provenance,
    Study,
    Sweep,
    Swing,
)
from pcompare.records import (
    CapitalItem,
    Check,
    Comparison,
    Design,
    Inputs,
    Line,
    StrategyResult,
    Zones,
)
from tests.documents_reuse import invented_picture, ugly_picture
from tests.documents_values import FIELDS, NAN, VALUES

KIND = {
    "no_action": "baseline",
    "bio_existing_carbon": "biological",
    "bio_fermented_carbon": "biological",
    "bio_return_sludge_fermentation": "biological",
    "bio_purchased_carbon": "biological",
    "side_stream_stripping": "combined",
    "bio_with_salt_trim": "combined",
    "bio_with_salt_trim_and_filter": "combined",
}
PRODUCT = {
    "salt_single_point": "ferric_chloride",
    "salt_two_point": "ferric_chloride",
    "salt_tertiary": "liquid_alum",
    "lime": "hydrated_lime",
    "side_stream_stripping": "hydrated_lime",
    "bio_with_salt_trim": "liquid_alum",
    "bio_with_salt_trim_and_filter": "liquid_alum",
}
CARBON = {"bio_purchased_carbon": "acetic_acid"}
SOURCE = {"bio_fermented_carbon": "fermenter", "bio_return_sludge_fermentation": "side stream"}
POINTS = {
    "salt_single_point": ("activated sludge",),
    "salt_two_point": ("primary", "activated sludge"),
    "salt_tertiary": ("activated sludge", "filter"),
    "lime": ("primary",),
    "bio_with_salt_trim": ("activated sludge",),
    "bio_with_salt_trim_and_filter": ("filter",),
}
# Column of the invented values, and how far the cost lies from it; others are like one-point salt.
COLUMN = {
    "no_action": (0, 1.0),
    "salt_single_point": (1, 1.0),
    "salt_two_point": (1, 1.12),
    "salt_tertiary": (1, 1.31),
    "bio_existing_carbon": (2, 1.0),
    "bio_purchased_carbon": (3, 1.0),
    "bio_with_salt_trim": (4, 1.0),
    "bio_with_salt_trim_and_filter": (4, 1.71),
}
OTHER = (1, 1.45)
# Salts at the target: cost, chloride, sulfate and alkalinity, all invented.
SALTS = {
    "liquid_alum": (11_900_000.0, 0.0, 49.2, -41.3),
    "ferric_chloride": (10_990_000.0, 28.0, 0.0, -32.6),
    "ferric_sulfate": (11_200_000.0, 0.0, 46.8, -32.6),
    "ferric_chloride_sulfate": (11_150_000.0, 9.4, 31.1, -32.6),
    "ferrous_chloride": (10_100_000.0, 26.5, 0.0, -21.9),
    "ferrous_sulfate": (8_240_000.0, 0.0, 35.9, -21.9),
    "pickle_liquor": (8_810_000.0, 0.0, 52.7, -38.4),
    "polyaluminium_chloride": (15_800_000.0, 18.3, 0.0, -14.4),
    "sodium_aluminate": (9_020_000.0, 0.0, 0.0, 33.7),
    "cerium_chloride": (22_300_000.0, 13.3, 0.0, -8.2),
    "lanthanum_chloride": (22_100_000.0, 13.4, 0.0, -8.3),
}


def invented_value(name: str, quantity: str) -> float:
    """Give one invented value of a strategy; a line that the table lacks is zero."""
    column, factor = COLUMN.get(name, OTHER)
    if quantity not in VALUES:
        return 0.0
    found = VALUES[quantity][column]
    return found * factor if lines.KINDS[quantity].group.startswith("Cost") else found


FIRST = ("no_action", "salt_single_point", "bio_existing_carbon", "bio_purchased_carbon",
         "bio_with_salt_trim")  # fmt: skip
LATER = tuple(name for name in lines.LABELS if name not in FIRST)


def invented(draws: int = 2000, monthly: bool = False) -> Dossier:
    """Make an ordinary run: no action and the carbon of the sewage miss, the others meet it."""
    fields = (*_fields(), *_coefficient_fields())
    strategies = {name: _result(name, draws, monthly) for name in lines.LABELS}
    return Dossier(
        inputs=_inputs(fields),
        fields=fields,
        equations=_equations(),
        sources=dict(tables.sources()),
        comparison=Comparison(
            strategies=strategies,
            basis=_basis(),
            ranking=(
                "bio_with_salt_trim",
                "bio_purchased_carbon",
                "salt_single_point",
                *sorted(LATER, key=lambda n: strategies[n].value("present_worth")),
            ),
            reference="salt_single_point",
            recommendation="Biological with salt trim has the lowest present worth.",
            what_would_change_it=("A limit of 2 mg P/L would open the cheapest way.",),
            notes=("Fixed at point values: layout, product, capacities.",),
        ),
        recorded={},
        study=_study(draws),
        targets=_targets(),
        sensitivity=_swings(),
        salts=_salts(),
        layouts={
            name: dict(strategies["bio_existing_carbon"].lines)
            for name in ("anaerobic-anoxic-aerobic", "anaerobic-aerobic", "five-stage")
        },
        dose_models=_dose_models(),
        washout=Sweep(
            along="influent.temperature_average",
            label="Water temperature",
            unit="degC",
            points=(8.0, 14.0, 20.0, 26.0),
            values={
                "nitrifiers": {"srt": (6.2, 3.5, 2.1, 1.3)},
                "storing organisms": {"srt": (5.6, 4.0, 2.9, 2.1)},
                "window": {"srt": (0.6, -0.5, -0.8, -0.8)},
            },
            feasible={},
        ),
        reuse=invented_picture(),
        money=_money(strategies),
        provenance=Provenance(
            version="0.1.0",
            run_id="0123456789ab",
            input_hash="ab" * 32,
            seed=1,
            draws=draws,
            libraries={"numpy": "2.4.0"},
        ),
        break_evens=_break_evens(),
        maps=_maps(),
        crossings=(
            Crossing(at=1.13, before="salt_single_point", after="bio_with_salt_trim", fails=False),
            Crossing(at=0.31, before="bio_with_salt_trim", after="salt_tertiary", fails=True),
            Crossing(at=0.17, before="salt_tertiary", after="", fails=True),
        ),
        estimate_class={
            name: (0.5 * result.value("capital"), 2.0 * result.value("capital"))
            for name, result in strategies.items()
            if result.kind != "baseline"
        },
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
        break_evens=(),
        maps=(
            replace(plain.maps[0], winners=()),
            replace(plain.maps[1], winners=((*("x <odd> & new",) * 12,),), up=(0.02,)),
        ),
        salts=_ugly_salts(plain),
        layouts={},
        dose_models=replace(
            plain.dose_models,
            values={
                n: {"metal_dose": tuple(NAN if i % 2 else v for i, v in enumerate(r["metal_dose"]))}
                for n, r in plain.dose_models.values.items()
            }
            | {"<odd> & new": {"metal_dose": (math.inf,)}, "empty": {}},
            feasible={},
        ),
        reuse=ugly_picture(),
    )


def _ugly_salts(plain: Dossier) -> dict[str, dict[str, Line]]:
    """Give salts without numbers, one whose worth is out of any measure, and one unknown."""
    salts = {n: dict(found) for n, found in plain.salts.items()}
    for name, number in (("liquid_alum", None), ("ferric_sulfate", NAN), ("pickle_liquor", -3e14)):
        salts[name] = {
            q: replace(line, value=number, reason="<gave> up & stopped")
            for q, line in salts[name].items()
        }
    return salts | {"my_<own>_salt & more": salts["ferric_chloride"], "bare": {}}


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


def _lines(name: str, subject: str, draws: int, monthly: bool) -> dict[str, Line]:
    return {
        kind.quantity: _line(subject, kind, invented_value(name, kind.quantity), draws, monthly)
        for kind in lines.LINES
    }


def _result(name: str, draws: int, monthly: bool) -> StrategyResult:
    product = PRODUCT.get(name, "")
    label = lines.LABELS[name]
    if product:
        label += f" ({lines.PRODUCTS[product].lower()})"
    others: Mapping[str, Mapping[str, Line]] = {}
    if product:
        others = {
            p: _lines(name, f"{name}.products.{p}", 0, False)
            for p in dict.fromkeys((product, "liquid_alum"))
        }
    return StrategyResult(
        name=name,
        label=label,
        kind=KIND.get(name, "chemical"),
        product=product,
        design=_design(name, product),
        lines=_lines(name, name, draws, monthly),
        checks=_checks(name),
        others=others,
    )


def _checks(name: str) -> tuple[Check, ...]:
    mean = invented_value(name, "effluent_tp_governing")
    target = invented_value(name, "design_mean")
    rows = [
        Check(key="permit.tp", label="Mean total phosphorus in the governing period",
              needed=target, found=mean, unit="mg P/L", met=mean <= target),
        Check(key="mixed_liquor", label="Mixed-liquor solids in the peak month", needed=4500.0,
              found=invented_value(name, "mixed_liquor"), unit="mg/L", met=True),
        Check(key="alkalinity", label="Alkalinity that remains", needed=80.0,
              found=invented_value(name, "alkalinity_residual"), unit="mg CaCO3/L", met=True,
              sense="at least"),
    ]  # fmt: skip
    if name == "bio_existing_carbon":
        rows.append(
            Check(key="potential", label="Biological potential above the reserve, worst month",
                  needed=0.0, found=-1.31, unit="mg P/L", met=False, sense="at least")
        )  # fmt: skip
    return tuple(rows)


def _design(name: str, product: str) -> Design:
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
        choices |= {"product": product, "base": "caustic", "dosing points": "several"}
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
        design_mean=size(invented_value(name, "design_mean")),
        sizes={"metal": size(290.0)},
        capital=tuple(items),
        choices=choices,
        zones=Zones(
            layout=choices["layout"],
            anaerobic_fraction=size(0.1 if name.startswith("bio") else 0.0),
            anoxic_fraction=size(0.3),
            extra_fraction=size(0.0),
            side_fraction=size(0.0),
            side_volume=size(0.0),
            internal_recycle=size(2.0),
            srt=size(12.0),
            volume=size(11500.0),
            added_volume=size(0.0),
            phosphorus_content="phosphorus_content_anoxic",
        ),
        points=POINTS.get(name, ()),
        base="caustic",
        carbon=CARBON.get(name, ""),
        source=SOURCE.get(name, ""),
    )


def _salts() -> dict[str, dict[str, Line]]:
    """Give every salt at the target: one-point salt with a few numbers of its own."""
    kinds = lines.KINDS
    quantities = ("present_worth", "chloride_added", "sulfate_added", "alkalinity_metal")
    found = {}
    for name, numbers in SALTS.items():
        subject = f"salt_single_point.salts.{name}"
        own = dict(zip(quantities, numbers, strict=True))
        found[name] = _lines("salt_single_point", subject, 0, False) | {
            q: _line(subject, kinds[q], number, 0, False) for q, number in own.items()
        }
    return found


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


def _money(strategies: Mapping[str, StrategyResult]) -> Money:
    """Give payments, rates, a bill and other ways, all invented."""
    rates = (0.02, 0.03, 0.05, 0.07)
    subjects = {"loan": "money", "payment": "money/y", "debt_reserve": "money/y",
                "short_lived_reserve": "money/y", "running": "money/y", "budget": "money/y",
                "bill": "money"}  # fmt: skip
    option = {"effluent_tp": ("mg P/L", 2.31), "credits": ("kg/y", 22_100.0),
              "capital": ("money", 0.0), "annual_cost": ("money/y", 1_310_000.0),
              "present_worth": ("money", 21_400_000.0),
              "equal_annual_cost": ("money/y", 1_310_000.0),
              "household_month": ("money", 2.65)}  # fmt: skip
    paid = {"extra_capital": ("money", 130_000.0), "yearly_saving": ("money/y", 27_683.0),
            "simple_payback": ("y", 4.7), "discounted_payback": ("y", 4.96),
            "internal_rate": ("-", 0.207)}  # fmt: skip
    years = tuple(map(float, range(21)))
    return Money(
        cash={
            name: CashFlow(
                strategy=name,
                years=years,
                construction=(result.value("capital"), *(0.0 for _ in years[1:])),
                replacement=tuple(0.4 * result.value("capital") * (y == 15.0) for y in years),
                operation=(0.0, *(result.value("annual_cost") for _ in years[1:])),
                salvage=tuple(-0.3 * result.value("capital") * (y == 20.0) for y in years),
            )
            for name, result in strategies.items()
        },
        rates=rates,
        worth={
            n: tuple(r.value("present_worth") * (1.06 - 3.0 * rate) for rate in rates)
            for n, r in strategies.items()
        },
        built={
            n: {"feed_system": 0.6 * r.value("capital"), "new_tank": 0.4 * r.value("capital")}
            for n, r in strategies.items()
        },
        financing={
            n: {
                q: _bare(f"{n}.financing.{q}", unit, 123_456.0 * (i + 1))
                for i, (q, unit) in enumerate(subjects.items())
            }
            for n, r in strategies.items()
            if r.kind != "baseline"
        },
        options={"trade": {q: _bare(f"options.trade.{q}", u, v) for q, (u, v) in option.items()}},
        payback={q: _bare(f"payback.{q}", u, v) for q, (u, v) in paid.items()},
        remarks=("An invented remark: capital lies outside its <usual> band & more.",),
    )


def _bare(key: str, unit: str, value: float) -> Line:
    label = key.rpartition(".")[2].replace("_", " ").capitalize()
    return Line(
        key=key, label=label, value=value, unit=unit, equation="", sources=(), low=None,
        middle=None, high=None, months=(), reduced_by="", solved=False,
    )  # fmt: skip


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
        odds=_odds(),
        none_keeps=Estimate(0.04, 0.0044),
        gaps=(
            Gap(strategy="bio_purchased_carbon", low=-0.9e6, middle=0.61e6, high=1.8e6,
                mean=Estimate(0.57e6, 2.1e4), below=Estimate(0.31, 0.0103)),
            Gap(strategy="salt_single_point", low=0.4e6, middle=3.9e6, high=7.7e6,
                mean=Estimate(3.95e6, 6.2e4), below=Estimate(0.11, 0.007)),
        ),
        drivers=tuple(
            Driver(field=f, label=lab, unit=u, rank_correlation=Estimate(r, 0.02),
                   variance_share=Estimate(r * r, 0.01), information=worth)
            for f, lab, u, r, worth in (
                ("prices.liquid_alum", "Liquid alum", "money/t", 0.52, 41_300.0),
                ("influent.vfa", "Volatile fatty acids", "mg COD/L", -0.44, 28_700.0),
                ("prices.electricity", "Electricity", "money/kWh", 0.07, 12.0),
            )
        ),
        information=Estimate(212_000.0, 9_400.0),
        noise=35.0,
        correlated=561,
    )  # fmt: skip


def _odds() -> dict[str, Odds]:
    cheapest = {"bio_with_salt_trim": 0.58, "bio_purchased_carbon": 0.31, "salt_single_point": 0.11}
    found = {}
    for i, name in enumerate(lines.LABELS):
        chance = cheapest.get(name, 0.0)
        competes = name not in ("no_action", "bio_existing_carbon")
        found[name] = Odds(
            meets=Estimate(0.07 * i, 0.011),
            keeps=Estimate(0.06 * i, 0.011),
            in_period=Estimate(0.09 * i, 0.005),
            competes=competes,
            cheapest=Estimate(chance, 0.011),
            cheapest_kept=Estimate(0.4 if name == "salt_tertiary" else 0.05, 0.011),
            regret=Estimate(212_000.0 * i if competes else NAN, 9_400.0 if competes else NAN),
            largest_regret=4.4e6 if competes else NAN,
        )
    return found


def _break_evens() -> tuple[BreakEven, ...]:
    rows = (
        ("influent.vfa", "Volatile fatty acids", "mg COD/L", 30.0, 10.0, 40.0, (33.4,)),
        ("prices.liquid_alum", "Liquid alum", "money/t", 270.0, 160.0, 430.0, ()),
        ("finance.discount_rate", "Discount rate", "-", 0.02, 0.01, 0.07, (0.0312, 0.0567)),
    )
    return tuple(
        BreakEven(field=f, label=lab, unit=u, against=rival, now=now, low=low, high=high,
                  at=at if rival == "bio_purchased_carbon" else ())
        for rival in ("bio_purchased_carbon", "salt_single_point")
        for f, lab, u, now, low, high, at in rows
    )  # fmt: skip


def _maps() -> tuple[ChoiceMap, ...]:
    """One map of two regions, and one that falls along the limit with a corner of nobody."""
    prices = tuple(100.0 * 1.15**i for i in range(12))
    limits = tuple(2.0 * (0.05 / 2.0) ** (i / 11) for i in range(12))
    return (
        ChoiceMap(
            title="Liquid alum and acetic acid",
            labels=("Liquid alum", "Acetic acid"),
            units=("money/t", "money/t"),
            across=prices,
            up=prices,
            now=(270.0, 300.0),
            winners=tuple(
                tuple("bio_with_salt_trim" if j > i else "bio_purchased_carbon" for i in range(12))
                for j in range(12)
            ),
            note="The plant is held as designed.",
        ),
        ChoiceMap(
            title="Limit and rate",
            labels=("Limit on total phosphorus", "Discount rate"),
            units=("mg P/L", "-"),
            across=limits,
            up=(0.0, 0.03, 0.06, 0.09),
            now=(0.8, 0.02),
            winners=tuple(
                tuple(
                    "" if i > 9 else ("salt_tertiary" if i > 5 + j else "lime") for i in range(12)
                )
                for j in range(4)
            ),
            note="Designed anew.",
        ),
    )


def _targets() -> Sweep:
    points = tuple(2.0 * (0.05 / 2.0) ** (i / 19) for i in range(20))
    names = tuple(lines.LABELS)
    strength = {"no_action": 0.0, "bio_existing_carbon": 0.0, "bio_purchased_carbon": 0.0,
                "bio_with_salt_trim": 0.35, "bio_with_salt_trim_and_filter": 0.2,
                "salt_tertiary": 0.8, "salt_two_point": 1.1}  # fmt: skip
    base = {"no_action": 0.0, "salt_single_point": 380e3, "bio_existing_carbon": 279e3,
            "bio_purchased_carbon": 350e3, "bio_with_salt_trim": 395e3}  # fmt: skip
    values = {
        n: {
            "metal_dose": tuple(strength.get(n, 1.0) * (10.0 + 3.0 / p**0.8) for p in points),
            "equal_annual_cost": tuple(
                base.get(n, 440e3) + 4e5 * (strength.get(n, 1.0) + 0.1) * 0.2 / p**0.7
                if base.get(n, 1.0)
                else 0.0
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
        feasible={n: tuple(p >= floor.get(n, 0.1) for p in points) for n in names},
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
