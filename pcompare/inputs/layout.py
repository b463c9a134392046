"""Where things stand in the form: shared by the writer and the reader, so that they agree."""

from __future__ import annotations

READ_ME = "Read me"
LISTS = "Lists"
MONTHS = "Months"
CORRELATION = "Correlation"
SYSTEM_CELL, SYSTEM_PLACE = "B4", (4, 2)  # on the first sheet: si or us
FIRST_ROW = 4  # of the fields on every sheet; the row above holds the headings
SPARE_ROWS = 40  # read below the last field, for rows that somebody moved
LABEL, UNIT, VALUE, LOW, HIGH, TAKES, USUAL, SOURCE, NOTE, HELP, NAME, SHAPE = range(1, 13)
HEADINGS = (
    "Field", "Unit", "Value", "Low", "High", "Takes", "Usual", "Default from", "Your source",
    "What it is", "Name", "Shape",
)  # fmt: skip
WIDTHS = (40, 15, 19, 11, 11, 30, 19, 26, 26, 52, 32, 13)
MONTH_FIRST = 3  # column of January
MONTH_NAME = 15  # column of the field's name
LAST_COLUMN = MONTH_NAME  # beyond it nothing is read
MONTH_NAMES = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip
MONTH_WIDTHS = (40, 15, *(9 for _ in MONTH_NAMES), 30)

PAIR_FIRST, PAIR_SECOND, PAIR_RANK = range(1, 4)  # columns of the correlations
PAIR_HEADINGS = ("Field", "With field", "Rank correlation")
PAIR_WIDTHS = (40, 40, 19)
PAIR_ROWS = 24  # offered; more are read

TITLE = "Phosphorus removal: input form"
SUBTITLE = "Metal salt, biological removal, or both, for one plant and one limit"
GUIDE = (
    ("Fill", "Enter values in the pale cells of column C. Each sheet is one subject."),
    ("Must be given", "A cell with a bar at its left has no default. Leave any other empty to "
     "take the default that stands in column H."),
    ("Units", "Each row names its unit in column B. Write the number alone, with a decimal point. "
     "The cell above says which units this form uses; changing it converts nothing."),
    ("Low and High", "The range that the value may really lie in, both ends or neither. Empty, a "
     "value of your own varies in proportion as much as the default would, and one without a "
     "default does not vary."),
    ("Shape", "How the value lies in its range, in column L: triangular where the cell is empty; "
     "pert, lognormal (Low and High are then exceeded one time in ten each) or uniform."),
    ("Correlation", "Pairs of fields that move together, by the names of column K, with a rank "
     "correlation between −1 and 1. The sheet Decision correlates capital and prices already; a "
     "pair of your own rules over that."),
    ("Usual", "A value outside its usual range is taken all the same, and listed for a second "
     "look."),
    ("Your source", "Say where a value comes from: a bid with its date, a laboratory, a meter. "
     "Prices and capital without a source are listed in the memo."),
    ("Months", "Twelve values replace a field's value for the year. Fill a row whole or not at "
     "all."),
    ("Coefficients", "What the literature suggests. Overrule one only with better knowledge of "
     "this plant."),
    ("Leave as it is", "Column K ties each row to its field. Rows may be moved within a sheet."),
    ("Then run", "pcompare check FILE names every problem with its cell; pcompare memo FILE "
     "writes the documents."),
    ("Bear in mind", "Planning level: not a design and not for bidding. Local codes, the permit "
     "and a licensed engineer decide."),
)  # fmt: skip
PURPOSES = {
    "Project": "What this case is called, and for whom it is made.",
    "Plant": "Size and surroundings of the plant.",
    "Water": "Raw sewage at the inlet, without loads that come back from the sludge line.",
    "Permit": "What the effluent must meet.",
    "Treatment": "The activated-sludge plant as it stands, and the zones for biological removal.",
    "Solids": "Sludge treatment and outlet.",
    "Salts": "Metal salts, base, filter and storage.",
    "Reuse": "Who uses the effluent again, and what they can bear.",
    "Prices": "In the currency of the sheet Finance; a local quote beats any default.",
    "Capital": "Direct cost at a reference size, scaled by the power of size. Contingency and "
    "engineering come on top.",
    "Finance": "Period, rate and shares. Constant money, real rate.",
    "Coefficients": "Reference values with their status; the memo prints each one that was used.",
    "Decision": "How alternatives are told apart, how costs move together, and other ways out.",
    CORRELATION: "Only where fields move together beyond what the sheet Decision says.",
    MONTHS: "Only where the year is not even. Fields left out keep their value for the year.",
}
