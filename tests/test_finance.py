"""Money over time against numpy-financial, printed examples and limits."""

from __future__ import annotations

import numpy as np
import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare.equations import finance, lifecycle

RATES = st.floats(0.001, 0.3)
YEARS = st.integers(1, 60)
MONEY = st.floats(1.0, 1e9)
AGREEMENT = 1e-9  # relative, over random cash flows


def close(computed, expected, rtol=AGREEMENT):
    np.testing.assert_allclose(computed, expected, rtol=rtol)


# ------------------------------------------------ another program: numpy-financial


@given(RATES, YEARS, MONEY)
def test_single_payment_agrees_with_numpy_financial(rate, years, paid):
    close(paid * finance.single_present_worth(rate, years), -npf.pv(rate, years, 0.0, paid))


@given(RATES, YEARS, MONEY)
def test_uniform_series_agrees_with_numpy_financial(rate, years, paid):
    close(paid * finance.uniform_present_worth(rate, years), -npf.pv(rate, years, paid))


@given(RATES, st.floats(-0.05, 0.3), YEARS, MONEY)
def test_escalating_series_agrees_with_numpy_financial(rate, escalation, years, paid):
    flows = paid * (1.0 + escalation) ** np.arange(1, years + 1)
    worth = npf.npv(rate, [0.0, *flows])
    # Where the two rates all but meet, the closed form keeps fewer digits.
    rtol = max(AGREEMENT, 1e-15 / max(abs(rate - escalation), 1e-9))
    close(paid * finance.escalating_present_worth(rate, escalation, years), worth, rtol)


@given(RATES, YEARS, MONEY)
def test_payment_agrees_with_numpy_financial(rate, years, worth):
    payment = -npf.pmt(rate, years, worth)
    close(worth * finance.capital_recovery(rate, years), payment)
    close(finance.equal_annual_cost(worth, rate, years), payment)


@given(RATES, st.floats(-0.02, 0.15), st.floats(-0.03, 0.1), YEARS, MONEY)
def test_real_and_nominal_flows_agree_by_numpy_financial(
    nominal, inflation, budget_escalation, years, paid
):
    """Money of the day at the nominal rate is worth what constant money is at the real rate."""
    k = np.arange(1, years + 1)
    of_the_day = npf.npv(nominal, [0.0, *(paid * (1.0 + budget_escalation) ** k)])
    real = finance.real_rate(nominal, inflation)
    escalation = finance.real_escalation(budget_escalation, inflation)
    constant = npf.npv(real, [0.0, *(paid * (1.0 + escalation) ** k)])
    close(constant, of_the_day)


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40), RATES)
def test_net_present_value_of_any_flows(flows, rate):
    years = np.arange(len(flows))
    worth = flows * finance.single_present_worth(rate, years)
    assert worth.sum() == pytest.approx(npf.npv(rate, flows), rel=AGREEMENT, abs=1e-6)


# ------------------------------------------------ printed examples of several steps


def test_net_present_value_as_printed():
    """Example of the reference documentation of npv: 3065.22267."""
    flows = np.array([-40000.0, 5000.0, 8000.0, 12000.0, 30000.0])
    worth = (flows * finance.single_present_worth(0.08, np.arange(5))).sum()
    assert worth == pytest.approx(3065.22267, abs=5e-6)


def test_present_worth_with_salvage_as_printed():
    """Rittmann, problem 3, alternative C: -27269 with factors of four digits."""
    annual = 5000.0 * finance.uniform_present_worth(0.15, 5)
    salvage = 3000.0 * finance.single_present_worth(0.15, 5)
    assert -12000.0 - annual + salvage == pytest.approx(-27269.0, abs=1.0)


@pytest.mark.parametrize(
    ("cost", "salvage", "rate", "years", "printed", "tolerance"),
    [
        pytest.param(1000.0, 200.0, 0.07, 10, 127.92, 0.05, id="factor printed with four digits"),
        pytest.param(50000.0, 5000.0, 0.10, 5, 12371.0, 1.0, id="two equivalent formulas"),
        pytest.param(25000.0, 5000.0, 0.10, 4, 6809.4, 0.5, id="capital part of an annual worth"),
    ],
)
def test_capital_recovery_with_salvage_as_printed(cost, salvage, rate, years, printed, tolerance):
    worth = cost - salvage * finance.single_present_worth(rate, years)
    assert finance.equal_annual_cost(worth, rate, years) == pytest.approx(printed, abs=tolerance)


def test_federal_life_cycle_example():
    """Handbook 135 (1995), with its table factors: 506 634 and 421 536."""
    replacement = round(float(finance.single_present_worth(0.04, 12)), 3)
    residual = round(float(finance.single_present_worth(0.04, 20)), 3)
    yearly = round(float(finance.uniform_present_worth(0.04, 20)), 2)
    electricity = 15.13  # modified factor as printed: its price projections are not constant
    conventional = (
        103000 + 12000 * replacement - 3500 * residual + 20000 * electricity + 7000 * yearly
    )
    saving = 110000 + 12500 * replacement - 3700 * residual + 13000 * electricity + 8000 * yearly
    assert conventional == pytest.approx(506634, abs=1.0)
    assert saving == pytest.approx(421536, abs=1.0)


def test_federal_life_cycle_example_unrounded():
    """The same sums with whole factors, the printed 15.13 kept: 506 630.09 and 421 531.44."""

    def whole(first, replacement, residual, electricity, yearly):
        return (
            first
            + lifecycle.payment_worth(replacement, 0.04, 12)
            - lifecycle.payment_worth(residual, 0.04, 20)
            + electricity * 15.13
            + lifecycle.operating_worth(yearly, 0.04, 0.0, 0.0, 20)
        )

    conventional = whole(103000, 12000, 3500, 20000, 7000)
    saving = whole(110000, 12500, 3700, 13000, 8000)
    assert conventional == pytest.approx(506630.09, abs=0.01)
    assert saving == pytest.approx(421531.44, abs=0.01)
    assert conventional - saving == pytest.approx(85098.65, abs=0.01)


def test_annual_worth_of_a_course_exercise():
    """1.5 million at 6 % over 20 years with 300 000 a year: 430 776.84."""
    annual = finance.equal_annual_cost(1.5e6, 0.06, 20) + 300000.0
    assert annual == pytest.approx(430776.84, abs=0.01)


@pytest.mark.parametrize(
    ("rate", "worth"),
    [(0.02, 4129688.76), (0.03, 3965856.87), (0.05, 3688424.60), (0.07, 3465061.02)],
)
def test_interagency_present_worth(rate, worth):
    """C 2.0 million, 150 000 a year, 20 years, two fifths of C in structures for 50 years."""
    salvage = finance.straight_line_salvage(0.4 * 2.0e6, 50.0, 20.0)
    computed = (
        2.0e6
        + 150000.0 * finance.uniform_present_worth(rate, 20)
        - salvage * finance.single_present_worth(rate, 20)
    )
    assert computed == pytest.approx(worth, abs=0.01)


def test_real_flows_at_a_nominal_rate_are_worth_a_fifth_less():
    """The mistake that the notes of real_rate warn of: 13 183 in place of 16 351."""
    right = 1000.0 * finance.uniform_present_worth(finance.real_rate(0.04346, 0.023), 20)
    wrong = 1000.0 * finance.uniform_present_worth(0.04346, 20)
    assert right == pytest.approx(16351.43, abs=0.01)
    assert wrong == pytest.approx(13183.27, abs=0.01)


# ------------------------------------------------ limits and directions


@given(YEARS)
def test_without_interest_money_is_money(years):
    assert finance.single_present_worth(0.0, years) == 1.0
    assert finance.uniform_present_worth(0.0, years) == years
    assert finance.capital_recovery(0.0, years) == pytest.approx(1.0 / years, rel=1e-15)


@pytest.mark.parametrize("gap", [0.0, 1e-17, 1e-12, 1e-10])
def test_equal_rates_leave_the_number_of_years(gap):
    """0.1 + 0.2 is not 0.3: a difference of rounding must not decide anything."""
    assert finance.escalating_present_worth(0.3 + gap, 0.3, 25) == pytest.approx(25.0, rel=1e-8)
    assert finance.escalating_present_worth(0.1 + 0.2, 0.3, 25) == 25.0
    assert finance.uniform_present_worth(gap, 25) == pytest.approx(25.0, rel=1e-8)


@given(RATES, YEARS)
def test_without_escalation_the_series_is_uniform(rate, years):
    uniform = finance.uniform_present_worth(rate, years)
    close(finance.escalating_present_worth(rate, 0.0, years), uniform, 1e-12)


@given(RATES)
def test_an_endless_annuity_is_worth_one_over_the_rate(rate):
    close(finance.uniform_present_worth(rate, 40.0 / rate), 1.0 / rate, 1e-7)


@given(RATES, YEARS)
def test_a_series_is_the_sum_of_its_payments(rate, years):
    single = sum(finance.single_present_worth(rate, k) for k in range(1, years + 1))
    close(finance.uniform_present_worth(rate, years), single)


@given(MONEY, st.floats(1.0, 60.0), st.floats(0.0, 60.0))
def test_salvage_lies_between_nothing_and_the_cost(cost, life, age):
    salvage = finance.straight_line_salvage(cost, life, age)
    assert 0.0 <= salvage <= cost
    assert (salvage == 0.0) == (age >= life)


@given(MONEY, st.floats(0.1, 10.0), st.floats(0.1, 10.0), st.floats(0.1, 1.0))
def test_scaling_there_and_back_changes_nothing(cost, size, reference, exponent):
    there = finance.scaled_cost(cost, size, reference, exponent)
    close(finance.scaled_cost(there, reference, size, exponent), cost, 1e-12)
    assert finance.scaled_cost(cost, reference, reference, exponent) == cost


def test_two_exponents_of_scale_over_a_decade_of_flow():
    """Unit cost falls by 10^(1-n): 2.51 at 0.6, 3.98 at 0.4."""
    for exponent, fall in ((0.6, 2.51), (0.4, 3.98)):
        unit_cost = finance.scaled_cost(1.0, 10.0, 1.0, exponent) / 10.0
        assert 1.0 / unit_cost == pytest.approx(fall, abs=0.005)


def test_cost_per_nothing_is_undefined():
    costs = finance.cost_per_phosphorus(np.array([[5.0, 5.0]]), np.array([[0.0, 2.0]]))
    assert np.isnan(costs[0, 0])
    assert costs[0, 1] == 2.5


@given(MONEY, st.floats(1.0, 1e6))
def test_households_pay_the_whole_cost_in_a_year(cost, households):
    month = finance.household_month_cost(cost, households)
    close(12.0 * households * month, cost, 1e-12)


# ------------------------------------------------ whole lives, by another program


@given(RATES, st.floats(-0.05, 0.15), st.floats(-0.03, 0.08), YEARS, MONEY)
def test_growing_cost_agrees_with_numpy_financial(rate, escalation, growth, years, cost):
    k = np.arange(1, years + 1)
    flows = cost * ((1.0 + escalation) * (1.0 + growth)) ** k
    gap = abs(rate - ((1.0 + escalation) * (1.0 + growth) - 1.0))
    rtol = max(AGREEMENT, 1e-14 / max(gap, 1e-9))
    worth = npf.npv(rate, [0.0, *flows])
    close(lifecycle.operating_worth(cost, rate, escalation, growth, years), worth, rtol)


@given(RATES, st.floats(-0.03, 0.08), YEARS)
def test_levelled_growth_agrees_with_numpy_financial(rate, growth, years):
    k = np.arange(1, years + 1)
    grown = npf.npv(rate, [0.0, *((1.0 + growth) ** k)])
    equal = npf.npv(rate, [0.0, *np.ones(years)])
    rtol = max(AGREEMENT, 1e-14 / max(abs(rate - growth), 1e-9))
    close(lifecycle.levelised_growth(rate, growth, years), grown / equal, rtol)


@given(MONEY, MONEY, st.floats(0.0, 1e8), RATES, YEARS)
def test_net_present_cost_agrees_with_numpy_financial(capital, annual, salvage, rate, years):
    flows = np.full(years + 1, annual)
    flows[0] = capital
    flows[-1] -= salvage
    worth = npf.npv(rate, flows)
    computed = lifecycle.net_present_cost(capital, annual, salvage, rate, years)
    assert computed == pytest.approx(worth, rel=AGREEMENT, abs=1e-6 * (capital + annual + salvage))


@given(MONEY, RATES, st.integers(0, 60))
def test_later_payment_agrees_with_numpy_financial(payment, rate, years):
    worth = npf.npv(rate, [*([0.0] * years), payment])
    close(lifecycle.payment_worth(payment, rate, years), worth)


@given(st.floats(0.005, 0.3), st.integers(2, 40), MONEY)
def test_internal_rate_agrees_with_numpy_financial(rate, years, saving):
    capital = saving * float(finance.uniform_present_worth(rate, years))
    found = float(lifecycle.internal_rate(capital, saving, years))
    assert found == pytest.approx(npf.irr([-capital, *([saving] * years)]), abs=AGREEMENT)
    assert found == pytest.approx(rate, abs=AGREEMENT)


@given(RATES, MONEY, st.floats(0.05, 0.9))
def test_discounted_payback_agrees_with_numpy_financial(rate, capital, share):
    saving = rate * capital / share
    years = float(lifecycle.discounted_payback(capital, saving, rate))
    close(years, npf.nper(rate, saving, -capital), 1e-9)
    assert years > lifecycle.simple_payback(capital, saving)


def test_savings_that_never_return_their_cost():
    assert lifecycle.discounted_payback(1000.0, 10.0, 0.02) == np.inf
    assert lifecycle.discounted_payback(1000.0, 10.0, 0.015) == np.inf
    for lost in (0.0, -0.5, -5.0):  # what saves nothing never pays, however little it costs
        assert lifecycle.discounted_payback(10.0, lost, 0.02) == np.inf
    for lost in (-5.0, -0.5, 0.0):
        assert np.isnan(lifecycle.simple_payback(1000.0, lost))
    assert lifecycle.internal_rate(1000.0, 10.0, 20) == 0.0


@given(st.floats(0.0, 0.6), st.floats(0.0, 0.5), MONEY)
def test_soft_costs_that_compound_are_the_larger(contingency, engineering, direct):
    compounded = lifecycle.compounded_capital(direct, contingency, engineering)
    added = lifecycle.added_capital(direct, contingency, engineering)
    assert compounded - added == pytest.approx(
        direct * contingency * engineering, rel=1e-6, abs=1e-6 * direct
    )
