"""How a tree is taken apart: every wye once, side paths before the paths that they join, few rounds."""

from __future__ import annotations

import math

import numpy as np
import pytest

from ductcalc.solve.tree import Tree
from tests.solve.networks import comb, random_network
from tests.solve.trees import bush

TREES = {
    "comb": comb(100).tree,
    "bush": bush(8, 12).tree,
    "drawn": random_network(np.random.default_rng(5), 40, caps=True).tree,
}


@pytest.fixture(params=TREES)
def tree(request: pytest.FixtureRequest) -> Tree:
    return TREES[request.param]


def test_every_wye_is_met_once(tree: Tree) -> None:
    met = [wye for level in tree.levels for wye in level.wye.tolist()]
    assert sorted(met) == list(range(len(tree.wyes)))


def test_every_stream_is_the_paths_own_or_comes_from_the_side(tree: Tree) -> None:
    own = [stream for level in tree.levels for stream in level.stream[level.runs_on[:, 0] > 0.0].tolist()]
    side = [stream for level in tree.levels for side in level.sides for stream in side.stream.tolist()]
    assert sorted(own + side) == list(range(len(tree.stream_section)))


def test_what_joins_from_the_side_is_done_before(tree: Tree) -> None:
    done = set(tree.leaves.tolist())
    for level in tree.levels:
        joining = {section for side in level.sides for section in side.section.tolist()}
        assert joining <= done
        done |= set(level.end.tolist())
    assert tree.root in done


def test_rounds_grow_with_the_logarithm(tree: Tree) -> None:
    for level in tree.levels:
        assert len(level.rounds) <= math.ceil(math.log2(len(level.wye) + 1))


def test_one_port_has_nothing_to_take_apart() -> None:
    tree = random_network(np.random.default_rng(1), 1).tree
    assert tree.levels == ()
    assert tree.leaves.tolist() == [tree.root]


def test_a_comb_is_one_path() -> None:
    (level,) = comb(100).tree.levels
    assert len(level.start) == 1
    assert len(level.wye) == 99
    assert len(level.rounds) == 7


def test_a_bush_of_combs_is_worked_off_together() -> None:
    levels = bush(16, 40).tree.levels
    assert len(levels[0].start) == 16
    assert [len(level.start) for level in levels[1:]] == [8, 4, 2, 1]
    assert sum(len(level.rounds) for level in levels) <= 10


def test_each_round_puts_every_item_somewhere(tree: Tree) -> None:
    for level in tree.levels:
        count = len(level.start) + len(level.wye)
        for pairing in level.rounds:
            items = np.concatenate([pairing.first, pairing.second, pairing.carried])
            assert sorted(items.tolist()) == list(range(count))
            count = len(pairing.first) + len(pairing.carried)
        assert count == len(level.start)
