"""What the fields of money cannot be together: rates, currency, index, phases."""

from __future__ import annotations

import functools
import re

from pcompare.errors import shown
from pcompare.inputs import schema
from pcompare.inputs.draft import DEFAULT, Draft

CURRENCY = "finance.currency"
# Codes that a source note may name: money in another than the case's own was never converted.
CODES = frozenset((
    "USD", "EUR", "GBP", "CHF", "CAD", "AUD", "NZD", "JPY", "CNY", "INR", "MXN", "BRL", "ZAR",
    "SEK", "NOK", "DKK", "PLN", "CZK", "HUF", "SGD", "HKD", "KRW", "ILS", "AED", "THB", "CLP",
))  # fmt: skip
SIGNS = {"€": "EUR", "£": "GBP", "₹": "INR"}
MONEY_SHEETS = ("Prices", "Capital")
MONTH = re.compile(r"(19|20)\d\d-(0[1-9]|1[0-2])")
YEAR = re.compile(r"\b(19|20)\d\d\b")
INDEX = "capital.index_"
FAR, TOO_FAR = 5.0, 15.0  # years that an index may reach: with a remark, and with the user's word


def across(draft: Draft) -> None:
    """Note every contradiction among the fields of money."""
    _currency(draft)
    _rates(draft)
    _index(draft)
    _phases(draft)


def _ready(draft: Draft, *names: str) -> bool:
    return not draft.failed.intersection(names)


def _currency(draft: Draft) -> None:
    """Hold to one currency: nothing here is ever converted."""
    if not _ready(draft, CURRENCY):
        return
    own = str(draft.given[CURRENCY])
    if not re.fullmatch("[A-Z]{3}", own):
        needs = "one code of three capital letters, such as USD or EUR"
        draft.fault(CURRENCY, draft.where(CURRENCY), shown(own), needs)
        return
    for sheet in MONEY_SHEETS:
        for field in schema.sheets()[sheet]:
            note = draft.notes.get(field.name, "")
            if note and (others := sorted(_currencies(note) - {own})):
                found = f"a source in {' and '.join(others)}, but the currency is {own}"
                needs = f"all money in {own}: nothing is converted"
                draft.fault(field.name, draft.where(field.name), found, needs)


@functools.lru_cache(maxsize=1000)
def _currencies(note: str) -> frozenset[str]:
    """Name the currencies of a note; many plants of one base share it."""
    named = CODES.intersection(re.findall(r"\b[A-Z]{3}\b", note))
    return named | {code for sign, code in SIGNS.items() if sign in note}


def _rates(draft: Draft) -> None:
    """Keep a rate with inflation and one without apart."""
    kind, rate, inflation = (
        f"finance.{name}" for name in ("rate_kind", "discount_rate", "inflation")
    )
    if not _ready(draft, kind, rate, inflation):
        return
    told = f"{100.0 * draft.mean(inflation):g} %"
    if draft.given[kind] == "real":
        if draft.mean(inflation) > 0.0:
            found = f"inflation of {told} beside a real discount rate"
            needs = "0, or 'nominal' in finance.rate_kind if the rate holds inflation"
            draft.fault(inflation, draft.where(inflation), found, needs)
    elif draft.mean(inflation) == 0.0:
        needs = "the inflation that a nominal discount rate holds"
        draft.fault(inflation, draft.where(inflation), "no inflation", needs)
    elif draft.mean(rate) < draft.mean(inflation):
        found = f"{100.0 * draft.mean(rate):g} %, below inflation of {told}"
        draft.fault(rate, draft.where(rate), found, "a nominal rate of at least inflation")


def _index(draft: Draft) -> None:
    """Ask for all that identifies two index values, and bound how far they reach."""
    names = [INDEX + part for part in ("then", "now", "series", "month_then", "month_now", "far")]
    if not _ready(draft, *names):
        return
    then, now, series, month_then, month_now, far = names
    values = [draft.mean(name) for name in (then, now)]
    if not any(values):
        return
    for name, value in zip((then, now), values, strict=True):
        if value == 0.0:
            draft.fault(name, draft.where(name), "nothing", "both values of the index, or neither")
    if draft.given[series] == schema.fields()[series].default:
        draft.fault(series, draft.where(series), "no series", "the name of the index")
    months = [str(draft.given[name]) for name in (month_then, month_now)]
    for name, month in zip((month_then, month_now), months, strict=True):
        if not MONTH.fullmatch(month):
            draft.fault(name, draft.where(name), shown(month), "a month such as 2021-06")
    if _ready(draft, month_then, month_now):
        _reach(draft, _months(months[1]) - _months(months[0]), month_now, far)


def _months(month: str) -> int:
    year, number = month.split("-")
    return 12 * int(year) + int(number)


def _reach(draft: Draft, months: int, month_now: str, far: str) -> None:
    years = abs(months) / 12.0
    if years > TOO_FAR and draft.given[far] != "yes":
        found = f"an index that reaches over {years:.0f} years"
        needs = f"at most {TOO_FAR:.0f} years, or 'yes' in {far}"
        draft.fault(month_now, draft.where(month_now), found, needs, "Price the works anew")
    elif years > FAR:
        draft.remarks.append(
            f"{draft.where(month_now)}: capital is carried over {years:.1f} years by an index; "
            f"beyond {FAR:.0f} years a new price is better"
        )


def _phases(draft: Draft) -> None:
    """Place a second phase within the period, before the design year, and only with growth."""
    phase, design, growth, period = (
        "flow.phase_year", "flow.design_year", "flow.growth", "finance.period",
    )  # fmt: skip
    if not _ready(draft, phase, design, growth, period) or draft.mean(phase) == 0.0:
        return
    year, found = draft.mean(phase), f"year {draft.mean(phase):.0f}"
    if draft.mean(growth) <= 0.0:
        draft.fault(phase, draft.where(phase), f"{found}, without growth", f"growth in {growth}")
    elif year >= min(draft.mean(design), draft.mean(period)):
        last = min(draft.mean(design), draft.mean(period))
        needs = f"a year before {last:.0f}, the earlier of design year and period"
        draft.fault(phase, draft.where(phase), found, needs)


def undated(draft: Draft) -> list[str]:
    """Give the places of prices whose source note names no year."""
    return [
        draft.places[field.name]
        for sheet in MONEY_SHEETS
        for field in schema.sheets()[sheet]
        if field.name in draft.notes
        and draft.places[field.name] != DEFAULT
        and not YEAR.search(draft.notes[field.name])
    ]
