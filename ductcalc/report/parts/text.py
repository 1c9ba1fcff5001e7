"""The shopping and cutting list as text: what to buy, from which rows, how to cut it, what is left, notes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

from ductcalc.answers.columns import Columns
from ductcalc.answers.parts.lengths import Lengths, Stick
from ductcalc.answers.parts.parts import Parts
from ductcalc.answers.parts.uses import PartSource
from ductcalc.report.blocks import Block, Grid, Heading, Paragraph, Span, glued
from ductcalc.report.columns import grid_of, titled
from ductcalc.report.display import Display
from ductcalc.report.findings import findings_blocks
from ductcalc.report.grades import bracketed
from ductcalc.report.head_and_foot import changed_blocks, noted, program_line
from ductcalc.report.parts.words import LotLine, cut_length, lot_lines, mark, money, part_label, part_size, rows_words
from ductcalc.report.sentences import capitalised, listed, several
from ductcalc.report.short import Typed, next_line, warning_lines

MOST_NAMED = 3
SMALL = ("clamp", "hanger", "sealant")
PLURALS = {"clamp": "hose clamps", "hanger": "pipe hangers", "sealant": "tubes of sealant"}
NOT_COUNTED = (
    "Not counted: what slips into a fitting or over a crimped end, spares, screws, wire and tape. Ask of every fitting"
    " which end goes inside and which over: size alone does not tell."
)
STRAIGHTS = (
    "A straight that fits on a stick sold stays in one piece; a longer one is split, with one joint more than needed at"
    " most, and no part chosen shorter than the bore (common practice, no source)."
)
ELECTRIC = "Metal duct is bonded and grounded as the local code says."
BEST_FOUND = 'With scipy a better plan than the best found is looked for: pip install "ductcalc[cutting]"'
CAUTIONS = (
    "Edges of sheet metal cut: gloves and glasses when sawing and deburring. Cut away from the dust, sparks never near"
    " a duct that has been in use.",
    "Metal duct and wired hose are bonded and grounded as the local code says; hangers carry a duct full of chips, so"
    " fasten them to the building's frame.",
)


def parts_blocks(parts: Parts, display: Display, every_finding: bool = False) -> Iterator[Block]:
    """Yield the whole list."""
    yield Paragraph((Span(verdict(parts), "strong"),))
    yield Paragraph(_money_words(parts)) if parts.priced else Paragraph(_fewest(parts))
    if parts.priced and parts.plans:
        yield Paragraph(_fewest(parts))
    yield from changed_blocks(parts.changes)
    if parts.items:
        yield Heading("To buy")
        yield item_grid(parts, display)
    yield from _joints(parts, display, None)
    yield from _cut_plan(parts, display)
    yield from _unused(parts, display)
    yield from findings_blocks(parts.findings, display, every_finding)
    yield from _foot(parts, display)
    yield Paragraph("")
    yield program_line(parts.shop)


def short_parts(
    parts: Parts, display: Display, typed: Typed, cut: bool = False, every: bool = False
) -> Iterator[Block]:
    """Yield what to buy; cut: how to cut it too; every: all warnings."""
    yield Paragraph((Span(verdict(parts), "strong"),))
    yield Paragraph(_money_words(parts)) if parts.priced else Paragraph(_fewest(parts))
    yield from changed_blocks(parts.changes)
    if parts.items:
        yield Paragraph("")
        yield item_grid(parts, display, small=parts.priced)
    if not parts.priced:
        yield from _small_parts(parts, display)
    yield from _joints(parts, display)
    if cut:
        yield from _cut_plan(parts, display)
    yield from _unused(parts, display)
    yield Paragraph("")
    yield from warning_lines(parts.findings, display, typed, every)
    if parts.plans and not cut:
        yield next_line("Cut plan", typed.again("--cut"))
    sharp = "Cut edges of sheet metal are sharp. " if any(plan.name.kind == "pipe" for plan in parts.plans) else ""
    yield Paragraph(f"{sharp}{ELECTRIC} Everything: {typed.again('--full')}")


def _joints(parts: Parts, display: Display, most: int | None = MOST_NAMED) -> Iterator[Block]:
    """Yield how many joints there are, which of them take a sleeve, and which wyes are seldom stocked."""
    if parts.sealed or parts.clamped:
        clamped = several(parts.clamped, "hose end")
        yield Paragraph(f"Joints: {parts.sealed} to seal, {clamped} to clamp.{_sleeves(parts)}")
    if parts.seldom:
        named = [f"{part_label(item.name)} {part_size(item.name, display)}" for item in parts.seldom[:most]]
        more = [several(len(parts.seldom) - len(named), "other kind")] if len(parts.seldom) > len(named) else []
        yield Paragraph(f"Seldom stocked, ask before you cut: {'; '.join([*named, *more])}.")


def _sleeves(parts: Parts) -> str:
    count = sum(use.source.count for use in parts.sleeves)
    if not count:
        return ""
    rows = rows_words([use.source for use in parts.sleeves], True)
    where = f" (rows {rows})" if rows else ""
    each = "each takes a sleeve or a short piece of pipe, not listed"
    return f" At {count} of them fitting meets fitting{where}: {each}."


def _cut_plan(parts: Parts, display: Display) -> Iterator[Block]:
    if parts.plans:
        yield Heading("Cut plan")
        for plan in parts.plans:
            yield from _plan(plan, display)
    yield from _left_overs(parts, display)


def verdict(parts: Parts) -> str:
    """Say in one sentence what to buy."""
    counts = _counts(parts)
    said = [several(number, noun, plural) for noun, (number, plural) in counts.items() if number]
    around = sum(item.have for item in parts.items)
    used = f" {several(around, 'piece')} of what lies around {'is' if around == 1 else 'are'} used." if around else ""
    if not said:
        return f"Nothing to buy.{used}"
    return f"Buy {listed(said)}.{used}"


def _counts(parts: Parts) -> dict[str, tuple[int, str]]:
    """Return how much is to be bought of each sort, with the plural of its noun."""
    fittings = sum(i.buy for i in parts.items if i.name.kind not in ("pipe", "flex", *SMALL))
    small = sum(item.buy for item in parts.items if item.name.kind in SMALL)
    return {
        "stick of pipe": (_bought(parts, "pipe"), "sticks of pipe"),
        "length of hose": (_bought(parts, "flex"), "lengths of hose"),
        "fitting": (fittings, "fittings"),
        "small part": (small, "small parts"),
    }


def _bought(parts: Parts, kind: str) -> int:
    return sum(item.buy for item in parts.items if item.name.kind == kind)


def _fewest(parts: Parts) -> str:
    """Say whether the plan is the best one, else how far from it it can be."""
    pipes = [plan for plan in parts.plans if plan.name.kind == "pipe" and plan.sticks]
    if not pipes:
        return "No pipe is cut."
    bought, least = sum(len(plan.bought) for plan in pipes), sum(plan.at_least for plan in pipes)
    if all(plan.proven for plan in pipes):
        better = "costs less" if all(plan.in_money for plan in pipes) else "buys less pipe"
        said = f"The cut plan is the best there is: no other {better}"
    else:
        said = "The cut plan is the best found"
        said += f": it buys {several(bought, 'stick')} of pipe, at least {least} are needed" if least < bought else ""
    without = sum(min(plan.bought_without_kerf or 0, len(plan.bought)) for plan in pipes)
    spared = bought - without if all(plan.bought_without_kerf is not None for plan in pipes) else 0
    hint = f"; {several(spared, 'stick')} fewer if nothing is lost in the cut" if spared else ""
    return f"{said}{hint}."


def _money_words(parts: Parts) -> str:
    lacking = len(parts.unpriced)
    if not lacking:
        return f"Together they cost {money(parts.total)}."
    return f"What has a price costs {money(parts.total)}; {several(lacking, 'item')} below {_has(lacking)} none."


def _has(count: int) -> str:
    return "has" if count == 1 else "have"


def _small_parts(parts: Parts, display: Display) -> Iterator[Block]:
    """Yield clamps, hangers and sealant in a line, their sizes in brackets."""
    said = []
    for kind in SMALL:
        items = [item for item in parts.items if item.name.kind == kind and item.buy]
        sizes = [f"{item.buy} of {part_size(item.name, display)}" for item in items if item.name.sizes_m]
        if items:
            count = sum(item.buy for item in items)
            said.append(several(count, part_label(items[0].name), PLURALS[kind]) + bracketed(sizes))
    if said:
        yield Paragraph(f"{capitalised(listed(said))}.")


def item_grid(parts: Parts, display: Display, small: bool = True) -> Grid:
    """Return the items as a table; a column of what is there, and of prices, only when there are any.

    small: with clamps, hangers and sealant.
    """

    def label(one: LotLine) -> str:
        name, length_m = part_label(one.item.name) + mark(one.item), one.lot.length_m if one.lot else None
        return name if length_m is None else f"{name}, {cut_length(length_m, display)}"

    def rows(one: LotLine) -> str:
        return rows_words(one.item.sources, one.item.needed_m is None) if one.first else ""

    def paid(amount: float | None) -> str | None:
        return None if amount is None else money(amount)

    have: Columns[LotLine] = (
        titled("have", lambda one: one.item.have or None if one.first else None, right=True),
    )
    prices: Columns[LotLine] = (
        titled("each", lambda one: paid(one.lot.price if one.lot else None), drop=2, right=True),
        titled("cost", lambda one: paid(one.lot.cost if one.lot else None), right=True),
    )
    columns: Columns[LotLine] = (
        titled("part", label),
        titled("size", lambda one: glued(part_size(one.item.name, display))),
        titled("buy", lambda one: one.lot.count if one.lot else 0, right=True),
        *(have if any(item.have for item in parts.items) else ()),
        *(prices if parts.priced else ()),
        titled("rows", rows, drop=1),
    )
    shown = (item for item in parts.items if not item.owned and (small or item.name.kind not in SMALL))
    return grid_of(columns, lot_lines(shown), display)


def _plan(plan: Lengths, display: Display) -> Iterator[Block]:
    """Yield one make and size: what it needs and takes, then its sticks, equal ones together."""
    size, noun = part_size(plan.name, display), "length" if plan.name.kind == "flex" else "stick"
    count = several(len(plan.sticks), noun)
    tail = "" if plan.proven else f"; best found, at least {plan.at_least} to buy"
    waste = f"{cut_length(plan.waste_m, display)} left or cut away" if plan.waste_m > 1e-6 else "nothing left"
    yield Paragraph(
        (
            Span(f"{capitalised(part_label(plan.name))} {size}", "strong"),
            Span(f": {cut_length(plan.needed_m, display)} from {count}, {waste}{tail}"),
        ),
        rest="  ",
    )
    for said, number in Counter(_stick(stick, display) for stick in plan.sticks).items():
        length, _, rest = said.partition("|")
        yield noted(f"{number} x {length}: {rest}")
    yield from _joined(plan, display)


def _joined(plan: Lengths, display: Display) -> Iterator[Block]:
    """Tell which straights are put together from which pieces, those of like pieces in one line."""
    groups: dict[tuple[str, ...], list[PartSource]] = {}
    for joined in plan.joined:
        groups.setdefault(tuple(cut_length(part, display) for part in joined.parts_m), []).append(joined.source)
    for parts, sources in groups.items():
        rows = rows_words([replace(source, count=1) for source in sources], True)
        runs = listed(list(dict.fromkeys(source.run for source in sources)))
        where = f"row{'' if len(sources) == 1 else 's'} {rows}" if rows else f"run {runs}"
        each = " each" if len(sources) > 1 else ""
        yield noted(f"Joined for {where}: {_added(parts)}{each}")


def _added(lengths: Iterable[str]) -> str:
    """Return lengths as a sum, equal ones together."""
    return " + ".join(length if number == 1 else f"{number} x {length}" for length, number in Counter(lengths).items())


def _stick(stick: Stick, display: Display) -> str:
    cuts = _added(cut_length(cut.length_m, display) for cut in stick.cuts)
    left = f", {cut_length(stick.left_m, display, down=True)} left" if stick.left_m > 1e-6 else ""
    origin = "" if stick.bought else " (lying around)"
    whole = " (whole)" if not left and len(stick.cuts) == 1 else ""
    return f"{cut_length(stick.length_m, display)}{origin}|{cuts}{whole}{left}"


def _left_overs(parts: Parts, display: Display) -> Iterator[Block]:
    """Yield what is left and worth keeping, and how much is scrap."""
    lines = []
    for plan in parts.plans:
        kept = sorted((s.left_m for s in plan.sticks if s.left_m >= parts.rules.keep_m), reverse=True)
        counted = Counter(cut_length(length, display, down=True) for length in kept)
        if counted:
            pieces = ", ".join(length if number == 1 else f"{number} x {length}" for length, number in counted.items())
            lines.append(f"{part_label(plan.name)} {part_size(plan.name, display)}: {pieces}")
    if lines:
        yield Heading(f"Left over, {cut_length(parts.rules.keep_m, display)} and longer")
    for line in lines:
        yield noted(line)


def _unused(parts: Parts, display: Display) -> Iterator[Block]:
    if parts.unused:
        yield Heading("Lying around, not used")
    for part in parts.unused:
        length = f", {cut_length(part.length_m, display)}" if part.length_m else ""
        yield noted(f"{part.count} x {part_label(part.name)} {part_size(part.name, display)}{length}")


def _foot(parts: Parts, display: Display) -> Iterator[Block]:
    """Yield remarks and notes."""
    if parts.remarks:
        yield Heading("Remarks")
    for remark in parts.remarks:
        yield noted(remark)
    yield Heading("Notes")
    if not all(plan.proven for plan in parts.plans):
        yield noted(BEST_FOUND)
    yield from _saw(parts, display)
    yield from _lengths_sold(parts, display)
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


def _lengths_sold(parts: Parts, display: Display) -> Iterator[Block]:
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
    if parts.seldom:
        yield noted(
            "Stocked are wyes of one size through with a branch no larger, at 45 or 90 degrees, and those of two like"
            " branches (common practice, no source). A plain wye with reducers at its ends does for most others."
        )


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
