"""Money beyond the lines of each strategy: years, other rates, the bill, other ways, usual bands.

Everything here is made from the strategies as they are carried, at point values; nothing of it
enters the ranking.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import numpy as np

from pcompare import lines, tables
from pcompare.arrays import Array, as_cases, plain
from pcompare.costs import capital, cash_years, cashflow
from pcompare.equations import finance, lifecycle, purchases
from pcompare.findings import Money
from pcompare.records import (
    Comparison,
    Inputs,
    Line,
    StrategyResult,
)
from pcompare.units import MILLION_GALLONS, POUND, significant

RATES = (0.02, 0.03, 0.05, 0.07)
SAME = 1e-9  # rates closer than this are one
REACH = 3.0  # times the reference size, up or down, to which a cost is scaled without a remark
# What these figures go through beside the recorded lines, for the appendix of equations.
EQUATIONS = (
    "short_lived_reserve", "net_present_cost", "phosphorus_to_cover", "simple_payback",
    "discounted_payback", "internal_rate", "household_month_cost", "equal_annual_cost",
)  # fmt: skip
PER_MASS = {"money/lb": 1.0 / POUND, "money": 1.0}


def money(inputs: Inputs, compared: Comparison, limit: float) -> Money:
    """Put together what documents print of money.

    ``limit`` is the stricter of the permit's concentration and load [mg P/L].
    """
    inputs = plain(inputs)
    results = compared.strategies
    found = {name: capital.assets(inputs, r.design) for name, r in results.items()}
    items = {name: {q: r.value(q) for q in lines.COST_ITEMS} for name, r in results.items()}
    own = _number(cashflow.discount_rate(inputs))
    others = (rate for rate in RATES if abs(rate - own) > SAME)
    rates = tuple(sorted((own, *others)))
    column = as_cases(rates).T
    return Money(
        cash={n: cash_years.yearly(n, inputs, found[n], items[n]) for n in results},
        rates=rates,
        worth={n: _row(cashflow.worth(inputs, found[n], items[n], column)) for n in results},
        built={n: capital.built(inputs, r.design) for n, r in results.items()},
        financing={
            n: _bill(inputs, r, found[n]) for n, r in results.items() if r.kind != "baseline"
        },
        options=_options(inputs, results, limit),
        payback=_payback(inputs, compared),
        remarks=tuple(_remarks(inputs, compared, limit)),
    )


def _row(found: Mapping[str, Array]) -> tuple[float, ...]:
    return tuple(map(float, as_cases(found["present_worth"])[:, 0]))


def _number(value: object) -> float:
    return float(np.max(as_cases(value)))


def _line(
    subject: str, quantity: str, label: str, value: object, unit: str, equation: str, why: str = ""
) -> Line:
    number = _number(value)
    known = math.isfinite(number)
    return Line(
        key=f"{subject}.{quantity}",
        label=label,
        value=number if known else None,
        unit=unit,
        equation=equation,
        sources=(),
        low=None,
        middle=None,
        high=None,
        months=(),
        reduced_by="",
        solved=equation == "internal_rate",
        reason="" if known else why or "not defined",
    )


# --- the bill ---------------------------------------------------------------------------------


def _bill(inputs: Inputs, result: StrategyResult, found: capital.Assets) -> dict[str, Line]:
    """Give what a household would pay: loan, reserves and running, in the first year."""
    subject = f"{result.name}.financing"
    principal = (result.value("capital") - result.value("capital_later")) * (
        1.0 - inputs["financing.grant"]
    )
    payment = finance.equal_annual_cost(
        principal, inputs["financing.loan_rate"], inputs["financing.loan_term"]
    )
    reserve = payment * inputs["financing.debt_reserve"]
    parts = capital.with_soft_costs(inputs, found.now["short_lived"])
    replacing = lifecycle.short_lived_reserve(parts, inputs["finance.life_short_lived"])
    running = result.value("annual_cost")
    budget = payment + reserve + replacing + running
    bill = finance.household_month_cost(budget, inputs["plant.households"])
    rows = (
        ("loan", "Loan, after the grant", principal, "money", ""),
        ("payment", "Loan payment", payment, "money/y", "equal_annual_cost"),
        ("debt_reserve", "Debt reserve", reserve, "money/y", ""),
        ("short_lived_reserve", "Reserve for short-lived assets", replacing, "money/y",
         "short_lived_reserve"),
        ("running", "Annual cost to run, first year", running, "money/y", ""),
        ("budget", "Annual budget", budget, "money/y", ""),
        ("bill", "Effect on the bill, each household and month", bill, "money",
         "household_month_cost"),
    )  # fmt: skip
    return {row[0]: _line(subject, *row) for row in rows}


# --- other ways -------------------------------------------------------------------------------


def _options(
    inputs: Inputs, results: Mapping[str, StrategyResult], limit: float
) -> dict[str, dict[str, Line]]:
    """Optimising, trading and a variance, as far as the user states them."""
    rate, period = cashflow.discount_rate(inputs), inputs["finance.period"]
    better = _number(inputs["options.optimise_tp"])
    effluent = better or results["no_action"].value("effluent_tp")
    found: dict[str, dict[str, Line]] = {}
    if better:
        built, yearly = inputs["options.optimise_capital"], inputs["options.optimise_annual"]
        worth = lifecycle.net_present_cost(built, yearly, 0.0, rate, period)
        found["optimise"] = _option(inputs, "optimise", better, 0.0, built, yearly, worth)
    target = _number(inputs["options.variance_target"]) or limit
    for name, price, held, asked in (
        ("trade", inputs["options.trade_price"], limit, inputs["options.trade_ratio"]),
        ("variance", inputs["options.variance_price"], target, 1.0),
    ):
        if _number(price) > 0.0:
            owed = purchases.phosphorus_to_cover(effluent, held, inputs["flow.average"], asked)
            owed = np.mean(as_cases(owed), axis=1, keepdims=True)
            yearly = owed * price
            worth = lifecycle.operating_worth(yearly, rate, 0.0, inputs["flow.growth"], period)
            found[name] = _option(inputs, name, effluent, owed, 0.0, yearly, worth)
    return found


def _option(
    inputs: Inputs,
    name: str,
    effluent: object,
    owed: object,
    built: object,
    yearly: object,
    worth: object,
) -> dict[str, Line]:
    rate, period = cashflow.discount_rate(inputs), inputs["finance.period"]
    equal = finance.equal_annual_cost(worth, rate, period)
    grown = lifecycle.levelised_growth(rate, inputs["flow.growth"], period)
    household = finance.household_month_cost(equal, inputs["plant.households"] * grown)
    rows = (
        ("effluent_tp", "Total phosphorus", effluent, "mg P/L", ""),
        ("credits", "Phosphorus paid for", owed, "kg/y", "phosphorus_to_cover"),
        ("capital", "Capital", built, "money", ""),
        ("annual_cost", "Annual cost", yearly, "money/y", ""),
        ("present_worth", "Present worth", worth, "money", "net_present_cost"),
        ("equal_annual_cost", "Equal annual cost", equal, "money/y", "equal_annual_cost"),
        ("household_month", "Equal annual cost, each household and month", household, "money",
         "household_month_cost"),
    )  # fmt: skip
    return {row[0]: _line(f"options.{name}", *row) for row in rows}


def _payback(inputs: Inputs, compared: Comparison) -> dict[str, Line]:
    """Say what the dearer to build of the two best saves each year, and when that returns it."""
    if len(compared.ranking) < 2:
        return {}
    pair = [compared.strategies[n] for n in compared.ranking[:2]]
    light, heavy = sorted(pair, key=lambda r: r.value("capital"))
    extra = heavy.value("capital") - light.value("capital")
    saving = light.value("annual_cost") - heavy.value("annual_cost")
    rate, years = cashflow.discount_rate(inputs), inputs["finance.period"]
    what = f"{heavy.label} costs more to build than {light.label}"
    never = "saves nothing to run"
    pays = extra > 0.0 and saving > 0.0
    within = lifecycle.internal_rate(extra, saving, years) if pays else math.nan
    discounted = lifecycle.discounted_payback(extra, saving, rate) if pays else math.nan
    rows = (
        ("extra_capital", f"Extra capital: {what}", extra, "money", "", ""),
        ("yearly_saving", "Annual cost that it saves", saving, "money/y", "", ""),
        ("simple_payback", "Payback without interest", lifecycle.simple_payback(extra, saving),
         "y", "simple_payback", never),
        ("discounted_payback", "Payback at the discount rate", discounted, "y",
         "discounted_payback", "never returns it" if pays else never),
        ("internal_rate", "Rate at which the two cost the same", within, "-", "internal_rate",
         never),
    )  # fmt: skip
    return {row[0]: _line("payback", *row) for row in rows}


# --- what to look at --------------------------------------------------------------------------


def _remarks(inputs: Inputs, compared: Comparison, limit: float) -> Iterator[str]:
    if inputs.choice("finance.rate_kind") == "nominal":
        told = [100.0 * _number(inputs[f"finance.{n}"]) for n in ("discount_rate", "inflation")]
        real = 100.0 * _number(cashflow.discount_rate(inputs))
        yield (
            f"The nominal discount rate of {significant(told[0])} % with inflation of "
            f"{significant(told[1])} % is a real rate of {significant(real)} %: converted "
            "once, for all costs are in constant money."
        )
    yield from _growth(inputs)
    yield from _reach(inputs, compared)
    yield from _bands(inputs, compared, limit)


def _growth(inputs: Inputs) -> Iterator[str]:
    growth, until = _number(inputs["flow.growth"]), _number(inputs["flow.design_year"])
    if growth == 0.0:
        return
    yield (
        f"Flow and load grow by {significant(100.0 * growth, 3)} % a year. What is bought, used "
        "and hauled grows in proportion, each year at its average; maintenance and labour do not. "
        f"Feed, stores and filters are built for the maximum month of year {until:.0f}; doses, "
        "effluent, chances and the check of tanks and clarifiers are those of today's load."
    )
    period = _number(inputs["finance.period"])
    if until < period and growth > 0.0:
        yield (
            f"Costs are counted to year {period:.0f}, but capacity ends with year {until:.0f}: "
            "set the design year to the planning period, or shorten the period."
        )


def _reach(inputs: Inputs, compared: Comparison) -> Iterator[str]:
    """Name what was scaled further than the rule of sizes is good for."""
    far: dict[str, float] = {}
    for name in compared.ranking:
        for item in compared.strategies[name].design.capital:
            size = _number(item.size)
            times = size / _number(inputs[f"{item.price}_size"]) if size > 0.0 else 1.0
            if not 1.0 / REACH <= times <= REACH:
                far[item.label] = times
    if far:
        told = ", ".join(f"{k} ({significant(v, 2)})" for k, v in sorted(far.items()))
        yield (
            f"Scaled by more than three from the size whose cost is known, where the rule of sizes "
            f"is a guess: {told}, in parts of that size. A cost at the plant's own size is better."
        )


def _bands(inputs: Inputs, compared: Comparison, limit: float) -> Iterator[str]:
    """Hold cost to build and cost per mass against the bands of the reference table."""
    currency = inputs.choice("finance.currency")
    if currency != "USD":
        yield (
            f"The usual bands of cost are in US dollars of 2024 to 2026; money here is {currency}, "
            "so nothing was held against them."
        )
        return
    flow = _number(np.mean(as_cases(inputs["flow.average"]))) / MILLION_GALLONS
    for row in tables.read("cost_bands"):
        if not row.number("flow_low", 0.0) <= flow <= row.number("flow_high", math.inf):
            continue
        if not row.number("limit_low", 0.0) <= limit <= row.number("limit_high", math.inf):
            continue
        unit = PER_MASS[row.text("unit")]
        low, high = row.number("low") * unit, row.number("high") * unit
        for name in compared.ranking:
            result = compared.strategies[name]
            if row.text("applies") not in _traits(result):
                continue
            value = result.value(row.text("quantity"))
            if not low <= value <= high:
                told = [significant(x, 2) for x in (value, low, high)]
                kind = lines.KINDS[row.text("quantity")]
                per = "/kg" if kind.unit == "money/kg" else ""
                yield (
                    f"{result.label}: {kind.label.lower()} {told[0]} {currency}{per} lies outside "
                    f"{told[1]} to {told[2]}, the usual band for {row.text('label')} "
                    f"({row.text('status')}): check the inputs."
                )


def _traits(result: StrategyResult) -> set[str]:
    """Say what a band may apply to: a filter, new tanks, converted tanks, or a feed alone."""
    sizes = {i.key: _number(i.size) for i in result.design.capital}
    if sizes.get("filter"):
        return {"any", "filter"}
    if any(sizes.get(key) for key in ("new_tank", "fermenter", "side_stream", "stripper")):
        return {"any", "bare", "new tanks"}
    return {"any", "bare", "existing tanks" if "zone_conversion" in sizes else "feed"}
