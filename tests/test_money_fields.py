"""Prices on the basis quoted, and what the fields of money cannot be together, each at its cell."""

from __future__ import annotations

import pytest

from pcompare.errors import InputError
from pcompare.inputs import form, layout, price_basis, reader, schema
from pcompare.units import GALLON, POUND, SHORT_TON


def price(name, value, basis, *more):
    """Read one price on a basis; give it in the base unit of its field."""
    got = reader.read(None, [f"prices.{name}={value}", f"prices.{name}_basis={basis}", *more])
    return float(got[f"prices.{name}"][0, 0])


def faults(*overrides):
    with pytest.raises(InputError) as caught:
        reader.read(None, overrides)
    return [str(fault) for fault in caught.value.faults]


def fault(*overrides):
    (only,) = faults(*overrides)
    return only


# ------------------------------------------------ price bases


@pytest.mark.parametrize(
    ("name", "dry", "content"),
    [
        ("liquid_alum", 500.0, 0.0440 * 594.342 / 53.963),
        ("ferric_chloride", 850.0, 0.138 * 162.2 / 55.845),
        ("ferric_sulfate", 700.0, 0.12 * 399.86 / 111.69),
    ],
)
def test_a_short_ton_dry_as_the_trade_quotes_it(name, dry, content):
    """Dry content by hand: metal over metal in the salt; the defaults were made from these."""
    expected = dry * content / SHORT_TON
    assert price(name, dry, "short ton dry") == pytest.approx(expected, rel=2e-4)
    assert price(name, dry, "short ton dry") == pytest.approx(
        schema.fields()[f"prices.{name}"].default, rel=0.01
    )


def test_one_price_on_every_basis():
    """What costs 400 a tonne as delivered, quoted in each way that the form offers."""
    metal, density = 0.138, 1.42
    dry = metal * 162.2 / 55.845
    quoted = {
        "t wet": 400.0,
        "short ton wet": 400.0 * SHORT_TON,
        "kg wet": 0.4,
        "lb wet": 0.4 * POUND,
        "t dry": 400.0 / dry,
        "short ton dry": 400.0 * SHORT_TON / dry,
        "kg dry": 0.4 / dry,
        "lb dry": 0.4 * POUND / dry,
        "t metal": 400.0 / metal,
        "short ton metal": 400.0 * SHORT_TON / metal,
        "kg metal": 0.4 / metal,
        "lb metal": 0.4 * POUND / metal,
        "gal": 400.0 * density * GALLON,
        "m3": 400.0 * density,
    }
    assert set(quoted) == set(schema.fields()["prices.ferric_chloride_basis"].choices)
    for basis, amount in quoted.items():
        assert price("ferric_chloride", amount, basis) == pytest.approx(400.0, rel=2e-4), basis


@pytest.mark.parametrize(
    ("name", "value", "basis", "expected"),
    [
        ("caustic", 900.0, "short ton dry", 992.08),
        ("caustic", 3.5, "gal", 3.5 / (1.525 * GALLON) / 0.5),
        ("caustic", 450.0, "t wet", 900.0),
        ("acetic_acid", 0.50, "lb dry", 1102.3),
        ("quicklime", 260.0, "short ton wet", 260.0 / SHORT_TON / 0.90),
        ("polymer", 2.0, "lb dry", 4.409),
        ("cake", 300.0, "t dry", 66.0),
        ("cake", 57.63, "short ton wet", 63.526),
    ],
)
def test_bases_carbon_polymer_and_cake(name, value, basis, expected):
    assert price(name, value, basis) == pytest.approx(expected, rel=1e-4)


def test_polymer_as_delivered_takes_its_active_share():
    got = price("polymer", 1.33, "lb wet", "prices.polymer_active=0.4")
    assert got == pytest.approx(1.33 / POUND / 0.4)


def test_a_price_in_one_more_strength_is_a_price_for_that_strength():
    got = price("caustic", 300.0, "t wet", "coefficient.caustic_strength=0.25")
    assert got == pytest.approx(1200.0)


def test_what_was_quoted_stays_beside_the_price_and_the_form_comes_back(tmp_path):
    overrides = ["prices.liquid_alum=500", "prices.liquid_alum_basis=short ton dry"]
    got = reader.read(None, overrides)
    assert got.notes["prices.liquid_alum"] == "quoted as 500 for one short ton dry"
    assert got.choice("prices.liquid_alum_basis") == "t wet"
    path = tmp_path / "again.xlsx"
    path.write_bytes(form.filled(got))
    again = reader.read(path)
    assert float(again["prices.liquid_alum"][0, 0]) == pytest.approx(
        float(got["prices.liquid_alum"][0, 0]), rel=1e-12
    )


def written(tmp_path, cells, system="si"):
    """Fill cells of the example's form: field name to value, or (name, column) to value."""
    import io

    from openpyxl import load_workbook

    book = load_workbook(io.BytesIO(form.form(system=system)))
    for key, value in cells.items():
        name, column = key if isinstance(key, tuple) else (key, layout.VALUE)
        sheet = book[schema.fields()[name].sheet]
        for row in range(layout.FIRST_ROW, sheet.max_row + 1):
            if sheet.cell(row, layout.NAME).value == name:
                sheet.cell(row, column).value = value
    path = tmp_path / "plant.xlsx"
    book.save(path)
    return path


@pytest.mark.parametrize("system", ["si", "us"])
def test_a_quotation_is_taken_as_it_stands_in_either_form(tmp_path, system):
    """500 for a short ton dry is the same money in a form of tonnes and in one of short tons."""
    cells = {
        "prices.liquid_alum": 500,
        "prices.liquid_alum_basis": "short ton dry",
        ("prices.liquid_alum", layout.LOW): 300,
        ("prices.liquid_alum", layout.HIGH): 800,
    }
    got = reader.read(written(tmp_path, cells, system))
    middle = float(got["prices.liquid_alum"][0, 0])
    assert middle == pytest.approx(267.1, abs=0.5)
    assert got.low["prices.liquid_alum"] == pytest.approx(0.6 * middle)
    assert got.high["prices.liquid_alum"] == pytest.approx(1.6 * middle)


def test_every_basis_that_is_offered_can_be_converted():
    """No choice of the form leads to a coefficient that is not there."""
    for basis, field in schema.fields().items():
        if basis.startswith("prices.") and basis.endswith(price_basis.ENDING):
            name = basis.removeprefix("prices.").removesuffix(price_basis.ENDING)
            amounts = {choice: price(name, 100.0, choice) for choice in field.choices}
            assert all(amount > 0.0 for amount in amounts.values()), name
            assert amounts[field.default] == pytest.approx(100.0), name


@pytest.mark.parametrize("name", ["ferric_sulfate", "own_product"])
def test_a_price_that_means_nothing_without_its_basis_is_asked_for_it(name):
    found = fault(f"prices.{name}=500")
    assert found.startswith(f"--set prices.{name} (")
    assert "found a price without its basis; needs what it is for" in found
    assert price(name, 500.0, "t wet") == 500.0


def test_a_basis_without_a_price():
    assert "found 'gal', but no price; needs a price for one gal in prices.caustic" in fault(
        "prices.caustic_basis=gal"
    )


def test_a_basis_that_a_product_is_not_quoted_on():
    found = fault("prices.polyaluminium_chloride=600", "prices.polyaluminium_chloride_basis=t dry")
    assert "found 't dry'; needs one of t wet" in found


# ------------------------------------------------ bad input


def test_low_above_the_value_names_its_cell(tmp_path):
    cells = {("prices.cake", layout.LOW): 90, ("prices.cake", layout.HIGH): 120}
    with pytest.raises(InputError) as caught:
        reader.read(written(tmp_path, cells))
    (found,) = map(str, caught.value.faults)
    assert found.startswith("Prices!D")
    assert "low 90 money/t, value 77 money/t, high 120 money/t" in found
    assert "low, value and high in rising order" in found


@pytest.mark.parametrize(
    ("override", "found"),
    [
        ("finance.period=0", "found 0 y; needs a whole number from 1 to 100 y"),
        ("finance.discount_rate=-1", "found −1; needs a number from 0 to 0.3"),
        ("finance.discount_rate=-2", "found −2; needs a number from 0 to 0.3"),
        ("financing.loan_rate=-1", "found −1; needs a number from 0 to 0.3"),
        ("financing.loan_term=0", "found 0 y; needs a whole number from 1 to 60 y"),
        ("finance.escalation_salt=-1", "found −1; needs a number from −0.1 to 0.2"),
        ("flow.growth=-1", "found −1; needs a number from −0.05 to 0.1"),
        ("finance.currency=dollars", "found 'dollars'; needs one code of three capital letters"),
        ("finance.currency=usd", "found 'usd'; needs one code of three capital letters"),
    ],
)
def test_impossible_values(override, found):
    assert found in fault(override).replace("-0", "−0")


@pytest.mark.parametrize(
    ("note", "named"),
    [
        ("bid of 2024, 400 EUR per tonne", "EUR"),
        ("supplier, CAD, May 2025", "CAD"),
        ("£350 in 2025", "GBP"),
    ],
)
def test_currencies_are_never_mixed(tmp_path, note, named):
    path = written(tmp_path, {"prices.cake": 80, ("prices.cake", layout.NOTE): note})
    with pytest.raises(InputError) as caught:
        reader.read(path)
    (found,) = map(str, caught.value.faults)
    assert found.startswith("Prices!C")
    assert f"a source in {named}, but the currency is USD; needs all money in USD" in found
    assert reader.read(written(tmp_path, {"prices.cake": 80, ("prices.cake", layout.NOTE): note,
                                          "finance.currency": named}))  # fmt: skip


def test_a_source_without_a_year_is_listed(tmp_path):
    cells = {"prices.cake": 80, ("prices.cake", layout.NOTE): "bid of the hauler"}
    got = reader.read(written(tmp_path, cells))
    assert any("no year in the source of Prices!C" in w for w in got.warnings)
    cells[("prices.cake", layout.NOTE)] = "bid of the hauler, 2025-04"
    assert not any("no year" in w for w in reader.read(written(tmp_path, cells)).warnings)


def test_real_and_nominal_are_never_mixed():
    found = fault("finance.inflation=0.023")
    assert "found inflation of 2.3 % beside a real discount rate" in found
    found = fault("finance.rate_kind=nominal")
    assert "found no inflation; needs the inflation that a nominal discount rate holds" in found
    found = fault("finance.rate_kind=nominal", "finance.inflation=0.03")
    assert "found 2 %, below inflation of 3 %; needs a nominal rate of at least inflation" in found
    reader.read(None, ["finance.rate_kind=nominal", "finance.inflation=0.023",
                       "finance.discount_rate=0.04346"])  # fmt: skip


INDEX = ("capital.index_then=100.5", "capital.index_now=110.5",
         "capital.index_series=WPSID543", "capital.index_month_then=2009-12")  # fmt: skip


def test_an_index_takes_two_values_a_series_and_two_months():
    found = faults("capital.index_then=100.5")
    assert len(found) == 4
    assert any("both values of the index, or neither" in f for f in found)
    assert any("found no series" in f for f in found)
    assert sum("a month such as 2021-06" in f for f in found) == 2
    got = reader.read(None, [*INDEX, "capital.index_month_now=2012-12"])
    assert got.warnings == ()


def test_an_index_warns_beyond_five_years_and_asks_beyond_fifteen():
    got = reader.read(None, [*INDEX, "capital.index_month_now=2015-12"])
    (warning,) = got.warnings
    assert "carried over 6.0 years by an index" in warning
    found = fault(*INDEX, "capital.index_month_now=2025-12")
    assert "an index that reaches over 16 years; needs at most 15 years, or 'yes'" in found
    got = reader.read(None, [*INDEX, "capital.index_month_now=2025-12", "capital.index_far=yes"])
    assert "16.0 years" in got.warnings[0]


def test_a_second_phase_lies_within_the_period_and_needs_growth():
    found = fault("flow.phase_year=10")
    assert "found year 10, without growth; needs growth in flow.growth" in found
    found = fault("flow.phase_year=20", "flow.growth=0.02")
    assert "needs a year before 20, the earlier of design year and period" in found
    reader.read(None, ["flow.phase_year=10", "flow.growth=0.02"])
