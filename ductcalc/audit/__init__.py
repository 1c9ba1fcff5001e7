"""The independent check of every answer: pressures and flows computed again, piece by piece."""

from ductcalc.audit.audit import Audit, audit
from ductcalc.audit.pieces import PieceTable

__all__ = ["Audit", "PieceTable", "audit"]
