"""The foot of the shopping list: what was assumed, what is not counted, cautions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ductcalc.answers.parts.lengths import Lengths
from ductcalc.answers.parts.parts import Parts
from ductcalc.report.blocks import Block, Heading
from ductcalc.report.closing import noted
from ductcalc.report.display import Display
from ductcalc.report.parts_words import cut_length, part_label, part_size
from ductcalc.report.sentences import listed, several

NOT_COUNTED = (
    "Not counted: what slips into a fitting or over a crimped end, spares, screws, wire and tape. Ask of every fitting"
    " which end goes inside and which over: size alone does not tell."
)
STRAIGHTS = (
    "A straight that fits on a stick sold stays in one piece; a longer one is split, with one joint more than needed at"
    " most, and no part chosen shorter than the bore (common practice, no source)."
)
CAUTIONS = (
    "Edges of sheet metal cut: gloves and glasses when sawing and deburring. Cut away from the dust, sparks never near"
    " a duct that has been in use.",
    "Metal duct and wired hose are bonded and grounded as the local code says; hangers carry a duct full of chips, so"
    " fasten them to the building's frame.",
)


def foot_blocks(parts: Parts, display: Display) -> Iterator[Block]:
    """Yield remarks and notes."""
    if parts.remarks:
        yield Heading("Remarks")
    for remark in parts.remarks:
        yield noted(remark)
    yield Heading("Notes")
    yield from _saw(parts, display)
    yield from _lengths(parts, display)
    yield from _rules(parts, display)
    yield from _adapters(parts, display)
    yield from _wyes(parts)
    yield from _ports(parts, display)
    yield noted(NOT_COUNTED)
    for caution in CAUTIONS:
        yield noted(caution)


def _saw(parts: Parts, display: Display) -> Iterator[Block]:
    """Say where the saw cut alone costs a stick."""
    for plan in parts.plans:
        if plan.bought_without_kerf is not None and plan.bought_without_kerf < len(plan.bought):
            fewer = several(plan.bought_without_kerf, "stick")
            yield noted(
                f"{part_label(plan.name)} {part_size(plan.name, display)}: {fewer} to buy would do if nothing were lost"
                f" in the cut: use snips, or cut pieces {cut_length(plan.kerf_m, display)} short."
            )


def _lengths(parts: Parts, display: Display) -> Iterator[Block]:
    """Say in which lengths pipe and hose were taken to be sold."""
    groups: dict[str, Lengths] = {}
    for plan in parts.plans:
        groups.setdefault(plan.name.style or "hose", plan)
    said = []
    for make, plan in groups.items():
        lengths = listed([cut_length(length, display) for length in plan.sold.lengths_m])
        origin = "as you say" if plan.sold.written else "common practice, no source"
        if plan.sold.taken_from:
            origin = f"as for {plan.sold.taken_from}, its own are not known"
        said.append(f"{make} {lengths} ({origin})")
    if said:
        yield noted(f"Lengths sold: {'; '.join(said)}. {STRAIGHTS}")


def _rules(parts: Parts, display: Display) -> Iterator[Block]:
    rules = parts.rules
    values = {
        "kerf": f"{cut_length(rules.kerf_m, display)} lost in each cut of pipe",
        "hanger spacing": f"a hanger for each {cut_length(rules.hanger_spacing_m, display)} of pipe, run by run",
        "sealant yield": f"a tube of sealant for {display.length(rules.sealant_yield_m)} of joint",
    }
    joints = next((item.needed_m for item in parts.items if item.name.kind == "sealant"), None)
    if joints is not None:
        values["sealant yield"] += f" ({display.length(joints)} here; hose is clamped)"
    own = [text for key, text in values.items() if key not in rules.defaulted]
    assumed = [text for key, text in values.items() if key in rules.defaulted]
    if own:
        yield noted(f"As you say: {'; '.join(own)}.")
    if assumed:
        yield noted(f"Common practice, no source, to be set under [parts] in shop.toml: {'; '.join(assumed)}.")


def _adapters(parts: Parts, display: Display) -> Iterator[Block]:
    kinds = {item.name.kind for item in parts.items}
    if "adapter" in kinds:
        limit = display.size(parts.rules.adapter_limit_m)
        yield noted(
            f"An adapter joins ends within {limit} of each other, one nominal size in two systems or makes (common"
            " practice, no source); ends further apart get a reducer."
        )
    if any(item.assumed and item.name.kind == "reducer" for item in parts.items):
        yield noted("An implied reducer stands between unlike neighbours with no reducer between them.")


def _wyes(parts: Parts) -> Iterator[Block]:
    if any(item.name.kind == "wye" for item in parts.items):
        yield noted("A wye's sizes: outlet x straight inlet x branch; a closed branch is taken as large as the outlet.")


def _ports(parts: Parts, display: Display) -> Iterator[Block]:
    """Say what belongs to machines and is not bought."""
    counts: Counter[str] = Counter()
    for item in parts.items:
        if item.owned:
            counts[part_size(item.name, display)] += item.needed
    own = "; collector, cyclone and filter neither"
    if counts:
        said = listed([f"{number} of {size}" for size, number in counts.items()])
        yield noted(f"Hoods and ports belong to the machines and are not bought: {said}{own}.")
