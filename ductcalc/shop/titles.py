"""Sections by names that people understand: the run, and from which drop to which it reaches."""

from __future__ import annotations

from ductcalc.shop.hanging import Hanging, Wye
from ductcalc.shop.names import key_of


def section_titles(hanging: Hanging) -> tuple[str, ...]:
    """Return the title of every section: the run's name, and in a run of several where it begins and ends.

    A run joins where it ends, so that a drop is told apart by its name alone; a main is told by what joins it.
    """
    below, above = hanging.wye_below(), {wye.outlet: wye for wye in hanging.wyes}
    of_run: dict[str, int] = {}
    for section in hanging.sections:
        of_run[key_of(section.run)] = of_run.get(key_of(section.run), 0) + 1
    machines = {port.section: port.machine for port in reversed(hanging.ports)}
    titles = []
    for number, section in enumerate(hanging.sections):
        if of_run[key_of(section.run)] == 1:
            titles.append(section.run)
            continue
        ends_in = below[number]
        start = _joining(above[number]) if number in above else machines.get(number, "its capped end")
        end = "the collector" if ends_in is None else _end(section.run, hanging.wyes[ends_in])
        titles.append(f"{section.run}, {start} to {end}")
    return tuple(titles)


def _joining(wye: Wye) -> str:
    """Return the runs that join at a wye; a capped branch is only told when nothing else joins."""
    names = [name for name in wye.hung.piece.joins if key_of(name) != "cap"]
    return " and ".join(names) or "a capped branch"


def _end(run: str, wye: Wye) -> str:
    """Return where a section ends: what joins its own run there, or the run that it joins."""
    return _joining(wye) if key_of(wye.hung.run) == key_of(run) else wye.hung.run
