"""What to buy: a list that a hand can follow, and every count against the rows of the duct table."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

import ductcalc
from ductcalc.answers.parts.parts import Item, Parts, seldom_stocked
from ductcalc.catalog import is_adapter
from ductcalc.shop import Piece, Shop, key_of
from ductcalc.shop.hanging import hang
from ductcalc.shop.parts import PartName
from ductcalc.tables.stock import read_stock
from tests.answers.parts.shops import PRICES, STOCK, barn, rows_of
from tests.properties.random_shops import PLANS, Plan
from tests.scenes import SHOPS, cap, elbow, end, gate, hose, pipe, port, reducer, run, shop, wye

ROOT = Path(__file__).parents[3]
FOOT, INCH = 0.3048, 0.0254
SHIPPED = [ROOT / "examples" / name for name in ("creamery", "joinery-class", "one-machine")]
READ = [*SHIPPED, SHOPS / "cellar", SHOPS / "annex"]

Row = tuple[str, int | None, str]


def written(made: Shop) -> dict[Row, tuple[int, float]]:
    """Return what each row of the table takes by itself, from the rows alone: run, row, part -> count, length [m]."""
    by_name = {key_of(r.name): r for r in made.runs}
    found: dict[Row, tuple[int, float]] = {}
    for one in made.runs:
        source, head = one, one.pieces[0]
        while source.pieces[0].kind == "like":
            source = by_name[key_of(source.pieces[0].joins[0])]
        for piece in source.pieces:
            row = (head if head.kind == "like" else piece).place
            for part, count in taken(piece):
                key = (one.name, row.row if row else None, part)
                before = found.get(key, (0, 0.0))
                found[key] = before[0] + count, before[1] + (piece.length_m or 0.0)
    return found


def taken(piece: Piece) -> list[tuple[str, int]]:
    capped = sum(key_of(name) == "cap" for name in piece.joins)
    return [
        (piece.kind, (piece.count or 1) if piece.kind in ("elbow", "other") else 1),
        *([("cap", capped)] if piece.kind == "wye" and capped else []),
    ]


def listed(answer: Parts) -> dict[Row, tuple[int, float]]:
    """Return what the list takes from each row for parts that rows name; couplings and the like are left out."""
    named = ("pipe", "flex", "elbow", "wye", "gate", "cap", "other", "port")
    found: dict[Row, tuple[int, float]] = {}
    for item in answer.items:
        for source in item.sources:
            if item.name.kind in named:
                key: Row = (source.run, source.place.row if source.place else None, item.name.kind)
                before = found.get(key, (0, 0.0))
                found[key] = before[0] + source.count, before[1] + (source.length_m or 0.0)
    for source in answer.not_bought:
        found[source.run, source.place.row if source.place else None, "collector"] = (1, 0.0)
    return found


def unlike_neighbours(made: Shop) -> int:
    """Count the places where two unlike bores meet and no row says reducer, from how the shop hangs alone."""
    hanging, count = hang(made), 0
    for number, section in enumerate(hanging.sections):
        ports = [p.hung for p in hanging.ports if p.section == number]
        rest = section.pieces[1:] if ports else section.pieces
        line = [rest[0].bore_m if ports and rest else section.bore_m]
        for hung in rest:
            count += hung.piece.kind != "reducer" and hung.bore_m != line[-1]
            line.append(hung.bore_m)
        count += sum(bool(rest) and p.bore_m != rest[0].bore_m and rest[0].piece.kind != "reducer" for p in ports)
    return count + sum(a.bore_m != b.bore_m and b.piece.kind != "reducer" for a, b in pairwise(hanging.outlet))


def reconcile(made: Shop, answer: Parts) -> None:
    """Every row is listed once, every listed part has its row, implied reducers are the unlike neighbours."""
    expected = {key: value for key, value in written(made).items() if key[2] != "reducer"}
    got = listed(answer)
    assert got.keys() == expected.keys()
    for key, (count, length) in expected.items():
        assert got[key][0] == count, key
        assert got[key][1] == pytest.approx(length, abs=1e-12), key
    tapers = sum(item.needed for item in answer.items if item.name.kind in ("reducer", "adapter"))
    rows = sum(count for (_, _, part), (count, _) in written(made).items() if part == "reducer")
    assert tapers == rows + unlike_neighbours(made)
    for item in answer.items:
        if item.name.kind != "sealant":
            assert item.needed == sum(source.count for source in item.sources)
        if item.needed_m is not None:
            assert item.needed_m == pytest.approx(sum(s.length_m or 0.0 for s in item.sources), rel=1e-12)
        if item.name.kind not in ("pipe", "flex") and not item.owned:
            assert item.needed == item.have + item.buy
    check_cuts(answer)


def check_cuts(answer: Parts) -> None:
    """The pieces cut are the rows' lengths, and no stick gives more than it has."""
    for plan in answer.plans:
        needed: Counter[Row] = Counter()
        for source in plan.sources:
            needed[source.run, source.place.row if source.place else None, ""] += round((source.length_m or 0.0) * 1e7)
        for stick in plan.sticks:
            used = sum(cut.length_m for cut in stick.cuts) + plan.kerf_m * (len(stick.cuts) - 1)
            assert used <= stick.length_m + 1e-8
            assert 0.0 <= stick.left_m <= stick.length_m - used + 1e-8
            for cut in stick.cuts:
                needed[cut.run, cut.place.row if cut.place else None, ""] -= round(cut.length_m * 1e7)
        assert all(abs(left) <= 2 for left in needed.values())


@pytest.mark.parametrize("folder", READ, ids=lambda path: path.name)
def test_counts_reconcile_with_the_table_row_by_row(folder: Path) -> None:
    made = ductcalc.read_shop(folder)
    reconcile(made, ductcalc.parts(made))


def test_counts_of_the_barn_reconcile_with_and_without_stock() -> None:
    made = barn()
    reconcile(made, ductcalc.parts(made))
    reconcile(made, ductcalc.parts(made, have=ductcalc.read_stock(rows_of(STOCK))))


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(PLANS)
def test_counts_of_random_shops_reconcile(plan: Plan) -> None:
    made = plan.shop()
    reconcile(made, ductcalc.parts(made))


@settings(max_examples=20, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(PLANS)
def test_what_lies_around_never_makes_more_to_buy(plan: Plan) -> None:
    made = plan.shop()
    bare = ductcalc.parts(made)
    stock = ductcalc.read_stock(
        [
            {"piece": "pipe", "size": "100 mm", "length": "2.2 m", "count": 2},
            {"piece": "pipe", "size": "125 mm", "length": "1 m"},
            {"piece": "gate", "size": "100 mm", "count": 2},
        ]
    )
    with_stock = ductcalc.parts(made, have=stock)
    assert bought_m(with_stock) <= bought_m(bare) + 1e-9
    assert sum(item.buy for item in with_stock.items if item.name.kind == "gate") <= sum(
        item.buy for item in bare.items if item.name.kind == "gate"
    )


def bought_m(answer: Parts) -> float:
    return sum(stick.length_m for plan in answer.plans for stick in plan.bought)


def small_shop(**parts: object) -> Shop:
    """One drop of 4 in on a 6 in main, a tight bend of two 45s: a list that a hand can write."""
    return shop(
        run(
            "main",
            port("saw", "4 in"),
            hose("5 ft"),
            gate(),
            pipe("6 ft"),
            pipe("3 ft 6 in"),
            wye("drop", "6 in"),
            pipe("22 ft"),
            elbow(angle="45", count="2"),
            end(),
        ),
        run("drop", port("sander", "100 mm"), gate("4 in"), reducer("5 in"), pipe("4 ft")),
        parts=parts,
    )


def buys(answer: Parts) -> dict[tuple[object, ...], int]:
    return {
        (i.name.kind, *(round(size / INCH, 2) for size in i.name.sizes_m), *i.name.angles_deg): i.buy
        for i in answer.items
    }


def test_a_small_list_is_what_a_hand_writes() -> None:
    assert buys(ductcalc.parts(small_shop(kerf="0"))) == {
        ("pipe", 4.0): 1,  # 6 ft and 3 ft 6 in from one stick of 10 ft
        ("pipe", 5.0): 1,
        ("pipe", 6.0): 3,  # 10 + 10 + 2
        ("flex", 4.0): 1,
        ("coupling", 4.0): 1,  # between the two rows of pipe
        ("coupling", 6.0): 2,
        ("elbow", 6.0, 45.0): 2,
        ("reducer", 4.0, 5.0, 30.0): 1,
        ("adapter", 3.94, 4.0): 1,  # the sander's 100 mm port on a 4 in gate
        ("wye", 6.0, 4.0, 5.0, 45.0): 1,
        ("gate", 4.0): 2,
        ("clamp", 4.0): 2,
        ("hanger", 4.0): 2,  # 9 ft 6 in, one for each 5 ft
        ("hanger", 5.0): 1,
        ("hanger", 6.0): 5,
        ("sealant",): 1,
        ("port", 3.94): 0,
        ("port", 4.0): 0,
    }


def item(answer: Parts, kind: str, *sizes_in: float) -> Item:
    found = [
        i for i in answer.items if i.name.kind == kind and tuple(round(s / INCH, 2) for s in i.name.sizes_m) == sizes_in
    ]
    assert len(found) == 1
    return found[0]


def test_joints_to_seal_are_what_a_hand_counts() -> None:
    # main: gate-pipe, pipe-coupling-pipe (2), pipe-wye at 4 in; wye-pipe, two couplings (4), pipe-elbow, elbow-elbow,
    # elbow-collector at 6 in; drop: port-adapter at 100 mm, adapter-gate and gate-reducer at 4 in,
    # reducer-pipe and pipe-wye at 5 in
    around = 4 * 4.0 + 8 * 6.0 + 100.0 / 25.4 + 2 * 4.0 + 2 * 5.0
    sealant = item(ductcalc.parts(small_shop()), "sealant")
    assert sealant.needed_m == pytest.approx(3.141592653589793 * around * INCH, rel=1e-9)


def test_the_number_of_joints_is_told() -> None:
    answer = ductcalc.parts(small_shop())
    assert (answer.sealed, answer.clamped) == (17, 2)
    assert answer.sealed == sum(source.count for source in item(answer, "sealant").sources)


def test_fittings_without_pipe_between_them_take_a_sleeve() -> None:
    # elbow to elbow in the main; in the drop adapter to gate and gate to reducer; reducer-pipe-wye has pipe between
    sleeves = ductcalc.parts(small_shop()).sleeves
    found = Counter[float]()
    for use in sleeves:
        found[round(use.name.sizes_m[0] / INCH, 2)] += use.source.count
    assert found == {6.0: 1, 4.0: 2}


def test_a_wye_right_behind_a_wye_takes_a_sleeve_and_hose_takes_none() -> None:
    main = run("main", port("a", "4 in"), hose("2 ft"), gate(), pipe("3 ft"), wye("b", "4 in"), wye("c", "4 in"), end())
    drops = [run(name, port(f"saw {name}", "4 in"), gate(), hose("3 ft")) for name in "bc"]
    (one,) = ductcalc.parts(shop(main, *drops)).sleeves
    assert (one.source.run, one.source.count, one.name.sizes_m) == ("main", 1, (pytest.approx(4 * INCH),))


def two_makes() -> Shop:
    """A steel drop on a plastic main that starts with a cap, and changes its make on the way."""
    rows = [cap("4 in"), pipe("5 ft", "4 in", style="plastic"), pipe("4 ft", style="snap-lock"), gate()]
    main = run("main", *rows, wye("drop", "4 in"), pipe("4 ft", style="plastic"), end())
    return shop(main, run("drop", port("saw", "4 in"), gate(), pipe("3 ft")))


def test_a_change_of_make_is_an_adapter() -> None:
    answer = ductcalc.parts(two_makes())
    (adapter,) = [one for one in answer.items if one.name.kind == "adapter"]
    assert adapter.name.make == "plastic to snap-lock" and adapter.buy == 1
    assert not [one for one in answer.items if one.name.kind == "coupling"]
    # cap-pipe, pipe-adapter-pipe (2), pipe-gate, gate-wye, wye-pipe, pipe-collector, and three of the drop
    assert answer.sealed == 10


def test_wyes_gates_and_caps_carry_the_make_of_their_pipe() -> None:
    answer = ductcalc.parts(two_makes())
    makes = {(one.name.kind, one.name.make) for one in answer.items if one.name.kind in ("gate", "wye", "cap")}
    assert makes == {("cap", "plastic"), ("gate", "snap-lock"), ("wye", "plastic"), ("gate", "spiral")}


def test_what_lies_around_without_a_make_serves_any_and_of_another_make_none() -> None:
    def have(row: dict[str, object]) -> int:
        stock = ductcalc.read_stock([{"piece": "gate", "size": "4 in", "count": 5, **row}])
        return sum(one.have for one in ductcalc.parts(two_makes(), have=stock).items if one.name.kind == "gate")

    assert (have({}), have({"style": "spiral"}), have({"style": "plastic"})) == (2, 1, 0)


@pytest.mark.parametrize(
    ("sizes", "angles", "seldom"),
    [
        ((6, 6, 4), (45,), False),
        ((6, 6, 6), (90,), False),
        ((6, 6, 4), (30,), True),
        ((6, 5, 4), (45,), True),
        ((5, 5, 6), (45,), True),
        ((6, 6, 4, 4), (45, 45), True),
        ((6, 4, 4), (30, 30), False),
        ((6, 4, 5), (30, 30), True),
    ],
)
def test_wyes_of_odd_sizes_are_seldom_stocked(sizes: tuple[int, ...], angles: tuple[float, ...], seldom: bool) -> None:
    name = PartName("wye", None, tuple(size * INCH for size in sizes), angles)
    assert seldom_stocked(name) is seldom
    assert not seldom_stocked(PartName("gate", None, (4 * INCH,)))


def test_a_straight_longer_than_a_stick_is_whole_sticks_and_a_remainder() -> None:
    plan = next(p for p in ductcalc.parts(small_shop()).plans if round(p.name.sizes_m[0] / INCH) == 6)
    lengths = sorted(round(cut.length_m / FOOT, 6) for stick in plan.sticks for cut in stick.cuts)
    assert lengths == [2.0, 10.0, 10.0]


def three_long_straights() -> Shop:
    elbow = {"piece": "elbow", "size": "6 in"}
    rows = [pipe("16 ft", "6 in"), elbow, pipe("16 ft", "6 in"), elbow, pipe("16 ft", "6 in")]
    return shop(run("a", port("planer", "6 in"), *rows, end("6 in")))


def test_pipe_and_hose_of_no_length_are_nothing_to_buy() -> None:
    rows = [port("saw", "4 in"), hose("0 ft"), pipe("6 ft"), pipe("0 m"), pipe("6 ft"), end()]
    found = ductcalc.parts(shop(run("main", *rows)))
    assert [
        (item.name.kind, item.needed, item.needed_m) for item in found.items if item.name.kind in ("pipe", "flex")
    ] == [("pipe", 2, pytest.approx(12 * 0.3048))]
    assert [item.needed for item in found.items if item.name.kind == "coupling"] == [1]


def test_long_straights_are_split_into_what_lies_around() -> None:
    stock = read_stock([{"piece": "pipe", "style": "spiral", "size": "6 in", "length": "8 ft", "count": "6"}])
    answer = ductcalc.parts(three_long_straights(), have=stock)
    (plan,) = answer.plans
    assert not plan.bought and plan.proven and not answer.unused
    assert [tuple(round(part / FOOT, 6) for part in joined.parts_m) for joined in plan.joined] == [(8.0, 8.0)] * 3
    assert [source.count for source in item(answer, "coupling", 6.0).sources] == [1, 1, 1]


def test_a_joint_more_spares_a_stick_and_its_sealant_is_counted() -> None:
    answer = ductcalc.parts(three_long_straights())
    (plan,) = answer.plans
    assert len(plan.bought) == 5 and plan.proven
    coupling = item(answer, "coupling", 6.0)
    assert coupling.needed == sum(len(joined.parts_m) - 1 for joined in plan.joined) == 4
    # port, three straights, two elbows and the collector: six joints, and two at each coupling
    assert item(answer, "sealant").needed_m == pytest.approx((6 + 2 * 4) * 3.141592653589793 * 6.0 * INCH)
    for joined in plan.joined:
        row = joined.source.place and joined.source.place.row
        cut = [c.length_m for stick in plan.sticks for c in stick.cuts if c.place and c.place.row == row]
        assert sum(joined.parts_m) == pytest.approx(16.0 * FOOT) and sorted(cut) == sorted(joined.parts_m)


def test_a_stick_lying_around_that_is_long_enough_needs_no_coupling() -> None:
    stock = read_stock([{"piece": "pipe", "style": "spiral", "size": "6 in", "length": "20 ft", "count": "3"}])
    answer = ductcalc.parts(three_long_straights(), have=stock)
    assert not answer.plans[0].bought and not answer.plans[0].couplings
    assert all(i.name.kind != "coupling" for i in answer.items)


def test_a_stick_that_only_the_saw_cut_costs_is_told() -> None:
    made = shop(run("a", port("saw", "4 in"), pipe("5 ft"), gate(), pipe("5 ft"), end()))
    (plan,) = ductcalc.parts(made).plans
    assert (len(plan.bought), plan.bought_without_kerf, plan.proven) == (2, 1, True)


def test_own_lengths_spacing_yield_and_kerf_are_used() -> None:
    said = {"sticks": {"spiral": ["20 ft"]}, "hose": "6 ft", "hanger_spacing": "2 ft", "sealant_yield": "1 ft"}
    answer = ductcalc.parts(small_shop(kerf="1/4 in", **said))
    assert {lot.length_m for i in answer.items if i.name.kind == "pipe" for lot in i.lots} == {20 * FOOT}
    assert [lot.length_m for lot in item(answer, "flex", 4.0).lots] == [pytest.approx(6 * FOOT)]
    assert item(answer, "hanger", 6.0).needed == 11
    sealant = item(answer, "sealant")
    assert sealant.needed_m is not None and 0.0 <= sealant.needed - sealant.needed_m / FOOT < 1.0
    assert answer.rules.defaulted == {"keep"}


def test_lengths_written_for_every_make_are_those_of_each() -> None:
    rows = run("a", port("saw", "4 in"), pipe("4 ft", style="steel"), end())
    (plan,) = ductcalc.parts(shop(rows, parts={"sticks": ["7 ft"]})).plans
    assert plan.sold.lengths_m == (pytest.approx(7 * FOOT),)


def test_metric_shops_get_sticks_in_metres() -> None:
    made = shop(run("a", port("saw", "100 mm"), pipe("4 m"), end()))
    (plan,) = ductcalc.parts(made).plans
    assert plan.sold.lengths_m == (3.0,) and len(plan.bought) == 2


def test_a_make_without_known_lengths_borrows_those_of_spiral_and_says_so() -> None:
    (plan,) = ductcalc.parts(shop(run("a", port("saw", "4 in"), pipe("4 ft", style="steel"), end()))).plans
    assert plan.sold.taken_from == "spiral" and plan.sold.lengths_m == (pytest.approx(10 * FOOT),)


def test_copies_count_each_and_ports_that_are_off_have_their_pipe() -> None:
    joinery = ductcalc.parts(ductcalc.read_shop(SHIPPED[1]))
    benches = item(joinery, "gate", round(100 / 25.4, 2))
    assert benches.needed == 12
    assert {source.place.row for source in benches.sources if source.place} >= set(range(83, 93))


def test_stock_is_taken_one_by_one_and_pipe_by_length() -> None:
    answer = ductcalc.parts(barn(), have=ductcalc.read_stock(rows_of(STOCK)))
    assert (item(answer, "elbow", 6.0).have, item(answer, "elbow", 6.0).buy) == (2, 1)
    assert (item(answer, "gate", 4.0).have, item(answer, "gate", 4.0).buy) == (2, 0)
    assert item(answer, "adapter", 3.94, 4.0).have == 1
    left = {(part.name.kind, part.name.style): part.count for part in answer.unused}
    assert left == {("gate", None): 3, ("elbow", "pleated"): 1, ("pipe", "spiral"): 1}


def test_moving_everything_onto_what_was_bought_buys_no_pipe_again() -> None:
    made = ductcalc.read_shop(SHIPPED[0])
    pieces = [
        {"piece": "pipe", "size": f"{p.name.sizes_m[0] / INCH!r} in", "length": f"{cut.length_m / FOOT!r} ft"}
        for p in ductcalc.parts(made).plans
        if p.name.kind == "pipe"
        for stick in p.sticks
        for cut in stick.cuts
    ]
    answer = ductcalc.parts(made, have=ductcalc.read_stock(pieces))
    assert answer.items
    assert all(i.buy == 0 for i in answer.items if i.name.kind == "pipe")


def test_prices_say_most_first_and_what_has_none_is_told() -> None:
    answer = ductcalc.parts(barn(), prices=ductcalc.read_prices(rows_of(PRICES)))
    assert [lot.price for lot in item(answer, "pipe", 5.0).lots] == [8.5]
    assert [lot.price for lot in item(answer, "pipe", 8.0).lots] == [20.0]
    # 61 ft of hose: one of 50 ft costs 40, three shorter ones cost 3
    assert item(answer, "flex", 4.0).cost == 3.0 and item(answer, "flex", 4.0).buy == 3
    assert all(plan.in_money for plan in answer.plans)
    costs = [lot.cost for i in answer.items for lot in i.lots if lot.cost is not None]
    assert answer.total == pytest.approx(sum(costs))
    kinds = {i.name.kind for i in answer.unpriced}
    assert "elbow" in kinds and "gate" not in kinds and answer.priced


def test_prices_of_the_settings_count_and_those_given_besides_win() -> None:
    said = [{"piece": "gate", "price": 10}, {"piece": "elbow", "price": 2}]
    made = small_shop(prices=said)
    assert item(ductcalc.parts(made), "gate", 4.0).cost == 20.0
    given_besides = ductcalc.read_prices([{"piece": "gate", "price": "3"}])
    assert item(ductcalc.parts(made, prices=given_besides), "gate", 4.0).cost == 6.0


def test_nothing_is_priced_without_prices() -> None:
    answer = ductcalc.parts(barn())
    assert not answer.priced and answer.total == 0.0
    assert not any(plan.in_money for plan in answer.plans)


@pytest.mark.parametrize(
    ("one_mm", "other_mm", "same"),
    [(100.0, 101.6, True), (125.0, 127.0, True), (150.0, 152.4, True), (152.4, 160.0, False), (100.0, 80.0, False)],
)
def test_ends_of_one_nominal_size_get_an_adapter(one_mm: float, other_mm: float, same: bool) -> None:
    assert is_adapter(one_mm / 1000.0, other_mm / 1000.0) is same


def test_a_shop_without_a_collector_table_gets_its_list() -> None:
    made = shop(run("a", port("saw", "4 in"), pipe("4 ft"), end("5 in")), table=())
    assert item(ductcalc.parts(made), "reducer", 4.0, 5.0).needed == 1


@pytest.mark.parametrize("table", ["items", "rows", "cuts"])
def test_frames_have_units_in_their_columns(table: str) -> None:
    frame = ductcalc.parts(barn()).frame(table)
    assert len(frame) > 0
    unitless = {"part", "style", "needed", "have", "buy", "price", "cost", "assumed", "run", "row", "count", "stick"}
    assert all(column in unitless | {"bought"} or column.endswith(("_m", "_deg")) for column in frame.columns)


def test_frames_add_up_to_the_list() -> None:
    answer = ductcalc.parts(barn())
    items, rows, cuts = (answer.frame(table) for table in ("items", "rows", "cuts"))
    assert items["buy"].sum() == sum(i.buy for i in answer.items)
    assert items["needed_m"].sum() == pytest.approx(sum(i.needed_m or 0.0 for i in answer.items))
    assert rows["length_m"].sum() == pytest.approx(items["needed_m"].sum())
    assert cuts["length_m"].sum() == pytest.approx(sum(plan.needed_m for plan in answer.plans))


def test_an_unknown_frame_is_refused() -> None:
    with pytest.raises(ValueError, match="items, rows, cuts"):
        ductcalc.parts(barn()).frame("doors")
