"""Months that follow from load or strength, the coldest of them, and the season of the limit."""

from __future__ import annotations

import numpy as np
import pytest

from pcompare.errors import InputError
from pcompare.inputs import reader
from pcompare.strategies import season, sizing

from .plants import even_text, example

FLOWS = [20000.0, 24000.0] * 6
SHARES = [1.1, 0.9] * 6


def read(tmp_path, *lines: str):
    text = even_text()
    path = tmp_path / "plant.toml"
    path.write_text("\n".join(lines) + "\n" + text)
    return reader.read(path)


def fault(tmp_path, *lines: str) -> str:
    with pytest.raises(InputError) as caught:
        read(tmp_path, *lines)
    return str(caught.value)


def test_the_load_of_a_month_over_its_flow_gives_its_concentrations(tmp_path):
    got = read(tmp_path, f"months.flow.average = {FLOWS}", f"months.flow.load_share = {SHARES}")
    assert got["influent.tp"].shape == (1, 12)
    load = got["influent.tp"] * got["flow.average"]
    np.testing.assert_allclose(load, 6.8 * 22000.0 * np.array([SHARES]), rtol=1e-12)
    # pH and temperature are no concentrations.
    assert got["influent.temperature_average"].shape == (1, 1)
    assert got["influent.ph"].shape == (1, 1)


def test_rain_dilutes_what_has_one_value_and_leaves_what_has_twelve(tmp_path):
    acids = [28.0 + i for i in range(12)]
    got = read(tmp_path, f"months.flow.strength = {SHARES}", f"months.influent.vfa = {acids}")
    np.testing.assert_allclose(got["influent.chloride"], 84.0 * np.array([SHARES]), rtol=1e-12)
    np.testing.assert_array_equal(got["influent.vfa"], [acids])


def test_load_and_strength_at_once_are_refused(tmp_path):
    text = fault(tmp_path, f"months.flow.strength = {SHARES}", f"months.flow.load_share = {SHARES}")
    assert "months.flow.load_share, line" in text and "one of the two" in text


def test_one_share_for_the_year_is_refused(tmp_path):
    path = tmp_path / "plant.toml"
    path.write_text(even_text())
    with pytest.raises(InputError, match="twelve months, or 1"):
        reader.read(path, ["flow.strength=0.9"])


def test_shares_that_change_the_year_are_remarked(tmp_path):
    got = read(tmp_path, f"months.flow.strength = {[1.2] * 12}")
    assert any("mean of 1.2" in warning for warning in got.warnings)


def test_the_coldest_month_is_taken_where_it_is_not_given(tmp_path):
    text = even_text()
    months = [12.5 + 0.8 * i for i in range(12)]
    path = tmp_path / "plant.toml"
    path.write_text(
        f"months.influent.temperature_average = {months}\n"
        + text.replace("temperature_minimum = 12.5\n", "")
    )
    got = reader.read(path)
    assert float(got["influent.temperature_minimum"].item()) == 12.5
    assert "coldest month of" in got.origins["influent.temperature_minimum"]


def test_months_that_contradict_the_year_are_refused_with_both_places(tmp_path):
    """A value for the year changed in the form would otherwise be ignored without a word."""
    text = fault(tmp_path, f"months.influent.vfa = {[50.0] * 12}")
    assert "mean of 50 mg COD/L, and 33 mg COD/L for the year in influent.vfa, line" in text


def test_a_month_colder_than_the_coldest_is_refused(tmp_path):
    months = [17.0] * 11 + [9.0]
    text = fault(tmp_path, f"months.influent.temperature_average = {months}")
    assert "in month 12" in text


def test_acids_above_readily_biodegradable_cod_in_one_month_are_refused(tmp_path):
    acids = [26.0] * 6 + [120.0] + [26.0] * 5
    assert "in month 7" in fault(tmp_path, f"months.influent.vfa = {acids}")


# --- the season -------------------------------------------------------------------------------


def test_a_season_holds_its_months_only():
    np.testing.assert_array_equal(season.held(example()), [[1.0]])
    held = season.held(example(permit__months="5, 6, 7"))
    assert held.shape == (1, 12) and held.sum() == 3.0 and held[0, 4:7].all()


@pytest.mark.parametrize("averaging", ["daily", "weekly", "monthly", "annual"])
def test_what_governs_is_found_within_the_season(averaging):
    inputs = example(permit__months="1, 2", permit__averaging=averaging)
    months = np.array([[0.5, 0.7, *[9.0] * 10]])
    expected = 0.6 if averaging == "annual" else 0.7
    assert sizing.governing_phosphorus(inputs, months) == pytest.approx(expected)


def test_half_a_year_has_half_as_many_chances_to_miss():
    """Equal months: the chance of the season is the chance of one period to the power of them."""
    effluent = np.full((1, 12), 0.5)
    whole = sizing.chance(example(), "metal", effluent)
    half = sizing.chance(example(permit__months="1-6".replace("-", ", 2, 3, 4, 5, ")), "metal",
                         effluent)  # fmt: skip
    one = float(whole["probability_meets_permit"].item())
    assert float(half["probability_meets_permit"].item()) == pytest.approx(one)
    assert float(whole["probability_meets_permit_year"].item()) == pytest.approx(one**12)
    assert float(half["probability_meets_permit_year"].item()) == pytest.approx(one**6)
