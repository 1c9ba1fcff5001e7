"""What to buy for a shop's ducts and how to cut it, row by row of the duct table; what lies around is used up first."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, get_args

from ductcalc.answers.parts.buying import (
    Bag,
    PartKey,
    Rules,
    hoses_of,
    key_of_part,
    price_of,
    rules_of,
    sticks_of,
)
from ductcalc.answers.parts.lengths import Lengths, coupling, lengths_of
from ductcalc.answers.parts.uses import PartSource, PartUse, clamps, hangers, seams, sleeves, started, stretches, uses
from ductcalc.catalog import fact
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import findings_in
from ductcalc.model.model import Model, build_model
from ductcalc.shop.kinds import PartKind
from ductcalc.shop.parts import PartName, Price, StockPart
from ductcalc.shop.shop import Shop
from ductcalc.units.closed_list import UnitSystem

if TYPE_CHECKING:
    import pandas

SAME_M = 0.0005
ORDER: tuple[PartKind, ...] = get_args(PartKind)


@dataclass(frozen=True)
class Lot:
    """So many alike to buy; length_m [m] of each for pipe and hose; price of one and of all, None when not given."""

    count: int
    length_m: float | None = None
    price: float | None = None
    cost: float | None = None


@dataclass(frozen=True)
class Item:
    """One kind of part. needed: pieces of it, or tubes of sealant; needed_m: their length [m] where length counts.

    have: how many of them (of pipe and hose: how many lengths) come from what lies around. lots: what to buy.
    sources: the rows it comes from; their counts, and where length counts their lengths, add up to what is needed.
    assumed: a part or build that no row says. owned: part of a machine, nothing to buy.
    """

    name: PartName
    needed: int
    needed_m: float | None
    have: int
    lots: tuple[Lot, ...]
    sources: tuple[PartSource, ...]
    assumed: bool
    owned: bool = False

    @property
    def buy(self) -> int:
        """How many to buy."""
        return sum(lot.count for lot in self.lots)

    @property
    def cost(self) -> float | None:
        """What they cost, None when a price is not given."""
        costs = [lot.cost for lot in self.lots]
        return None if any(cost is None for cost in costs) else sum(cost for cost in costs if cost is not None)


@dataclass(frozen=True)
class Parts:
    """The shopping and cutting list of a shop.

    items: in the order pipe, hose, fittings, small parts, machines' own ports. plans: a cut plan for each make and size
    of pipe and hose. sealed, clamped: how many joints are sealed, and ends of hose clamped. sleeves: joints of fitting
    to fitting, each of which takes a sleeve or a short piece of pipe; told, not bought. unused: what lies around and
    stays there. not_bought: rows of the collector. priced: whether any price was given. changes: what was changed of
    the shop as a what-if.
    """

    shop: str
    units: UnitSystem
    items: tuple[Item, ...]
    plans: tuple[Lengths, ...]
    sealed: int
    clamped: int
    sleeves: tuple[PartUse, ...]
    unused: tuple[StockPart, ...]
    not_bought: tuple[PartSource, ...]
    rules: Rules
    priced: bool
    remarks: tuple[str, ...]
    changes: tuple[str, ...] = ()
    findings: Findings = NOTHING_SEEN

    @property
    def to_buy(self) -> tuple[Item, ...]:
        """The items of which something is to be bought."""
        return tuple(item for item in self.items if item.buy)

    @property
    def seldom(self) -> tuple[Item, ...]:
        """The wyes that are seldom stocked."""
        return tuple(item for item in self.items if seldom_stocked(item.name))

    @property
    def total(self) -> float:
        """What everything that has a price costs."""
        return sum(lot.cost for item in self.items for lot in item.lots if lot.cost is not None)

    @property
    def unpriced(self) -> tuple[Item, ...]:
        """Items to buy without a price."""
        return tuple(item for item in self.to_buy if item.cost is None)

    def frame(self, table: str = "items") -> pandas.DataFrame:
        """Return `items` (a row per lot), `rows` (per item and row of the table) or `cuts` (per piece cut), SI units.

        Raises ValueError for another name.
        """
        if table not in _TABLES:
            raise ValueError(f"{table!r} is not one of {', '.join(_TABLES)}")
        columns, rows_of = _TABLES[table]
        import pandas

        return pandas.DataFrame(list(rows_of(self)), columns=list(columns))


def parts(shop: Shop, have: Sequence[StockPart] = (), prices: Sequence[Price] = ()) -> Parts:
    """Return what to buy and how to cut it. have: what lies around. prices: beside those of the settings.

    Raises InputError when the runs do not hang together.
    """
    model = build_model(shop)
    rules, bag = rules_of(shop), Bag(have)
    used = list(uses(model))
    known = (*shop.settings.parts.prices, *prices)
    plans = _plans(used, shop, rules, bag, known)
    coupled = list(_coupled(plans))
    items = [_length_item(plan, used) for plan in plans]
    small = (*hangers(used, rules.hanger_spacing_m), *clamps(used, coupled))
    items += _fitting_items([*used, *coupled, *small], bag)
    found = tuple(stretches(model))
    joints = [*seams(model.hanging.wyes, found, used, coupled)]
    items += _sealant(joints, rules, bag)
    return Parts(
        shop=shop.name,
        units=shop.system,
        items=tuple(_priced(item, known) for item in sorted(items, key=_order)),
        plans=plans,
        sealed=sum(joint.count for joint in joints),
        clamped=sum(use.source.count for use in small if use.name.kind == "clamp"),
        sleeves=tuple(sleeves(found, used)),
        unused=bag.left,
        not_bought=_collector_rows(model),
        rules=rules,
        priced=bool(known),
        remarks=shop.remarks,
        changes=shop.changes,
        findings=findings_in(model),
    )


def seldom_stocked(name: PartName) -> bool:
    """Whether a wye is seldom stocked. Source: table `parts`, stocked wye and tee.

    Stocked are those of one size through with one branch that is no larger, at 45 or 90 degrees, and those of two like
    branches without a straight inlet.
    """
    if name.kind != "wye" or not name.sizes_m:
        return False
    outlet, *inlets = name.sizes_m
    if len(inlets) == len(name.angles_deg):
        return len(inlets) != 2 or not _same(*inlets)
    stocked = {fact("parts", item).value for item in ("stocked wye", "stocked tee")}
    usual = len(inlets) == 2 and name.angles_deg[0] in stocked
    return not (usual and _same(outlet, inlets[0]) and inlets[1] <= outlet + SAME_M)


def _same(one_m: float, other_m: float) -> bool:
    return abs(one_m - other_m) <= SAME_M


def _plans(used: Iterable[PartUse], shop: Shop, rules: Rules, bag: Bag, prices: Sequence[Price]) -> tuple[Lengths, ...]:
    grouped: dict[PartKey, list[PartUse]] = {}
    for use in used:
        if use.name.by_length:
            grouped.setdefault(key_of_part(use.name), []).append(use)
    plans = []
    for of_one in grouped.values():
        name = of_one[0].name
        is_hose = name.kind == "flex"
        sold = hoses_of(shop) if is_hose else sticks_of(name.style or "", shop)
        plan = lengths_of(name, of_one, sold, 0.0 if is_hose else rules.kerf_m, bag.take_all(name), prices)
        bag.give_back(plan.around)
        plans.append(plan)
    return tuple(sorted(plans, key=lambda plan: _name_order(plan.name)))


def _coupled(plans: Iterable[Lengths]) -> Iterable[PartUse]:
    """Yield the couplings of straights that are longer than what is sold."""
    for plan in plans:
        yield from (PartUse(coupling(plan.name), source, True) for source in plan.couplings)


def _length_item(plan: Lengths, used: Sequence[PartUse]) -> Item:
    key = key_of_part(plan.name)
    return Item(
        name=plan.name,
        needed=len(plan.sources),
        needed_m=plan.needed_m,
        have=len(plan.sticks) - len(plan.bought),
        lots=tuple(Lot(count, length_m) for length_m, count in plan.lots),
        sources=plan.sources,
        assumed=any(use.assumed for use in used if key_of_part(use.name) == key),
    )


def _fitting_items(used: Iterable[PartUse], bag: Bag) -> list[Item]:
    grouped: dict[PartKey, list[PartUse]] = {}
    for use in used:
        if not use.name.by_length:
            grouped.setdefault(key_of_part(use.name), []).append(use)
    return [_item(of_one, bag) for of_one in grouped.values()]


def _item(used: Sequence[PartUse], bag: Bag) -> Item:
    name = used[0].name
    needed = sum(use.source.count for use in used)
    owned = name.kind == "port"
    have = 0 if owned else bag.take(name, needed)
    lots = () if owned or needed == have else (Lot(needed - have),)
    lengths = [use.source.length_m for use in used if use.source.length_m is not None]
    return Item(
        name=name,
        needed=needed,
        needed_m=sum(lengths) if lengths else None,
        have=have,
        lots=lots,
        sources=tuple(use.source for use in used),
        assumed=any(use.assumed for use in used),
        owned=owned,
    )


def _sealant(joints: Sequence[PartSource], rules: Rules, bag: Bag) -> list[Item]:
    """Return the tubes for all joints, which the rows share by length."""
    length = sum(joint.length_m or 0.0 for joint in joints)
    tubes = started(length, rules.sealant_yield_m)
    if tubes == 0:
        return []
    name = PartName("sealant")
    have = bag.take(name, tubes)
    lots = (Lot(tubes - have),) if tubes > have else ()
    return [Item(name, tubes, length, have, lots, tuple(joints), True)]


def _priced(item: Item, prices: Sequence[Price]) -> Item:
    lots = []
    for lot in item.lots:
        price = price_of(item.name, lot.length_m, prices)
        lots.append(lot if price is None else replace(lot, price=price, cost=price * lot.count))
    return replace(item, lots=tuple(lots))


def _order(item: Item) -> tuple[object, ...]:
    return _name_order(item.name)


def _name_order(name: PartName) -> tuple[object, ...]:
    told = name.style or "", name.angles_deg, name.radius or 0.0, name.make or ""
    return ORDER.index(name.kind), name.sizes_m, *told


def _collector_rows(model: Model) -> tuple[PartSource, ...]:
    rows = [PartSource(model.hanging.sections[model.hanging.root].run, model.hanging.collector.place)]
    return (*rows, *(PartSource(hung.run, hung.piece.place) for hung in model.hanging.outlet[:1]))


ITEMS = (
    "part",
    "style",
    "sizes_m",
    "angles_deg",
    "needed",
    "needed_m",
    "have",
    "buy",
    "sold_length_m",
    "price",
    "cost",
    "assumed",
)
ROWS = ("part", "style", "sizes_m", "angles_deg", "run", "row", "count", "length_m")
CUTS = ("part", "style", "sizes_m", "stick", "stick_length_m", "bought", "run", "row", "length_m", "left_m")


def _named(item: Item) -> list[Any]:
    return [item.name.kind, item.name.style, item.name.sizes_m, item.name.angles_deg]


def _items(parts: Parts) -> Iterator[list[Any]]:
    for item in parts.items:
        needs: list[Any] = [item.needed, item.needed_m, item.have]
        for lot in item.lots:
            yield [*_named(item), *needs, lot.count, lot.length_m, lot.price, lot.cost, item.assumed]
            # a second lot of the same item needs nothing more
            needs = [0, 0.0, 0]
        if not item.lots:
            yield [*_named(item), *needs, 0, None, None, None, item.assumed]


def _rows(parts: Parts) -> Iterator[list[Any]]:
    for item in parts.items:
        for source in item.sources:
            row = source.place.row if source.place else None
            yield [*_named(item), source.run, row, source.count, source.length_m]


def _cuts(parts: Parts) -> Iterator[list[Any]]:
    for plan in parts.plans:
        named = [plan.name.kind, plan.name.style, plan.name.sizes_m]
        for number, stick in enumerate(plan.sticks, start=1):
            for cut in stick.cuts:
                row = cut.place.row if cut.place else None
                tail = [cut.run, row, cut.length_m, stick.left_m]
                yield [*named, number, stick.length_m, stick.bought, *tail]


_TABLES: dict[str, tuple[tuple[str, ...], Callable[[Parts], Iterator[list[Any]]]]] = {
    "items": (ITEMS, _items),
    "rows": (ROWS, _rows),
    "cuts": (CUTS, _cuts),
}
