"""How the strategies join tested equations: quantities whose relation is known without the code."""

from __future__ import annotations

import pytest

from pcompare import basis, designing
from pcompare.arrays import as_cases, plain
from pcompare.strategies import fermenter

from .plants import example


def number(value):
    return float(as_cases(plain(value))[0, 0])


def found(name, place=-1, **fields):
    """Give the inputs and one candidate of a strategy; the last is the one with most points."""
    inputs = example(**fields)
    return inputs, designing.point(inputs)[name][place]


def value(candidate, quantity):
    return number(candidate.reduced[quantity])


def size(candidate, key):
    return next((number(item.size) for item in candidate.design.capital if item.key == key), 0.0)


# --- the fermenter ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def fermented():
    inputs = example(influent__vss=140.0)  # far from 1 over the suspended solids
    before = basis.feed(inputs, inputs["primary.capture"], 0.0)
    return inputs, before, fermenter.ferment(inputs, before, 0.0)


def test_acids_are_the_cod_of_the_solids_that_disappear(fermented):
    inputs, before, after = fermented
    gone = number(before.primary_volatile) - number(after.sewage.primary_volatile)
    content = number(inputs.coefficient("primary_cod_content"))  # per suspended solids
    content *= number(inputs["influent.tss"]) / number(inputs["influent.vss"])
    assert gone * content == pytest.approx(number(after.acids), rel=1e-12)
    assert number(after.acids) > 0.0


def test_acids_arrive_as_cod_with_the_nitrogen_and_phosphorus_set_free(fermented):
    inputs, before, after = fermented
    flow, sewage = number(inputs["flow.average"]), after.sewage

    def gained(name):
        return (number(getattr(sewage, name)) - number(getattr(before, name))) * flow / 1000.0

    acids = number(after.acids)
    assert gained("cod") == pytest.approx(acids, rel=1e-9)
    assert gained("vfa") + gained("slowly_biodegradable") == pytest.approx(acids, rel=1e-9)
    assert gained("vfa") > gained("slowly_biodegradable") >= 0.0
    nitrogen = number(inputs.coefficient("fermentation_nitrogen"))
    assert gained("nitrogen") == pytest.approx(acids * nitrogen, rel=1e-9)
    left = number(before.primary_phosphorus) - number(sewage.primary_phosphorus)
    assert gained("phosphorus") == pytest.approx(left, rel=1e-9)
    assert left > 0.0


def test_gas_lost_is_methane_by_two_moles_of_oxygen_and_its_heat(fermented):
    """CH4 + 2 O2: 63.996 g COD/mol; 802.3 kJ/mol is the lower heat of combustion (handbook)."""
    inputs, _, after = fermented
    heat = number(after.acids) / 63.996 * 802.3 / 3.6  # kg -> kmol -> MJ -> kWh
    expected = heat * number(inputs.coefficient("engine_efficiency"))
    assert number(after.gas_energy) == pytest.approx(expected, rel=2e-3)
    bare = example(solids__digestion="none")
    before = basis.feed(bare, bare["primary.capture"], 0.0)
    assert number(fermenter.ferment(bare, before, 0.0).gas_energy) == 0.0


def test_fermenter_holds_the_peak_months_solids_for_the_holding_time():
    inputs = example()
    fed = number(inputs["influent.vss"]) * number(inputs["primary.capture"])
    fed *= number(inputs["flow.peak_factor"]) * number(inputs["flow.average"]) / 1000.0
    solids = number(inputs.coefficient("fermenter_solids"))
    expected = fed * number(inputs["bio.fermenter_holding"]) / solids
    assert number(fermenter.volume(inputs)) == pytest.approx(expected, rel=1e-12)


# --- stores, doses and sizes --------------------------------------------------------------------


def test_store_containment_and_deliveries_follow_from_the_volume():
    inputs, salt = found("salt_single_point")
    daily = value(salt, "product_volume")
    store = daily * number(inputs["flow.peak_factor"]) * number(inputs["chemical.storage_days"])
    assert value(salt, "storage_volume") == pytest.approx(store, rel=1e-12)
    share = number(inputs.coefficient("containment_share"))
    assert share >= 1.0
    assert value(salt, "containment_volume") == pytest.approx(share * store, rel=1e-12)
    yearly = value(salt, "deliveries") * 12.0 * number(inputs["chemical.delivery"])
    assert yearly == pytest.approx(daily * 365.0, rel=1e-12)


def test_bought_acid_is_cod_over_its_theoretical_oxygen_demand_and_strength():
    """Acetic acid: 2 O2 for 60.05 g."""
    inputs, bought = found("bio_purchased_carbon", place=0, bio__carbon_products="acetic_acid")
    acid = value(bought, "carbon_dose") * 60.052 / 63.996
    c = inputs.coefficient
    volume = acid / number(c("acetic_acid_strength")) / number(c("acetic_acid_density")) / 1000.0
    assert number(bought.monthly["carbon_volume"]) == pytest.approx(volume, rel=1e-4)


def test_capacity_is_the_highest_month_at_the_peak_factor():
    inputs, salt = found("salt_single_point")
    peak = number(inputs["flow.peak_factor"])
    daily = value(salt, "product_volume")
    assert size(salt, "feed_system") == pytest.approx(peak * daily, rel=1e-12)
    assert size(salt, "dosing_point") == 0.0
    _, two = found("salt_two_point")
    assert size(two, "dosing_point") == pytest.approx(0.5 * size(two, "feed_system"), rel=1e-12)


def test_base_is_charged_only_beyond_no_action():
    """Soft water: no action needs base itself; salts add to it and only the rest is built."""
    inputs, salt = found("salt_single_point", influent__alkalinity=100.0)
    (none,) = designing.point(inputs)["no_action"]
    peak = number(inputs["flow.peak_factor"])
    more = number(salt.monthly["base_volume"]) - number(none.monthly["base_volume"])
    assert number(none.monthly["base_volume"]) > 0.0
    assert size(salt, "base_system") == pytest.approx(peak * more, rel=1e-9)


def test_filter_carries_what_settles_not_and_what_is_precipitated_on_it():
    inputs, filtered = found("salt_tertiary", 0)
    (check,) = [r for r in filtered.requirements if r.key == "filter_loading"]
    peak = number(inputs["flow.average"]) * number(inputs["flow.peak_factor"])
    bare = number(inputs["secondary.effluent_tss"]) * peak / 1000.0
    load = number(check.found) * size(filtered, "filter")
    solids = load - bare
    dosed = value(filtered, "metal_dose_filter")
    assert dosed > 0.0
    per_metal = solids / (dosed * peak / 1000.0)
    assert 2.0 < per_metal < 4.0  # hydroxides and phosphates weigh two to four times Al or Fe


def test_phosphorus_open_to_recovery():
    inputs, salt = found("salt_single_point")
    share = number(inputs.coefficient("metal_release_share"))
    sewage = basis.feed(inputs, inputs["primary.capture"], salt.monthly["returned_share"])
    reactor = basis.reactor(inputs, sewage, salt.design.zones)
    taken = number(sewage.phosphorus - sewage.nonreactive - reactor.phosphorus_taken)
    left = value(salt, "effluent_soluble_p") - number(sewage.nonreactive)
    bound = (taken - left) * number(inputs["flow.average"]) / 1000.0
    assert value(salt, "recoverable_p") == pytest.approx(share * bound, rel=1e-6)
    _, stored = found("bio_with_salt_trim")
    assert value(stored, "recoverable_p") > value(salt, "recoverable_p")
    _, none = found("bio_with_salt_trim", solids__digestion="none")
    assert value(none, "recoverable_p") == 0.0


@pytest.mark.parametrize(("averaging", "periods"), [("weekly", 52), ("monthly", 12), ("annual", 1)])
def test_chance_of_a_year_is_that_of_its_periods(averaging, periods):
    _, salt = found("salt_single_point", permit__averaging=averaging)
    one = value(salt, "probability_meets_permit")
    year = value(salt, "probability_meets_permit_year")
    assert 0.0 < one < 1.0
    assert year == pytest.approx(one**periods, rel=1e-9)


def test_nitrogen_of_effluent_solids_is_that_of_their_volatile_part():
    inputs, salt = found("salt_single_point")
    q = {name: number(v) for name, v in salt.monthly.items()}
    reactor = basis.reactor(
        inputs,
        basis.feed(inputs, inputs["primary.capture"], salt.monthly["returned_share"]),
        salt.design.zones,
    )
    solid = q["effluent_nitrogen"] - q["effluent_ammonia"] - q["effluent_nitrate"]
    solid -= number(reactor.organic_nitrogen)
    wasted = number(reactor.volatile_mass) / number(salt.design.zones.srt)
    volatile = q["effluent_solids"] * wasted / q["solids_production"]
    expected = volatile * number(inputs.coefficient("nitrogen_content"))
    assert solid == pytest.approx(expected, rel=1e-9)
    assert volatile < q["effluent_solids"]


def test_phosphorus_taken_early_starves_the_organisms():
    """A whole dose ahead of the primaries leaves too little to grow on, and is found out."""
    inputs = example(influent__tp=4.0, influent__orthophosphate=3.6, permit__tp=0.3)
    checks = [
        requirement
        for candidate in designing.point(inputs)["lime"]
        for requirement in candidate.requirements
        if requirement.key == "nutrient"
    ]
    assert checks
    assert all(number(c.found) < number(c.needed) for c in checks)
