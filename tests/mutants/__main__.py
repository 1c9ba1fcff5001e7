"""`python -m tests.mutants [COUNT SEED]`: change the program in one small place after the other; who notices?

Without a seed the changes of `drawn.csv` are made.
"""

from __future__ import annotations

import sys
from collections import Counter

from tests.mutants.hunt import Fate, hunted
from tests.mutants.seeds import drawn, kept


def main(count: int = 0, seed: int = 0) -> None:
    """Print each mutant with its fate, and a table of kinds."""
    fates: list[Fate] = []
    for fate in hunted(drawn(count, seed) if count else kept()):
        fates.append(fate)
        print(f"{len(fates):4} {fate.seconds:5.0f} s  {fate.by:8}  {fate.mutant.name}"[:400], flush=True)
    for kind, total in sorted(Counter(fate.mutant.kind for fate in fates).items()):
        caught = sum(fate.mutant.kind == kind and fate.by != "nobody" for fate in fates)
        print(f"{kind}: {caught} of {total}")
    print(Counter(fate.by for fate in fates))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
