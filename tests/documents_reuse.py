"""An invented picture of salt downstream for the tests of the documents. No number here is real."""

from __future__ import annotations

from dataclasses import replace

from pcompare import lines
from pcompare.findings import (
    ReuseLoop,
    ReusePicture,
    SaltCost,
    SaltRoom,
    Sweep,
    UsedWater,
    UseLimit,
    UseQuantity,
    UseVerdict,
)

QUANTITIES = (
    UseQuantity(key="tds", label="Dissolved solids, residue at 180 °C", unit="mg/L"),
    UseQuantity(key="chloride", label="Chloride", unit="mg/L"),
    UseQuantity(key="sulfate", label="Sulfate", unit="mg/L"),
    UseQuantity(key="sodium", label="Sodium", unit="mg/L"),
    UseQuantity(key="bicarbonate", label="Bicarbonate", unit="mg/L"),
    UseQuantity(key="conductivity", label="Conductivity at 25 °C", unit="uS/cm"),
    UseQuantity(key="sar", label="Sodium adsorption ratio", unit="-"),
)
# source, effluent, normal year, drought; and what one-point salt adds to each of the last three
WATER = {
    "tds": (231.0, 611.0, 452.0, 587.0, 63.0),
    "chloride": (37.0, 128.0, 91.0, 126.0, 44.0),
    "sulfate": (31.0, 77.0, 58.0, 74.0, 0.0),
    "sodium": (27.0, 93.0, 68.0, 89.0, 17.0),
    "bicarbonate": (113.0, 119.0, 116.0, 124.0, -9.0),
    "conductivity": (391.0, 1043.0, 778.0, 1012.0, 121.0),
    "sar": (1.1, 2.87, 2.3, 2.9, 0.4),
}
SHARE = {"no_action": 0.0, "bio_existing_carbon": -0.2, "bio_purchased_carbon": -0.22,
         "bio_fermented_carbon": -0.21, "bio_with_salt_trim": 0.12}  # fmt: skip
POINTS = tuple(i / 10.0 for i in range(9))


def _limit(key: str, use: str, quantity: str, value: float, grade: str, status: str) -> UseLimit:
    unit = next(q.unit for q in QUANTITIES if q.key == quantity)
    source = "" if key.startswith("own.") else "FAO29"
    return UseLimit(
        key=key, use=use, quantity=quantity, value=value, unit=unit, sense="at most",
        grade=grade, status=status, source=source, locator="Table 1", note="",
    )  # fmt: skip


LIMITS = (
    _limit("own.tds", "Limit of the users", "tds", 620.0, "met", ""),
    _limit("own.chloride", "Limit of the users", "chloride", 140.0, "met", ""),
    _limit("us_secondary_tds", "Drinking water, US secondary level", "tds", 500.0, "met",
           "published"),
    _limit("fao_conductivity_none", "Irrigation", "conductivity", 700.0, "none", "secondary"),
    _limit("fao_conductivity_moderate", "Irrigation", "conductivity", 3000.0,
           "slight to moderate", "secondary"),
    _limit("aquatic_chloride_chronic", "Aquatic life", "chloride", 230.0, "chronic, 4 days",
           "published"),
)  # fmt: skip


def _water(name: str) -> dict[str, UsedWater]:
    share = SHARE.get(name, 1.0)
    return {
        key: UsedWater(source=source, effluent=effluent + share * more,
                       normal=normal + 0.6 * share * more, drought=drought + 0.9 * share * more)
        for key, (source, effluent, normal, drought, more) in WATER.items()
    }  # fmt: skip


def _verdict(limit: UseLimit, water: UsedWater) -> UseVerdict:
    keeps = {
        w: (getattr(water, w) or 9e9) <= limit.value for w in ("effluent", "normal", "drought")
    }
    return UseVerdict(limit=limit.key, cycles=None if keeps["normal"] else 2.4,
                      largest_share=0.47 if keeps["normal"] else 0.21, **keeps)  # fmt: skip


def _curve(label: str, steep: float) -> Sweep:
    values = {}
    for name in lines.LABELS:
        water = _water(name)
        values[name] = {
            key: tuple((one.normal or 0.0) * (1.0 + steep * p**2 / (1.05 - p)) for p in POINTS)
            for key, one in water.items()
        } | {f"effluent_{k}": tuple(w.effluent or 0.0 for _ in POINTS) for k, w in water.items()}
    return Sweep(
        along="cut", label=label, unit="-", points=POINTS, values=values,
        feasible={n: tuple(v <= 620.0 for v in rows["tds"]) for n, rows in values.items()},
    )  # fmt: skip


def _approach() -> Sweep:
    points = tuple(float(n) for n in range(8))
    values = {}
    for name in lines.LABELS:
        water = _water(name)
        values[name] = {
            key: tuple(
                (water[key].normal or 0.0)
                - 0.4**n * ((water[key].normal or 0.0) - (water[key].source or 0.0))
                for n in points
            )
            for key in ("tds", "chloride")
        }
    return Sweep(along="cycles", label="Cycles of use", unit="-", points=points, values=values,
                 feasible={})  # fmt: skip


def invented_picture() -> ReusePicture:
    """Make a picture in which metal salts pass in a normal year and fail in the drought."""
    loop = ReuseLoop(river_cut=0.0, use_cut=0.0, return_fraction=0.33, evaporation_fraction=0.07,
                     multiplier=0.355, capped=False, steady=True, reason="")  # fmt: skip
    water = {name: _water(name) for name in lines.LABELS}
    return ReusePicture(
        form="river",
        normal=loop,
        drought=replace(loop, river_cut=0.45, use_cut=0.15, return_fraction=0.43, multiplier=0.462),
        quantities=QUANTITIES,
        water=water,
        limits=LIMITS,
        governing=("own.tds", "own.chloride"),
        verdicts={
            name: {limit.key: _verdict(limit, one[limit.quantity]) for limit in LIMITS}
            for name, one in water.items()
        },
        infiltration=dict.fromkeys(water, ("none", "slight to moderate")),
        crops={n: {"Bean": (97.0, 91.2), "Orange": (100.0, 98.3)} for n in water},
        curves={
            "river": _curve("River flow missing", 0.25),
            "use": _curve("Use per person saved", 0.02),
            "both": _curve("River flow missing, use saved in proportion", 0.24),
        },
        approach=_approach(),
        rooms=(
            SaltRoom(product="ferric_chloride", limit="own.tds", normal=81.3, drought=7.4,
                     reason=""),
            SaltRoom(product="liquid_alum", limit="own.tds", normal=31.9, drought=2.9, reason=""),
            SaltRoom(product="ferric_chloride", limit="own.chloride", normal=103.0, drought=11.2,
                     reason=""),
            SaltRoom(product="liquid_alum", limit="own.chloride", normal=None, drought=None,
                     reason="the product adds nothing, or too little, of what is limited"),
        ),
        costs={
            name: SaltCost(salt=311.0 * SHARE.get(name, 1.0), damage=117e3 * SHARE.get(name, 1.0),
                           removal_low=max(271e3 * SHARE.get(name, 1.0), 0.0),
                           removal_high=max(459e3 * SHARE.get(name, 1.0), 0.0),
                           treated_fraction=max(0.127 * SHARE.get(name, 1.0), 0.0),
                           water_lost=max(0.0317 * SHARE.get(name, 1.0), 0.0))
            for name in water
        },
        unmeasured=-0.113,
        unmeasured_share=0.0066,
        notes=(),
    )  # fmt: skip


def ugly_picture() -> ReusePicture:
    """Make a picture without a steady state, with markup in every text and hardly any rows."""
    plain = invented_picture()
    nothing = UsedWater(source=None, effluent=None, normal=None, drought=None)
    unsteady = replace(plain.normal, multiplier=1.3, steady=False, capped=True,
                       reason="<as much> salt comes back & more")  # fmt: skip
    return replace(
        plain,
        normal=unsteady,
        drought=unsteady,
        water={name: dict.fromkeys(one, nothing) for name, one in plain.water.items()},
        limits=tuple(replace(limit, use="<use> & " * 9, note="a <note>") for limit in LIMITS),
        crops={},
        infiltration=dict.fromkeys(plain.infiltration, ("no steady state", "no steady state")),
        curves={n: replace(c, points=(), values={}, feasible={}) for n, c in plain.curves.items()},
        approach=replace(plain.approach, points=(), values={}),
        rooms=(),
        notes=("The analysis lacks <anions> & more.",),
    )
