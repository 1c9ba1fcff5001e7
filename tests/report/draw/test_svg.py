"""A picture as SVG: one element a stretch, everything inside the frame, names as text and nothing else."""

from __future__ import annotations

from xml.etree.ElementTree import Element, fromstring

import pytest

from ductcalc.answers.draw import draw
from ductcalc.report.display import Display
from ductcalc.report.draw.picture import NAMESPACE, svg_text
from ductcalc.report.draw.schematic import schematic
from ductcalc.shop import Shop
from ductcalc.tables import read_shop
from tests.scenes import EXAMPLES, end, gate, hose, port, run
from tests.scenes import shop as scene

SVG = f"{{{NAMESPACE}}}"
HOSTILE = ["<script>alert(1)</script>", '"saw" & </text>', "מסור סרט", "=cmd|calc"]


def painted(shop: Shop) -> Element:
    return fromstring(svg_text(schematic(draw(shop), Display(shop.system), 100, grows=True)))


def hostile(name: str) -> Shop:
    return scene(run("main", port(name, "4 in"), hose("5 ft"), gate(), end()))


@pytest.mark.parametrize("name", ["creamery", "one-machine", "joinery-class"])
def test_one_group_a_stretch_in_the_order_of_the_air_each_with_its_title(name: str) -> None:
    shop = read_shop(EXAMPLES / name)
    groups = [group for group in painted(shop).iter(f"{SVG}g") if group.get("class") == "stretch"]
    titles = [group.findtext(f"{SVG}title") or "" for group in groups]
    stretches = draw(shop).stretches
    assert len(titles) == len(stretches)
    assert all(title.startswith(stretch.title) for title, stretch in zip(titles, stretches, strict=True))


@pytest.mark.parametrize("name", ["creamery", "one-machine", "joinery-class"])
def test_words_and_lines_stay_inside_the_frame(name: str) -> None:
    root = painted(read_shop(EXAMPLES / name))
    width, height = map(float, (root.get("viewBox") or "").split()[2:])
    for text in root.iter(f"{SVG}text"):
        x, y = float(text.get("x") or -1), float(text.get("y") or -1)
        assert x >= 0 and x + 7.8 * len(text.text or "") <= width and 0 < y < height
    for line in root.iter(f"{SVG}polyline"):
        for point in (line.get("points") or "").split():
            x, y = map(float, point.split(","))
            assert 0 <= x <= width and 0 <= y <= height


def test_a_picture_is_named_and_described_for_those_who_do_not_see_it() -> None:
    root = painted(read_shop(EXAMPLES / "creamery"))
    named = (root.get("aria-labelledby") or "").split()
    assert root.get("role") == "img" and len(named) == 2
    assert {element.get("id") for element in root[:2]} == set(named)
    assert "16 stretches" in (root.findtext(f"{SVG}desc") or "")


@pytest.mark.parametrize("name", HOSTILE)
def test_names_are_text_and_never_elements(name: str) -> None:
    root = painted(hostile(name))
    assert {element.tag.removeprefix(SVG) for element in root.iter()} <= {
        "svg", "title", "desc", "style", "g", "text", "polyline", "circle", "path", "rect",
    }  # fmt: skip
    said = [text.text for text in root.iter(f"{SVG}text")]
    assert name in said
