"""What things are called in sentences and in narrow columns, and what each alternative is."""

from __future__ import annotations

from collections.abc import Sequence

from pcompare import lines, tables
from pcompare.records import StrategyResult

# Names of strategies that fit a narrow column or the end of a line in a chart.
SHORT: dict[str, str] = {
    "no_action": "No action",
    "salt_single_point": "Salt, one point",
    "salt_two_point": "Salt, two points",
    "salt_tertiary": "Salt and filter",
    "lime": "Lime",
    "bio_existing_carbon": "Biological, sewage carbon",
    "bio_fermented_carbon": "Biological, fermenter",
    "bio_purchased_carbon": "Biological, bought carbon",
    "bio_return_sludge_fermentation": "Biological, side stream",
    "side_stream_stripping": "Stripping and lime",
    "bio_with_salt_trim": "Biological, salt trim",
    "bio_with_salt_trim_and_filter": "Biological, trim and filter",
}
POINTS: dict[str, str] = {
    "primary": "ahead of the primary tanks",
    "activated sludge": "into the activated sludge",
    "filter": "ahead of the filter",
}
MODELS: dict[str, str] = {
    "uptake": "Uptake on hydroxide",
    "handbook ratio": "Handbook ratio",
    "kinetic": "Kinetic equilibrium",
    "fixed ratio": "Fixed ratio",
}

DESCRIPTIONS: dict[str, str] = {
    "no_action": "The plant stays as it is. The growth of the sludge takes up some phosphorus "
    "and the rest leaves with the effluent. Base that nitrification alone needs belongs here, so "
    "that the other alternatives are charged only with what they add.",
    "salt_single_point": "A solution of a metal salt is dosed into the activated sludge at one "
    "point. Metal and phosphate form a solid that settles with the sludge and leaves in the cake. "
    "The salt uses up alkalinity and leaves its chloride or sulfate in the water; base makes good "
    "the alkalinity that is missing.",
    "salt_two_point": "The salt is dosed at two points: ahead of the primary tanks, where it also "
    "settles more of the organic solids, and into the activated sludge. Less work is left for the "
    "air, and less carbon for the removal of nitrate; enough phosphorus must pass the primary "
    "tanks for the organisms to grow on. The split of the metal is the one of lowest present "
    "worth among those tried.",
    "salt_tertiary": "The salt is dosed into the activated sludge, in some designs ahead of the "
    "primary tanks too, and a last time ahead of a new filter behind the clarifiers. The filter "
    "holds back suspended solids and with them the phosphorus that they carry, so that more may "
    "stay in solution. The split of the metal is the one of lowest present worth among those "
    "tried.",
    "lime": "Lime raises the pH of the sewage in the primary tanks, where calcium and phosphate "
    "settle as a solid together with calcium carbonate. The dose follows alkalinity and pH rather "
    "than phosphorus, and much of the sludge is calcium carbonate.",
    "bio_existing_carbon": "Part of the tanks is kept without air and without nitrate. Organisms "
    "there take up the volatile fatty acids of the sewage and let phosphate go; in the aerated "
    "tanks they take up far more than they let go, and leave with the wasted sludge. No chemical "
    "is bought: how much phosphorus they take depends on the carbon that the sewage brings.",
    "bio_fermented_carbon": "The same zones and organisms. The plant's own primary sludge is "
    "held a few days without air, and the acids that form go to the zone without air. Nothing is "
    "bought, but nitrogen and phosphorus come with the acids, the digester makes less gas, and "
    "the fermenter has to be built, covered and aired.",
    "bio_return_sludge_fermentation": "The same zones and organisms. Part of the return sludge is "
    "held a day or two without air in a tank aside, where the sludge itself gives the carbon that "
    "the organisms store. Nothing is bought, but the sludge held there does not nitrify, so the "
    "plant needs more tank volume, and some sludge is lost to the digester.",
    "bio_purchased_carbon": "The same zones and organisms, with carbon fed to the zone without "
    "air in each month for what the sewage lacks. Feed and store are sized for the month poor in "
    "acids that the wanted reliability has to bear. Acetic acid adds no salt, sodium acetate "
    "does; either makes sludge and has to be bought year after year.",
    "side_stream_stripping": "The sludge takes phosphorus up under air and lets it go in a tank "
    "without air, through which part of the return sludge passes. A small overflow carries it to "
    "lime, which binds it with calcium; the sludge goes back to take up more. Only the overflow "
    "is limed, so it takes a fraction of the lime that the whole flow would.",
    "bio_with_salt_trim": "The organisms take what the carbon of the sewage allows, and a small "
    "dose of a metal salt takes the rest. Feed and store are sized for the month poor in acids "
    "that the wanted reliability has to bear; what is dosed is the average of good months and bad.",
    "bio_with_salt_trim_and_filter": "The organisms take what the carbon of the sewage allows. A "
    "metal salt is dosed behind the clarifiers, ahead of a new filter, and takes the rest; the "
    "filter holds back suspended solids, which are rich in phosphorus here.",
}
BY_KIND: dict[str, str] = {
    "baseline": DESCRIPTIONS["no_action"],
    "chemical": "A chemical precipitates the phosphorus, which leaves with the sludge.",
    "biological": "Organisms that store phosphorus take it up and leave with the wasted sludge.",
    "combined": "Organisms that store phosphorus take up most of it, and a metal salt the rest.",
}


def description(result: StrategyResult) -> str:
    """Say in plain words what a strategy is."""
    return DESCRIPTIONS.get(result.name) or BY_KIND.get(result.kind, "")


def short(name: str, label: str = "") -> str:
    """Give a strategy's short name; the label, or the name, of one that has none."""
    return SHORT.get(name) or label or lines.LABELS.get(name, name)


def product(name: str) -> str:
    """Give a product's name as a label."""
    return lines.PRODUCTS.get(name) or name.replace("_", " ").capitalize()


def carbon(name: str) -> str:
    """Give the label of bought carbon, with acids made on site where there are some."""
    product_name, _, source = name.partition("_with_")
    label = lines.CARBON.get(product_name) or product_name.replace("_", " ").capitalize()
    return f"{label} and {source.replace('_', ' ')}" if source else label


def base(name: str) -> str:
    """Give a base's name as a label."""
    labels = {row.text("base"): row.text("label") for row in tables.read("base_products")}
    return labels.get(name) or name.replace("_", " ").capitalize()


def layout(name: str) -> str:
    """Give a basin layout's name as a label."""
    labels = {row.text("layout"): row.text("label") for row in tables.read("layouts")}
    return labels.get(name) or name.replace("-", " ").capitalize()


def choices(result: StrategyResult) -> str:
    """Print what is fixed for the run, with products, bases and points in words."""
    found = dict(result.design.choices)
    if "product" in found:
        found["product"] = product(found["product"]).lower()
    if "base" in found:
        found["base"] = base(found["base"]).lower()
    if "dosing points" in found and result.design.points:
        points = [POINTS.get(point, point) for point in result.design.points]
        found["dosing points"] = listed(points)
    return "; ".join(f"{name} {choice}" for name, choice in sorted(found.items()))


def listed(items: Sequence[str], last: str = "and") -> str:
    """Join items as a sentence does."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"
