"""The golden reports: one of each kind, 80 columns wide, and how to write them anew.

They are where a report's wording is seen whole. `python -m tests.report.goldens` writes them; read every difference
before keeping it. Other pages, formats, units and shops are held by properties (`test_pages.py`, `test_forms.py`).
"""

from __future__ import annotations

from pathlib import Path

from ductcalc.answers.check import check
from ductcalc.report.blocks import Paragraph
from ductcalc.report.display import Display
from ductcalc.report.findings import finding_words
from ductcalc.report.render import Page, rendered
from ductcalc.tables import read_shop
from tests.report.answered import text
from tests.scenes import SHOPS

GOLDEN = Path(__file__).parent / "golden"
ANNEX, BARN, CELLAR, LOFT = (f"tests/report/shops/{name}" for name in ("annex", "barn", "cellar", "loft"))

REPORTS: dict[str, tuple[str, ...]] = {
    "tree": ("tree", ANNEX),
    "need": ("need", BARN),
    "choose": ("need", CELLAR, "--set", "ripping", "--balance", "--system-curve"),
    "size-by-speed": ("size", BARN),
    "gates-by-speed": ("gates", BARN),
    "check": ("check", CELLAR),
    "running": ("check", LOFT, "--running"),
    "losses": ("losses", CELLAR),
    "wanted": ("losses", CELLAR, "--at", "wanted", "--set", "ripping", "--machine", "band saw"),
    "branches": ("losses", CELLAR, "--at", "wanted", "--set", "ripping", "--all-branches"),
    "gates": ("gates", CELLAR),
    "card": ("card", CELLAR),
    "improve": ("improve", CELLAR, "--set", "ripping"),
    "size": ("size", CELLAR),
    "drop": ("size", ANNEX, "--drop", "Rohr"),
    "compare": ("compare", ANNEX, "--with", "Rohr: pipe 2 size = 150 mm"),
    "parts": ("parts", BARN, "--have", f"{BARN}/stock.csv", "--prices", f"{BARN}/prices.csv"),
    "tables": ("tables", "transition"),
}
"""The words typed for each report: of the shop that shows most of it."""

SHORT = ("need", "check", "losses", "gates", "improve", "size", "compare", "parts")
"""Reports that are short unless `--full` asks for everything."""

REPORTS |= {f"{name}-full": (*REPORTS[name], "--full") for name in SHORT}
NAMES = (*REPORTS, "findings")


PLANTED = SHOPS.parents[1] / "planted"


def report(name: str) -> str:
    """Return a report as it is now."""
    return findings() if name == "findings" else text(*REPORTS[name], width=80)


def findings() -> str:
    """Return what is told of every planted mistake, a paragraph each."""
    paragraphs = []
    for folder in sorted(PLANTED.glob("*/planted")):
        shop = read_shop(folder)
        for found in check(shop).findings.all:
            words = Paragraph(finding_words(found, Display(shop.system)), "  ", "  ")
            paragraphs.append(f"{found.rule}\n{rendered([words], Page(80))}")
    return "\n".join(paragraphs)


def kept(name: str) -> Path:
    """Return where a report is kept."""
    return GOLDEN / f"{name}.txt"


if __name__ == "__main__":
    for each in NAMES:
        kept(each).write_text(report(each), encoding="utf-8", newline="\n")
        print(kept(each))
