"""The kinds of piece, and what is true of each: one row a kind, so that other files ask for a trait, not for a name.

A kind without a row is an error of the type checker, as it is wherever a match over all kinds must tell them apart.
"""

from __future__ import annotations

from typing import Literal, NamedTuple, assert_never, get_args

PieceKind = Literal["port", "pipe", "flex", "elbow", "reducer", "gate", "wye", "cap", "other", "collector", "like"]
LossKind = Literal["machine", "hose", "pipe", "elbow", "reducer", "gate", "other"]
PartKind = Literal[
    "pipe", "flex", "coupling", "elbow", "reducer", "adapter", "wye", "gate", "cap", "other", "clamp", "hanger",
    "sealant", "port",
]  # fmt: skip
DuctColumn = Literal[
    "run", "piece", "machine", "style", "size", "length", "angle", "count", "joins", "flow", "drop", "inlet",
    "material", "k", "radius", "factor", "roughness", "opening", "leak", "rise", "note",
]  # fmt: skip
PIECE_KINDS: tuple[PieceKind, ...] = get_args(PieceKind)
EVERY_ROW: tuple[DuctColumn, ...] = ("run", "piece", "note")
"""Columns that any piece takes."""
BY_THE_METRE: tuple[DuctColumn, ...] = ("style", "size", "length", "k", "roughness", "rise")
"""Columns of pipe and hose."""
RIGHT_ANGLE_DEG = 90.0
TAPER_ANGLE_DEG = 30.0
WYE_ANGLE_DEG = 45.0


class Required(NamedTuple):
    """A cell that must not be blank: its column, the field of a piece that it fills, what is said without it."""

    column: DuctColumn
    field: str
    message: str
    hint: str


PIPE_LENGTH = Required("length", "length_m", "a pipe needs its length", 'write for example "10 ft" or "3 m"')
HOSE_LENGTH = Required("length", "length_m", "a hose needs its length", 'write for example "5 ft" or "1.5 m"')
OWN_K = Required("k", "k", "a piece named other needs its loss coefficient", "write its k, 0 when it costs nothing")


class Traits(NamedTuple):
    """What is true of every piece of a kind.

    word: its name in print. also: what people call it, for a hint. columns: what it takes beside EVERY_ROW.
    loss: the group in which its own loss counts, None where it can have none. part: what is bought for it, if anything.
    in_line: one duct goes in and one out; all other kinds can start a run. in_outlet: may stand in the outlet duct.
    keeps_bore: its size is its own, not that of the duct around it. alike: its count says how many alike one row is.
    ends_stretch: other ducts begin at it, or the collector. any_shape: it may be rectangular.
    usual_deg: what a blank angle [deg] stands for.
    """

    word: str
    also: tuple[str, ...]
    columns: tuple[DuctColumn, ...]
    loss: LossKind | None
    part: PartKind | None
    in_line: bool = False
    in_outlet: bool = False
    keeps_bore: bool = False
    alike: bool = False
    ends_stretch: bool = False
    any_shape: bool = False
    usual_deg: tuple[float, ...] = ()
    needs: tuple[Required, ...] = ()

    @property
    def has_length(self) -> bool:
        """Whether it is duct by the metre: with friction, room for chips to lie in, and sold by length."""
        return "length" in self.columns

    @property
    def is_machine(self) -> bool:
        """Whether its row stands for a machine, which it names and whose air it may state."""
        return "flow" in self.columns


def _traits(kind: PieceKind) -> Traits:
    """Return the row of a kind."""
    match kind:
        case "port":
            return Traits(
                "port", ("hood", "machine", "inlet"),
                ("machine", "style", "size", "angle", "flow", "drop", "inlet", "material", "k"),
                loss="machine", part="port", keeps_bore=True,
            )  # fmt: skip
        case "pipe":
            return Traits(
                "pipe", ("duct", "tube"), BY_THE_METRE,
                loss="pipe", part="pipe", in_line=True, in_outlet=True, any_shape=True, needs=(PIPE_LENGTH,),
            )  # fmt: skip
        case "flex":
            return Traits(
                "hose", ("flexible hose", "flexible"), (*BY_THE_METRE, "count", "factor"),
                loss="hose", part="flex", in_line=True, in_outlet=True, needs=(HOSE_LENGTH,),
            )  # fmt: skip
        case "elbow":
            return Traits(
                "elbow", ("bend",), ("style", "size", "angle", "count", "k", "radius"),
                loss="elbow", part="elbow", in_line=True, in_outlet=True, alike=True, usual_deg=(RIGHT_ANGLE_DEG,),
            )  # fmt: skip
        case "reducer":
            return Traits(
                "reducer", ("taper", "transition"), ("style", "size", "angle", "k"),
                loss="reducer", part="reducer", in_line=True, in_outlet=True, keeps_bore=True, any_shape=True,
                usual_deg=(TAPER_ANGLE_DEG,),
            )  # fmt: skip
        case "gate":
            return Traits(
                "gate", ("blast gate", "slide", "damper"), ("machine", "style", "size", "k", "opening", "leak"),
                loss="gate", part="gate", in_line=True,
            )  # fmt: skip
        case "wye":
            return Traits(
                "wye", ("tee", "branch", "junction", "y"), ("style", "size", "angle", "joins", "k"),
                loss=None, part="wye", ends_stretch=True, usual_deg=(WYE_ANGLE_DEG,),
            )  # fmt: skip
        case "cap":
            return Traits("cap", ("end cap",), ("size",), loss=None, part="cap", keeps_bore=True)
        case "other":
            return Traits(
                "other", ("fitting",), ("style", "size", "count", "k"),
                loss="other", part="other", in_line=True, in_outlet=True, alike=True, any_shape=True, needs=(OWN_K,),
            )  # fmt: skip
        case "collector":
            return Traits(
                "collector", ("fan", "blower", "cyclone"), ("machine", "style", "size", "k"),
                loss="other", part=None, keeps_bore=True, ends_stretch=True, any_shape=True,
            )  # fmt: skip
        case "like":
            return Traits("like", ("same",), ("machine", "joins", "flow"), loss=None, part=None, keeps_bore=True)
        case _:
            assert_never(kind)


TRAITS: dict[PieceKind, Traits] = {kind: _traits(kind) for kind in PIECE_KINDS}
