"""Faults say where, what was found and what is needed, and how to mend it."""

from __future__ import annotations

import pytest

from pcompare import errors


def test_a_fault_is_one_sentence_and_its_remedy():
    fault = errors.Fault(
        where="Plant!C4 (Average flow)",
        found="'lots'",
        needs="a number from 10 to 2 000 000 m3/d",
        mend="Write digits only",
    )
    assert str(fault) == (
        "Plant!C4 (Average flow): found 'lots'; needs a number from 10 to 2 000 000 m3/d. "
        "Write digits only"
    )


def test_what_is_not_known_is_left_out():
    assert str(errors.Fault(where="C9", found="9", needs="")) == "C9: found 9"
    assert str(errors.Fault(where="C9", found="9", needs="less")) == "C9: found 9; needs less"


@pytest.mark.parametrize(("count", "word"), [(1, "1 problem\n"), (3, "3 problems\n")])
def test_all_faults_of_a_file_come_at_once_and_in_order(count, word):
    faults = [
        errors.Fault(where=f"Plant!C{n}", found="nothing", needs="a price") for n in range(count)
    ]
    raised = errors.InputError("plant.xlsx", faults)
    text = str(raised)
    assert text.startswith(f"plant.xlsx: {word}")
    assert text.splitlines()[1:] == [f"  {fault}" for fault in faults]
    assert raised.faults == tuple(faults)


def test_a_table_fault_names_file_line_and_column():
    raised = errors.TableError("biology.csv", 7, "value", "'x'", "a number")
    assert str(raised) == "biology.csv, line 7, column 'value': found 'x'; needs a number"
    assert (raised.file, raised.line, raised.column) == ("biology.csv", 7, "value")


def test_an_output_fault_says_where():
    raised = errors.OutputError("memo.pdf", "a folder of that name", "a file name")
    assert str(raised) == "memo.pdf: found a folder of that name; needs a file name"


@pytest.mark.parametrize(
    ("raised", "status"),
    [
        (errors.PCompareError("x"), 1),
        (errors.InputError("plant.toml", []), 1),
        (errors.TableError("a.csv", 1, "b", "c", "d"), 1),
        (errors.OutputError("a", "b", "c"), 1),
        (errors.UsageError("x"), 2),
    ],
)
def test_exit_status(raised, status):
    assert raised.status == status
    assert isinstance(raised, errors.PCompareError)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("lots", "'lots'"),
        ("", "nothing"),
        (None, "nothing"),
        (3.5, "3.5"),
        (True, "True"),
        ("two\nlines\tand\x00more", "'two lines and more'"),
        ("\u202eright to left", "'right to left'"),
        ("x" * 200, "'" + "x" * 59 + "…'"),
    ],
)
def test_what_was_found_is_shown_on_one_line(value, text):
    assert errors.shown(value) == text


def test_what_was_found_is_cut_where_asked():
    assert errors.shown("abcdef", limit=4) == "'abc…'"
    assert errors.shown([1, 2, 3], limit=5) == "[1, …"
