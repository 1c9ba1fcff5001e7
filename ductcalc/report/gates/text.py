"""Every gate set as text: first the answer, then singles, pairs, named sets, then what was learned."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.sorting import counts_by_size, exit_code, groups_that_may_run, worth_telling
from ductcalc.cases.case import Case
from ductcalc.report.blocks import Block, Heading, Paragraph, Span, Style
from ductcalc.report.display import Display
from ductcalc.report.findings import findings_blocks
from ductcalc.report.gates.sentences import (
    bleed_words,
    classes_words,
    cure_words,
    exactness,
    helper_words,
    kept_open_words,
    pair_helper_words,
    past_words,
    set_title,
    verdict,
)
from ductcalc.report.gates.tables import (
    leak_grid,
    leaks_matter,
    left_open_grid,
    named_grid,
    pair_matrix,
    singles_grid,
    sizes_grid,
    stretch_grid,
)
from ductcalc.report.grades import case_spans, grade_note
from ductcalc.report.head_and_foot import changed_blocks, general_cautions, noted, program_line
from ductcalc.report.sentences import capitalised, listed, several, the

MOST_LINES = 12
FEW = 4
"""Most pairs that are named once more beside the table of pairs."""

KEEP_OPEN = (
    "Keep open: any so many of the gates whose air passes there. Chips then move there; air and their own drops decide"
    " whether they may run."
)
TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}
PAIR_WORDS = "ok = may run, ~ = may run, a little short of air or chips slow, S = too little air, c = chips settle"


def gates_blocks(gates: Gates, display: Display, every_finding: bool = False) -> Iterator[Block]:
    """Yield the whole report of a shop's gate sets."""
    yield Paragraph((Span(verdict(gates, display), TONES[exit_code(gates)]),))
    yield from changed_blocks(gates.changes)
    yield Paragraph(exactness(gates))
    yield from _said_first(gates)
    yield Heading("Each machine alone, dirty filter")
    yield singles_grid(gates, display)
    yield from _pairs(gates)
    yield from _named(gates, display)
    yield from _larger(gates)
    yield from _extremes(gates)
    yield from _help(gates, display)
    yield from stretch_blocks(gates, display)
    yield from _costs(gates, display)
    yield from _learned(gates)
    yield from findings_blocks(gates.findings, display, every_finding)
    yield from _foot(gates, display)


def _said_first(gates: Gates) -> Iterator[Block]:
    told = gates.told
    if told.provisional:
        said = ": only two advertised maxima of the blower are known; judged on the low curve between them."
        yield Paragraph((Span("PROVISIONAL", "warn"), Span(said)))
    if told.always_open:
        said = f"Always open, as no gate is on the way: {listed(told.always_open)}; counted open in every set."
        yield Paragraph((Span(said, "warn"),))


def _pairs(gates: Gates) -> Iterator[Block]:
    if len(gates.machines) > 1 and gates.most_together > 1:
        yield Heading("Two machines running together, dirty filter")
        yield pair_matrix(gates)
        unanswered = any(not gates.asked.judged.solved[number] for number in gates.shown)
        hose = ", x = one hose, one at a time" if gates.sharing else ""
        yield Paragraph(PAIR_WORDS + hose + (", ? = no answer" if unanswered else "") + ".")


def _named(gates: Gates, display: Display) -> Iterator[Block]:
    if gates.named:
        yield Heading("Named sets, dirty filter")
        yield named_grid(gates.named, display)


def _larger(gates: Gates) -> Iterator[Block]:
    counts = counts_by_size(gates)
    if not counts:
        return
    yield Heading("Three machines and more running together, dirty filter")
    yield sizes_grid(counts)
    count, first = groups_that_may_run(gates, MOST_LINES)
    if count:
        yield Paragraph("Of these may run:")
        yield from _sets(first, count)


def _extremes(gates: Gates) -> Iterator[Block]:
    if not gates.exact or len(gates.machines) == 1:
        return
    if gates.largest_fine:
        yield Heading(f"Largest sets that may run: {len(gates.largest_fine)} in all")
        yield from _sets(gates.largest_fine, len(gates.largest_fine))
    if not gates.largest:
        yield Heading("Largest sets")
        yield noted(
            "In no set of any size does every machine get its air: less wanted air, wider pipe or a stronger collector"
            " is needed."
        )
        return
    other = [case for case in gates.largest if not case.may_run]
    if other:
        yield Heading(f"Larger sets in which nobody is short, but chips settle: {len(other)} in all")
        yield from _sets(other, len(other))
    if gates.forbidden:
        yield Heading(f"Smallest sets in which a machine goes short: {len(gates.forbidden)} in all")
        yield Paragraph(_rest(gates))
        yield from _forbidden(gates)


def _forbidden(gates: Gates) -> Iterator[Block]:
    """Yield machines alone and sets of three and more; pairs stand in the grid of pairs."""
    alone = [machines[0] for machines in gates.forbidden if len(machines) == 1]
    pairs = [machines for machines in gates.forbidden if len(machines) == 2]
    more = [machines for machines in gates.forbidden if len(machines) > 2]
    if alone:
        yield noted(f"alone: {', '.join(alone)}")
    if pairs and gates.most_together > 1:
        grid = "see S and Sc in the table of pairs" if len(pairs) > FEW else "; ".join(map(listed, pairs))
        yield noted(f"pairs: {grid}")
    for machines in sorted(more, key=len)[:MOST_LINES]:
        yield noted(listed(machines))
    yield from _more(len(more))


def _rest(gates: Gates) -> str:
    if gates.no_answer:
        return (
            f"{several(gates.no_answer, 'set')} {'has' if gates.no_answer == 1 else 'have'} no answer,"
            f" {past_words(gates)}, and may be short as well; no other set is short unless it holds one of these."
        )
    if not gates.exceptions:
        return "Every set that holds one of these is short as well; no other set is."
    return (
        f"No set that holds none of these is short; of those that hold one, {several(gates.exceptions, 'set')}"
        f" {'is' if gates.exceptions == 1 else 'are'} not short either (an added stream can drag a slow one along)."
    )


def _sets(answers: Sequence[Case], count: int) -> Iterator[Block]:
    for answer in answers[:MOST_LINES]:
        yield Paragraph((Span(set_title(answer) + ": "), *case_spans(answer)), "- ", "  ")
    yield from _more(count)


def _more(count: int) -> Iterator[Block]:
    if count > MOST_LINES:
        yield Paragraph(f"... and {count - MOST_LINES} more; --format csv lists all.")


def _help(gates: Gates, display: Display) -> Iterator[Block]:
    worth = worth_telling(gates)
    if worth:
        yield Heading("Gates that help: opened for their air, so that chips keep moving")
        for helped in worth[:MOST_LINES]:
            plain = len(helped.before.asked) > 1 and not set_title(helped.before).startswith('"')
            words = (pair_helper_words if plain else helper_words)(helped, display)
            yield Paragraph((Span(f"{set_title(helped.before)}: ", "strong"), Span(words)), "- ", "  ")
        if len(worth) > MOST_LINES:
            yield Paragraph(f"... and {several(len(worth) - MOST_LINES, 'more set')}; --format json lists all.")
    if gates.uncured:
        yield Heading("Where no gate helps")
        for cure in gates.uncured:
            words = cure_words(cure, display)
            yield Paragraph((Span(f"{set_title(cure.before)}: ", "strong"), Span(words)), "- ", "  ")
        if gates.not_looked_into:
            yield Paragraph(f"... and {several(gates.not_looked_into, 'more machine')}, not looked into.")


def stretch_blocks(gates: Gates, display: Display, most: int | None = None) -> Iterator[Block]:
    """Yield where chips settle machine by stretch, what keeps them moving, and what named sets may run at once."""
    found = gates.school
    if found.stretches:
        yield Heading("Keep chips moving in what several machines share, all other gates shut")
        yield stretch_grid(gates, display, most)
        hidden = 0 if most is None else len(found.stretches) - most
        yield Paragraph((f"{several(hidden, 'more stretch', 'more stretches')}. " if hidden > 0 else "") + KEEP_OPEN)
    kept = kept_open_words(found, len(gates.machines), display)
    yield from (Paragraph(said) for said in (kept, bleed_words(found, display), classes_words(found)) if said)


def _costs(gates: Gates, display: Display) -> Iterator[Block]:
    grid = left_open_grid(gates, display)
    if grid.rows:
        yield Heading("One gate forgotten open: what it costs the machine in use")
        yield grid
    if leaks_matter(gates):
        yield Heading("Shut gates that leak: air of each machine alone, by the leak in % of a gate's bore")
        yield leak_grid(gates, display)
    tight = gates.tightest
    if tight is not None and leaks_matter(gates):
        yield Paragraph(
            f"Tightness matters most at {_gate(tight.gate)} ({tight.section}): its leak costs each machine alone up to"
            f" {display.flow(tight.most_gain_m3_s)}, {the(tight.most_gained)} most."
        )


def _gate(name: str) -> str:
    return the(name) if name.startswith("gate of ") or name.casefold().endswith("gate") else f"the gate {name}"


def _learned(gates: Gates) -> Iterator[Block]:
    said = []
    if gates.never_served:
        sets = "any set" if gates.exact else f"any set of up to {several(gates.most_together, 'machine')}"
        said.append(f"never served in {sets}: {listed(gates.never_served)}")
    by_helper: dict[tuple[str, ...], list[str]] = {}
    for machine, helpers in gates.needs_company:
        by_helper.setdefault(helpers, []).append(machine)
    for helpers, machines in by_helper.items():
        need = "needs" if len(machines) == 1 else "need"
        said.append(f"{need} company to keep chips moving: {listed(machines)}, with {listed(helpers)}")
    said += [f"one hose, one at a time: {listed(pair)}" for pair in gates.sharing]
    if said:
        yield Heading("What was learned")
        for line in said:
            yield noted(capitalised(line) + ".")


def _example(gates: Gates) -> str:
    """Return what the name of a section means, by one that starts at a wye."""
    model = gates.asked.store.model
    section = model.sections[int(model.tree.outlet_section[-1])]
    return f"{section.name} is number {section.name.rsplit(' ', 1)[1]} of {section.run}"


def _foot(gates: Gates, display: Display) -> Iterator[Block]:
    yield Heading("Notes")
    yield noted(f"{grade_note()} Needs is the speed that is aimed at.")
    yield noted(
        "An open gate is not a running machine: a helper makes no chips, and settling is judged only where running"
        " machines' chips go."
    )
    if gates.asked.store.model.tree.wyes:
        yield noted(f"A section is a stretch of a run from wye to wye, counted from the machine: {_example(gates)}.")
    yield from general_cautions()
    yield Paragraph("")
    yield program_line(gates.shop)
