"""`python -m tests.mutants [COUNT SEED]`: change the program in one small place after the other; who notices?

Without a seed the changes of `fixed.csv` and `drawn.csv` are made.
"""

from __future__ import annotations

import sys
from collections import Counter

from tests.mutants.hunt import Fate, hunted
from tests.mutants.seeds import drawn, fixed, kept


def main(count: int = 0, seed: int = 0) -> None:
    """Print each mutant with its fate, and tables of kinds and rooms."""
    fates: list[Fate] = []
    for fate in hunted(drawn(count, seed) if count else [*fixed(), *kept()]):
        fates.append(fate)
        print(f"{len(fates):4} {fate.seconds:5.0f} s  {fate.by:8}  {fate.mutant.name}"[:400], flush=True)
    for title in ("kind", "room"):
        groups = Counter((getattr(fate.mutant, title), fate.by) for fate in fates)
        for name in sorted({name for name, _ in groups}):
            told = [f"{count} {by}" for (one, by), count in sorted(groups.items()) if one == name]
            print(f"{title} {name}: {', '.join(told)}")
    print(Counter(fate.by for fate in fates))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
