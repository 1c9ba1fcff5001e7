"""`python -m ductcalc` is the command `ductcalc`."""

from ductcalc.cli import main

if __name__ == "__main__":
    main()
