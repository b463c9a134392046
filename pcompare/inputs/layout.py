"""Where things stand in the form: shared by the writer and the reader, so that they agree."""

from __future__ import annotations

READ_ME = "Read me"
LISTS = "Lists"
MONTHS = "Months"
SYSTEM_CELL = "B4"  # on the first sheet: si or us
FIRST_ROW = 4  # of the fields on every sheet
SPARE_ROWS = 40  # read below the last field, for rows that somebody moved or added
LABEL, UNIT, VALUE, LOW, HIGH, TAKES, USUAL, SOURCE, NOTE, HELP, NAME = range(1, 12)
HEADINGS = (
    "Field", "Unit", "Value", "Low", "High", "Takes", "Usual", "Default from", "Your source",
    "What it is", "Name",
)  # fmt: skip
WIDTHS = (44, 13, 18, 11, 11, 30, 20, 30, 28, 60, 34)
MONTH_FIRST = 3  # column of January
MONTH_NAME = 15  # column of the field's name
MONTH_NAMES = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip
