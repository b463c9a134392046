"""pH and species: against an equilibrium program run live, and where the answer is known."""

from __future__ import annotations

import functools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare.equations import acid_base as eq
from pcompare.recording import Recorded
from pcompare.tables import molar_mass

HALF = molar_mass("CaCO3") / 2.0  # mg CaCO3 per meq
COUNT = 110  # waters for each closure
STRONG = {"Na": 1, "K": 1, "Ca": 2, "Mg": 2, "Cl": -1, "S": -2, "Ntr": -1}
# Without ion-size parameters the program takes Davies for ions and log gamma = 0.1 I for the rest.
# Ammonium (Amm) and nitrate (Ntr) are elements of their own, or redox would turn them into N2.
DATABASE = """
SOLUTION_MASTER_SPECIES
H H+ -1 H 1.008
H(0) H2 0 H
H(1) H+ -1 0
E e- 0 0 0
O H2O 0 O 16
O(0) O2 0 O
O(-2) H2O 0 0
Ca Ca+2 0 Ca 40.08
Mg Mg+2 0 Mg 24.312
Na Na+ 0 Na 22.9898
K K+ 0 K 39.102
Cl Cl- 0 Cl 35.453
S SO4-2 0 SO4 32.064
C CO3-2 2 HCO3 12.0111
P PO4-3 2 P 30.9738
Amm AmmH+ 0 AmmH 17.031
Ntr Ntr- 0 62.0049 62.0049
SOLUTION_SPECIES
H+ = H+
    -dw 9.31e-9
e- = e-
H2O = H2O
Ca+2 = Ca+2
    -dw 0.793e-9
Mg+2 = Mg+2
    -dw 0.705e-9
Na+ = Na+
    -dw 1.33e-9
K+ = K+
    -dw 1.96e-9
Cl- = Cl-
    -dw 2.03e-9
SO4-2 = SO4-2
    -dw 1.07e-9
CO3-2 = CO3-2
    -dw 0.955e-9
PO4-3 = PO4-3
    -dw 0.612e-9
AmmH+ = AmmH+
    -dw 1.98e-9
Ntr- = Ntr-
    -dw 1.9e-9
H2O = OH- + H+
    -analytic 293.29227 0.1360833 -10576.913 -123.73158 0 -6.996455e-5
    -dw 5.27e-9
2 H2O = O2 + 4 H+ + 4 e-
    -log_k -86.08
2 H+ + 2 e- = H2
    -log_k -3.15
CO3-2 + H+ = HCO3-
    -analytic 107.8871 0.03252849 -5151.79 -38.92561 563713.9
    -dw 1.18e-9
CO3-2 + 2 H+ = CO2 + H2O
    -analytic 464.1965 0.09344813 -26986.16 -165.75951 2248628.9
PO4-3 + H+ = HPO4-2
    -log_k 12.346
    -delta_h -3.530 kcal
    -dw 0.69e-9
PO4-3 + 2 H+ = H2PO4-
    -log_k 19.553
    -delta_h -4.520 kcal
    -dw 0.846e-9
PO4-3 + 3 H+ = H3PO4
    -log_k 21.721
    -delta_h -10.1 kJ
AmmH+ = Amm + H+
    -analytic 0.6322 -0.001225 -2835.76
PHASES
CO2(g)
    CO2 = CO2
    -analytic 10.5624 -2.3547e-2 -3972.8 0 5.8746e5 1.9194e-5
END
"""
PUNCHED = {
    "ph": '-LA("H+")', "ionic_strength": "MU", "conductivity": "SC",
    "bicarbonate": '1e3*MOL("HCO3-")', "carbonate": '1e3*MOL("CO3-2")',
    "carbon_dioxide": '1e3*MOL("CO2")', "phosphoric_acid": '1e3*MOL("H3PO4")',
    "dihydrogen_phosphate": '1e3*MOL("H2PO4-")', "hydrogen_phosphate": '1e3*MOL("HPO4-2")',
    "phosphate_ion": '1e3*MOL("PO4-3")', "ammonium": '1e3*MOL("AmmH+")',
    "ammonia": '1e3*MOL("Amm")', "inorganic_carbon": '1e3*TOT("C")',
    "one": '10^LG("Na+")', "two": '10^LG("SO4-2")', "three": '10^LG("PO4-3")',
}  # fmt: skip


def equilibrium_program(waters):
    """Run the program on waters in mmol/kgw; give each punched quantity as a column."""
    from phreeqpython import PhreeqPython

    engine = PhreeqPython().ip
    engine.load_database_string(DATABASE)
    blocks = [
        "SELECTED_OUTPUT", "-reset false", "-high_precision true", "USER_PUNCH",
        "-headings " + " ".join(PUNCHED), "-start", f"10 PUNCH {', '.join(PUNCHED.values())}",
        "-end",
    ]  # fmt: skip
    for number, water in enumerate(waters, 1):
        blocks += [f"SOLUTION {number}", "units mmol/kgw", f"temp {water['temperature']!r}",
                   "pH 7 charge"]  # fmt: skip
        blocks += [f"{name} {water[name]!r}" for name in (*STRONG, "P", "Amm") if water[name]]
        open_to = water.get("log_pco2")
        carbon = f"1 CO2(g) {open_to!r}" if open_to is not None else repr(water["carbon"])
        blocks += [f"C {carbon}", "END"]
    engine.run_string("\n".join(map(str, blocks)))
    header, *rows = engine.get_selected_output_array()
    assert header == list(PUNCHED)
    return dict(zip(header, np.array(rows, dtype=float).T, strict=True))


@functools.cache
def reference(closure):
    """Random waters of effluents, from hungry to salty, with the program's answers."""
    rng = np.random.default_rng({"open": 3, "closed": 4}[closure])
    waters = []
    while len(waters) < COUNT:
        water = {name: float(rng.uniform(0.0, 4.0 / abs(z))) for name, z in STRONG.items()}
        water["P"] = float(rng.choice([0.0, 0.02, 0.3, 1.6]) * rng.uniform(0.5, 1.0))
        water["Amm"] = float(rng.choice([0.0, 0.1, 3.0]) * rng.uniform(0.5, 1.0))
        water["temperature"] = float(rng.choice([0.0, 12.0, 25.0, 40.0]))
        alkalinity = sum(z * water[name] for name, z in STRONG.items()) + water["Amm"] - water["P"]
        if not 0.2 < alkalinity < 12.0:
            continue
        if closure == "open":
            water["log_pco2"] = float(rng.uniform(-4.0, -1.0))
        else:  # from a deficit of carbon, where hydroxide holds the balance, to an excess
            water["carbon"] = float(alkalinity * rng.uniform(0.8, 1.6))
        waters.append({**water, "alkalinity": alkalinity})
    columns = {key: np.array([[w[key]] for w in waters]) for key in waters[0]}
    answers = {key: value[:, None] for key, value in equilibrium_program(waters).items()}
    return columns, answers


def solved(water):
    """Solve the reference waters by the equations, in their units."""
    inert = eq.strong_ion_strength(
        sodium=water["Na"] * molar_mass("Na"), potassium=water["K"] * molar_mass("K"),
        calcium=water["Ca"] * molar_mass("Ca"), magnesium=water["Mg"] * molar_mass("Mg"),
        chloride=water["Cl"] * molar_mass("Cl"), sulfate=water["S"] * molar_mass("SO4"),
        nitrate=water["Ntr"] * molar_mass("N"),
    )  # fmt: skip
    rest = {
        "alkalinity": water["alkalinity"] * HALF, "phosphate": water["P"] * molar_mass("P"),
        "ammonia_total": water["Amm"] * molar_mass("N"), "strong_ion_strength": inert,
        "temperature": water["temperature"],
    }  # fmt: skip
    if "log_pco2" in water:
        return eq.ph_open(**rest, log_pco2=water["log_pco2"])
    return eq.ph_closed(**rest, inorganic_carbon=water["carbon"])


def near(found, expected, relative, absolute=1e-9):
    np.testing.assert_allclose(found, expected, rtol=relative, atol=absolute)


def test_waters_agree_with_an_equilibrium_program():
    """Both ph_open and ph_closed, and strong_ion_strength; the program counts water activity."""
    for closure in ("open", "closed"):
        water, answer = reference(closure)
        state = solved(water)
        near(state.ph, answer["ph"], 0.0, 5e-4)
        near(state.ionic_strength, answer["ionic_strength"], 1e-4)


def test_species_agree_with_an_equilibrium_program():
    """The Davies coefficient of the program differs by up to 0.05 % in the logarithm."""
    for closure in ("open", "closed"):
        water, answer = reference(closure)
        place = (answer["ph"], answer["ionic_strength"], water["temperature"])
        phosphate, ammonia = water["P"] * molar_mass("P"), water["Amm"] * molar_mass("N")
        carbon = answer["inorganic_carbon"]
        found = [
            eq.carbonate_species_closed(*place, carbon),
            eq.phosphate_species(*place, phosphate),
            eq.ammonia_species(*place, ammonia),
            eq.speciation(*place, carbon, phosphate, ammonia),
        ]
        if closure == "open":
            found.append(eq.carbonate_species_open(*place, water["log_pco2"]))
            near(eq.inorganic_carbon_open(*place, water["log_pco2"]), carbon, 2e-3)
        for species in found:
            for name in species._fields:
                near(getattr(species, name), answer[name], 2e-3)


def test_activity_agrees_with_an_equilibrium_program():
    """From 0 to 40 degC: davies_coefficient with the Davies coefficient of acid_constants."""
    water, answer = reference("closed")
    slope = eq.acid_constants(water["temperature"]).davies_a
    for charge, name in ((1.0, "one"), (2.0, "two"), (3.0, "three")):
        present = answer[name] < 1.0  # the program gives 1 for an ion that is absent
        found = eq.davies_coefficient(answer["ionic_strength"], charge, slope)
        near(found[present], answer[name][present], 3e-3)


# ------------------------------------------------ the solver itself

alkalinities = st.floats(-5.0, 30.0)
waters = st.fixed_dictionaries({
    "phosphate": st.floats(0.0, 50.0), "ammonia_total": st.floats(0.0, 100.0),
    "strong_ion_strength": st.floats(0.0, 60.0), "temperature": st.floats(0.0, 40.0),
})  # fmt: skip


def residuals(state, names, function, values):
    """Read what is left over from the residuals that a recording carries."""
    fields = {n: Recorded.field(n, np.array([[values[n]]])) for n in names}
    recorded = function(**fields)
    leaf = [part.operands[0] for part in recorded]
    assert [node.operation for node in leaf] == ["solved", "solved"]
    near(recorded.ph.plain, state.ph, 1e-13)
    return [float(node.residual.plain[0, 0]) for node in leaf]


@given(alkalinities, st.floats(-4.0, -1.0), waters)
def test_open_water_is_solved_to_the_last_digits(alkalinity, log_pco2, water):
    values = {**water, "alkalinity": alkalinity * HALF, "log_pco2": log_pco2}
    state = eq.ph_open(**values)
    assert 1.0 < state.ph < 13.0
    for left in residuals(state, values, eq.ph_open, values):
        assert left == pytest.approx(0.0, abs=1e-11)


@given(alkalinities, st.floats(0.0, 60.0), waters)
def test_closed_water_is_solved_to_the_last_digits(alkalinity, carbon, water):
    values = {**water, "alkalinity": alkalinity * HALF, "inorganic_carbon": carbon}
    state = eq.ph_closed(**values)
    assert 1.0 < state.ph < 14.0
    for left in residuals(state, values, eq.ph_closed, values):
        assert left == pytest.approx(0.0, abs=1e-11)


def test_no_water_in_the_range_is_left_unsolved():
    """Every corner, and waters with nothing in them: no value that is not a number."""
    axes = ([-250.0, 0.0, 1e-9, 1500.0], [0.0, 50.0], [0.0, 100.0], [0.0, 60.0], [0.0, 40.0])
    grid = [part.reshape(-1, 1) for part in np.meshgrid(*axes, [-4.0, -1.0])]
    state = eq.ph_open(*grid)
    assert np.isfinite(state.ph).all()
    grid = [part.reshape(-1, 1) for part in np.meshgrid(axes[0], [0.0, 40.0], *axes[1:])]
    state = eq.ph_closed(*grid)
    assert np.isfinite(state.ph).all()
    assert (state.ionic_strength > 0.0).all()


def test_pure_water_is_neutral():
    """No carbon, no salt: the hydrogen ion activity is the root of the ion product."""
    for temperature in (0.0, 25.0, 40.0):
        state = eq.ph_closed(0.0, 0.0, 0.0, 0.0, 0.0, temperature)
        expected = -0.5 * np.log10(eq.acid_constants(temperature).k_water)
        assert state.ph == pytest.approx(expected, abs=1e-12)


@given(st.floats(0.1, 20.0), st.floats(-4.0, -1.1), waters)
def test_more_carbon_dioxide_is_more_acid(alkalinity, log_pco2, water):
    low = eq.ph_open(**water, alkalinity=alkalinity * HALF, log_pco2=log_pco2)
    high = eq.ph_open(**water, alkalinity=alkalinity * HALF, log_pco2=log_pco2 + 0.1)
    assert high.ph < low.ph


@given(st.floats(0.0, 20.0), st.floats(0.05, 3.0), waters)
def test_ph_rises_with_alkalinity(alkalinity, more, water):
    first = eq.ph_open(**water, alkalinity=alkalinity * HALF, log_pco2=-2.0)
    second = eq.ph_open(**water, alkalinity=(alkalinity + more) * HALF, log_pco2=-2.0)
    assert second.ph > first.ph


@given(st.floats(0.3, 10.0), st.floats(-3.5, -1.0), waters)
def test_both_closures_meet(alkalinity, log_pco2, water):
    """A water closed at its own carbon keeps its pH: the closures are one water."""
    state = eq.ph_open(**water, alkalinity=alkalinity * HALF, log_pco2=log_pco2)
    carbon = eq.inorganic_carbon_open(*state, water["temperature"], log_pco2)
    closed = eq.ph_closed(**water, alkalinity=alkalinity * HALF, inorganic_carbon=carbon)
    assert closed.ph == pytest.approx(float(state.ph), abs=1e-9)
    assert closed.ionic_strength == pytest.approx(float(state.ionic_strength), rel=1e-9)


@given(st.floats(2.0, 12.0), st.floats(0.0, 0.3), st.floats(0.0, 40.0), st.floats(0.0, 30.0))
def test_species_add_up_to_the_total(ph, strength, temperature, total):
    place = (ph, strength, temperature)
    for species, sum_ in (
        (eq.carbonate_species_closed(*place, total), total),
        (eq.phosphate_species(*place, total), total / molar_mass("P")),
        (eq.ammonia_species(*place, total), total / molar_mass("N")),
    ):
        assert sum(species) == pytest.approx(sum_, rel=1e-13, abs=1e-300)
        assert min(species) >= 0.0


def test_no_salt_no_correction():
    """At no ionic strength every activity coefficient is one."""
    for charge in (0.0, 1.0, 2.0, 3.0):
        assert eq.davies_coefficient(0.0, charge, 0.51) == 1.0


def test_a_case_does_not_depend_on_its_neighbours():
    rng = np.random.default_rng(5)
    low = (-100.0, 0.0, 0.0, 0.0, 5.0, -3.0)
    high = (900.0, 20.0, 60.0, 30.0, 25.0, -1.0)
    columns = [rng.uniform(a, b, (6, 12)) for a, b in zip(low, high, strict=True)]
    together = eq.ph_open(*columns)
    for place in np.ndindex(6, 12):
        alone = eq.ph_open(*(float(c[place]) for c in columns))
        assert alone.ph == pytest.approx(together.ph[place], abs=1e-13)
