"""Files are written whole or not at all; a shop with other sizes differs in its size cells alone; nothing is lost."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest

import ductcalc
from ductcalc.answers.size.stretches import plan_of
from ductcalc.errors import InputError
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from ductcalc.shop.hanging import settled_bores
from ductcalc.tables.writing import size_text, write_shop, write_sized, write_whole

FILES = {"duct.csv": b"mine\n", "shop.toml": b""}
posix = pytest.mark.skipif(os.name != "posix", reason="needs permissions and links as on Unix")
ROOT = Path(__file__).parents[2]
EXAMPLES = ("creamery", "joinery-class", "one-machine")


def failing(error: BaseException) -> Callable[..., None]:
    def fail(*_: object, **__: object) -> None:
        raise error

    return fail


def full() -> OSError:
    return OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@posix
def test_new_file_has_the_usual_permissions(tmp_path: Path) -> None:
    write_whole(tmp_path / "a", b"text")
    (tmp_path / "b").touch()
    assert (tmp_path / "a").stat().st_mode == (tmp_path / "b").stat().st_mode
    assert (tmp_path / "a").read_bytes() == b"text"


def test_name_that_is_taken_stays(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"mine")
    with pytest.raises(FileExistsError):
        write_whole(tmp_path / "a", b"text")
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a", b"mine")]


@posix
def test_replaced_file_keeps_its_permissions(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"mine")
    (tmp_path / "a").chmod(0o640)
    write_whole(tmp_path / "a", b"text", replace=True)
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o640
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a", b"text")]


@posix
@pytest.mark.parametrize("dangling", [False, True])
def test_link_stays_a_link_and_what_it_names_is_replaced(tmp_path: Path, dangling: bool) -> None:
    (tmp_path / "far").mkdir()
    if not dangling:
        (tmp_path / "far" / "a").write_bytes(b"mine")
    (tmp_path / "link").symlink_to(tmp_path / "far" / "a")
    with pytest.raises(FileExistsError):
        write_whole(tmp_path / "link", b"text")
    write_whole(tmp_path / "link", b"text", replace=True)
    assert (tmp_path / "link").is_symlink() and (tmp_path / "far" / "a").read_bytes() == b"text"
    assert sorted(os.listdir(tmp_path)) == ["far", "link"] and os.listdir(tmp_path / "far") == ["a"]


@posix
def test_link_that_leads_in_a_ring_stays(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    with pytest.raises(OSError, match=r"[Tt]oo many levels"):
        write_whole(tmp_path / "a", b"text", replace=True)
    assert (tmp_path / "a").is_symlink() and sorted(os.listdir(tmp_path)) == ["a", "b"]


def test_write_protected_file_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a").write_bytes(b"mine")
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    with pytest.raises(PermissionError):
        write_whole(tmp_path / "a", b"text", replace=True)
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a", b"mine")]


@pytest.mark.parametrize("step", ["fsync", "replace", "chmod"])
@pytest.mark.parametrize("error", [full(), KeyboardInterrupt()])
def test_what_fails_or_is_interrupted_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, error: BaseException
) -> None:
    (tmp_path / "a").write_bytes(b"mine")
    monkeypatch.setattr(os, step, failing(error))
    with pytest.raises(type(error)):
        write_whole(tmp_path / "a", b"text", replace=True)
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a", b"mine")]


def test_disk_without_links_still_overwrites_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "link", failing(OSError(errno.EPERM, os.strerror(errno.EPERM))))
    write_whole(tmp_path / "a", b"text")
    with pytest.raises(FileExistsError):
        write_whole(tmp_path / "a", b"other")
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a", b"text")]


def test_longest_name_that_the_disk_takes_is_written(tmp_path: Path) -> None:
    write_whole(tmp_path / ("n" * 255), b"text")
    write_whole(tmp_path / ("n" * 255), b"more", replace=True)
    assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"more"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is full")
def test_device_is_written_into_and_stays_a_device() -> None:
    write_whole(Path(os.devnull), b"text", replace=True)
    assert Path(os.devnull).is_char_device()
    with pytest.raises(OSError, match="No space left"):
        write_whole(Path("/dev/full"), b"text", replace=True)


@pytest.mark.parametrize("replace", [False, True])
def test_of_many_writers_at_once_one_wins_whole(tmp_path: Path, replace: bool) -> None:
    texts = [bytes([ord("a") + number]) * 200_000 for number in range(8)]

    def write(text: bytes) -> bool:
        try:
            write_whole(tmp_path / "said", text, replace)
        except FileExistsError:
            return False
        return True

    with ThreadPoolExecutor(8) as pool:
        won = list(pool.map(write, texts))
    assert won.count(True) == (8 if replace else 1)
    assert os.listdir(tmp_path) == ["said"]
    assert (tmp_path / "said").read_bytes() in [text for text, done in zip(texts, won, strict=True) if done]


def test_shop_is_checked_before_its_files_bear_their_names(tmp_path: Path) -> None:
    seen: list[tuple[list[str], bool]] = []
    folder = tmp_path / "new"
    paths = write_shop(folder, FILES, lambda draft: seen.append((sorted(os.listdir(draft)), paths_free(folder))))
    assert seen == [(sorted(FILES), True)]
    assert paths == [folder / name for name in FILES] and sorted(os.listdir(folder)) == sorted(FILES)


def paths_free(folder: Path) -> bool:
    return not any((folder / name).exists() for name in FILES)


@pytest.mark.parametrize("error", [InputError([]), KeyboardInterrupt()])
def test_shop_that_fails_its_check_leaves_no_folder(tmp_path: Path, error: BaseException) -> None:
    with pytest.raises(type(error)):
        write_shop(tmp_path / "new" / "shop", FILES, failing(error))
    assert os.listdir(tmp_path) == []


def test_file_that_came_in_between_stays_and_the_rest_is_taken_away(tmp_path: Path) -> None:
    def meanwhile(draft: Path) -> None:
        (tmp_path / "shop.toml").write_bytes(b"theirs")

    with pytest.raises(InputError, match="file exists"):
        write_shop(tmp_path, FILES, meanwhile)
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("shop.toml", b"theirs")]


def test_full_disk_leaves_no_shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", failing(full()))
    with pytest.raises(InputError, match="cannot be written: no space left on device"):
        write_shop(tmp_path / "new", FILES)
    assert os.listdir(tmp_path) == []


def resized(shop: Shop) -> Shop:
    """Give every stretch the second size of its list."""
    plan = plan_of(build_model(shop))
    return plan.hung([stretch.sizes_m[min(1, len(stretch.sizes_m) - 1)] for stretch in plan.stretches])


def in_five_inch(source: Path) -> Shop:
    plan = plan_of(build_model(ductcalc.read_shop(source)))
    return plan.hung([0.127] * len(plan.stretches))


def bores(shop: Shop) -> list[list[float]]:
    return [settled_bores(run.pieces) for run in shop.runs if any(piece.size_m for piece in run.pieces)]


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_reads_back_with_the_new_sizes_and_all_else_as_it_was(name: str, tmp_path: Path) -> None:
    source = ROOT / "examples" / name
    shop = ductcalc.read_shop(source)
    sized = resized(shop)
    write_sized(source, None, sized, tmp_path / name)
    again = ductcalc.read_shop(tmp_path / name)
    for mine, theirs in zip(bores(again), bores(sized), strict=True):
        assert mine == pytest.approx(theirs, abs=1e-9)
    assert again.collectors == shop.collectors and again.settings == shop.settings
    rest = [[[replace(p, size_m=None) for p in run.pieces] for run in one.runs] for one in (again, shop)]
    assert rest[0] == rest[1]
    before, after = ((folder / "duct.csv").read_text("utf-8") for folder in (source, tmp_path / name))
    comments = [[line for line in text.splitlines() if line.startswith("#")] for text in (before, after)]
    assert comments[0] == comments[1]


@pytest.mark.parametrize("name", EXAMPLES)
def test_without_a_change_the_table_stays_as_it_is(name: str, tmp_path: Path) -> None:
    source = ROOT / "examples" / name
    write_sized(source, None, ductcalc.read_shop(source), tmp_path)
    assert (tmp_path / "duct.csv").read_bytes() == (source / "duct.csv").read_bytes()


def test_blank_sizes_that_carried_on_are_written_out(tmp_path: Path) -> None:
    head = "run,piece,machine,size,length,flow,k\nline,port,saw,4 in,,400 cfm,1\n"
    source = tmp_path / "plain"
    source.mkdir()
    (source / "duct.csv").write_text(head + ",pipe,,,9 ft,,\n,gate,,,,,\n,collector,,,,,\n", encoding="utf-8")
    write_sized(source, None, in_five_inch(source), tmp_path / "five")
    rows = (tmp_path / "five" / "duct.csv").read_text("utf-8").splitlines()
    assert [row.split(",")[3] for row in rows] == ["size", "4 in", "5 in", "5 in", "4 in"]


def test_a_size_that_stays_is_left_as_it_was_typed(tmp_path: Path) -> None:
    (tmp_path / "plain").mkdir()
    head = "run,piece,machine,size,length,flow,k\nline,port,saw,4 in,,400 cfm,1\n"
    rest = ",pipe,,127 mm,9 ft,,\n,pipe,,6 in,3 ft,,\n,collector,,,,,\n"
    (tmp_path / "plain" / "duct.csv").write_text(head + rest, encoding="utf-8")
    write_sized(tmp_path / "plain", None, in_five_inch(tmp_path / "plain"), tmp_path / "five")
    rows = (tmp_path / "five" / "duct.csv").read_text("utf-8").splitlines()
    assert [row.split(",")[3] for row in rows[1:4]] == ["4 in", "127 mm", "5 in"]


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    source = ROOT / "examples" / "one-machine"
    (tmp_path / "shop.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="there already"):
        write_sized(source, None, ductcalc.read_shop(source), tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["shop.toml"]


def test_cells_of_several_lines_are_refused_and_nothing_is_left(tmp_path: Path) -> None:
    source = tmp_path / "lines"
    source.mkdir()
    rows = 'run,piece,machine,size,length,flow,note\nline,port,saw,4 in,,400 cfm,"two\nlines"\n,pipe,,4 in,9 ft,,\n'
    (source / "duct.csv").write_text(rows + ",collector,,4 in,,,\n", encoding="utf-8")
    with pytest.raises(InputError, match="nothing was written"):
        write_sized(source, None, in_five_inch(source), tmp_path / "new")
    assert not (tmp_path / "new").exists() or not list((tmp_path / "new").iterdir())


@pytest.mark.parametrize(("bore_m", "text"), [(0.1016, "4 in"), (0.0635, "2.5 in"), (0.125, "125 mm")])
def test_a_size_is_written_as_it_is_sold(bore_m: float, text: str) -> None:
    assert size_text(bore_m) == text
