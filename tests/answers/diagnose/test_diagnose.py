"""Readings against calculation: planted faults are found, healthy shops are left alone, chances mean what they say."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace

import numpy as np
import pytest

from ductcalc.answers.diagnose.diagnose import Diagnosis, diagnose
from ductcalc.answers.diagnose.observed import Observed
from ductcalc.answers.diagnose.weighed import Looked as Weighed
from ductcalc.answers.diagnose.weighed import Suspect
from ductcalc.catalog import fact
from ductcalc.errors import InputError, NoAnswerError
from ductcalc.model.model import build_model
from ductcalc.tables.readings import read_readings
from tests.answers.diagnose.planted import (
    KINDS,
    NAMES,
    SELDOM,
    WITHOUT_BASELINE,
    Planted,
    as_stated,
    drawn,
    planted,
    rows_of,
)
from tests.answers.diagnose.small_solver import read, with_drop
from tests.scenes import two_machines

LONG = os.environ.get("DUCTCALC_LONG") == "1"
HEALTHY = 200 if LONG else 6
SHOPS = 500 if LONG else 18
SELDOM_SHOPS, STATED = (80, 500) if LONG else (12, 24)


@dataclass(frozen=True)
class Looked:
    """A planted fault and what was said of it. place: of the truth among the suspects, None where it was not listed."""

    truth: Planted
    said: Diagnosis
    place: int | None

    @property
    def suspect(self) -> Suspect | None:
        return None if self.place is None else self.said.suspects[self.place]

    @property
    def found(self) -> bool:
        """Whether it is first, or said not to be told from the first."""
        return self.place == 0 or (self.suspect is not None and self.suspect.alike)


def looked(seed: int, kind: str | None, stated: bool, baseline: bool | None = None) -> Looked:
    return said_of(planted(seed, kind, baseline=seed % 2 == 0 if baseline is None else baseline, stated=stated))


def said_of(truth: Planted) -> Looked:
    said = diagnose(truth.shop, truth.readings)
    places = [n for n, s in enumerate(said.suspects) if right(truth, s)]
    return Looked(truth, said, places[0] if places else None)


def right(truth: Planted, suspect: Suspect) -> bool:
    model = build_model(truth.shop)
    titles = {section.name: title for section, title in zip(model.sections, model.titles, strict=True)}
    where = titles.get(truth.where or "", truth.where or "")
    return suspect.second is None and (suspect.kind, suspect.where) == (truth.kind or "no fault", where)


@pytest.fixture(scope="module")
def faulty() -> list[Looked]:
    return [looked(1000 + n, KINDS[n % len(KINDS)], stated=n % 3 == 0) for n in range(SHOPS)]


@pytest.fixture(scope="module")
def well() -> list[Looked]:
    return [looked(9000 + n, None, stated=n % 3 == 0) for n in range(HEALTHY)]


@pytest.fixture(scope="module")
def seldom() -> list[Looked]:
    kinds = [SELDOM[n % len(SELDOM)] for n in range(SELDOM_SHOPS)]
    return [looked(30000 + n, kind, n % 3 == 0, n % 8 == 0 and kind not in WITHOUT_BASELINE)
            for n, kind in enumerate(kinds)]  # fmt: skip


@pytest.fixture(scope="module")
def as_often_as_stated() -> list[Looked]:
    return [said_of(as_stated(20000 + n, baseline=n % 2 == 0)) for n in range(STATED)]


def test_a_torn_filter_reversed_blower_smaller_pipe_or_forgotten_altitude_is_found(seldom: list[Looked]) -> None:
    for kind in SELDOM:
        mine = [one for one in seldom if one.truth.kind == kind]
        assert sum(one.found for one in mine) >= 0.9 * len(mine), kind


def test_the_planted_fault_is_first_or_named_with_the_first_in_nine_of_ten(faulty: list[Looked]) -> None:
    assert sum(one.found for one in faulty) >= 0.9 * len(faulty)


def test_a_healthy_shop_raises_a_false_fault_in_under_one_of_twenty(well: list[Looked]) -> None:
    assert sum(one.place != 0 for one in well) < max(0.05 * len(well), 1.0)


def test_chances_of_all_faults_add_up_to_one_and_fall(faulty: list[Looked]) -> None:
    for one in faulty[:9]:
        chances = [suspect.probability for suspect in one.said.suspects]
        assert sum(chances) == pytest.approx(1.0)
        assert chances == sorted(chances, reverse=True)


def test_chances_mean_what_they_say(as_often_as_stated: list[Looked]) -> None:
    """In each of ten bins the truth comes as often as was said, within what that many cases allow.

    Faults, their sizes and all noise are drawn as often as the program says: no chance can be right for other ones.
    """
    pairs = np.array([(s.probability, right(o.truth, s)) for o in as_often_as_stated for s in o.said.suspects[:10]])
    for low in np.arange(0.0, 1.0, 0.1):
        mine = pairs[(pairs[:, 0] >= low) & (pairs[:, 0] < low + 0.1 + 1e-9)]
        if len(mine) < 20:
            continue
        said, came = mine.mean(axis=0)
        assert abs(said - came) <= 0.02 + 2.6 * np.sqrt(max(said * (1 - said), 0.01) / len(mine)), (low, said, came)


def test_the_size_lies_in_its_band_as_often_as_said(faulty: list[Looked]) -> None:
    """Eight in ten, within what that many cases allow."""
    sized = [(one.truth.size, one.suspect) for one in faulty if one.place == 0 and one.suspect and one.suspect.low]
    inside = [s.low <= size <= s.high for size, s in sized if size and s.low and s.high]
    assert len(inside) >= 0.4 * len(faulty)
    assert sum(inside) / len(inside) >= 0.8 - 2.6 * (0.16 / len(inside)) ** 0.5 - 0.02


@pytest.mark.parametrize(("off", "by_change"), [(1.33, False), (0.45, True)])
def test_one_fall_beside_unchanged_readings_is_put_in_that_drop(off: float, by_change: bool) -> None:
    """Before and after: no agreement with calculation is asked for, all readings are a third or a half off."""
    draw = np.random.default_rng(4)
    shop, truth = drawn(draw, stated=False)
    sick = with_drop(truth, 0, hose_factor=truth.drops[0].hose_factor * 8)
    rows = []
    for net, when, healthy in ((truth, "2026-01-10", "yes"), (sick, "2026-03-01", "")):
        for machine in (0, 1):
            static = read(net, frozenset({machine})).static
            name = "main" if machine == 0 else "drop 1"
            for tap, where in ((f"port {machine}", f"port {name}"), (f"gate {machine}", f"gate {name}"),
                               ("collector inlet", "collector inlet")):  # fmt: skip
                rows.append({"when": when, "open": NAMES[machine], "where": where, "healthy": healthy,
                             "value": f"{off * static[tap]:.0f} Pa"})  # fmt: skip
    found = diagnose(shop, read_readings(rows, shop))
    assert found.baseline == "2026-01-10"
    assert found.by_change == by_change
    assert (found.first.kind, found.first.where) in {("hose kinked or longer", "main"), ("gate not opening", "main")}
    assert found.first.probability + sum(s.probability for s in found.alike) > 0.9


@pytest.mark.parametrize("change", [0.93, 1.06])
def test_a_change_under_a_tenth_is_no_finding(change: float) -> None:
    one = planted(7, None, baseline=True)
    healthy = [reading for reading in one.readings if reading.healthy]
    rows = [
        {"when": when, "open": " + ".join(r.open), "where": r.where.written, "healthy": flag,
         "value": f"{r.value * factor:.1f} Pa", "instrument": r.instrument}
        for when, flag, factor in (("2026-01-10", "yes", 1.0), ("2026-03-01", "", change))
        for r in healthy
    ]  # fmt: skip
    assert diagnose(one.shop, read_readings(rows, one.shop)).first.kind == "no fault"


def test_two_faults_are_named_where_one_does_not_explain() -> None:
    draw = np.random.default_rng(11)
    shop, truth = drawn(draw, stated=False)
    both = with_drop(with_drop(truth, 0, pipe_left=0.25), 1, narrowed=0.25)
    opens = [frozenset({0}), frozenset({1})]
    rows = [*rows_of(draw, truth, opens, "2026-01-10", "yes", {}, True),
            *rows_of(draw, both, opens, "2026-03-10", "", {}, True)]  # fmt: skip
    found = diagnose(shop, read_readings(rows, shop)).first
    assert found.second is not None
    kinds = {(found.kind, found.where.partition(",")[0]), (found.second.kind, found.second.where.partition(",")[0])}
    assert ("port blocked", NAMES[1]) in kinds
    assert any(where in ("main", NAMES[0]) for _, where in kinds)


def test_two_faults_are_as_likely_in_either_order() -> None:
    one = planted(1000, "port blocked", baseline=True, stated=False)
    seen = Weighed.at(Observed.of(build_model(one.shop), one.readings))
    singles = list(seen._single())
    there, back = (sorted(pair.weight for pair in seen._pairs(some)) for some in (singles, singles[::-1]))
    assert len({seen._prior[score.fault.kind] for score in singles if score.fault}) > 1 and len(there) > 20
    assert there == pytest.approx(back, rel=1e-12)


def test_a_size_that_is_a_multiple_of_a_number_not_known_for_sure_is_told_with_that_numbers_band() -> None:
    """Without healthy readings a hose's factor may be off by all of its own band, which is four deviations wide."""
    one = planted(1000, "hose kinked or longer", baseline=False, stated=False)
    hoses = [s for s in diagnose(one.shop, one.readings).suspects if s.kind == "hose kinked or longer" and not s.second]
    factor = fact("hose", "factor")
    for suspect in hoses:
        assert suspect.size and suspect.low
        assert np.log(suspect.size / suspect.low) > 1.28 * np.log(factor.high / factor.low) / 4.0
    assert hoses


def test_a_share_of_the_blowers_speed_is_never_told_as_more_than_the_whole(faulty: list[Looked]) -> None:
    slow = [s for one in faulty for s in one.said.suspects if s.size_of == "speed" and s.kind == "blower slow"]
    assert any(s.high == 1.0 for s in slow)
    assert all(s.high is not None and s.high <= 1.0 for s in slow)


def test_a_further_reading_is_one_that_was_not_taken_and_parts_the_two(faulty: list[Looked]) -> None:
    told = [(one.truth, one.said.further) for one in faulty if one.said.further is not None]
    assert len(told) >= 5
    for truth, further in told:
        taken = {(reading.where.written, reading.open) for reading in truth.readings if not reading.healthy}
        assert (further.where, further.open) not in taken
        assert further.apart >= 2.0
        assert abs(further.first_pa - further.second_pa) > 5.0


def test_no_reading_is_foretold_for_what_is_not_in_the_list(faulty: list[Looked], well: list[Looked]) -> None:
    every = [one.said for one in (*faulty, *well)]
    assert any(said.suspects[1].kind == "something else" for said in every)
    for said in every:
        assert said.rival is not None and said.rival.kind != "something else" and said.rival.second is None
        assert said.rival in said.suspects[1:]


def test_readings_that_are_all_healthy_leave_nothing_to_diagnose() -> None:
    rows = [{"when": "2026-01-10", "open": "planer", "where": "port drop", "value": "3 inwg", "healthy": "yes"}]
    with pytest.raises(InputError, match="marked healthy"):
        diagnose(two_machines(), read_readings(rows, two_machines()))


def test_a_shop_that_has_no_answer_where_it_was_read_is_not_diagnosed() -> None:
    made = two_machines()
    first, *others = made.collectors[0].blower
    early = replace(others[0], flow_m3_s=0.01 * others[0].flow_m3_s)
    made = replace(made, collectors=(replace(made.collectors[0], blower=(first, early)),))
    rows = [{"when": "2026-01-10", "open": "planer", "where": "port drop", "value": "3 inwg"}]
    with pytest.raises(NoAnswerError, match="run ductcalc check"):
        diagnose(made, read_readings(rows, made))


def test_a_motors_current_is_told_as_not_used() -> None:
    rows = [{"when": "2026-01-10", "open": "planer", "where": where, "value": value}
            for where, value in (("port drop", "3 inwg"), ("motor", "11 A"))]  # fmt: skip
    found = diagnose(two_machines(), read_readings(rows, two_machines()))
    assert [reading.where.written for reading in found.unused] == ["motor"]
    assert [reading.where.written for reading in found.now] == ["port drop"]



@pytest.mark.parametrize("seed", range(6))
def test_a_tube_on_the_wrong_side_of_a_shut_gate_is_told(seed: int) -> None:
    """Towards the main the tube shows suction, towards the machine next to none."""
    draw = np.random.default_rng(500 + seed)
    shop, truth = drawn(draw, stated=seed % 2 == 0)
    static = read(truth, frozenset({0})).static
    shown = {"port main": static["port 0"], "gate main": static["gate 0"], "collector inlet": static["collector inlet"],
             "gate drop 1": static["ahead 1"]}  # fmt: skip
    assert static["ahead 1"] < 0.2 * static["gate 1"]
    noisy = {where: value * (1.0 + draw.normal(0.0, 0.02)) for where, value in shown.items()}
    rows = [{"when": "2026-03-10", "open": NAMES[0], "where": where, "instrument": "digital gauge",
             "value": f"{value:.1f} Pa"} for where, value in noisy.items()]  # fmt: skip
    first = diagnose(shop, read_readings(rows, shop)).first
    assert (first.kind, first.where) == ("tube on the wrong side", "gate drop 1")
