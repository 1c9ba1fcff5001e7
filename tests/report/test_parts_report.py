"""The shopping and cutting list as text, JSON and CSV."""

from __future__ import annotations

import csv
import json
import random
from functools import cache
from io import StringIO
from typing import Any

import pytest

from ductcalc.answers.parts.parts import Parts, parts
from ductcalc.report.display import Display
from ductcalc.report.json_text import json_text
from ductcalc.report.parts.data import parts_csv, parts_document
from ductcalc.report.parts.text import parts_blocks, short_parts, verdict
from ductcalc.report.parts.words import cut_length, part_label, part_size, rows_words
from ductcalc.report.render import Page, rendered
from ductcalc.report.short import Typed
from ductcalc.shop.parts import PartName
from ductcalc.tables import read_shop
from ductcalc.tables.stock import read_prices, read_stock
from tests.answers.parts.shops import PRICES, STOCK, barn, rows_of
from tests.scenes import EXAMPLES, end, gate, hose, pipe, port, run, shop

SHORT = {"sticks": "12 in", "kerf": "0.0125 in"}
INCH, METRIC = Display("inch"), Display("metric")


@cache
def answer_of(shop: str) -> Parts:
    """Return the list of an example, or of the barn with what lies around and with prices."""
    if shop != "barn":
        return parts(read_shop(EXAMPLES / shop))
    return parts(barn(), read_stock(rows_of(STOCK)), read_prices(rows_of(PRICES)))


@pytest.mark.parametrize(
    ("inches", "said"),
    [
        (74.0, "6 ft 2 in"),
        (120.0, "10 ft"),
        (147.1875, "12 ft 3 3/16 in"),
        (12.5, "1 ft 1/2 in"),
        (0.25, "1/4 in"),
        (11.99, "1 ft"),
        (0.0, "0 in"),
    ],
)
def test_inch_lengths_are_told_in_feet_inches_and_sixteenths(inches: float, said: str) -> None:
    assert cut_length(inches * 0.0254, INCH).replace("\u00a0", " ") == said


@pytest.mark.parametrize(
    ("metres", "said"), [(2.853, "2.853 m"), (3.0, "3 m"), (0.8534, "853 mm"), (0.9999, "1 m"), (0.0, "0 mm")]
)
def test_metric_lengths_are_told_in_metres_and_millimetres(metres: float, said: str) -> None:
    assert cut_length(metres, METRIC).replace("\u00a0", " ") == said


def test_what_is_left_is_never_rounded_up() -> None:
    assert cut_length(11.99 * 0.0254, INCH, down=True).replace("\u00a0", " ") == "11 15/16 in"
    assert cut_length(0.9999, METRIC, down=True).replace("\u00a0", " ") == "999 mm"
    assert cut_length(0.3048 * 3, INCH, down=True).replace("\u00a0", " ") == "3 ft"


@pytest.mark.parametrize(
    ("name", "label", "size"),
    [
        (PartName("wye", None, (0.127, 0.127, 0.1016), (45.0,)), "wye 45 deg", "5 x 5 x 4 in"),
        (PartName("wye", "y", (0.127, 0.1016), (45.0,)), "wye 45 deg, no straight inlet, y", "5 x 4 in"),
        (PartName("reducer", None, (0.1016, 0.127), (30.0,)), "reducer", "4 to 5 in"),
        (PartName("reducer", None, (0.1016, 0.127), (45.0,)), "reducer 45 deg", "4 to 5 in"),
        (PartName("elbow", "pleated", (0.1016,), (90.0,), 2.0), "elbow 90 deg, pleated, R/D 2", "4 in"),
        (PartName("elbow", None, (0.1016,), (90.0,)), "elbow 90 deg", "4 in"),
        (PartName("coupling", "hose", (0.1016,)), "coupling, hose", "4 in"),
        (PartName("sealant"), "tube of sealant", ""),
    ],
)
def test_parts_in_words(name: PartName, label: str, size: str) -> None:
    assert part_label(name).replace("\u00a0", " ") == label
    assert part_size(name, INCH).replace("\u00a0", " ") == size


def test_rows_are_told_as_spans_with_counts() -> None:
    answer = answer_of("joinery-class")
    gates = next(i for i in answer.items if i.name.kind == "gate" and i.name.sizes_m == (0.1,))
    assert rows_words(gates.sources, True) == "55, 81, 83-92"
    bends = [i for i in answer.items if i.name.kind == "elbow"]
    assert [rows_words(i.sources, True).replace("\u00a0", " ") for i in bends] == ["13", "19 x 2"]


def test_nothing_to_buy_is_said() -> None:
    made = shop(run("a", port("saw", "4 in"), gate(), end()))
    stock = read_stock([{"piece": "gate", "size": "4 in"}, {"piece": "sealant", "size": ""}])
    answer = parts(made, have=stock)
    assert verdict(answer).startswith("Nothing to buy") and "2 pieces" in verdict(answer)


def test_a_plan_that_is_not_proven_tells_the_least() -> None:
    rnd = random.Random(0)
    lengths = [rnd.randint(100, 1150) for _ in range(300)]
    rows = [pipe(f"{n / 100} in") for n in lengths]
    answer = parts(shop(run("a", port("saw", "4 in"), *rows, end()), parts=SHORT))
    (plan,) = answer.plans
    assert not plan.proven and plan.at_least == len(plan.bought) - 1
    text = rendered(parts_blocks(answer, INCH), Page(None))
    told = [line for line in text.splitlines() if f"{plan.at_least + 1} sticks" in line and "best found" in line]
    assert told and all(f"at least {plan.at_least} " in line for line in told) and "ductcalc[cutting]" in text


def test_the_cut_plan_tells_what_a_long_straight_is_joined_from() -> None:
    rows = [pipe("16 ft"), gate(), pipe("16 ft"), gate(), pipe("16 ft")]
    answer = parts(shop(run("a", port("saw", "4 in"), *rows, end())))
    (plan,) = answer.plans
    text = rendered(parts_blocks(answer, INCH), Page(None)).replace("\u00a0", " ")
    rows_of_two = [str(j.source.place.row) for j in plan.joined if j.source.place and len(j.parts_m) == 2]
    assert any(", ".join(rows_of_two) in line and "10 ft + 6 ft" in line for line in text.splitlines())
    assert "8 ft 1/4 in + 2 x 3 ft 11 7/8 in" in text
    joined = parts_document(answer)["cut_plans"][0]["joined"]
    assert [one["parts_m"] for one in joined] == [list(one.parts_m) for one in plan.joined]


def test_the_best_plan_there_is_costs_or_buys_least() -> None:
    made = shop(run("a", port("saw", "4 in"), pipe("9 ft"), gate(), pipe("9 ft"), end()))
    text = rendered(parts_blocks(parts(made), INCH), Page(None))
    assert "best there is" in text and "less pipe" in text
    priced = parts(made, prices=read_prices([{"piece": "pipe", "price": "20"}]))
    text = rendered(parts_blocks(priced, INCH), Page(None))
    assert "best there is" in text and "costs less" in text


def test_what_if_is_told() -> None:
    from ductcalc.shop.change import changed
    from ductcalc.tables.what_if import read_changes

    made = barn()
    answer = parts(changed(made, read_changes(made, ["saw: gate size = 4 in"])))
    assert "Changed: saw: gate" in rendered(parts_blocks(answer, INCH), Page(None))


def test_json_items_add_up_over_their_rows() -> None:
    document = json.loads(json_text(parts_document(answer_of("barn"))))
    for item in document["items"]:
        if item["part"] != "sealant":
            assert item["needed"] == sum(row["count"] for row in item["rows"])
        if item["needed_m"] is not None:
            assert item["needed_m"] == pytest.approx(sum(row["length_m"] or 0.0 for row in item["rows"]))
        assert item["buy"] == sum(lot["count"] for lot in item["lots"])
        assert all(row["row"] >= 2 or row["file"] == "duct" for row in item["rows"])
    cut = sum(c["length_m"] for p in document["cut_plans"] for s in p["sticks"] for c in s["cuts"])
    assert cut == pytest.approx(sum(plan["needed_m"] for plan in document["cut_plans"]))


def test_json_is_the_same_in_any_units_and_every_time() -> None:
    first, second = (json_text(parts_document(answer_of("creamery"))) for _ in range(2))
    assert first == second


def keys_of(value: Any) -> set[str]:
    if isinstance(value, dict):
        return set(value) | {key for part in value.values() for key in keys_of(part)}
    return {key for part in value for key in keys_of(part)} if isinstance(value, list) else set()


def test_json_lengths_have_their_unit_in_the_key() -> None:
    keys = keys_of(parts_document(answer_of("barn")))
    assert {"sizes_m", "needed_m", "length_m", "left_m", "kerf_m", "angles_deg"} <= keys
    assert not {"size", "length", "left", "kerf", "angle"} & keys


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(text), strict=True))


def test_csv_has_a_line_for_each_item_and_lot_and_its_needs_once() -> None:
    answer = answer_of("barn")
    found = rows(parts_csv(answer, INCH))
    assert len(found) == sum(max(len(item.lots), 1) for item in answer.items)
    assert sum(int(row["needed"] or 0) for row in found) == sum(item.needed for item in answer.items)
    needed_ft = sum(float(row["needed_length_ft"] or 0.0) for row in found)
    assert needed_ft == pytest.approx(sum(i.needed_m or 0.0 for i in answer.items) / 0.3048, rel=1e-4)
    assert sum(int(row["buy"]) for row in found) == sum(item.buy for item in answer.items)


def test_csv_counts_follow_from_its_rows() -> None:
    told = rows(parts_csv(answer_of("joinery-class"), METRIC))
    assert told
    for row in told:
        if row["needed_length_m"] or not row["rows"]:
            continue
        assert int(row["needed"]) == sum(map(times_of, row["rows"].split(", "))), row


def times_of(token: str) -> int:
    """Return how many a part of the rows column stands for: `5`, `8-10`, `12 x 2`, `8-10 x 2`."""
    span, _, times = token.partition(" x ")
    first, _, last = span.partition("-")
    return (int(last or first) - int(first) + 1) * int(times or 1)


def test_csv_text_is_no_formula() -> None:
    found = rows(parts_csv(answer_of("barn"), INCH))
    assert "'=spark box" in {row["style"] for row in found}


def test_metric_csv_has_metric_columns() -> None:
    (row, *_) = rows(parts_csv(answer_of("joinery-class"), METRIC))
    assert (row["size_mm"], row["sold_length_m"]) == ("80", "3")


def test_a_shop_of_hose_alone_cuts_no_pipe() -> None:
    answer = parts(shop(run("a", port("saw", "4 in"), hose("6 ft"), end())))
    assert "No pipe" in rendered(parts_blocks(answer, INCH), Page(80))


def test_joints_sleeves_and_seldom_wyes_stand_in_the_short_list_within_its_budget() -> None:
    answer = answer_of("creamery")
    blocks = short_parts(answer, INCH, Typed(command="parts", shop="examples/creamery"))
    text = rendered(blocks, Page(80)).replace("\u00a0", " ")
    assert f"{answer.sealed} to seal" in text and f"{answer.clamped} hose ends" in text
    assert "fitting meets fitting (rows 18, 24, 43)" in " ".join(text.split())
    assert "5 x 4 x 3 in" in text.partition("Seldom stocked")[2]
    assert len(text.splitlines()) <= 40


def test_a_change_of_make_is_named_with_one_size() -> None:
    changing = shop(run("a", port("saw", "4 in"), pipe("5 ft"), pipe("5 ft", style="plastic"), end()))
    (line,) = [x for x in rendered(parts_blocks(parts(changing), INCH), Page()).splitlines() if x.startswith("adapter")]
    assert "spiral to plastic" in line and "4 in" in line and "4 to 4" not in line


def test_json_tells_makes_joints_sleeves_and_what_is_seldom_stocked() -> None:
    document = json.loads(json_text(parts_document(answer_of("creamery"))))
    assert document["joints"] == {"sealed": 35, "clamped": 18}
    assert {one["row"] for one in document["sleeves"]} == {18, 24, 43}
    wyes = [one for one in document["items"] if one["part"] == "wye"]
    assert {one["make"] for one in wyes} == {"spiral"} and sum(one["seldom_stocked"] for one in wyes) == 3
