"""Section 6 of the memo: dissolved salts and what they mean to those who use the water."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pcompare import lines
from pcompare.documents import chapters, names, pages, reuse_charts, reuse_words, style
from pcompare.documents.flowables import see
from pcompare.documents.pages import section, tabled
from pcompare.documents.salt_words import carried, printed
from pcompare.documents.style import Cell, bullet, para, table
from pcompare.documents.words import NONE, Figures, choice, cited, lower, share
from pcompare.findings import Dossier, SaltRoom, UseLimit

# isort: split
from reportlab.platypus import Flowable

IONS = ("effluent_sodium", "effluent_potassium", "effluent_calcium", "effluent_magnesium",
        "effluent_ammonia", "effluent_chloride", "effluent_sulfate", "bicarbonate", "carbonate",
        "effluent_nitrate", "effluent_phosphate", "unmeasured_ions")  # fmt: skip
SUMS = ("tds_ion_sum", "tds_residue", "conductivity", "conductivity_standard",
        "alkalinity_residual", "ph", "sar", "chloride_sulfate_ratio", "larson_ratio")  # fmt: skip
HEADS = {
    "effluent_sodium": "Na",
    "effluent_potassium": "K",
    "effluent_calcium": "Ca",
    "effluent_magnesium": "Mg",
    "effluent_ammonia": "NH₄ as N",
    "effluent_chloride": "Cl",
    "effluent_sulfate": "SO₄",
    "bicarbonate": "HCO₃",
    "carbonate": "CO₃",
    "effluent_nitrate": "NO₃ as N",
    "effluent_phosphate": "PO₄ as P",
    "unmeasured_ions": "Not measured, meq/L",
    "tds_ion_sum": "Solids, ion sum, mg/L",
    "tds_residue": "Solids, residue, mg/L",
    "conductivity": "Conductivity, µS/cm",
    "conductivity_standard": "Standard estimate, µS/cm",
    "alkalinity_residual": "Alkalinity, mg CaCO₃/L",
    "ph": "pH",
    "sar": "Sodium adsorption",
    "chloride_sulfate_ratio": "Cl to SO₄",
    "larson_ratio": "Larson ratio",
}
FOLLOWED = ("tds", "chloride", "conductivity")  # in the first table of the loop
BESIDE = ("sulfate", "sodium", "bicarbonate", "sar")  # in the second
SUPPLY = {"normal": "normal year", "drought": "drought"}
EVERY_WATER = {"effluent": "undiluted", **SUPPLY}
CHARTED = (("tds", "Dissolved solids"), ("chloride", "Chloride"))


def reuse(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give section 6."""
    use = choice(dossier.inputs, "project.downstream_use")
    found: list[Flowable] = section(f"{chapters.REUSE} Dissolved salts and reuse", 0)
    found.append(
        para(
            "A metal salt leaves its chloride or sulfate in the water and takes alkalinity, which "
            "somebody puts back with a base. Dissolved solids alone hide this while bicarbonate "
            "makes room; chloride, conductivity and alkalinity show it. "
            f"{see('supply')} has the water that is used again, {see('limits')} the limits of "
            f"its users."
        )
    )
    if use:
        found.append(para(f"Who uses the water: {use}.", limit=style.USER_TEXT))
    found += [bullet(s) for s in reuse_words.verdict_sentences(dossier, figures)]
    found += [bullet(note) for note in dossier.reuse.notes]
    return [
        *found,
        *_ledger(dossier, figures),
        *_loop(dossier, figures),
        *_drought(dossier, figures),
        *_limits(dossier, figures),
        *_room(dossier, figures),
        *_cost(dossier, figures),
    ]


# --- the ledger -------------------------------------------------------------------------------


def _ledger(dossier: Dossier, figures: Figures) -> list[Flowable]:
    note = (
        "Mean of the year; ions in mg/L, those of nitrogen and phosphorus as N and P. All metal "
        "counts as solids: none is left in solution. Ions that the analysis leaves out pass the "
        "plant unchanged, equal in every alternative; a negative figure means anions. Conductivity "
        "counts pairs of ions; the standard method's estimate stands beside it, low on waters "
        "ruled by sodium and chloride. Stored phosphorus takes potassium and magnesium along. The "
        "sodium adsorption ratio is adjusted for nothing."
    )
    return [
        *section(f"{chapters.REUSE}.1 Every ion of the effluent", 1),
        para(note, style.QUIET_SMALL),
        *tabled("Ions of the effluent", _ledger_table(dossier, IONS, figures), "ions"),
        *tabled("Sums over the ions", _ledger_table(dossier, SUMS, figures)),
    ]


def _ledger_table(dossier: Dossier, quantities: Sequence[str], figures: Figures) -> Flowable:
    results = dossier.comparison.strategies.values()
    rows: list[list[Cell]] = [
        [names.short(r.name, r.label), *(printed(r.lines, q, figures) for q in quantities)]
        for r in results
    ]
    head = ["Alternative", *(HEADS[q] for q in quantities)]
    widths = [112.0, *([34.0] * len(quantities))]
    return table(head, rows, widths, numbers=range(1, len(head)))


# --- loop and drought -------------------------------------------------------------------------


def _loop(dossier: Dossier, figures: Figures) -> list[Flowable]:
    sentences = reuse_words.loop_sentences(dossier, figures)
    approach = reuse_words.approach_sentence(dossier, figures, "salt_single_point")
    note = (
        "Undiluted: the effluent itself, normal year. Normal year and drought: the reused supply "
        "in the long run. Conductivity is mixed in proportion, good to some percent. A dash stands "
        "where there is no steady state."
    )
    return [
        *section(f"{chapters.REUSE}.2 The reused supply in the long run", 1),
        *(para(sentence) for sentence in sentences),
        *([para(approach)] if approach else []),
        *tabled(
            "Effluent and reused supply: dissolved solids, chloride, conductivity",
            _supply_table(dossier, FOLLOWED, EVERY_WATER, figures),
            "supply",
        ),
        *tabled(
            "Reused supply: what else users ask for",
            _supply_table(dossier, BESIDE, SUPPLY, figures),
        ),
        para(note, style.QUIET_SMALL),
    ]


def _supply_table(
    dossier: Dossier, quantities: Sequence[str], waters: Mapping[str, str], figures: Figures
) -> Flowable:
    """Set some quantities of each alternative's waters below each other."""
    picture = dossier.reuse
    known = {q.key: q for q in picture.quantities}
    head = ["Alternative"]
    for key in quantities:
        what = f"{_plain_label(known[key].label)}, {figures.unit(known[key].unit)}".rstrip(", ")
        first, *others = waters.values()
        head += [f"{what}: {first}", *others]
    rows: list[list[Cell]] = [
        [
            names.short(name),
            *(
                figures.number(getattr(water[key], when), known[key].unit)
                for key in quantities
                for when in waters
            ),
        ]
        for name, water in picture.water.items()
    ]
    return table(head, rows, [112.0, *([40.0] * (len(head) - 1))], numbers=range(1, len(head)))


def _plain_label(label: str) -> str:
    """Leave out of a label what the text says once."""
    return label.split(",")[0].split(" at ")[0]


def _drought(dossier: Dossier, figures: Figures) -> list[Flowable]:
    caption = (
        "Reused supply in the long run, loads of phosphorus and salt per person unchanged. "
        "Alternatives whose lines fall together are drawn as one. Strong lines and filled dots "
        "keep every limit that counts; thin lines and open dots do not."
    )
    found = [
        *section(f"{chapters.REUSE}.3 Drought", 1),
        *(bullet(s) for s in reuse_words.drought_sentences(dossier, figures)),
    ]
    for i, (quantity, title) in enumerate(CHARTED):
        drawing = reuse_charts.drought(dossier, figures, quantity)
        members = _members(dossier, quantity)
        found.append(
            pages.figure(
                f"{title} of the reused supply in a drought", drawing,
                f"{caption}{members}" if i == 0 else f"As above.{members}",
            )
        )  # fmt: skip
    return found


def _members(dossier: Dossier, quantity: str) -> str:
    """Say who goes with whom on the chart."""
    groups = reuse_charts.grouped(dossier.reuse.curves["both"], quantity)
    parts = [
        f"with {lower(names.short(g.members[0]))} go {reuse_words.listed_short(g.members[1:])}"
        for g in groups
        if len(g.members) > 1
    ]
    return f" Together: {'; '.join(parts)}." if parts else ""


# --- limits -----------------------------------------------------------------------------------


def _limits(dossier: Dossier, figures: Figures) -> list[Flowable]:
    note = (
        "Every limit is held against the reused supply. Published limits are goals or guides of "
        "their use, not this plant's permit; the class says what holds where the limit is kept. "
        "Limits on a cooling tower are divided by its cycles of concentration. A dash: kept by "
        "all alternatives."
    )
    picture = dossier.reuse
    carried_names = list(picture.verdicts)
    rows: list[list[Cell]] = []
    bands: list[int] = []
    use = ""
    for limit in picture.limits:
        if limit.use != use:
            use = limit.use
            bands.append(len(rows))
            rows.append([use, *([""] * 4)])
        rows.append(_limit_row(dossier, limit, carried_names, figures))
    head = ("Limit", "Class", "Not kept, normal year", "Not kept, drought", "Status, source")
    return [
        *section(f"{chapters.REUSE}.4 Limits by use", 1),
        para(note, style.QUIET_SMALL),
        *tabled(
            "Limits by use, and who does not keep them",
            table(head, rows, (118, 62, 104, 104, 86), bands=bands),
            "limits",
        ),
        *_soil_and_crops(dossier, figures),
    ]


def _limit_row(
    dossier: Dossier, limit: UseLimit, carried_names: Sequence[str], figures: Figures
) -> list[Cell]:
    picture = dossier.reuse
    label = next(q.label for q in picture.quantities if q.key == limit.quantity)
    label = _plain_label(label)
    number = figures.given if limit.own else figures.amount
    row: list[Cell] = [f"{label}, {limit.sense} {number(limit.value, limit.unit)}"]
    row.append("" if limit.own else limit.grade)
    for when in ("normal", "drought"):
        said = reuse_words.exceptions(picture, limit, when, carried_names)
        row.append(para(said, style.CELL if said == NONE else style.CELL_ALARM))
    row.append("as given" if limit.own else cited(limit.status, limit.source))
    return row


def _soil_and_crops(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Entry into soil, and crops that lose yield in the drought under any alternative."""
    picture = dossier.reuse
    groups: dict[tuple[str, str], list[str]] = {}
    for name, classes in picture.infiltration.items():
        groups.setdefault(classes, []).append(name)
    soil = "; ".join(
        f"{normal} in a normal year and {drought} in the drought with "
        f"{reuse_words.listed_short(members)}"
        for (normal, drought), members in groups.items()
    )
    found: list[Flowable] = []
    if soil:
        found.append(para(f"Restriction on irrigation by sodium in the soil: {soil}."))
    shown = [n for n in ("no_action", *dossier.comparison.ranking[:2], "salt_single_point")
             if n in picture.crops]  # fmt: skip
    shown = list(dict.fromkeys(shown))
    hurt = sorted({crop for n in shown for crop, y in picture.crops[n].items()
                   if y[1] is not None and y[1] < 99.5})  # fmt: skip
    if not hurt:
        text = "No crop of the tables loses yield, in the drought either, at usual leaching."
        return [*found, para(text)] if shown else found
    rows: list[list[Cell]] = [
        [crop, *(figures.number(picture.crops[n][crop][1], "-") for n in shown)] for crop in hurt
    ]
    head = ("Crop", *(names.short(n) for n in shown))
    note = (
        "Yield in the drought, in % of the same crop without salt, for crops that lose any: by "
        "threshold and slope, with 15 to 20 % of the water drained below the roots."
    )
    crops = table(head, rows, (120, *([88] * len(shown))), numbers=range(1, len(head)))
    return [*found, *tabled("Yield of crops in the drought", crops), para(note, style.QUIET_SMALL)]


# --- room and cost ----------------------------------------------------------------------------


def _room(dossier: Dossier, figures: Figures) -> list[Flowable]:
    picture = dossier.reuse
    doses = {name: found.get("metal_dose") for name, found in dossier.salts.items()}
    limits = [key for key in picture.governing if any(r.limit == key for r in picture.rooms)]
    if not limits:
        return []
    by_key = {(room.product, room.limit): room for room in picture.rooms}
    head = ["Metal salt", "Dose that the permit takes"]
    for key in limits:
        name = reuse_words.limit_name(picture.limit(key), picture, figures)
        head += [f"{name[0].upper()}{name[1:]}: normal year", "drought"]
    rows: list[list[Cell]] = []
    for product in dict.fromkeys(room.product for room in picture.rooms):
        dose = doses.get(product)
        wanted = None if dose is None else dose.value
        cells: list[Cell] = [
            para(names.product(product),
                 style.CELL_STRONG if product == carried(dossier) else style.CELL),
            figures.number(wanted, "mg/L"),
        ]  # fmt: skip
        for key in limits:
            room = by_key[product, key]
            cells += [_told(room, when, wanted, figures) for when in ("normal", "drought")]
        rows.append(cells)
    note = (
        "Largest dose, in mg of metal per litre, with which the supply keeps the limit: solved "
        "from the effluent of no action, with the sodium that puts the alkalinity back. The "
        "phosphate that the metal removes is not credited, which is on the safe side. Any: the "
        "product adds nothing, or too little, of what is limited. Bold: less than the permit takes."
    )
    widths = [112.0, 60.0, *([60.0] * (len(head) - 2))]
    return [
        *section(f"{chapters.REUSE}.5 Salt room", 1),
        para(
            "How much metal the reuse can bear, product by product, beside the dose that the "
            "permit takes at one point in a normal year."
        ),
        *tabled(
            "Salt room of each metal salt",
            table(head, rows, widths, numbers=range(1, len(head))),
            "room",
        ),
        para(note, style.QUIET_SMALL),
    ]


def _told(room: SaltRoom, when: str, wanted: float | None, figures: Figures) -> Cell:
    value = getattr(room, when)
    if value is None:
        return para("any", style.CELL_RIGHT)
    number = figures.number(value, "mg/L")
    if wanted is not None and value < wanted:
        return para(number, style.CELL_ALARM_RIGHT)
    return para(number, style.CELL_RIGHT)


def _cost(dossier: Dossier, figures: Figures) -> list[Flowable]:
    picture = dossier.reuse
    counted = choice(dossier.inputs, "reuse.salt_cost", "none")
    money = lines.KINDS["annual_cost"].unit
    rows: list[list[Cell]] = [
        [
            names.short(name),
            figures.number(cost.salt, "t/y"),
            figures.number(cost.damage, money, 2),
            figures.spread(cost.removal_low, cost.removal_high, money) or NONE,
            share(cost.treated_fraction) if cost.treated_fraction > 0.0 else NONE,
            share(cost.water_lost) if cost.water_lost > 0.0 else NONE,
        ]
        for name, cost in picture.costs.items()
    ]
    head = ("Alternative", f"Salt added, {figures.unit('t/y')}",
            f"Damage to users, {figures.unit(money)}",
            f"Taken back out, {figures.unit(money)}", "Share treated", "Water lost")  # fmt: skip
    text = (
        "Damage and removal are two answers to one question, what the salt is worth: they bracket "
        "it and are never added together. "
    )
    text += (
        "Neither is in the costs of this memo."
        if counted == "none"
        else f"The {counted} is counted in the annual cost, as the user chose."
    )
    note = (
        "Beyond no action, with the sodium of alkalinity put back downstream. Taken back: a side "
        "stream through membranes brings the effluent to the dissolved solids of no action; "
        "membranes alone, without capital and brine disposal. Damage per kilogram is of another "
        "region and of 1995 unless the user gave a figure. A negative damage is a relief."
    )
    return [
        *section(f"{chapters.REUSE}.6 What the salt costs", 1),
        para(text),
        *tabled(
            "What the salt costs those who use the water again",
            table(head, rows, (112, 66, 80, 100, 56, 56), numbers=range(1, len(head))),
        ),
        para(note, style.QUIET_SMALL),
    ]
