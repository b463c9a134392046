"""A CSV of plants as spreadsheet programs and people make it."""

from __future__ import annotations

import pytest

from pcompare.errors import InputError
from pcompare.inputs import plants_file, reader
from pcompare.inputs.draft import Draft

HEAD = "name,flow.average,influent.tp"


def read(tmp_path, data):
    path = tmp_path / "plants.csv"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return plants_file.read(path)


def refused(tmp_path, data):
    with pytest.raises(InputError) as caught:
        read(tmp_path, data)
    return [str(fault) for fault in caught.value.faults]


def drafts(found, base=None):
    base = base or reader.begun()[0]
    return [plants_file.draft_of(base, found.fields, found.comma, p) for p in found.plants]


def cells(found):
    return [(p.row, p.name, *p.cells) for p in found.plants]


def test_rows_and_columns(tmp_path):
    found = read(tmp_path, f"{HEAD}\nNorthfield,20000,6.5\nEastbrook,500,7\n")
    assert found.fields == ("flow.average", "influent.tp")
    assert cells(found) == [(2, "Northfield", "20000", "6.5"), (3, "Eastbrook", "500", "7")]
    first, second = drafts(found)
    assert (first.given["influent.tp"], second.given["flow.average"]) == (6.5, 500.0)
    assert not first.noted


def test_names_may_stand_in_any_column_and_letters_be_large(tmp_path):
    found = read(tmp_path, "Flow.Average,NAME\n20000,Northfield\n")
    assert cells(found) == [(2, "Northfield", "20000")]


def test_a_mark_of_byte_order_empty_lines_and_empty_columns_do_no_harm(tmp_path):
    text = f"\ufeff{HEAD},,\r\n\r\nNorthfield,20000,6.5,,\r\n,,,,\r\n  \r\nEastbrook,500,7,,\r\n"
    found = read(tmp_path, text)
    assert cells(found) == [(3, "Northfield", "20000", "6.5"), (6, "Eastbrook", "500", "7")]
    assert not found.broken


def test_semicolons_make_the_comma_the_decimal_sign(tmp_path):
    found = read(tmp_path, "name;flow.average;influent.tp\nNordfeld;20000;6,5\nOst;1.500;6.5\n")
    first, second = drafts(found)
    assert first.given["influent.tp"] == 6.5 and not first.noted
    messages = [str(fault) for fault in second.faults]
    assert len(messages) == 2
    assert all("the comma is the decimal sign" in message for message in messages)
    assert "flow.average, line 3" in messages[0]


def test_commas_make_the_point_the_decimal_sign(tmp_path):
    (draft,) = drafts(read(tmp_path, f'{HEAD}\nNordfeld,"20,000","6,5"\n'))
    messages = [str(fault) for fault in draft.faults]
    assert len(messages) == 2 and all("a comma; write a decimal point" in m for m in messages)


def test_letters_of_another_code_page_are_refused_with_their_line(tmp_path):
    (message,) = refused(tmp_path, f"{HEAD}\nNord,1,6\nMünster,20000,6.5\n".encode("cp1252"))
    assert "line 3" in message and "UTF-8" in message
    (message,) = refused(tmp_path, f"{HEAD}\n".encode("utf-16"))
    assert "UTF-16" in message


def test_lines_within_quotes_count(tmp_path):
    found = read(tmp_path, f'{HEAD}\n"North\nfield",20000,6.5\nEastbrook,x,7\n')
    assert cells(found)[0] == (2, "North field", "20000", "6.5")
    (fault,) = drafts(found)[1].faults
    assert str(fault).startswith("flow.average, line 4 (Average flow): found 'x'")


def test_a_quote_that_never_ends_loses_no_plant_in_silence(tmp_path):
    (message,) = refused(tmp_path, f'{HEAD}\n"Northfield,20000,6.5\nEastbrook,500,7\n')
    assert "line 2" in message and "quote" in message


def test_any_letters_make_a_name(tmp_path):
    names = ("Kläranlage Süd", "one\u2028line\x0c", "محطة", "🏭 works", "A & B <Nord>", "Ελλάδα")
    found = read(tmp_path, "\n".join([HEAD, *(f"{name},20000,6.5" for name in names)]))
    assert tuple(p.name for p in found.plants) == (names[0], "one line", *names[2:])


@pytest.mark.parametrize("cell", ["NaN", "inf", "n/a", "-", "1_000", "6.5 mg/L", "=1+1", "TRUE"])
def test_what_is_no_number_is_a_fault_of_its_plant(tmp_path, cell):
    (draft,) = drafts(read(tmp_path, f"{HEAD}\nNorthfield,20000,{cell}\n"))
    (fault,) = draft.faults
    assert "influent.tp, line 2 (Total phosphorus)" in str(fault)


def test_an_empty_cell_leaves_the_base_but_what_must_be_given_must_be(tmp_path):
    text = "name,influent.tp,permit.ammonia\nNorth,,\nEast,6,2\n"
    first, second = drafts(read(tmp_path, text))
    (fault,) = first.faults
    assert str(fault).startswith("influent.tp, line 2 (Total phosphorus): found nothing; needs")
    example = reader.begun()[0]
    assert first.given.get("permit.ammonia") == example.given.get("permit.ammonia")
    assert second.given["permit.ammonia"] == 2.0


def test_rows_of_another_length_and_plants_without_a_name(tmp_path):
    found = read(tmp_path, f"{HEAD}\nNorth,20000\nEast,500,7,9\n,300,6\nSouth,200,6\n")
    assert [p.name for p in found.plants] == ["South"]
    told = [f"{plant.row} {fault}" for plant, fault in found.broken]
    assert told[0].startswith("2 line 2: found 2 cells; needs 3")
    assert told[1].startswith("3 line 3: found 4 cells; needs 3")
    assert told[2] == "4 line 4, name: found nothing; needs a name"


def test_cells_under_no_name_are_told(tmp_path):
    messages = refused(tmp_path, "name,,flow.average\nNorth,5,20000\n")
    assert messages[0].startswith("plants.csv, line 1, column B: found a column without a name")


def test_unknown_doubled_and_impossible_columns(tmp_path):
    head = "name,flow.avrage,influent.tp,influent.tp,months.influent.tp,colour"
    messages = refused(tmp_path, f"{head}\nNorth,1,2,3,4,5\n")
    assert "column B" in messages[0] and "flow.average" in messages[0]
    assert "column D" in messages[1] and "again, as in column C" in messages[1]
    assert "months, ranges and notes stand in the base form" in messages[2]
    assert "column F" in messages[3] and "'colour'" in messages[3]


def test_names_must_be_there(tmp_path):
    (message,) = refused(tmp_path, "flow.average\n20000\n")
    assert "a column 'name'" in message


@pytest.mark.parametrize("data", ["", "\n\n", f"{HEAD}\n", "name\tflow.average\nNorth\t1\n"])
def test_nothing_to_read(tmp_path, data):
    assert len(refused(tmp_path, data)) == 1


def test_a_folder_or_nothing_in_place_of_the_file(tmp_path):
    for path in (tmp_path, tmp_path / "missing.csv"):
        with pytest.raises(InputError):
            plants_file.read(path)


def test_a_range_of_the_base_that_no_longer_holds_is_left_out(tmp_path):
    base = Draft()
    base.take_range("influent.tp", "influent.tp", 5.0, 7.0, "si")
    found = read(tmp_path, f"{HEAD}\nNorth,20000,12\nEast,500,6\n")
    north, east = drafts(found, base)
    assert "influent.tp" not in north.ranges and "influent.tp" in east.ranges
    assert "influent.tp" in base.ranges  # the base itself stays as it was


def test_what_neither_base_nor_columns_give(tmp_path):
    found = read(tmp_path, f"{HEAD}\nNorth,20000,6\n")
    lacking = plants_file.missing(Draft(), found.fields)
    assert "influent.cod" in lacking and "influent.tp" not in lacking
    assert not plants_file.missing(reader.begun()[0], found.fields)


def test_a_price_in_a_row_is_on_the_basis_of_the_base_in_base_units(tmp_path):
    """A price for a pound of product: 1 lb is 0.45359237 kg, so 0.1 a pound is 220.46 a tonne."""
    base = Draft(system="us")
    base.take("prices.liquid_alum_basis", "Prices!C9", "lb wet", "us")
    found = read(tmp_path, "name,prices.liquid_alum\nNorth,0.1\n")
    (draft,) = drafts(found, base)
    draft.fill()
    from pcompare.inputs import price_basis

    price_basis.apply(draft)
    assert draft.given["prices.liquid_alum"] == pytest.approx(0.1 / 0.45359237 * 1000.0)
