"""`page` and the forms of `card` for paper, as typed."""

from __future__ import annotations

from pathlib import Path
from xml.etree.ElementTree import fromstring

import pytest

from tests.cli.conftest import Run


def test_page_writes_one_file_and_ends_with_the_verdict(run: Run, shop: Path, tmp_path: Path) -> None:
    answer = run("page", shop, "--output", "shop.html")
    assert answer.returncode == run("check", shop).returncode
    assert answer.stdout == "" and "wrote shop.html" in answer.stderr
    assert (tmp_path / "shop.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_page_in_metric_tells_metric_units(run: Run, shop: Path, tmp_path: Path) -> None:
    run("page", shop, "--output", "shop.html", "--units", "metric")
    said = (tmp_path / "shop.html").read_text(encoding="utf-8")
    assert "m3/h" in said and "cfm" not in said.partition("<h2 id=\"settings")[0]


@pytest.mark.parametrize("words", [(), ("--output", "shop.txt"), ("--output", "shop")])
def test_page_without_the_name_of_an_html_file_is_refused(run: Run, shop: Path, words: tuple[str, ...]) -> None:
    answer = run("page", shop, *words)
    assert answer.returncode == 2 and "output" in answer.stderr


def test_page_replaces_a_file_only_by_force(run: Run, shop: Path, tmp_path: Path) -> None:
    (tmp_path / "shop.html").write_text("mine", encoding="utf-8")
    assert run("page", shop, "--output", "shop.html").returncode == 2
    assert (tmp_path / "shop.html").read_text(encoding="utf-8") == "mine"
    assert run("page", shop, "--output", "shop.html", "--force").returncode in (0, 1)


def test_page_of_a_shop_with_faults_tells_them_and_writes_nothing(run: Run, shop: Path, tmp_path: Path) -> None:
    (shop / "duct.csv").write_text("run,piece\nmain,elbo\n", encoding="utf-8")
    answer = run("page", shop, "--output", "shop.html")
    assert answer.returncode == 2 and "did you mean elbow" in answer.stderr
    assert not (tmp_path / "shop.html").exists()


@pytest.mark.parametrize("ending", ["html", "svg"])
def test_card_for_paper_says_what_the_text_says(run: Run, shop: Path, tmp_path: Path, ending: str) -> None:
    text = run("card", shop, "--width", "200").stdout
    assert run("card", shop, "--output", f"card.{ending}").returncode in (0, 1)
    said = (tmp_path / f"card.{ending}").read_text(encoding="utf-8")
    for line in text.splitlines():
        if line.isupper() and len(line) < 30:
            assert line in said


def test_card_as_a_picture_is_as_tall_as_a_sheet_at_most(run: Run, shop: Path, tmp_path: Path) -> None:
    run("card", shop, "--output", "card.svg")
    root = fromstring((tmp_path / "card.svg").read_text(encoding="utf-8"))
    width, height = map(float, (root.get("viewBox") or "").split()[2:])
    assert 1.0 < height / width <= 1.3
