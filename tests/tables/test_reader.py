"""Folders and files: which are read, what is missing, and all problems of all files at once."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from ductcalc.errors import InputError
from ductcalc.tables import limits, read_shop
from ductcalc.tables.writing import write_starter
from tests.bench.reading import table_of


def test_all_problems_of_three_broken_files_come_in_one_go_in_order(problems_of) -> None:
    problems = problems_of(
        "run,piece,size\nmain,port,4\n,elbo,4 in\n,collector,4 in\n",
        "item,flow,pressure\nblower,1,1 Pa\nblower,2 cfm,1 pa\nfan,3 cfm,1 Pa\n",
        "[air]\naltitude = 3\n[colector]\n",
    )
    assert [str(p.place) for p in problems] == [
        "duct.csv row 2, column size (C)",
        "duct.csv row 3, column piece (B)",
        "collector.csv row 2, column flow (B)",
        "collector.csv row 4, column item (A)",
        "shop.toml, air.altitude",
        "shop.toml, colector",
    ]


def test_text_of_the_error_lists_problems_and_says_that_nothing_was_computed(shop_of, duct) -> None:
    with pytest.raises(InputError) as caught:
        shop_of(duct(second={"piece": "elbo", "size": "6"}))
    first, mend, second, write, last = str(caught.value).splitlines()
    assert first.startswith("duct.csv row 3, column piece (B): ") and '"elbo"' in first
    assert mend == "  hint: did you mean elbow?"
    assert second.startswith("duct.csv row 3, column size (E): ") and '"6"' in second and '"6 in"' in write
    assert "2 problems in duct.csv" in last and "nothing was computed" in last


def test_bare_duct_table_with_a_collector_beside_it(tmp_path: Path, duct, collector_text) -> None:
    (tmp_path / "my shop.csv").write_text(duct())
    (tmp_path / "fan.csv").write_text(collector_text)
    (tmp_path / "shop.toml").write_text("this is not even read")
    assert read_shop(tmp_path / "my shop.csv").collectors == ()
    shop = read_shop(tmp_path / "my shop.csv", tmp_path / "fan.csv")
    assert (shop.name, len(shop.collectors)) == ("my shop", 1)


def test_other_collector_takes_the_place_of_the_folders(tmp_path: Path, duct, collector_text) -> None:
    (tmp_path / "duct.csv").write_text(duct())
    (tmp_path / "collector.csv").write_text("broken")
    (tmp_path / "other.csv").write_text(collector_text)
    assert len(read_shop(tmp_path, tmp_path / "other.csv").collectors) == 1


@pytest.mark.parametrize("given", ["no such", "no such/duct.csv", "x" * 5000])
def test_missing_shop_is_told(tmp_path: Path, given: str) -> None:
    with pytest.raises(InputError) as caught:
        read_shop(tmp_path / given)
    assert caught.value.problems[0].hint


def test_folder_without_a_duct_table_names_what_is_there(tmp_path: Path) -> None:
    (tmp_path / "ducts.csv").write_text("x")
    with pytest.raises(InputError, match=r"there is no duct\.csv") as caught:
        read_shop(tmp_path)
    assert "ducts.csv" in caught.value.problems[0].hint


def test_mistyped_folder_is_told_with_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "creamery").mkdir()
    with pytest.raises(InputError) as caught:
        read_shop(tmp_path / "cremery")
    assert caught.value.problems[0].hint == "did you mean creamery?"


def test_missing_collector_and_wrong_duct_table_are_told_together(tmp_path: Path) -> None:
    (tmp_path / "duct.csv").write_text("")
    with pytest.raises(InputError) as caught:
        read_shop(tmp_path, tmp_path / "nothing.csv")
    assert [p.place.file for p in caught.value.problems] == ["duct.csv", "nothing.csv"]


def test_folder_in_place_of_a_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "duct.csv").mkdir()
    with pytest.raises(InputError, match="cannot be read"):
        read_shop(tmp_path)


def test_starter_runs_as_it_stands(tmp_path: Path) -> None:
    written = write_starter(tmp_path / "new" / "shop")
    assert [path.name for path in written] == ["duct.csv", "collector.csv", "shop.toml"]
    shop = read_shop(tmp_path / "new" / "shop")
    assert shop.name == "shop"
    assert [piece.machine for run in shop.runs for piece in run.pieces if piece.kind == "port"] == [
        "band saw",
        "table saw",
        "planer",
    ]
    assert sum(piece.kind == "gate" for run in shop.runs for piece in run.pieces) == 3
    assert len(shop.collectors[0].blower) == 6
    assert shop.collectors[0].basis == "fan static"
    assert shop.collectors[0].cyclone is not None
    assert shop.remarks == ()


@pytest.mark.parametrize("name", ["duct.csv", "collector.csv", "shop.toml"])
def test_starter_overwrites_nothing(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("mine")
    with pytest.raises(InputError, match="there already"):
        write_starter(tmp_path)
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [(name, "mine")]


def test_starter_does_not_write_through_a_dangling_link(tmp_path: Path) -> None:
    os.symlink(tmp_path / "elsewhere", tmp_path / "shop.toml")
    with pytest.raises(InputError, match="there already"):
        write_starter(tmp_path)
    assert not (tmp_path / "elsewhere").exists()
    assert not (tmp_path / "duct.csv").exists()


def test_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    with pytest.raises(InputError, match="cannot be written"):
        write_starter(tmp_path / "file" / "shop")
    with pytest.raises(InputError, match="cannot be written"):
        write_starter(tmp_path / "file")
    assert (tmp_path / "file").read_text() == "mine"


def test_write_that_fails_half_way_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    synced: list[int] = []

    def full(handle: int) -> None:
        synced.append(handle)
        if len(synced) == 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match="cannot be written: no space left on device"):
        write_starter(tmp_path / "new" / "shop")
    assert list(tmp_path.iterdir()) == []


def test_every_row_of_a_long_table_is_read(tmp_path: Path) -> None:
    text = table_of(200)
    (tmp_path / "duct.csv").write_text(text, encoding="utf-8")
    assert sum(len(run.pieces) for run in read_shop(tmp_path).runs) == text.count("\n")


def test_pipe_or_device_in_place_of_a_file_is_told_and_not_waited_for(tmp_path: Path, duct) -> None:
    os.mkfifo(tmp_path / "duct.csv")
    with pytest.raises(InputError, match="device"):
        read_shop(tmp_path)
    (tmp_path / "table.csv").write_text(duct())
    with pytest.raises(InputError, match="device"):
        read_shop(tmp_path / "table.csv", Path("/dev/zero"))


def test_links_in_a_ring_are_told(tmp_path: Path) -> None:
    os.symlink(tmp_path / "duct.csv", tmp_path / "duct.csv")
    with pytest.raises(InputError) as caught:
        read_shop(tmp_path)
    assert caught.value.problems[0].hint
    with pytest.raises(InputError, match="leads to no file"):
        read_shop(tmp_path / "duct.csv")


@pytest.mark.parametrize("name", ["collector.csv", "shop.toml"])
def test_link_that_leads_nowhere_is_not_passed_over(tmp_path: Path, duct, name: str) -> None:
    (tmp_path / "duct.csv").write_text(duct())
    os.symlink(tmp_path / "gone", tmp_path / name)
    with pytest.raises(InputError, match="there is no such file") as caught:
        read_shop(tmp_path)
    assert caught.value.problems[0].place.file == name


@pytest.mark.parametrize(
    ("name", "size"), [("duct.csv", limits.LARGEST_FILE), ("shop.toml", limits.LARGEST_SETTINGS)]
)
def test_file_far_too_large_is_told(tmp_path: Path, duct, name: str, size: int) -> None:
    (tmp_path / "duct.csv").write_text(duct())
    (tmp_path / name).write_bytes(b"#" * (size + 1))
    with pytest.raises(InputError) as caught:
        read_shop(tmp_path)
    assert "bytes" in caught.value.problems[0].message and "right file" in caught.value.problems[0].hint


@pytest.mark.parametrize("name", ["no\x1b[31msuch", "no\x00such", "no\udc80such", "no\u202esuch"])
def test_path_with_unseen_characters_is_spelled_out(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError) as caught:
        read_shop(tmp_path / name)
    assert f"\\u{ord(name[2]):04x}" in str(caught.value)
    assert name[2] not in str(caught.value)
