"""pH and species: against an equilibrium program run live, and where the answer is known."""

from __future__ import annotations

import functools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare.equations import acid_base as eq
from pcompare.equations import acid_base_solver as solver
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


# --- the sums and slopes that the solution runs on ----------------------------------------------

WATERS = {
    "ph": st.floats(2.0, 13.0), "strength": st.floats(1e-4, 0.3), "carbon": st.floats(0.0, 0.02),
    "phosphate": st.floats(0.0, 0.01), "ammonia": st.floats(0.0, 0.02),
    "temperature": st.floats(0.0, 40.0), "is_open": st.booleans(),
}  # fmt: skip


def water_of(drawn):
    carbon = drawn["carbon"]
    if drawn["is_open"]:
        carbon = 10.0 ** (-4.0 + 100.0 * carbon)  # an activity of carbon dioxide
    return solver.Totals(
        alkalinity=0.0, carbon=carbon, phosphate=drawn["phosphate"], ammonia=drawn["ammonia"],
        strong=0.001, constants=eq.acid_constants(drawn["temperature"]), is_open=drawn["is_open"],
    )  # fmt: skip


@given(st.fixed_dictionaries(WATERS))
def test_slopes_are_those_of_small_steps(drawn):
    """Central differences along the logarithm of the activity of H+, the ionic strength held."""
    water, acid, step = water_of(drawn), -np.log(10.0) * drawn["ph"], 1e-4
    part, above, below = (
        water.whole(acid + move, drawn["strength"]) for move in (0.0, step, -step)
    )
    for name in ("alkalinity", "strength"):
        slope = (getattr(above, name) - getattr(below, name)) / (2.0 * step)
        size = abs(slope) + abs(getattr(part, name)) + 1e-9
        assert getattr(part, f"{name}_slope") == pytest.approx(slope, abs=1e-6 * size)


@given(st.fixed_dictionaries({**WATERS, "is_open": st.just(False)}))
def test_alkalinity_and_strength_are_sums_over_the_species(drawn):
    """Acceptors less donors of protons, by each species; half the sum of charge squared."""
    ph, strength, temperature = (drawn[n] for n in ("ph", "strength", "temperature"))
    found = water_of(drawn).whole(-np.log(10.0) * ph, strength)
    state = (ph, strength, temperature)
    carbon = eq.carbonate_species_closed(*state, drawn["carbon"] * 1000.0)
    phosphate = eq.phosphate_species(*state, drawn["phosphate"] * 1000.0 * molar_mass("P"))
    ammonia = eq.ammonia_species(*state, drawn["ammonia"] * 1000.0 * molar_mass("N"))
    one = solver.activities(0.0, strength, eq.acid_constants(temperature)).one
    hydrogen = 10.0**-ph / one
    hydroxide = eq.acid_constants(temperature).k_water / (10.0**-ph * one)
    by_charge = {
        1: carbon.bicarbonate + phosphate.dihydrogen_phosphate + ammonia.ammonium
        + 1000.0 * (hydrogen + hydroxide),
        2: carbon.carbonate + phosphate.hydrogen_phosphate,
        3: phosphate.phosphate_ion,
    }  # fmt: skip
    expected = 0.001 + sum(0.5 * z * z * m for z, m in by_charge.items()) / 1000.0
    assert found.strength == pytest.approx(expected, rel=1e-9)
    acceptors = (
        carbon.bicarbonate + 2.0 * carbon.carbonate + phosphate.hydrogen_phosphate
        + 2.0 * phosphate.phosphate_ion - phosphate.phosphoric_acid + ammonia.ammonia
    ) / 1000.0 + hydroxide - hydrogen  # fmt: skip
    assert found.alkalinity == pytest.approx(acceptors, rel=1e-9, abs=1e-12)


@given(st.fixed_dictionaries(WATERS))
def test_species_stand_in_equilibrium(drawn):
    """Mass action at one pH, with activities by Davies and 0.1 I written out here."""
    strength, k = drawn["strength"], eq.acid_constants(drawn["temperature"])
    hydrogen = 10.0 ** -drawn["ph"]
    root = np.sqrt(strength)
    one = 10.0 ** (-k.davies_a * (root / (1.0 + root) - 0.3 * strength))
    gamma = {0: 10.0 ** (0.1 * strength), 1: one, 2: one**4, 3: one**9}
    a = solver.activities(np.log(hydrogen), strength, k)
    assert (a.neutral, a.one, a.two, a.three) == pytest.approx(tuple(gamma.values()), rel=1e-9)
    ammonium, ammonia = solver.ammonia_split(a, k, 0.01)
    assert ammonium + ammonia == pytest.approx(0.01, rel=1e-12)
    held = ammonia * gamma[0] * hydrogen / (ammonium * gamma[1])
    assert held / k.k_ammonium == pytest.approx(1.0, rel=1e-9)
    first, second, gas = solver.carbonate_closed(a, k, 0.02)
    assert first + second + gas == pytest.approx(0.02, rel=1e-12)
    once = first * gamma[1] * hydrogen / (gas * gamma[0])
    twice = second * gamma[2] * hydrogen / (first * gamma[1])
    assert (once / k.k_co2_1, twice / k.k_co2_2) == pytest.approx((1.0, 1.0), rel=1e-9)
    acid, once, twice, thrice = solver.phosphate_split(a, k, 0.01)
    assert acid + once + twice + thrice == pytest.approx(0.01, rel=1e-12)
    for low, high, charge, constant in (
        (acid, once, 1, k.k_p1), (once, twice, 2, k.k_p2), (twice, thrice, 3, k.k_p3),
    ):  # fmt: skip
        held = high * gamma[charge] * hydrogen / (low * gamma[charge - 1])
        assert held / constant == pytest.approx(1.0, rel=1e-9)


@given(st.fixed_dictionaries(WATERS), st.floats(-2.0, 12.0))
def test_the_solution_leaves_nothing_over(drawn, alkalinity):
    """Alkalinity and ionic strength of the answer are those asked for, from acid to lime."""
    water = water_of(drawn)._replace(alkalinity=alkalinity / 1000.0)
    if drawn["is_open"]:
        water = water._replace(carbon=10.0**-3.0)
    ph, strength = solver.solved(water)
    missed, apart = solver.left_over(ph, strength, water)
    assert missed == pytest.approx(0.0, abs=1e-9)
    assert apart == pytest.approx(0.0, abs=1e-12)
    more, less = (solver.left_over(ph + d, strength, water)[0] for d in (0.01, -0.01))
    assert more > 0.0 > less


def test_constants_of_phosphoric_acid_turn_with_their_heat():
    """Van 't Hoff from 25 degC; log K and heats as phreeqc.dat prints them, in kcal and in kJ."""
    heats = {1: (12.346, -3.530 * 4184.0), 2: (19.553, -4.520 * 4184.0), 3: (21.721, -10.1e3)}
    for temperature in (0.0, 10.0, 40.0):
        turn = 1.0 / (temperature + 273.15) - 1.0 / 298.15
        log_k = {n: k - h / (8.314463 * np.log(10.0)) * turn for n, (k, h) in heats.items()}
        found = eq.acid_constants(temperature)
        for constant, expected in (
            (found.k_p3, -log_k[1]), (found.k_p2, log_k[1] - log_k[2]),
            (found.k_p1, log_k[2] - log_k[3]),
        ):  # fmt: skip
            assert np.log10(constant) == pytest.approx(expected, abs=3e-5)


@given(st.fixed_dictionaries({**WATERS, "phosphate": st.just(0.0), "ammonia": st.just(0.0)}))
def test_pulls_are_those_of_small_steps_of_the_strength(drawn):
    """Against minus the logarithm of a single charge's coefficient, the activity of H+ held.

    What the strength does to neutral carbon dioxide is left out of a closed water's pull.
    """
    water, acid = water_of(drawn), -np.log(10.0) * drawn["ph"]
    step = 1e-5 * drawn["strength"]
    part, above, below = (water.whole(acid, drawn["strength"] + d) for d in (0.0, step, -step))
    slope = np.log(10.0) * water.constants.davies_a * solver.davies_slope(drawn["strength"])
    turn = (solver.davies_term(drawn["strength"] + step)
            - solver.davies_term(drawn["strength"] - step)) / (2.0 * step)  # fmt: skip
    assert solver.davies_slope(drawn["strength"]) == pytest.approx(turn, rel=1e-6, abs=1e-6)
    for name in ("alkalinity", "strength"):
        moved = (getattr(above, name) - getattr(below, name)) / (2.0 * step)
        size = abs(getattr(part, name)) + abs(moved / max(abs(slope), 1e-3)) + 1e-9
        room = 1e-5 if drawn["is_open"] else 0.3
        assert getattr(part, f"{name}_pull") * slope == pytest.approx(
            moved, abs=room * size * max(abs(slope), 0.3)
        )


@given(st.fixed_dictionaries(WATERS))
def test_the_first_bracket_counts_the_same_alkalinity(drawn):
    water, acid = water_of(drawn), -np.log(10.0) * drawn["ph"]
    a = solver.activities(acid, drawn["strength"], water.constants)
    expected = water.whole(acid, drawn["strength"]).alkalinity
    assert water.charged(a) == pytest.approx(expected, rel=1e-9, abs=1e-15)


@given(st.fixed_dictionaries({**WATERS, "is_open": st.just(True)}), st.floats(0.1, 20.0))
def test_the_first_bracket_holds_the_answer(drawn, alkalinity):
    """Thirteen units of pH halved six times: the middle is within a tenth of the crossing."""
    water = water_of(drawn)._replace(alkalinity=alkalinity / 1000.0, carbon=10.0**-3.5)
    found = solver._bracketed(water, drawn["strength"])
    a = solver.activities(0.0, drawn["strength"], water.constants)
    half = np.log(10.0) * 0.5 * 13.0 / 2.0**6
    ends = (water.charged(a._replace(hydrogen=np.exp(found + d))) for d in (-half, half))
    high, low = ends
    assert low <= water.alkalinity * (1.0 + 1e-9) and high >= water.alkalinity * (1.0 - 1e-9)
