"""What had to be assumed: in one line each, with the band that says what it may be worth."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Assumption:
    """Something nobody wrote. `key` names the decided numbers that belong to it; `banded` if they have a band."""

    key: str
    text: str
    where: tuple[str, ...] = ()
    banded: bool = True
    source: str = ""

    @property
    def with_places(self) -> str:
        """Its line with the places it holds for."""
        return self.text + (f" ({', '.join(self.where)})" if self.where else "")
