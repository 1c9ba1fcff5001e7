"""Page and card in a real browser: no fault for any reader, no network, nothing cut, so many sheets of paper.

They run where Chromium, its driver, `selenium` and axe-core are there; `.ci/run` brings all of them.
"""

from __future__ import annotations

import base64
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.scenes import EXAMPLES
from tests.typed import typed

webdriver = pytest.importorskip("selenium.webdriver", reason="no selenium: pip install 'ductcalc[browser]'")

AXE = Path(__file__).parents[2] / ".browser" / "node_modules" / "axe-core" / "axe.min.js"
CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
if not (CHROMIUM and DRIVER and AXE.is_file()):
    pytest.skip("no browser here: .ci/run installs it", allow_module_level=True)

PHONE, DESKTOP = (390, 844), (1280, 900)
NAMES = [folder.name for folder in sorted(EXAMPLES.iterdir()) if folder.is_dir()]
FILES = [f"{name}{kind}" for name in [*NAMES, "hard"] for kind in ("", "-card")]
MACHINES = [
    "the machine by the north wall number 0001", "מסור סרט", "منشار الطاولة", "ドラムサンダー",
    "<script>document.title = 'broken'</script>", '"saw" & </section> ]]>', "Schleif- und Poliermaschinenanlage",
]  # fmt: skip
RUN_AXE = """
const done = arguments[arguments.length - 1];
axe.run(document, {resultTypes: ["violations"]}).then(found => done(found.violations.map(
  one => [one.id, one.nodes.map(node => node.target.join(" ")).slice(0, 3)])));
"""
WIDER = """
return [...document.querySelectorAll("body *")].filter(one => !one.closest(".wide") && !one.closest("svg"))
  .filter(one => one.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
  .map(one => one.outerHTML);
"""
OVERLAPS = """
const found = [];
for (const svg of document.querySelectorAll("svg")) {
  const frame = svg.getBoundingClientRect(), texts = [...svg.querySelectorAll("text")];
  const boxes = texts.map(one => one.getBoundingClientRect());
  boxes.forEach((a, i) => {
    if (a.left < frame.left - 1 || a.right > frame.right + 1) found.push([texts[i].textContent, "the frame"]);
    boxes.slice(i + 1).forEach((b, j) => {
      const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (wide > 2 && high > 0.35 * a.height) found.push([texts[i].textContent, texts[i + 1 + j].textContent]);
    });
  });
}
return found;
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with page and card of every example, and of a shop with names that are hard to show."""
    made = tmp_path_factory.mktemp("pages")
    hard_shop(made / "hard-shop")
    for name in [*NAMES, "hard"]:
        shop = made / "hard-shop" if name == "hard" else EXAMPLES / name
        assert typed("page", shop, "--output", made / f"{name}.html").returncode in (0, 1)
        assert typed("card", shop, "--output", made / f"{name}-card.html").returncode in (0, 1)
    return made


def hard_shop(folder: Path) -> None:
    """Write a shop of seven machines with hard names along one main."""
    shutil.copytree(EXAMPLES / "one-machine", folder)
    quoted = ['"' + name.replace('"', '""') + '"' for name in MACHINES]
    rows = ["run,piece,machine,size,length,joins,flow"]
    rows += [f"main,port,{quoted[0]},4 in,,,350 cfm", ",flex,,4 in,3 ft,,", ",gate,,4 in,,,", ",pipe,,4 in,9 ft,,"]
    for number in range(1, len(MACHINES)):
        rows += [f",wye,,6 in,,drop {number},", ",pipe,,6 in,4 ft,,"]
    rows.append(",collector,,6 in,,,")
    for number, name in enumerate(quoted[1:], start=1):
        rows += [f"drop {number},port,{name},4 in,,,350 cfm", ",gate,,4 in,,,", ",pipe,,4 in,8 ft,,"]
    (folder / "duct.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Return a browser without any network."""
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for word in ("--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--disable-dev-shm-usage"):
        options.add_argument(word)
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
    driver.execute_cdp_cmd("Network.enable", {})
    offline = {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0}
    driver.execute_cdp_cmd("Network.emulateNetworkConditions", offline)
    yield driver
    driver.quit()


def shown(browser: Any, file: Path, size: tuple[int, int], scheme: str = "light", media: str = "screen") -> None:
    """Open a file on a screen of some size, light or dark, or as it is printed."""
    screen = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
    wish = {"media": media, "features": [{"name": "prefers-color-scheme", "value": scheme}]}
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", wish)
    browser.get(file.as_uri())


@pytest.mark.parametrize(
    ("size", "scheme", "media"),
    [(PHONE, "light", "screen"), (PHONE, "dark", "screen"), (DESKTOP, "light", "screen"), (DESKTOP, "dark", "screen"),
     (DESKTOP, "light", "print"), (DESKTOP, "dark", "print")],
)  # fmt: skip
@pytest.mark.parametrize("name", FILES)
def test_no_reader_is_kept_out(
    browser: Any, folder: Path, name: str, size: tuple[int, int], scheme: str, media: str
) -> None:
    shown(browser, folder / f"{name}.html", size, scheme, media)
    browser.execute_script(AXE.read_text(encoding="utf-8"))
    assert browser.execute_async_script(RUN_AXE) == []


@pytest.mark.parametrize("name", FILES)
def test_nothing_is_wider_than_a_phone_but_what_scrolls(browser: Any, folder: Path, name: str) -> None:
    shown(browser, folder / f"{name}.html", PHONE)
    assert browser.execute_script(WIDER) == []


@pytest.mark.parametrize("name", [*NAMES, "hard"])
def test_no_words_of_a_picture_stand_on_others_or_leave_its_frame(browser: Any, folder: Path, name: str) -> None:
    shown(browser, folder / f"{name}.html", DESKTOP)
    assert browser.execute_script(OVERLAPS) == []


@pytest.mark.parametrize("name", FILES)
def test_nothing_is_fetched_and_names_never_run(browser: Any, folder: Path, name: str) -> None:
    shown(browser, folder / f"{name}.html", DESKTOP)
    fetched = browser.execute_script("return performance.getEntriesByType('resource').map(one => one.name)")
    assert [one for one in fetched if not one.startswith("data:")] == []
    assert browser.execute_script("return document.scripts.length") == 0
    assert "broken" not in browser.title


def sheets(browser: Any, file: Path, wide: float, high: float) -> int:
    """Return on how many sheets [inches] a file is printed."""
    shown(browser, file, DESKTOP, media="")
    printed = browser.execute_cdp_cmd("Page.printToPDF", {"paperWidth": wide, "paperHeight": high})
    pages = re.findall(rb"/Type\s*/Page\b(?!s)", base64.b64decode(printed["data"]))
    assert pages
    return len(pages)


@pytest.mark.parametrize("paper", [(8.27, 11.69), (8.5, 11.0)], ids=["A4", "letter"])
def test_the_first_example_takes_six_sheets_at_most(browser: Any, folder: Path, paper: tuple[float, float]) -> None:
    assert sheets(browser, folder / "creamery.html", *paper) <= 6


@pytest.mark.parametrize("paper", [(8.27, 11.69), (8.5, 11.0)], ids=["A4", "letter"])
@pytest.mark.parametrize("name", [*NAMES, "hard"])
def test_a_card_is_one_sheet(browser: Any, folder: Path, name: str, paper: tuple[float, float]) -> None:
    assert sheets(browser, folder / f"{name}-card.html", *paper) == 1
