"""What may be open together, in short: the answer, machines alone, pairs, named sets, gates that help."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.helpers import HelperAnswer
from ductcalc.answers.gates.sorting import exit_code, past_gates, sorted_singles, worth_telling
from ductcalc.answers.verdict import deciding_case
from ductcalc.report.blocks import Block, Heading, Paragraph, Span, Style
from ductcalc.report.case_table import case_table
from ductcalc.report.display import Display
from ductcalc.report.gates.sentences import few, gates_of, loss_words, other_helpers, set_title, verdict
from ductcalc.report.gates.tables import pair_matrix
from ductcalc.report.gates.text import stretch_blocks
from ductcalc.report.grades import bracketed, weak_words
from ductcalc.report.head_and_foot import changed_blocks
from ductcalc.report.sentences import capitalised, listed, several, the
from ductcalc.report.short import PROVISIONAL, Typed, caution_lines, closing_lines, next_line, warning_lines

TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}
MOST_LINES = 4
MOST_OTHERS = 2
MOST_STRETCHES = 3
LETTERS = (("ok", "may run"), ("~", "may run, a little short of air or chips slow"), ("S", "too little air"))
MORE_LETTERS = (("c", "chips settle"), ("x", "one hose, one at a time"), ("?", "no answer"))


def short_gates(gates: Gates, display: Display, typed: Typed, every: bool = False) -> Iterator[Block]:
    """Yield what may be open together in short; every: all warnings."""
    yield Paragraph((Span(verdict(gates, display), TONES[exit_code(gates)]),))
    alone = sorted_singles(gates)
    if alone.may_run or alone.company:
        yield next_line("For the wall", typed.line("card"))
    else:
        worst = deciding_case(gates.singles)
        yield next_line("Do first", typed.line("improve", *(("--for", worst.asked[0]) if worst else ())))
    yield from caution_lines(gates.findings, display)
    yield from changed_blocks(gates.changes)
    yield from _said_first(gates)
    yield Paragraph("")
    yield from case_table([*gates.singles, *gates.named], display)
    yield from matrix_blocks(gates)
    yield from help_blocks(gates, display)
    yield from largest_blocks(gates)
    if not gates.exact:
        yield from stretch_blocks(gates, display, MOST_STRETCHES)
    yield Paragraph("")
    yield from warning_lines(gates.findings, display, typed, every)
    yield from closing_lines((), typed.again("--full"))


def _said_first(gates: Gates) -> Iterator[Block]:
    told = gates.told
    if told.provisional:
        yield PROVISIONAL
    if told.always_open:
        yield Paragraph((Span(f"Always open, no gate on the way: {listed(told.always_open)}.", "warn"),))
    if not gates.exact:
        yield Paragraph(
            f"Solved: every set of up to {several(gates.most_together, 'machine')}; larger ones with --together."
        )


def matrix_blocks(gates: Gates) -> Iterator[Block]:
    """Yield the table of pairs and its key."""
    if len(gates.machines) < 2 or gates.most_together < 2:
        return
    matrix = pair_matrix(gates)
    used = {span.text for row in matrix.cells for span in row}
    key = [f"{letter} = {words}" for letter, words in (*LETTERS, *MORE_LETTERS) if any(letter in one for one in used)]
    yield Heading("Two at a time, dirty filter")
    yield matrix
    yield Paragraph(", ".join(key) + ".")


def help_blocks(gates: Gates, display: Display) -> Iterator[Block]:
    """Yield the gates that help machines alone and named sets, which sets run one by one, whom no gate helps."""
    cured = worth_telling(gates)
    helped = [one for one in cured if len(one.before.asked) == 1 or set_title(one.before)[0] == '"']
    past = past_gates(gates)
    if helped or any(past):
        yield Paragraph("")
    for one in helped[:MOST_LINES]:
        yield Paragraph(f"{capitalised(set_title(one.before))}: {_with_helper(one, display)}")
    if len(helped) > MOST_LINES:
        yield Paragraph(f"Another gate helps {few([set_title(one.before) for one in helped[MOST_LINES:]])} too.")
    if past.one_by_one:
        sets = listed([set_title(case) for case in past.one_by_one])
        yield Paragraph(f"Run the machines of {sets} one after the other.")
    if past.no_gate:
        names = listed([name if name[0] == '"' else the(name) for name in map(set_title, past.no_gate)])
        yield Paragraph(f"Chips settle, and no other gate opened fully helps: {names}.")


def _with_helper(helped: HelperAnswer, display: Display) -> str:
    after, before = helped.after, helped.before
    assert after is not None
    then = {machine.machine: machine for machine in after.asked_machines}
    air = [
        f"{the(m.machine)} then gets {display.flow_number(then[m.machine].flow_m3_s)} of {display.flow(m.wanted_m3_s)}"
        for m in before.asked_machines
        if m.runs
    ]
    others = other_helpers(helped, display, MOST_OTHERS)
    lost = loss_words(before, after, display)
    return f"open {gates_of(helped.helpers)} too{bracketed(weak_words(after))}; {listed(air)} ({lost}).{others}"


def largest_blocks(gates: Gates) -> Iterator[Block]:
    """Yield the largest sets of three and more that may run."""
    sets = [case for case in gates.largest_fine if len(case.asked) > 2]
    if sets:
        yield Paragraph("")
        shown = "; ".join(listed(case.asked) + bracketed(weak_words(case)) for case in sets[:MOST_LINES])
        more = f"; {len(sets) - MOST_LINES} more" if len(sets) > MOST_LINES else ""
        yield Paragraph(f"Three or more that may run: {shown}{more}.")
