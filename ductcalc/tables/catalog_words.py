"""Styles and materials, checked against the words that the catalog knows."""

from __future__ import annotations

from functools import lru_cache

from ductcalc import catalog
from ductcalc.shop import PieceKind
from ductcalc.tables.words import guess, with_article
from ductcalc.units import UnreadableError, quoted


@lru_cache(maxsize=4096)
def style(kind: PieceKind, text: str) -> str:
    """Return the catalog's word for a piece's style. Raises UnreadableError with the nearest known one."""
    known = catalog.styles(kind)
    if not known:
        raise UnreadableError(
            f"{with_article(kind)} has no styles to choose from", "leave it blank; free text goes under note"
        )
    found = catalog.style_key(kind, text)
    if found is None:
        raise UnreadableError(f"no {kind} has the style {quoted(text)}", guess(text, known))
    return found


@lru_cache(maxsize=1024)
def material(text: str) -> str:
    """Return the catalog's word for a material. Raises UnreadableError with the nearest known one."""
    found = catalog.material_key(text)
    if found is None:
        raise UnreadableError(f"no material is named {quoted(text)}", guess(text, catalog.materials()))
    return found
