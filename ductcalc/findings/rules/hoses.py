"""Hoses that are too long, too thin, or taken as pipe."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby

from ductcalc.cases.judged import MOVES
from ductcalc.catalog import default_style, fact
from ductcalc.errors import Place
from ductcalc.findings.observation import Observation, Watch
from ductcalc.findings.phrase import length, say, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules.neighbours import narrow_sighting, narrow_stretches
from ductcalc.findings.subject import Subject
from ductcalc.findings.written import length_meant
from ductcalc.shop.change import Change, section_at_most
from ductcalc.shop.piece import Piece
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import PlacedPiece, in_run, run_named, standing

SETTINGS = "shop.toml"


def long_hoses(subject: Subject) -> Iterator[Observation]:
    """See every hose longer than a machine that stays put needs; hose in several rows on end is one hose."""
    for hose in _hoses(subject):
        one, rows = hose[0], len(hose)
        long, enough = _length(hose), _enough(subject, one)
        if not _is_longer(long, enough):
            continue
        at_machine = one.run.pieces[one.place - 1].kind == "port"
        cut = "cut the hose to {}, or put pipe in place of the rest"
        yield Observation(
            one.piece.place,
            f"hose in {one.run.name}",
            say(
                "{} of hose{}{}, and {} would do{}",
                length(long), f" in {rows} rows" if rows > 1 else "", _coil(hose), length(enough),
                " for a machine that stays put" if at_machine and _machines_on(one) == 1 else "",
            ),
            say(cut if at_machine else "put pipe in place of all but {} of the hose", length(enough)),
            _shorter(hose, enough, pipe_for_the_rest=not at_machine),
            watch=subject.watch_piece(one),
        )  # fmt: skip


def is_long(subject: Subject, one: PlacedPiece) -> bool:
    """Whether a row is part of a hose that is too long."""
    hose = next((hose for hose in _hoses(subject) if one in hose), ())
    return bool(hose) and _is_longer(_length(hose), _enough(subject, hose[0]))


def _length(hose: tuple[PlacedPiece, ...]) -> float:
    return sum(row.piece.length_m or 0.0 for row in hose)


def _is_longer(long_m: float, enough_m: float) -> bool:
    return long_m > enough_m * (1.0 + 1e-9)


def _hoses(subject: Subject) -> Iterator[tuple[PlacedPiece, ...]]:
    """Yield the rows of every hose whose loss follows from its length; one that is doubted in metres is told apart."""
    for run in subject.written_runs:
        for is_hose, rows in groupby(standing(run), lambda one: one.piece.kind == "flex" and one.piece.k is None):
            hose = tuple(rows)
            if is_hose and not any(length_meant(one.piece, subject.shop.system) for one in hose):
                yield hose


def _coil(hose: tuple[PlacedPiece, ...]) -> str:
    """Return the bends of a hose in words, where they are written and there is more than one."""
    bends = [one.piece.count for one in hose]
    written = sum(count for count in bends if count is not None)
    return f" with {written} bends" if None not in bends and written > 1 else ""


def _machines_on(one: PlacedPiece) -> int:
    return sum(piece.kind == "port" for piece in one.run.pieces)


def _enough(subject: Subject, one: PlacedPiece) -> float:
    """Return the length of hose [m] that would do: more where it goes from machine to machine."""
    shared, metric = _machines_on(one) > 1, subject.shop.system == "metric"
    return fact("findings", f"long {'shared ' if shared else ''}hose{' metric' if metric else ''}").value


def _shorter(hose: tuple[PlacedPiece, ...], enough_m: float, pipe_for_the_rest: bool) -> Change:
    """Leave so much of a hose [m], from the machine's end on; the rest goes away, or becomes pipe as it usually is."""
    run, first = hose[0].run.name, hose[0].place
    kept: list[Piece] = []
    left = enough_m
    for one in hose:
        if left > 0.0:
            kept.append(_part(one.piece, min(left, one.piece.length_m or 0.0)))
        left -= one.piece.length_m or 0.0
    if pipe_for_the_rest:
        kept.append(Piece("pipe", style=default_style("pipe"), size_m=hose[-1].bore_m, length_m=-left))

    def apply(shop: Shop) -> Shop:
        pieces = run_named(shop, run).pieces
        return in_run(shop, run, [*pieces[:first], *kept, *pieces[first + len(hose) :]])

    return Change(f"{run}: hose {hose[0].number} of {enough_m:.4g} m", apply)


def _part(piece: Piece, length_m: float) -> Piece:
    """Return a hose of less length [m], which rises as steeply."""
    if piece.rise_m is None or not piece.length_m:
        return replace(piece, length_m=length_m)
    return replace(piece, length_m=length_m, rise_m=piece.rise_m * length_m / piece.length_m)


def pipe_like_hoses(subject: Subject) -> Iterator[Observation]:
    """See hose that is said to take hardly more than pipe, in its own row or for the whole shop."""
    limit = fact("findings", "hardly more than pipe").value
    everywhere = subject.shop.settings.method.flex_factor
    rows = [one for one in subject.of_kind("flex") if one.piece.factor is not None and one.piece.factor < limit]
    if everywhere is None or everywhere >= limit:
        everywhere = None
    if not rows and everywhere is None:
        return
    factor = everywhere if everywhere is not None else min(one.piece.factor or 0.0 for one in rows)
    several = everywhere is not None or len(rows) > 1
    yield Observation(
        Place(SETTINGS, key="method.flex_factor") if everywhere is not None else rows[0].piece.place,
        "hoses" if several else f"hose in {rows[0].run.name}",
        say("hose counts as pipe, at {} times its friction; hose pulled straight takes about {} times", *(
            f"{times:g}" for times in (factor, fact("hose", "factor").value)
        )),
        say("leave the factor blank, unless it was measured on this hose"),
        Change("hose counted as usual", _usual_hose),
        "counts",
        subject.watch_worst() if several else subject.watch_piece(rows[0]),
    )  # fmt: skip


def _usual_hose(shop: Shop) -> Shop:
    """Return the shop with the usual factor wherever a hose is said to be hardly more than pipe."""
    limit = fact("findings", "hardly more than pipe").value

    def usual(factor: float | None) -> float | None:
        return None if factor is not None and factor < limit else factor

    runs = tuple(replace(r, pieces=tuple(replace(p, factor=usual(p.factor)) for p in r.pieces)) for r in shop.runs)
    method = shop.settings.method._replace(flex_factor=usual(shop.settings.method.flex_factor))
    return replace(shop, runs=runs, settings=replace(shop.settings, method=method))


def thin_hoses(subject: Subject) -> Iterator[Observation]:
    """See every hose that is smaller than what is on both sides of it."""
    for narrow in narrow_stretches(subject):
        one = next((one for one in narrow.pieces if one.piece.kind == "flex"), None)
        if one is None:
            continue
        what = say("a {} hose hangs between {} and {}", size(one.bore_m), size(narrow.before_m), size(narrow.after_m))
        yield narrow_sighting(subject, narrow, one, what, say("hang a {} hose there", size(narrow.wide_m)))


def wide_hoses(subject: Subject) -> Iterator[Observation]:
    """See every hose far wider than the port that it hangs on, in which chips go slowly for want of its air."""
    for one, port in hung_too_wide(subject):
        watch, number = subject.watch_piece(one), subject.section_number[one.name]
        if watch is None or subject.cases[watch.case].judged.chips[number, subject.cases[watch.case].column] == MOVES:
            continue
        yield Observation(
            one.piece.place,
            f"hose in {one.run.name}",
            say(
                "a {} hose on a port of {}: the port lets no more air in, and chips go slower",
                size(one.bore_m), size(port),
            ),
            say("hang hose and drop of {}, or enlarge port and throat of the machine", size(port)),
            section_at_most(one.run.name, one.section, port),
            watch=Watch(watch.case, section=one.name),
        )  # fmt: skip


def hung_too_wide(subject: Subject) -> Iterator[tuple[PlacedPiece, float]]:
    """Yield hoses far wider than the port ahead of them, and that port's bore [m]."""
    times = fact("findings", "wide hose").value
    for one in subject.of_kind("flex"):
        ahead = one.run.pieces[: one.place]
        ports = [piece.size_m or 0.0 for piece in ahead if piece.kind == "port"]
        if ports and all(p.kind in ("port", "reducer") for p in ahead) and one.bore_m >= times * max(ports):
            yield one, max(ports)


RULES = (
    Rule("long hose", "a hose longer than its machine or machines need", "cut it", "practice", long_hoses),
    Rule("thin hose", "a hose smaller than both its neighbours", "a hose as wide as they are", "practice", thin_hoses),
    Rule(
        "wide hose", "a hose far wider than its port", "hose and drop as wide as the port", "practice", wide_hoses
    ),
    Rule(
        "hose as pipe",
        "a hose that is said to take hardly more than pipe",
        "the usual factor of hose",
        "practice",
        pipe_like_hoses,
    ),
)
