"""What can be wrong with how runs hang together: every problem, with place and repair."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ductcalc.errors import Place, Problem
from ductcalc.shop.bore import Rectangle
from ductcalc.shop.kinds import TRAITS
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece, Run
from ductcalc.shop.shop import Shop

_IN_OUTLET = [kind for kind, traits in TRAITS.items() if traits.in_outlet]
_MOST_NAMED = 8
_MOST_COMPARED = 500
"""Names that an unknown one is compared with: in a longer table looking for what was meant would take too long."""


def problems_of(shop: Shop) -> tuple[Problem, ...]:
    """Return every problem of how the shop's runs hang together, in the order of the table."""
    if not shop.runs:
        return (Problem("no run is written", "write a run that starts with a port and ends at the collector"),)
    found = [*_duplicates(shop.runs)]
    known = run_by_key(shop.runs)
    backwards = _backwards(shop.runs)
    for run in shop.runs:
        found += [_turned_round(run)] if run in backwards else _order_of_rows(run)
        found += _shared_hose(run)
        found += _sizes(run)
        found += _shapes(run)
        found += _wyes(run, known)
    if not any(run.is_outlet for run in backwards):
        found += _ends(shop.runs)
    found += _likes(shop.runs)
    found += _loops(shop.runs) if found else _joining(shop.runs)
    return tuple(sorted(found, key=lambda p: p.place.row or 0 if p.place else 0))


def run_by_key(runs: Sequence[Run]) -> dict[str, Run]:
    """Return runs by the form in which names are compared."""
    return {key_of(run.name): run for run in runs}


def _at(place: Place | None, column: str) -> Place | None:
    return None if place is None else replace(place, column=column, letter=None)


def _nearest(name: str, known: Mapping[str, Run]) -> str | None:
    near = difflib.get_close_matches(key_of(name), list(known), cutoff=0.6) if len(known) <= _MOST_COMPARED else []
    return known[near[0]].name if near else None


def _duplicates(runs: Sequence[Run]) -> Iterator[Problem]:
    seen: set[str] = set()
    for run in runs:
        if key_of(run.name) in seen:
            yield Problem(
                f'a run named "{run.name}" stands above already',
                "give each run a name of its own; rows of one run stand together",
                _at(run.place, "run"),
                run.name,
            )
        seen.add(key_of(run.name))


def _order_of_rows(run: Run) -> Iterator[Problem]:
    first = run.pieces[0]
    if first.traits.in_line:
        yield Problem(
            f'run "{run.name}" starts with a {first.kind}',
            "start a run with a port (a machine), with cap (a closed end) or with a wye;"
            " if its first row is a comment, write `off` as the port's flow instead",
            _at(first.place, "piece"),
            first.kind,
        )
    heading = True
    for index, piece in enumerate(run.pieces):
        heading = heading and piece.kind == "port"
        for message, hint in _misplaced(run, piece, index, heading):
            yield Problem(message, hint, _at(piece.place, "piece"), piece.kind)


def _backwards(runs: Sequence[Run]) -> list[Run]:
    """Return the runs that go from the collector's side to a machine: their ports stand at their end alone.

    One that starts at the collector is an outlet duct, if another run ends there.
    """
    ended = any(run.is_last for run in runs)
    ports = [[piece.kind == "port" for piece in run.pieces] for run in runs]
    return [
        run
        for run, port in zip(runs, ports, strict=True)
        if port[-1] and not port[0] and port == sorted(port) and not (run.is_outlet and ended)
    ]


def _turned_round(run: Run) -> Problem:
    first = run.pieces[0]
    return Problem(
        f'run "{run.name}" is written backwards: it ends with its port',
        "write its rows the other way round: the port first, then on towards the collector; a wye belongs to the run"
        " that goes straight through it",
        _at(first.place, "piece"),
        first.kind,
    )


def _misplaced(run: Run, piece: Piece, index: int, heading: bool) -> Iterator[tuple[str, str]]:
    """Yield message and repair of each way in which a piece stands where it cannot."""
    last = len(run.pieces) - 1
    if piece.kind == "port" and not heading:
        yield (
            f'run "{run.name}" has a port in the middle',
            "a port heads its run: write the name of its own run under run (a blank repeats the run above), and name"
            " that run under joins of a wye",
        )
    if piece.kind == "cap" and index > 0:
        yield (
            "a cap closes the upstream end: it can only be a run's first row",
            "remove the row, or start a run with it",
        )
    if piece.kind == "like" and last > 0:
        yield f'run "{run.name}" has other rows beside `like`', "a run that is like another one has this row alone"
    if piece.kind == "collector" and 0 < index < last:
        yield (
            f'run "{run.name}" goes on after the collector',
            "end the run here; an outlet duct is a run of its own that starts with collector",
        )
    if index > 0 and run.is_outlet and not piece.traits.in_outlet:
        yield (
            f"an outlet duct cannot hold a {piece.kind}",
            f"the outlet is a single line of {', '.join(_IN_OUTLET[:-1])} and {_IN_OUTLET[-1]} rows",
        )


def _shared_hose(run: Run) -> Iterator[Problem]:
    """Port rows at the head of a run share its hose in turn: each is another machine."""
    seen: set[str] = set()
    for piece in run.pieces:
        if piece.kind != "port":
            continue
        machine = piece.machine or run.name
        if key_of(machine) in seen:
            yield Problem(
                f'"{machine}" stands twice on the hose of run "{run.name}", which is on one machine at a time',
                "give this port another machine's name, or a run of its own that comes in at a wye",
                _at(piece.place, "machine"),
                piece.machine,
            )
        seen.add(key_of(machine))


def _sizes(run: Run) -> Iterator[Problem]:
    if run.pieces[0].kind != "like" and all(piece.size_m is None for piece in run.pieces):
        yield Problem(
            f'no row of run "{run.name}" has a size',
            'write the inside diameter, for example "6 in" or "150 mm"; a blank carries on from the row before',
            _at(run.pieces[0].place, "size"),
        )
    for piece in run.pieces:
        if piece.kind == "reducer" and piece.size_m is None:
            yield Problem(
                "a reducer needs the size that it leads to",
                'write the size downstream of it, for example "6 in"',
                _at(piece.place, "size"),
            )


def _shapes(run: Run) -> Iterator[Problem]:
    """Ask for round duct where no other is known: at wyes, and at every piece that is not of any shape."""
    last = next((piece.size_m for piece in run.pieces if piece.size_m is not None), None)
    for piece in run.pieces:
        meets = piece.kind == "wye" or (piece.size_m is None and not piece.traits.any_shape)
        if isinstance(last, Rectangle) and meets:
            word = piece.traits.word
            yield _round(piece, f"the duct next to this {word} is rectangular; the {word} is round")
        last = last if piece.size_m is None else piece.size_m
    if isinstance(last, Rectangle) and not (run.is_last or run.is_outlet):
        yield _round(run.pieces[-1], "rectangular duct leads into a wye here; a wye is round")


def _round(piece: Piece, message: str) -> Problem:
    hint = 'put a reducer to a round size between, and write that size, for example "6 in"'
    return Problem(message, hint, _at(piece.place, "size"))


def _wyes(run: Run, known: Mapping[str, Run]) -> Iterator[Problem]:
    for index, piece in enumerate(run.pieces):
        if piece.kind != "wye":
            continue
        place = _at(piece.place, "joins")
        if index == 0 and piece.joins and all(key_of(name) == "cap" for name in piece.joins):
            yield Problem(
                "no air comes in at this wye: it starts its run and all that joins is cap",
                "name a run that comes in here, or start the run with a cap row and a wye behind it",
                place,
                " + ".join(piece.joins),
            )
        if not piece.joins:
            yield Problem(
                "this wye does not say which run comes in",
                "write the run's name under joins, or cap while it is closed",
                place,
            )
        for name in piece.joins:
            if key_of(name) != "cap" and key_of(name) not in known:
                near = _nearest(name, known)
                hint = f"did you mean {near}?" if near else "write a run of this table, or cap"
                yield Problem(f'no run is named "{name}"', hint, place, name)
        yield from _angle_count(piece)


def _angle_count(piece: Piece) -> Iterator[Problem]:
    given, joins = len(piece.angles_deg), len(piece.joins)
    is_y = piece.style is not None and key_of(piece.style) == "y"
    if joins and given > 1 and given != joins and not (is_y and given == joins + 1):
        yield Problem(
            f"{given} angles for {joins} joining run{'s' if joins > 1 else ''}",
            "write one angle for each joining run, as in 30 + 45, or a single one for all",
            _at(piece.place, "angle"),
        )


def _ends(runs: Sequence[Run]) -> Iterator[Problem]:
    ends = [run for run in runs if run.is_last]
    outlets = [run for run in runs if run.is_outlet]
    if not ends:
        last = runs[-1]
        yield Problem(
            "no run ends at the collector",
            "end the run that leads to the collector with a collector row",
            _at(last.pieces[-1].place, "piece"),
        )
    for extra in ends[1:]:
        yield Problem(
            f'runs "{ends[0].name}" and "{extra.name}" both end at a collector',
            "one collector serves one tree: join this run at a wye, or keep the second collector's ducts in a"
            " shop folder of their own",
            _at(extra.pieces[-1].place, "piece"),
            "collector",
        )
    for extra in outlets[1:]:
        yield Problem(
            f'runs "{outlets[0].name}" and "{extra.name}" both start at the collector',
            "a collector has one outlet duct: keep one of them",
            _at(extra.pieces[0].place, "piece"),
            "collector",
        )


def _likes(runs: Sequence[Run]) -> Iterator[Problem]:
    known = run_by_key(runs)
    for run in runs:
        head = run.pieces[0]
        if head.kind == "like":
            yield from _like(run, head, known)


def _like(run: Run, head: Piece, known: Mapping[str, Run]) -> Iterator[Problem]:
    place = _at(head.place, "joins")
    if len(head.joins) != 1:
        yield Problem("`like` needs the one run that it copies", "write that run's name under joins", place)
        return
    name, seen = head.joins[0], {key_of(run.name)}
    while key_of(name) in known and known[key_of(name)].pieces[0].kind == "like":
        if key_of(name) in seen:
            yield Problem(f'run "{run.name}" is like itself', "name a run that has pieces of its own", place, name)
            return
        seen.add(key_of(name))
        onward = known[key_of(name)].pieces[0].joins
        if len(onward) != 1:
            return
        name = onward[0]
    source = known.get(key_of(name))
    if source is None:
        near = _nearest(name, known)
        yield Problem(
            f'no run is named "{name}"',
            f"did you mean {near}?" if near else "write a run of this table",
            place,
            name,
        )
    elif sum(piece.kind == "port" for piece in source.pieces) > 1:
        yield Problem(
            f'run "{source.name}" is shared by several machines and cannot be copied',
            "write this run's rows out, or copy a run with one port",
            place,
            name,
        )
    elif any(piece.traits.ends_stretch for piece in source.pieces):
        yield Problem(
            f'run "{source.name}" has a {"wye" if source.pieces[-1].kind != "collector" else "collector"} and cannot'
            " be copied",
            "copy a run that goes from a port to its wye without another wye",
            place,
            name,
        )


def _joining(runs: Sequence[Run]) -> Iterator[Problem]:
    joins = Counter(key_of(n) for r in runs for p in r.pieces if p.kind == "wye" for n in p.joins)
    for run in runs:
        times = joins[key_of(run.name)]
        place = _at(run.pieces[0].place, "run")
        if run.is_last or run.is_outlet:
            if times:
                yield Problem(
                    f'run "{run.name}" has the collector and also comes in at a wye',
                    "take its name out of that wye's joins",
                    place,
                    run.name,
                )
        elif times == 0:
            yield Problem(
                f'run "{run.name}" joins nothing',
                "name it under joins of the wye where it comes in",
                place,
                run.name,
            )
        elif times > 1:
            yield Problem(
                f'run "{run.name}" comes in at {times} wyes',
                "a run joins in one place: name it under one wye's joins only",
                place,
                run.name,
            )
    yield from _loops(runs)


def _loops(runs: Sequence[Run]) -> Iterator[Problem]:
    parent = {key_of(name): run for run in runs for piece in run.pieces if piece.kind == "wye" for name in piece.joins}
    reached: set[str] = set()
    for run in runs:
        trail: dict[str, Run] = {}
        here: Run | None = run
        while here is not None and key_of(here.name) not in reached:
            if key_of(here.name) in trail:
                names = [r.name for r in list(trail.values())[list(trail).index(key_of(here.name)) :]]
                more = [f"and {len(names) - _MOST_NAMED} more"] if len(names) > _MOST_NAMED else []
                yield Problem(
                    f"the runs {', '.join([*names[:_MOST_NAMED], *more])} join each other in a ring",
                    "let one of them lead on to the collector",
                    _at(here.place, "run"),
                    here.name,
                )
                break
            trail[key_of(here.name)] = here
            here = parent.get(key_of(here.name))
        reached |= set(trail)
