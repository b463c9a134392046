"""Carbon bought, made on site or short: the relations that are known without the code."""

from __future__ import annotations

import numpy as np
import pytest

from pcompare import basis, designing, tables
from pcompare.arrays import as_cases
from pcompare.errors import InputError
from pcompare.inputs import reader
from pcompare.strategies import carbon_supply, organisms, shortfall, zones
from pcompare.strategies.shortfall import Held, Varying

from .plants import example


def number(value) -> float:
    return float(as_cases(value)[0, 0])


def bought(**fields):
    inputs = example(**fields)
    return inputs, designing.point(inputs)["bio_purchased_carbon"]


# --- products ---------------------------------------------------------------------------------


def test_methanol_is_refused_with_the_reason():
    with pytest.raises(InputError) as caught:
        reader.read(None, ["bio.carbon_products=acetic_acid, methanol"])
    assert "methanol: none is usable for storage" in str(caught.value)
    assert "glycerol" in str(caught.value)


@pytest.mark.parametrize("name", carbon_supply.formulas())
def test_every_product_of_the_table_has_its_numbers(name):
    found = carbon_supply.product(example(), name)
    assert number(found.cod) > 0.3 and 0.0 < number(found.strength) <= 1.0
    assert 0.0 <= number(found.usable) <= 1.0


def test_the_same_sodium_arrives_in_the_water_as_in_the_salt_bought():
    """One sodium in each acetate: mass of the anhydrous salt times 22.99/82.03."""
    inputs, (candidate, *_) = bought(bio__carbon_products="sodium_acetate")
    (none,) = designing.point(inputs)["no_action"]
    use = number(candidate.monthly["carbon_use"])
    expected = use * 22.98977 / 82.0338 / 20.0  # kg/d to mg/L of 20 000 m3/d
    sodium = candidate.monthly["effluent_sodium"] - none.monthly["effluent_sodium"]
    base = number(none.monthly["base_dose"]) - number(candidate.monthly["base_dose"])
    assert number(sodium) + base * 22.98977 / 39.9971 == pytest.approx(expected, rel=1e-4)
    assert number(candidate.monthly["alkalinity_carbon"]) > 0.0


def test_acid_brings_neither_sodium_nor_alkalinity():
    _, (candidate, *_) = bought(bio__carbon_products="acetic_acid")
    assert number(candidate.monthly["alkalinity_carbon"]) == 0.0


def test_what_is_not_stored_makes_sludge_and_takes_oxygen():
    """Half of glycerol's COD feeds the ordinary organisms: more of both than acid for the same."""
    _, found = bought(bio__carbon_products="acetic_acid, glycerol")
    acid, glycerol = found[:2]
    for quantity in ("carbon_dose", "oxygen_demand", "sludge_total"):
        assert number(glycerol.reduced[quantity]) > number(acid.reduced[quantity]), quantity
    assert number(glycerol.reduced["effluent_tp"]) == pytest.approx(
        number(acid.reduced["effluent_tp"]), rel=2e-2
    )


def test_the_cheapest_by_price_per_stored_cod_is_tried_with_acids_of_the_plant():
    inputs, found = bought(prices__glycerol=100.0)
    assert carbon_supply.cheapest(inputs) == "glycerol"
    mixed = {c.design.source for c in found if c.design.carbon == "glycerol"}
    assert mixed == {"", "fermenter", "side stream"}
    alone, with_fermenter = (
        next(c for c in found if c.design.carbon == "glycerol" and c.design.source == source)
        for source in ("", "fermenter")
    )
    assert number(with_fermenter.reduced["carbon_dose"]) < number(alone.reduced["carbon_dose"])


# --- months short of acids --------------------------------------------------------------------


@pytest.mark.parametrize("unstored", [100.0, 1.8])
def test_the_average_of_good_months_and_bad_is_that_of_many_drawn_months(unstored):
    """A month without any acids leaves what growth does not take, and no more."""
    varying = Varying(
        acids=as_cases(33.0),
        variability=0.4,
        cod_per_phosphorus=11.0,
        left=as_cases(0.9),
        unstored=as_cases(unstored),
    )
    draws = np.random.default_rng(3).lognormal(
        np.log(33.0) - 0.5 * np.log(1.16), np.sqrt(np.log(1.16)), 400_000
    )
    left = np.minimum(0.9 + (33.0 - draws) / 11.0, unstored)
    for level in (0.1, 0.5, 2.0):
        drawn = np.maximum(left - level, 0.0)
        error = 4.0 * drawn.std() / np.sqrt(drawn.size)
        assert abs(number(varying.excess(level)) - drawn.mean()) <= error
        assert number(varying.chance(level)) == pytest.approx((left > level).mean(), abs=3e-3)
    # What is left at the acids of the fifth-worst month in a hundred.
    worst = number(varying.excess_at(-1.6448536, 0.1))
    assert worst == pytest.approx(np.quantile(left, 0.95) - 0.1, rel=5e-3)


def test_plenty_does_not_make_up_for_want():
    """The mean of what is left is above what the mean of the acids leaves, the more they vary."""
    means = []
    for variability in (0.0, 0.2, 0.5):
        inputs = example(coefficient__vfa_variability=variability)
        (run,) = designing.point(inputs)["bio_fermented_carbon"]
        means.append(number(run.reduced["effluent_soluble_p"]))
    assert means[0] < means[1] < means[2]


def test_what_is_installed_bears_the_bad_months_and_the_odds_say_so():
    varying = Varying(
        acids=as_cases(33.0),
        variability=0.4,
        cod_per_phosphorus=11.0,
        left=as_cases(0.9),
        unstored=as_cases(100.0),
    )

    def worst(reach):
        held = Held(varying=varying, floor=0.1, wanted=0.5, reach=reach, mean=0.0)
        return max(number(left) for _, left in held.effluents())

    assert worst(0.0) > worst(1.0) > worst(10.0) == pytest.approx(0.5)
    weights = [w for w, _ in Held(varying=varying, floor=0.1, wanted=0.5, reach=0.0,
                                  mean=0.0).effluents()]  # fmt: skip
    assert sum(weights) == pytest.approx(1.0)


def test_a_trim_stands_by_for_the_bad_month():
    """Its feed is larger than what the average month takes at the peak factor."""
    inputs = example(chemical__products="ferric_chloride")
    (trim,) = designing.point(inputs)["bio_with_salt_trim"]
    feed = next(i for i in trim.design.capital if i.key == "feed_system")
    average = number(trim.reduced["product_volume"]) * number(inputs["flow.peak_factor"])
    assert number(feed.size) > 1.5 * average
    steady = example(chemical__products="ferric_chloride", coefficient__vfa_variability=0.0)
    (same,) = designing.point(steady)["bio_with_salt_trim"]
    feed = next(i for i in same.design.capital if i.key == "feed_system")
    average = number(same.reduced["product_volume"]) * number(inputs["flow.peak_factor"])
    assert number(feed.size) == pytest.approx(average, rel=1e-9)


def test_more_reliability_asks_for_a_larger_trim():
    sizes = []
    for wanted in (0.8, 0.9, 0.95, 0.99):
        inputs = example(chemical__products="ferric_chloride", permit__reliability=wanted)
        (trim,) = designing.point(inputs)["bio_with_salt_trim"]
        sizes.append(number(trim.design.sizes["metal_sludge"]))
    assert sizes == sorted(sizes)


# --- a side stream ----------------------------------------------------------------------------


def test_a_side_stream_gives_carbon_of_the_sludge_itself():
    inputs = example()
    plain_zones, aside = zones.laid_out(inputs), zones.laid_out(inputs, True)
    sewage = basis.feed(inputs, inputs["primary.capture"], 0.0)
    state = basis.reactor(inputs, sewage, aside)
    assert number(state.hydrolysed_cod) > 0.0
    # Half of it is stored; the sewage's own part is what the same zones would store.
    assert number(state.stored_cod) > 0.5 * number(state.hydrolysed_cod)
    assert number(aside.side_volume) == pytest.approx(0.08 * 0.5 * 20000.0 * 1.5)
    # Return sludge is three times as thick as the liquor at a return ratio of 0.5.
    liquor = number(aside.side_fraction) * number(aside.volume)
    assert liquor == pytest.approx(3.0 * number(aside.side_volume), rel=1e-9)
    assert number(aside.srt) > number(plain_zones.srt)


def test_the_side_stream_settles_between_tanks_and_nitrifiers():
    inputs = example()
    found = zones.laid_out(inputs, True)
    needed = basis.nitrifier_minimum_srt(inputs, found, inputs["influent.temperature_minimum"])
    needed = number(needed) * number(inputs.coefficient("nitrifier_safety"))
    assert number(found.srt) == pytest.approx(needed, rel=1e-6)


# --- the best recycle -------------------------------------------------------------------------


def test_no_recycle_leaves_less_nitrate_than_the_best():
    from dataclasses import replace

    inputs = example()
    best = zones.laid_out(inputs)
    sewage = basis.feed(inputs, inputs["primary.capture"], 0.05)
    least = number(basis.reactor(inputs, sewage, best).nitrate)
    for share in (0.5, 0.8, 1.25, 2.0):
        other = replace(best, internal_recycle=best.internal_recycle * share)
        assert number(basis.reactor(inputs, sewage, other).nitrate) >= least - 1e-6


# --- stripping --------------------------------------------------------------------------------


def stripped(**fields):
    inputs = example(**fields)
    (found,) = designing.point(inputs)["side_stream_stripping"]
    (none,) = designing.point(inputs)["no_action"]
    return inputs, found, none


def test_no_more_is_stripped_than_would_leave():
    for content in (0.005, 0.02):
        _, found, none = stripped(coefficient__stripping_content=content, permit__tp=0.2)
        would = number(none.reduced["effluent_soluble_p"]) * 20.0  # kg/d of 20 000 m3/d
        assert 0.0 < number(found.reduced["stripped_p"]) < would
        assert number(found.reduced["effluent_soluble_p"]) > 0.0


def test_lime_follows_the_overflow_and_not_the_phosphorus():
    inputs, found, _ = stripped(permit__tp=0.05)  # it runs all the time
    dose = number(found.reduced["lime_dose"])
    over = number(inputs["bio.stripper_overflow"])
    factor = number(inputs.coefficient("lime_per_alkalinity_9_5"))
    assert dose == pytest.approx(over * factor * 235.0, rel=1e-9)


def test_a_looser_limit_runs_the_stripper_less():
    used = [number(stripped(permit__tp=tp)[1].monthly["lime_use"]) for tp in (0.8, 1.5, 2.5)]
    assert used[0] > used[1] > used[2] > 0.0


# --- recovery ---------------------------------------------------------------------------------


def test_recovery_takes_from_the_return_load_and_sells_struvite():
    before = designing.point(example())["bio_existing_carbon"][0]
    inputs = example(recovery__product="struvite")
    after = designing.point(inputs)["bio_existing_carbon"][0]
    gained = number(after.reduced["recovered_p"])
    assert gained > 0.0
    assert number(after.monthly["returned_phosphorus"]) < number(
        before.monthly["returned_phosphorus"]
    )
    assert number(after.reduced["struvite"]) == pytest.approx(7.923 * gained, rel=1e-3)
    assert number(after.reduced["effluent_tp"]) < number(before.reduced["effluent_tp"])
    magnesium = (
        number(after.reduced["magnesium_use"])
        * tables.molar_mass("Mg")
        / (tables.molar_mass("MgCl2"))
    )
    precipitating = gained / number(inputs.coefficient("recovery_product"))
    assert magnesium == pytest.approx(1.2 * 0.7847 * precipitating, rel=1e-3)
    assert any(item.key == "recovery" for item in after.design.capital)


def test_nothing_is_recovered_without_digestion():
    inputs = example(recovery__product="struvite", solids__digestion="none")
    (found,) = designing.point(inputs)["bio_existing_carbon"]
    assert number(found.reduced["recovered_p"]) == 0.0
    assert not any(item.key == "recovery" for item in found.design.capital)


def test_organisms_has_no_floor_above_what_is_there():
    inputs = example()
    site = organisms.solved(inputs, zones.laid_out(inputs))
    assert number(organisms.floor(inputs, site)) == pytest.approx(
        number(inputs.coefficient("soluble_floor_biological"))
    )
    assert number(shortfall.low_score(inputs)) == pytest.approx(-1.6448536, rel=1e-6)
