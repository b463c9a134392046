"""What values that are each valid alone cannot be together, and what is merely unusual."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from pcompare.equations import alkalinity, nitrogen
from pcompare.inputs import chance, money_checks, schema
from pcompare.inputs.draft import DEFAULT, Draft

# The sum of the parts must not exceed the whole.
NOT_ABOVE: tuple[tuple[tuple[str, ...], str], ...] = (
    (("influent.orthophosphate",), "influent.tp"),
    (("influent.orthophosphate", "influent.nonreactive_p"), "influent.tp"),
    (("influent.bod5",), "influent.cod"),
    (("influent.rbcod",), "influent.cod"),
    (("influent.vfa",), "influent.rbcod"),
    (("influent.vss",), "influent.tss"),
    (("influent.ammonia",), "influent.tkn"),
    (("influent.temperature_minimum",), "influent.temperature_average"),
    (("permit.tp",), "influent.tp"),
)
SHARES = (
    ("coefficient.soluble_inert_fraction", "coefficient.particulate_inert_fraction"),
    ("bio.anaerobic_fraction", "bio.anoxic_fraction"),
)
MOST_UNAERATED = 0.8  # of the sludge mass; beyond it no sludge settles and no nitrifier lives
MOST_CHARGE_ERROR = 0.10  # cations less anions over their sum; beyond it a figure is wrong
EXTRA_ZONES = {
    "five-stage": "bio.second_anoxic_fraction",
    "return-denitrified": "bio.return_anoxic_fraction",
}
WASHOUT = ("coefficient.storing_washout_srt", "coefficient.storing_washout_theta")
SOURCED_SHEETS = ("Prices", "Capital", schema.COEFFICIENTS)  # where a value needs its source


def across(draft: Draft) -> None:
    """Note every contradiction among the fields that were understood."""
    told: set[str] = set()
    for parts, whole in NOT_ABOVE:
        if not _ready(draft, *parts, whole) or parts[0] in told:
            continue
        month = _first_excess(draft, parts, whole)
        if month is not None:
            told.add(parts[0])
            _not_above(draft, parts, whole, month)
    _cod_fractions(draft)
    _unaerated(draft)
    _charge(draft)
    _ranges(draft)
    chance.check(draft)


def _ready(draft: Draft, *names: str) -> bool:
    return not draft.failed.intersection(names)


def _first_excess(draft: Draft, parts: tuple[str, ...], whole: str) -> int | None:
    """Find the first month in which the parts exceed the whole; 0 where none is monthly."""
    columns = [draft.numbers(name) for name in (*parts, whole)]
    months = max(map(len, columns))
    for month in range(months):
        *values, most = (column[month if len(column) > 1 else 0] for column in columns)
        if sum(values) > most * (1.0 + 1e-12):
            return month
    return None


def _at(draft: Draft, name: str, month: int) -> float:
    numbers = draft.numbers(name)
    return numbers[month if len(numbers) > 1 else 0]


def _not_above(draft: Draft, parts: tuple[str, ...], whole: str, month: int) -> None:
    fields = schema.fields()
    first, *others = parts
    found = fields[first].told(_at(draft, first, month), draft.system)
    for other in others:
        amount = fields[other].told(_at(draft, other, month), draft.system)
        found += f" and {_lower(fields[other].label)} {amount}, together"
    limit = fields[whole].told(_at(draft, whole, month), draft.system)
    if any(len(draft.numbers(name)) > 1 for name in (*parts, whole)):
        found += f" in month {month + 1}"
    place = draft.places.get(whole, whole)
    draft.fault(
        first,
        draft.where(first),
        f"{found}, above {_lower(fields[whole].label)} {limit} in {place}",
        "at most that",
    )


def _lower(label: str) -> str:
    """Put a label into a sentence; COD and pH keep their letters."""
    return label[0].lower() + label[1:] if label[1:2].islower() else label


def _cod_fractions(draft: Draft) -> None:
    """Inert shares and readily biodegradable COD leave room for slowly biodegradable COD."""
    names = ("influent.cod", "influent.rbcod", *SHARES[0])
    if not _ready(draft, *names):
        return
    inert = sum(draft.mean(name) for name in SHARES[0])
    cod = schema.fields()["influent.cod"]
    for month in range(max(len(draft.numbers(name)) for name in names)):
        rbcod, total = (_at(draft, name, month) for name in names[1::-1])
        if rbcod + inert * total > total:
            draft.fault(
                "influent.rbcod",
                draft.where("influent.rbcod"),
                f"{cod.told(rbcod, draft.system)}, and {inert:.0%} of the COD as inert, together "
                f"above COD {cod.told(total, draft.system)}",
                "fractions that sum to at most the COD",
            )
            return


def _unaerated(draft: Draft) -> None:
    """Leave enough of the sludge under air, the extra zone of a layout counted."""
    names = list(SHARES[1])
    layout = draft.given.get("bio.layout")
    if layout in EXTRA_ZONES:
        names.append(EXTRA_ZONES[str(layout)])
    if not _ready(draft, *names):
        return
    shares = [draft.mean(name) for name in names]
    if sum(shares) > MOST_UNAERATED:
        first, *others = names
        fields = schema.fields()
        found = f"{shares[0]:g}" + "".join(
            f", and {_lower(fields[n].label)} {x:g}"
            for n, x in zip(others, shares[1:], strict=True)
        )
        needs = f"together at most {MOST_UNAERATED:g} of the sludge mass"
        draft.fault(first, draft.where(first), found, needs)


def _washed_out(draft: Draft) -> str:
    """Warn of a sludge age at which organisms that store phosphorus cannot stay."""
    names = ("secondary.srt", "influent.temperature_minimum", *WASHOUT)
    if not _ready(draft, *names):
        return ""
    age, coldest, least, theta = (draft.mean(name) for name in names)
    needed = float(nitrogen.storing_washout(least, theta, coldest))
    if age >= needed:
        return ""
    told = schema.fields()["secondary.srt"].told
    return (
        f"{draft.where('secondary.srt')}: {told(age, draft.system)} is below the "
        f"{told(round(needed, 1), draft.system)} that organisms which store phosphorus need at "
        f"{schema.fields()[names[1]].told(coldest, draft.system)}: biological alternatives fail "
        "unless tanks are added"
    )


def _charge(draft: Draft) -> None:
    """Refuse an analysis whose ions are far from balance; a smaller error is carried along."""
    names = [f"influent.{ion}" for ion in alkalinity.IONS_OF_AN_ANALYSIS]
    if not _ready(draft, *names):
        return
    found = alkalinity.charge_error(*(draft.mean(name) for name in names))
    if abs(found.share) <= MOST_CHARGE_ERROR:
        return
    side = "cations" if found.share < 0.0 else "anions"
    near = names[1] if side == "cations" else names[0]
    listed = "sodium, potassium, calcium, magnesium, ammonia"
    if side == "anions":
        listed = "alkalinity, chloride, sulfate, nitrate, orthophosphate"
    draft.fault(
        near,
        draft.where(near),
        f"ions {100.0 * abs(found.share):.0f} % of their sum out of balance, too few {side}: "
        f"cations {found.cations:.2f} and anions {found.anions:.2f} meq/L in all",
        f"an analysis in balance within {100.0 * MOST_CHARGE_ERROR:.0f} %",
        f"Look for what is missing among {listed}, and at the units of all ions",
    )


def _ranges(draft: Draft) -> None:
    """Hold each value to the range given for it."""
    for name, (low, high) in draft.ranges.items():
        if not _ready(draft, name):
            continue
        field = schema.fields()[name]
        middle = draft.mean(name)
        # Both went through the user's units and may differ by a rounding.
        room = 1e-9 * max(abs(low), abs(middle), abs(high))
        if not low - room <= middle <= high + room:
            low_told, value, high_told = (field.told(x, draft.system) for x in (low, middle, high))
            draft.fault(
                name,
                draft.range_places[name],
                f"low {low_told}, value {value}, high {high_told}",
                "low, value and high in rising order",
                "Change or empty the range",
            )
        elif not low <= middle <= high:
            draft.ranges[name] = (min(low, middle), max(high, middle))


def warnings(draft: Draft) -> Iterator[str]:
    """Name what is unusual, each with its place: it does not stop the run."""
    yield from draft.remarks
    yield from chance.remarks(draft)
    for field, (low, high), found in unusual(draft, schema.fields().values()):
        ends = f"{field.told(low, draft.system)} to {field.told(high, draft.system)}"
        value = field.told(found, draft.system)
        yield f"{draft.where(field.name)}: {value} is outside the usual range, {ends}"
    if lost := _washed_out(draft):
        yield lost
    for sheet in SOURCED_SHEETS:
        bare = [
            draft.places[field.name]
            for field in schema.sheets()[sheet]
            if draft.places[field.name] not in (DEFAULT, "example")
            and not draft.places[field.name].startswith("--set")
            and field.name not in draft.notes
        ]
        if bare:
            yield f"{sheet}: no source noted for {_listed(bare)}"
    bare = money_checks.undated(draft)
    if bare:
        yield f"Prices and capital: no year in the source of {_listed(bare)}"


def unusual(
    draft: Draft, fields: Iterable[schema.Field]
) -> Iterator[tuple[schema.Field, tuple[float, float], float]]:
    """Find the values that were given outside their usual range, with its ends."""
    for field in fields:
        if field.usual is None or draft.places[field.name] == DEFAULT:
            continue
        low, high = field.usual
        year = draft.yearly.get(field.name)
        given = draft.numbers(field.name) if year is None else (year,)
        outside = [x for x in given if not low <= x <= high]
        if outside:
            yield field, field.usual, outside[0]


def _listed(places: list[str], most: int = 6) -> str:
    """List places, and count those beyond a few."""
    rest = len(places) - most
    return ", ".join(places[:most]) + (f" and {rest} more" if rest > 0 else "")
