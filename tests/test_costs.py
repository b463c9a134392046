"""Capital, annual cost and present worth of a plant: two ways to one sum, growth, phases, rates."""

from __future__ import annotations

import functools

import numpy as np
import numpy_financial as npf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pcompare import designing, lines, money, run
from pcompare.arrays import as_cases, plain
from pcompare.costs import capital, cash_years, cashflow
from pcompare.equations import finance

from .plants import example

ITEMS = {name: 1000.0 * (i + 1) for i, name in enumerate(lines.COST_ITEMS)}


@functools.cache
def designs():
    """Give the designs that the worked example carries: their sizes stay, the money changes."""
    compared = run.compare(example())
    return tuple(r.design for r in compared.strategies.values() if r.design.capital)


def number(value):
    return float(as_cases(plain(value))[0, 0])


def discounted(flow, rate):
    """Sum the payments of a record by another program, whole years and fractions of one."""
    whole = [0.0] * (int(max(flow.years)) + 1)
    rest = 0.0
    for year, amount in zip(flow.years, flow.total, strict=True):
        if year == int(year):
            whole[int(year)] += amount
        else:
            rest += amount / (1.0 + rate) ** year
    return npf.npv(rate, whole) + rest


@st.composite
def finances(draw):
    """Draw fields of money: periods, lives, rises and growth, with and without a second phase."""
    period = draw(st.integers(2, 40))
    growth = draw(st.sampled_from([0.0, 0.005, 0.02, 0.05]))
    phase = draw(st.integers(1, period - 1)) if growth and draw(st.booleans()) else 0
    return {
        "finance__period": float(period),
        "finance__discount_rate": draw(st.one_of(st.just(0.0), st.floats(1e-4, 0.12))),
        "finance__life_structures": draw(st.floats(10.0, 60.0)),
        "finance__life_equipment": draw(st.floats(5.0, 25.0)),
        "finance__life_short_lived": float(draw(st.integers(2, 15))),
        "finance__short_lived_share": draw(st.floats(0.0, 1.0)),
        "finance__soft_costs": draw(st.sampled_from(["cost with contingency", "direct cost"])),
        "finance__escalation_salt": draw(st.floats(-0.02, 0.05)),
        "finance__escalation_labour": draw(st.floats(-0.02, 0.05)),
        "flow__growth": growth,
        "flow__phase_year": float(phase),
        "flow__design_year": float(max(period, phase + 1)),
    }


@settings(max_examples=60)
@given(finances(), st.integers(0, 8))
def test_closed_form_is_the_sum_of_the_years_by_numpy_financial(fields, place):
    inputs, design = example(**fields), designs()[place]
    found = capital.assets(inputs, design)
    closed = cashflow.worth(inputs, found, ITEMS)
    flow = cash_years.yearly(design.strategy, inputs, found, ITEMS)
    rate = fields["finance__discount_rate"]
    scale = sum(map(abs, flow.total))
    assert number(closed["present_worth"]) == pytest.approx(
        discounted(flow, rate), rel=1e-9, abs=1e-9 * scale
    )
    parts = [closed[f"worth_{p}"] for p in ("construction", "replacement", "operation", "salvage")]
    assert number(sum(parts)) == pytest.approx(number(closed["present_worth"]), rel=1e-12)


def test_capital_by_its_parts():
    inputs = example()
    found = capital.lines(inputs, capital.assets(inputs, designs()[0]))
    direct = number(found["capital_direct"])
    assert number(found["capital_contingency"]) == pytest.approx(0.25 * direct)
    assert number(found["capital_engineering"]) == pytest.approx(0.20 * 1.25 * direct)
    added = example(finance__soft_costs="direct cost")
    found = capital.lines(added, capital.assets(added, designs()[0]))
    assert number(found["capital_engineering"]) == pytest.approx(0.20 * direct)
    assert number(found["capital"]) == pytest.approx(1.45 * direct)


def test_short_lived_parts_are_replaced_at_their_own_life():
    inputs, design = example(finance__short_lived_share=1.0), designs()[0]
    flow = cash_years.yearly("x", inputs, capital.assets(inputs, design), {})
    paid = dict(zip(flow.years, flow.replacement, strict=True))
    assert {year for year, amount in paid.items() if amount} == {12.0}
    none = example(finance__short_lived_share=0.0)
    flow = cash_years.yearly("x", none, capital.assets(none, design), {})
    assert {y for y, a in zip(flow.years, flow.replacement, strict=True) if a} == {15.0}


def test_an_asset_that_ends_with_the_period_is_not_replaced_and_leaves_nothing():
    inputs = example(finance__life_equipment=20.0, finance__short_lived_share=0.0)
    design = designs()[0]
    structures = capital.assets(inputs, design).now["structure"]
    flow = cash_years.yearly("x", inputs, capital.assets(inputs, design), {})
    assert not any(flow.replacement)
    left = number(capital.with_soft_costs(inputs, structures)) * (40.0 - 20.0) / 40.0
    assert flow.salvage[-1] == pytest.approx(-left)


# ------------------------------------------------ rates


def test_a_nominal_rate_is_converted_once():
    real = run.compare(example(finance__discount_rate=0.02))
    nominal = run.compare(
        example(
            finance__discount_rate=0.04346, finance__rate_kind="nominal", finance__inflation=0.023
        )
    )
    for name, result in real.strategies.items():
        other = nominal.strategies[name].value("present_worth")
        assert other == pytest.approx(result.value("present_worth"), rel=1e-9)


def test_only_what_is_bought_grows():
    inputs = example(flow__growth=0.03, finance__escalation_energy=0.01)
    grown = {item: number(cashflow.growth(inputs, item)) for item in lines.COST_ITEMS}
    assert {item for item, growth in grown.items() if growth == 0.0} == set(cashflow.STEADY)
    assert number(cashflow.escalation(inputs, "cost_energy")) == 0.01
    assert number(cashflow.escalation(inputs, "cost_salt")) == 0.0


# ------------------------------------------------ growth and phases


def sized(name, **fields):
    (first, *_) = designing.point_of(example(**fields), name)
    return {item.key: number(item.size) for item in first.design.capital}, first


def test_capacity_is_that_of_the_design_year_and_cost_of_each_year():
    today, before = sized("salt_single_point")
    later, after = sized("salt_single_point", flow__growth=0.02, flow__design_year=15.0)
    for key in ("feed_system", "storage", "base_system"):
        assert later[key] == pytest.approx(today[key] * 1.02**15, rel=1e-12)
    # The first year's average load costs what it did; the years after cost more.
    salt = number(before.reduced["cost_salt"])
    assert number(after.reduced["cost_salt"]) == pytest.approx(salt, rel=1e-12)
    assert number(after.reduced["worth_operation"]) > number(before.reduced["worth_operation"])


def test_filters_grow_with_the_load_and_converted_zones_do_not():
    today, _ = sized("bio_with_salt_trim_and_filter")
    later, _ = sized("bio_with_salt_trim_and_filter", flow__growth=0.02)
    assert later["filter"] == pytest.approx(today["filter"] * 1.02**20, rel=1e-12)
    assert later["zone_conversion"] == today["zone_conversion"]


def test_two_phases_together_hold_the_whole_and_cost_more():
    """Sizes add up; below an exponent of one, two small ones cost more than one large one."""
    fields = {"flow__growth": 0.03, "flow__design_year": 20.0}
    one, _ = example(**fields), None
    two = example(**fields, flow__phase_year=10.0)
    (salt, *_) = designing.point_of(one, "salt_single_point")
    (item,) = (i for i in salt.design.capital if i.key == "feed_system")
    first, second = capital._phases(two, item, 10.0)
    exponent = number(two["capital.feed_system_exponent"])
    whole = number(capital.direct_cost(two, item))
    share = 1.03**-10
    assert number(first) == pytest.approx(whole * share**exponent, rel=1e-12)
    assert number(second) == pytest.approx(whole * (1.0 - share) ** exponent, rel=1e-12)
    assert number(first) + number(second) > whole
    found = capital.lines(two, capital.assets(two, salt.design))
    assert 0.0 < number(found["capital_later"]) < number(found["capital"])


def test_without_growth_a_phase_year_changes_nothing():
    inputs, phased = example(), example(flow__phase_year=10.0)
    design = designs()[0]
    for one, other in ((inputs, phased),):
        a = cashflow.worth(one, capital.assets(one, design), ITEMS)
        b = cashflow.worth(other, capital.assets(other, design), ITEMS)
        assert number(a["present_worth"]) == number(b["present_worth"])


def test_a_cost_per_mass_is_levelled_on_both_sides():
    """With every cost in proportion to the load, growth leaves the cost of each kilogram."""
    free = {f"capital__{key}": 0.0 for key in ("feed_system", "storage", "lime_base_system")}
    fields = {**free, "finance__labour_chemical": 0.0, "finance__maintenance": 0.0}
    (today, *_) = designing.point_of(example(**fields), "salt_single_point")
    (grown, *_) = designing.point_of(example(**fields, flow__growth=0.025), "salt_single_point")
    for quantity in ("cost_per_kg_p", "household_month"):
        assert number(grown.reduced[quantity]) == pytest.approx(
            number(today.reduced[quantity]), rel=1e-9
        )


# ------------------------------------------------ the index, and the base's own system


def test_index_carries_capital_and_no_price():
    plain_run = run.compare(example())
    index = {"capital__index_then": 100.5, "capital__index_now": 110.5}
    carried = run.compare(example(**index))
    for name, result in plain_run.strategies.items():
        other = carried.strategies[name]
        times = 110.5 / 100.5
        assert other.value("capital") == pytest.approx(times * result.value("capital"), rel=1e-9)
        assert other.value("cost_salt") == pytest.approx(result.value("cost_salt"), rel=1e-9)


@pytest.mark.parametrize(
    ("base", "row"),
    [
        ("caustic", "base_system"),
        ("quicklime", "lime_base_system"),
        ("magnesium_hydroxide", "slurry_base_system"),
        ("soda_ash", "dry_base_system"),
    ],
)
def test_the_system_of_a_base_is_priced_as_what_it_is(base, row):
    inputs = example(chemical__base=base)
    (salt, *_) = designing.point_of(inputs, "salt_single_point")
    (item,) = (i for i in salt.design.capital if i.key == "base_system")
    assert item.price == f"capital.{row}"
    expected = finance.scaled_cost(
        number(inputs[item.price]), number(item.size), number(inputs[f"{item.price}_size"]),
        number(inputs[f"{item.price}_exponent"]),
    )  # fmt: skip
    assert number(capital.direct_cost(inputs, item)) == pytest.approx(expected, rel=1e-12)


def test_the_cheapest_base_is_the_default():
    assert example().choice("chemical.base") == "cheapest"


# ------------------------------------------------ climate


def scopes_of(candidate):
    return {s: number(candidate.reduced[f"greenhouse_scope_{s}"]) for s in (1, 2, 3)}


def test_scopes_add_up_and_hold_their_items():
    for candidates in designing.point(example()).values():
        for candidate in candidates:
            found = scopes_of(candidate)
            whole = number(candidate.reduced["greenhouse_gas"])
            assert sum(found.values()) == pytest.approx(whole, rel=1e-9, abs=1e-9)


def test_digester_gas_is_gained_with_the_volatile_solids_and_lost_with_the_acids():
    """0.35 m3 of methane for each kg COD destroyed, 9.94 kWh/m3 and an engine of 35 %."""
    inputs = example()
    per_cod = 22.414 / 63.996 * 9.94 * 0.35  # kWh of electricity for each kg COD
    found = designing.point(inputs)
    (none,), (two, *_) = found["no_action"], found["salt_two_point"]
    # More primary solids reach the digester, and less wasted sludge.
    more_primary = 0.2 * 20000.0 * 0.225 * 1.3  # kg COD/d: capture from 0.55 to 0.75
    capture = number(inputs.coefficient("primary_capture_chemical")) - 0.55
    more_primary *= capture / 0.2
    gained = number(two.monthly["digester_gain"])
    assert 0.0 < gained < 0.5 * more_primary * per_cod
    assert number(none.monthly["digester_gain"]) == 0.0
    (acids,) = found["bio_fermented_carbon"]
    lost = number(acids.monthly["gas_energy_lost"])
    assert lost == pytest.approx(number(acids.monthly["fermented_carbon"]) * per_cod, rel=2e-2)
    names = ("aeration_energy", "mixing_energy", "pumping_energy")
    power = sum(number(acids.monthly[n]) - number(none.monthly[n]) for n in names)
    expected = power + lost - number(acids.monthly["digester_gain"])
    assert number(acids.monthly["energy_increase"]) == pytest.approx(expected)
    assert number(acids.reduced["cost_energy"]) == pytest.approx(expected * 0.11 * 365.0)
    for candidates in designing.point(example(solids__digestion="none")).values():
        assert all(number(c.monthly["digester_gain"]) == 0.0 for c in candidates)


def test_every_base_has_its_own_factor_and_carbonates_free_their_carbon():
    for base, factor, carbon in (
        ("caustic", 1.1, 0.0),
        ("quicklime", 1.075, 0.0),
        ("magnesium_hydroxide", 1.2, 0.0),
        ("soda_ash", 1.0, 44.009 / 105.988),
        ("sodium_bicarbonate", 0.8, 44.009 / 84.006),
    ):
        (salt, *_) = designing.point_of(example(chemical__base=base), "salt_single_point")
        use = number(salt.monthly["base_use"]) * 0.365  # t/y
        assert number(salt.reduced["greenhouse_base"]) == pytest.approx(factor * use, rel=1e-6)
        freed = number(salt.reduced["greenhouse_freed_carbon"])
        assert freed == pytest.approx(carbon * use, rel=1e-4, abs=1e-9)


def test_biogenic_carbon_is_printed_apart_and_counted_nowhere():
    fossil, *_ = designing.point_of(example(), "bio_purchased_carbon")
    grown, *_ = designing.point_of(
        example(climate__carbon_origin="biogenic"), "bio_purchased_carbon"
    )
    freed = number(fossil.reduced["greenhouse_freed_carbon"])
    acid = number(fossil.monthly["carbon_use"]) * 0.365
    assert freed == pytest.approx(acid * 2.0 * 44.009 / 60.052, rel=1e-4)
    assert number(grown.reduced["greenhouse_biogenic"]) == freed
    less = number(fossil.reduced["greenhouse_gas"]) - number(grown.reduced["greenhouse_gas"])
    assert less == pytest.approx(freed)
    assert number(fossil.reduced["greenhouse_biogenic"]) == 0.0


def test_nitrous_oxide_is_left_out_unless_organisms_are_said_to_make_another():
    inputs = example(climate__nitrous_oxide_biological=1.2)
    common = number(run.compare(inputs).basis["nitrous_oxide"].value)
    for name, (candidate, *_) in designing.point(inputs).items():
        found = number(candidate.reduced["greenhouse_nitrous_oxide"])
        assert found == pytest.approx(0.2 * common if name.startswith("bio") else 0.0, rel=1e-9)


def test_a_price_on_greenhouse_gas_is_a_cost_of_every_year():
    free, priced = run.compare(example()), run.compare(example(finance__carbon_price=100.0))
    for name, result in priced.strategies.items():
        gas = result.value("greenhouse_gas")
        assert result.value("cost_climate") == pytest.approx(100.0 * gas, abs=1e-6)
        assert free.strategies[name].value("cost_climate") == 0.0


# ------------------------------------------------ what stands beside the ranking


def told(**fields):
    inputs = example(**fields)
    compared = run.compare(inputs)
    return compared, money.money(inputs, compared, 0.8)


def test_present_worth_at_every_rate_is_that_of_the_years():
    compared, found = told(finance__discount_rate=0.035)
    assert found.rates == (0.02, 0.03, 0.035, 0.05, 0.07)
    for name, result in compared.strategies.items():
        for rate, worth in zip(found.rates, found.worth[name], strict=True):
            assert worth == pytest.approx(discounted(found.cash[name], rate), rel=1e-9, abs=1e-6)
        own = found.worth[name][found.rates.index(0.035)]
        assert own == pytest.approx(result.value("present_worth"), rel=1e-12, abs=1e-6)
        assert sum(found.built[name].values()) == pytest.approx(result.value("capital"), abs=1e-6)


def test_the_bill_is_a_loan_with_reserves_and_leaves_the_ranking_alone():
    compared, found = told(financing__grant=0.25, financing__loan_rate=0.04)
    plain_run, _ = told()
    assert compared.ranking == plain_run.ranking
    for name, bill in found.financing.items():
        result = compared.strategies[name]
        loan = 0.75 * result.value("capital")
        payment = -npf.pmt(0.04, 20, loan)
        assert bill["loan"].value == pytest.approx(loan)
        assert bill["payment"].value == pytest.approx(payment)
        budget = 1.1 * payment + result.value("annual_cost") + bill["short_lived_reserve"].value
        assert bill["budget"].value == pytest.approx(budget)
        assert bill["bill"].value == pytest.approx(budget / 12.0 / 31000.0)


def test_other_ways_are_priced_as_the_user_states_them():
    compared, found = told()
    assert found.options == {}
    compared, found = told(options__trade_price=20.0, options__variance_price=50.0,
                           options__variance_target=0.2)  # fmt: skip
    today = compared.strategies["no_action"].value("effluent_tp")
    credits = 2.0 * (today - 0.8) * 20000.0 * 0.365
    trade, variance = found.options["trade"], found.options["variance"]
    assert trade["credits"].value == pytest.approx(credits)
    assert trade["annual_cost"].value == pytest.approx(20.0 * credits)
    assert trade["present_worth"].value == pytest.approx(-npf.pv(0.02, 20, 20.0 * credits))
    assert variance["credits"].value == pytest.approx((today - 0.2) * 20000.0 * 0.365)
    _, better = told(options__optimise_tp=2.0, options__optimise_capital=1e5,
                     options__trade_price=20.0)  # fmt: skip
    assert better.options["optimise"]["present_worth"].value == pytest.approx(1e5)
    assert better.options["trade"]["credits"].value == pytest.approx(
        2.0 * (2.0 - 0.8) * 20000.0 * 0.365
    )


def test_payback_of_the_dearer_to_build():
    """Dear salt: the better of the two saves by running; numpy-financial agrees on the rate."""
    compared, found = told(prices__ferric_chloride=683.0, prices__liquid_alum=428.0)
    extra, saving = found.payback["extra_capital"].value, found.payback["yearly_saving"].value
    pair = [compared.strategies[n] for n in compared.ranking[:2]]
    assert extra == pytest.approx(abs(pair[0].value("capital") - pair[1].value("capital")))
    if saving > 0.0:
        assert found.payback["simple_payback"].value == pytest.approx(extra / saving)
    else:
        assert found.payback["simple_payback"].reason


def test_results_outside_their_band_are_named_and_only_in_dollars():
    _, found = told()
    assert not any("outside" in remark for remark in found.remarks)
    _, dear = told(prices__ferric_chloride=4000.0, prices__liquid_alum=4000.0)
    assert any("cost per kg p removed" in remark for remark in dear.remarks)
    _, elsewhere = told(finance__currency="EUR", prices__ferric_chloride=4000.0)
    assert any("money here is EUR" in remark for remark in elsewhere.remarks)
    assert not any("outside" in remark for remark in elsewhere.remarks)


def test_growth_is_told_with_what_it_does_not_reach():
    _, found = told(flow__growth=0.01, flow__design_year=15.0)
    text = " ".join(found.remarks)
    assert "grow by 1.00 % a year" in text
    assert "those of today's load" in text
    assert "capacity ends with year 15" in text


def test_lorries_are_those_of_product_base_and_cake():
    inputs = example()
    (salt, *_) = designing.point_of(inputs, "salt_single_point")
    q = {k: number(v) for k, v in salt.monthly.items()}
    loads = (q["product_volume"] + q["base_volume"]) / 18.0 + q["cake_increase"] / 20.0
    assert q["lorries"] == pytest.approx(loads * 365.0 / 12.0, rel=1e-9)


def test_money_adds_up_over_cases_too():
    """A column of rates gives each rate's own present worth."""
    inputs = example(finance__discount_rate=np.array([[0.01], [0.04], [0.09]]))
    (column, *_) = designing.point_of(inputs, "salt_single_point")
    for row, rate in enumerate((0.01, 0.04, 0.09)):
        (one, *_) = designing.point_of(example(finance__discount_rate=rate), "salt_single_point")
        assert column.reduced["present_worth"][row, 0] == pytest.approx(
            number(one.reduced["present_worth"]), rel=1e-12
        )
