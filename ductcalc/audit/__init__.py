"""The independent check of every answer: pressures and flows computed again, piece by piece."""

from ductcalc.audit.audit import Audit, audit
from ductcalc.audit.opening import Asked
from ductcalc.audit.pieces import PieceTable

__all__ = ["Asked", "Audit", "PieceTable", "audit"]
