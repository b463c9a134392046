"""Reading a case: the worked example, TOML, ``--set``, ranges, months, notes and warnings."""

from __future__ import annotations

import hashlib
import tomllib

import numpy as np
import pytest

from pcompare import tables
from pcompare.errors import InputError
from pcompare.inputs import reader, schema, toml_file

from .plants import even, even_text

EXAMPLE = even()


def example_text():
    return even_text()


def written(tmp_path, text, name="plant.toml"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def read_with(tmp_path, *lines, replace=(), overrides=()):
    """Read the worked example as TOML with changes in it and lines after it."""
    text = example_text()
    for old, new in replace:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return reader.read(written(tmp_path, "\n".join((text, *lines))), overrides)


def test_the_worked_example_is_whole_and_says_that_it_is_invented():
    assert set(EXAMPLE.values) | set(EXAMPLE.choices) == set(schema.fields())
    assert EXAMPLE.name == "worked example"
    assert EXAMPLE.warnings == ()
    assert all(value.shape == (1, 1) for value in EXAMPLE.values.values())
    assert "fictional" in EXAMPLE.choice("project.name")
    assert "fictional" in EXAMPLE.choice("project.note").lower()
    assert "fictional" in example_text().split("[project]")[0]
    given = {name for name, origin in EXAMPLE.origins.items() if origin == "example"}
    required = {name for name, field in schema.fields().items() if field.default is None}
    assert required <= given
    months = set(EXAMPLE_MONTHS)
    assert all(EXAMPLE.origins[name] == "default" for name in set(schema.fields()) - given - months)


EXAMPLE_MONTHS = ("flow.load_share",)  # given by month and by no value for the year


def test_the_months_of_the_example_average_to_its_year():
    full = reader.read()
    for name in ("flow.average", "influent.vfa", "influent.temperature_average"):
        assert full[name].shape == (1, 12)
        assert full[name].mean() == pytest.approx(EXAMPLE[name].item(), rel=1e-9), name
    assert full["influent.temperature_minimum"].item() == full["influent.temperature_average"].min()
    load = (full["influent.tp"] * full["flow.average"]).mean()
    assert load == pytest.approx(6.8 * 20000.0, rel=1e-9)
    assert full.yearly["influent.tp"] == 6.8


def test_the_example_s_water_is_electroneutral():
    """Charges within 3 %, each ion at its charge at the water's pH; computed here by hand."""

    def millimoles(name, formula):
        return EXAMPLE[f"influent.{name}"].item() / tables.molar_mass(formula)

    cations = (
        2.0 * millimoles("calcium", "Ca")
        + 2.0 * millimoles("magnesium", "Mg")
        + millimoles("sodium", "Na")
        + millimoles("potassium", "K")
        + millimoles("ammonia", "N")
    )
    # Alkalinity counts bicarbonate and one charge less than phosphate carries; of the acids, as
    # acetic acid at 64 g COD/mol, it counts about two thirds.
    anions = (
        2.0 * millimoles("alkalinity", "CaCO3")
        + millimoles("chloride", "Cl")
        + 2.0 * millimoles("sulfate", "SO4")
        + millimoles("orthophosphate", "P")
        + EXAMPLE["influent.vfa"].item() / 64.0 / 3.0
    )
    assert abs(cations - anions) < 0.03 * 0.5 * (cations + anions)


def test_the_example_s_sewage_is_plausible():
    """Handbook ratios of raw sewage: COD to BOD5 1.9-2.2, readily biodegradable 10-25 % of COD."""
    share = {
        ("influent.cod", "influent.bod5"): (1.9, 2.2),
        ("influent.rbcod", "influent.cod"): (0.10, 0.25),
        ("influent.vfa", "influent.rbcod"): (0.05, 0.35),
        ("influent.vss", "influent.tss"): (0.7, 0.85),
        ("influent.ammonia", "influent.tkn"): (0.6, 0.8),
        ("influent.orthophosphate", "influent.tp"): (0.5, 0.7),
    }
    for (part, whole), (low, high) in share.items():
        assert low <= (EXAMPLE[part] / EXAMPLE[whole]).item() <= high, part


def test_toml_gives_what_the_example_gives(tmp_path):
    got = read_with(tmp_path)
    assert got.name == "plant.toml"
    assert got.choices == EXAMPLE.choices
    assert all(np.array_equal(got[name], value) for name, value in EXAMPLE.values.items())
    assert got.origins["influent.tp"].startswith("influent.tp, line ")
    line = int(got.origins["influent.tp"].rpartition(" ")[2])
    assert example_text().splitlines()[line - 1].startswith("tp = 6.8")


def test_set_rules_over_the_file_and_is_in_base_units(tmp_path):
    got = read_with(tmp_path, overrides=["flow.average=30000", "permit.averaging = annual"])
    assert got["flow.average"].item() == 30000.0
    assert got.origins["flow.average"] == "--set flow.average"
    assert got.choice("permit.averaging") == "annual"
    again = reader.read(None, ["flow.average=1e4", "flow.average=30000", "project.note=a=b"])
    assert again["flow.average"].item() == 30000.0
    assert again.choice("project.note") == "a=b"


def test_set_gives_what_the_file_lacks(tmp_path):
    got = read_with(tmp_path, replace=[("\ntp = 6.8", "")], overrides=["influent.tp=7"])
    assert got["influent.tp"].item() == 7.0


def test_coefficients_are_fields(tmp_path):
    got = read_with(tmp_path, "[coefficient]", "mixing_efficiency = 0.6")
    assert got.coefficient("mixing_efficiency").item() == 0.6
    assert got.origins["coefficient.mixing_efficiency"].startswith("coefficient.mixing_efficiency")
    default = tables.coefficients()["mixing_efficiency"]
    assert EXAMPLE.coefficient("mixing_efficiency").item() == default.value


TWELVE = [6.0, 6.5, 7.0, 7.5, 6.0, 6.5, 7.0, 7.5, 6.0, 6.5, 7.0, 7.5]


@pytest.mark.parametrize("keep", [True, False])
def test_months_rule_over_the_year_and_make_it_needless(tmp_path, keep):
    replace = [] if keep else [("\ntp = 6.8", "")]
    got = read_with(tmp_path, "[months.influent]", f"tp = {TWELVE}", replace=replace)
    assert got["influent.tp"].shape == (1, 12)
    assert got["influent.tp"][0].tolist() == TWELVE
    assert got.origins["influent.tp"].startswith("months.influent.tp, line ")


def test_months_may_stand_before_the_field(tmp_path):
    text = f"months.influent.tp = {TWELVE}\n" + example_text()
    got = reader.read(written(tmp_path, text))
    assert got["influent.tp"].shape == (1, 12)


def test_ranges(tmp_path):
    got = read_with(tmp_path, "[range]", "influent.vfa = [24, 48]", "prices.cake = [50.0, 120]")
    assert (got.low["influent.vfa"], got.high["influent.vfa"]) == (24.0, 48.0)
    assert (got.low["prices.cake"], got.high["prices.cake"]) == (50.0, 120.0)
    assert "influent.vfa" not in EXAMPLE.low


def test_a_price_of_one_s_own_varies_in_proportion_as_much_as_the_default():
    price = schema.fields()["prices.cake"]
    got = reader.read(None, [f"prices.cake={2.0 * price.default}"])
    assert got.low["prices.cake"] == pytest.approx(2.0 * price.low, rel=1e-12)
    assert got.high["prices.cake"] == pytest.approx(2.0 * price.high, rel=1e-12)


def test_a_range_never_leaves_the_hard_limits():
    field = schema.fields()["finance.maintenance"]
    got = reader.read(None, ["finance.maintenance=0.19"])
    assert got.high["finance.maintenance"] == field.hard[1]


def test_set_outside_the_file_s_range_leaves_the_range_out_and_says_so(tmp_path):
    lines = ("[range]", "influent.vfa = [24, 48]")
    got = read_with(tmp_path, *lines, overrides=["influent.vfa=20"])
    assert "influent.vfa" not in got.low
    assert "--set influent.vfa (Volatile fatty acids, as COD): outside the range" in got.warnings[0]
    inside = read_with(tmp_path, *lines, overrides=["influent.vfa=30"])
    assert inside.low["influent.vfa"] == 24.0
    assert inside.warnings == ()


def test_notes_and_values_without_a_source(tmp_path):
    lines = (
        "[prices]",
        "cake = 90",
        "electricity = 0.12",
        "[note]",
        'prices.cake = "bid of May 2026"',
    )
    got = read_with(tmp_path, *lines)
    assert got.notes == {"prices.cake": "bid of May 2026"}
    (warning,) = got.warnings
    assert warning.startswith("Prices: no source noted for prices.electricity, line ")
    assert "cake" not in warning


def test_what_is_unusual_is_kept_with_its_place(tmp_path):
    got = read_with(tmp_path, replace=[("tp = 6.8", "tp = 16")])
    (warning,) = got.warnings
    assert warning.startswith("influent.tp, line ")
    assert "(Total phosphorus): 16 mg P/L is outside the usual range, 3 mg P/L to 15" in warning


def test_long_text_is_cut_and_said_so(tmp_path):
    got = reader.read(None, ["project.note=" + "x" * 300])
    assert got.choice("project.note") == "x" * 200
    assert got.warnings == ("--set project.note (Remark): only the first 200 characters are kept",)


def test_a_season_is_read_and_its_limit_named():
    got = reader.read(None, ["permit.months=5-9"])
    assert got.choice("permit.months") == "5, 6, 7, 8, 9"
    assert got.warnings == ()


def test_the_order_of_keys_does_not_matter(tmp_path):
    document = tomllib.loads(example_text())
    lines = [
        f"{group}.{name} = {value if not isinstance(value, str) else repr(value)}"
        for group, content in reversed(document.items())
        for name, value in reversed(content.items())
        if name not in ("downstream_use",)
    ]
    lines.append('"project".downstream_use = "x"')
    got = reader.read(written(tmp_path, "\ufeff" + "\r\n".join(lines)))
    assert all(np.array_equal(got[name], value) for name, value in EXAMPLE.values.items())


def test_lines_of_keys():
    text = (
        'a.b = 1\n[c]\nd = """\nx = 2\n"""\n# e = 3\n"f" = 4\n\n[ g . "h" ] # why\ni=5\n'
        "j = [\n 1,\n 2]\nk = 6\n"
    )
    assert toml_file.lines_of(text) == {
        "a.b": 1, "c.d": 3, "c.f": 7, "g.h.i": 10, "g.h.j": 11, "g.h.k": 14,
        "a": 1, "c": 3, "g": 10, "g.h": 10,  # groups stand where their first key does
    }  # fmt: skip


def test_reading_changes_nothing(tmp_path):
    path = written(tmp_path, example_text())
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    reader.read(path)
    reader.read(str(path))
    assert hashlib.sha256(path.read_bytes()).hexdigest() == before
    assert [p.name for p in tmp_path.iterdir()] == ["plant.toml"]


def test_a_fault_is_one_error_with_all_faults_in_the_form_s_order(tmp_path):
    with pytest.raises(InputError) as caught:
        read_with(
            tmp_path,
            "[prices]",
            "cake = 'much'",
            replace=[("average = 20000", "average = 'lots'"), ("orthophosphate = 4.1",
                     "orthophosphate = 9")],
            overrides=["permit.averaging=never"],
        )  # fmt: skip
    places = [fault.where.split(",")[0].split(" (")[0] for fault in caught.value.faults]
    assert places == [
        "flow.average", "influent.orthophosphate", "--set permit.averaging", "prices.cake",
    ]  # fmt: skip
    assert str(caught.value).startswith("plant.toml: 4 problems\n  flow.average, line ")
