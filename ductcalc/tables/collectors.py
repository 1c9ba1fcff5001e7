"""The rows of the collector table to collectors, joined with what the settings say of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ductcalc.errors import Notebook, Place
from ductcalc.shop import Collector, FlowPressure, key_of
from ductcalc.shop.shop import CollectorPart
from ductcalc.tables import limits
from ductcalc.tables.cells import machine, refuse_point_of_thousands
from ductcalc.tables.settings_machines import BASES, CollectorSettings
from ductcalc.tables.sheet import Sheet, SheetRow
from ductcalc.tables.words import COLLECTOR_ITEMS, choice, word_key
from ductcalc.units import UnreadableError, parse, parse_number, quoted, read

DEFAULT_NAME = "collector"
RATED_PARTS: tuple[CollectorPart, ...] = ("cyclone", "filter clean", "filter loaded")
_EXAMPLES = {"flow": '"800 cfm"', "pressure": '"8 inwg"', "power": '"2 hp"'}
_ALLOWED = {
    "flow": "from 0 to 30 m3/s (63500 cfm)",
    "pressure": "from 0 to 25 kPa (100 inwg), suction without a minus; are flow and pressure swapped?",
    "power": "from 0 to 100 kW (134 hp)",
}
_LIMITS = {
    "flow": limits.BLOWER_FLOW_M3_S,
    "pressure": limits.BLOWER_PRESSURE_PA,
    "power": limits.BLOWER_POWER_W,
}


@dataclass
class CollectorDraft:
    """A collector while its rows are read. broken: a row was unreadable, so a lack proves nothing."""

    name: str
    place: Place
    blower: list[FlowPressure] = field(default_factory=list)
    single: dict[str, FlowPressure] = field(default_factory=dict)
    absent: set[CollectorPart] = field(default_factory=set)
    broken: bool = False


def read_collectors(sheet: Sheet, notebook: Notebook) -> list[CollectorDraft]:
    """Return the collectors in the order of the table; note every problem."""
    drafts: dict[str, CollectorDraft] = {}
    named = any("collector" in row.cells for row in sheet.rows)
    rows = _unswapped(sheet, notebook)
    for row in rows:
        name = _collector_name(sheet, row, named, notebook)
        if name is not None:
            draft = drafts.setdefault(key_of(name), CollectorDraft(name, sheet.place(row.number)))
            _read_row(sheet, row, draft, notebook)
    for draft in drafts.values():
        _check(sheet, draft, notebook)
    return list(drafts.values())


def _unswapped(sheet: Sheet, notebook: Notebook) -> list[SheetRow]:
    """Return the rows; note once that flows and pressures stand under each other's name, and read on as if not."""
    rows = [_crossed(row) or row for row in sheet.rows]
    crossed = next((row for row, read_as in zip(sheet.rows, rows, strict=True) if read_as is not row), None)
    if crossed is not None:
        notebook.note(
            sheet.place(crossed.number, "flow"),
            "flow and pressure are swapped: a pressure stands under flow and a flow under pressure",
            "swap the two words in the header, or the cells of each such row",
            crossed.cells["flow"],
        )
    return rows


def _crossed(row: SheetRow) -> SheetRow | None:
    """Return a row with flow and pressure put right when each is written as the other, else None."""
    flow, pressure = row.cells.get("flow", ""), row.cells.get("pressure", "")
    try:
        read(flow, ("pressure",)), read(pressure, ("flow",))
    except UnreadableError:
        return None
    return row._replace(cells={**row.cells, "flow": pressure, "pressure": flow})


def _collector_name(sheet: Sheet, row: SheetRow, named: bool, notebook: Notebook) -> str | None:
    """Return which collector a row belongs to; blank is the only one."""
    text = row.cells.get("collector")
    place = sheet.place(row.number, "collector")
    if text is None:
        if named:
            notebook.note(
                place,
                "this row does not say which collector it belongs to",
                "write the collector's name in every row",
            )
            return None
        return DEFAULT_NAME
    return notebook.read(place, machine, text)


def _read_row(sheet: Sheet, row: SheetRow, draft: CollectorDraft, notebook: Notebook) -> None:
    before = len(notebook.problems)
    item = _item(sheet, row, notebook)
    if item is not None:
        _check_extra_cells(sheet, row, item, notebook)
        if row.cells.get("pressure", "").strip().casefold() == "none":
            _note_absent(sheet, row, item, draft, notebook)
        else:
            _add_point(sheet, row, item, draft, notebook)
    draft.broken = draft.broken or len(notebook.problems) > before


def _item(sheet: Sheet, row: SheetRow, notebook: Notebook) -> str | None:
    place = sheet.place(row.number, "item")
    text = row.cells.get("item")
    if text is None:
        if "item" in sheet.columns:
            every = ", ".join(COLLECTOR_ITEMS)
            notebook.note(place, "this row names no item", f"write it in each row, one of: {every}")
        return None
    return notebook.read(place, _known_item, text)


def _known_item(text: str) -> str:
    """Return the item that a text names. Raises UnreadableError, which knows what a curve may be of."""
    basis = next((basis for basis in BASES if word_key(basis) == word_key(text)), None)
    if basis is None:
        return choice(text, COLLECTOR_ITEMS, "item of a collector")
    hint = f'write blower in each row of the curve, and curve = "{basis}" under [collector] in shop.toml'
    raise UnreadableError(f"{quoted(text)} is what a curve is of, and no item", hint)


def _check_extra_cells(sheet: Sheet, row: SheetRow, item: str, notebook: Notebook) -> None:
    """Note a power or an exponent on an item that has none."""
    for column, owners in (
        ("power", ("blower", "advertised")),
        ("exponent", ("filter clean", "filter loaded")),
    ):
        if column in row.cells and item not in owners:
            notebook.note(
                sheet.place(row.number, column),
                f"{item} has no {column}",
                f"leave it blank; {column} belongs to {' and '.join(owners)}",
                row.cells[column],
            )


def _note_absent(sheet: Sheet, row: SheetRow, item: str, draft: CollectorDraft, notebook: Notebook) -> None:
    place = sheet.place(row.number, "pressure")
    if item not in RATED_PARTS:
        notebook.note(
            place, f"{item} cannot be none", "none says that a cyclone or a filter does not exist", "none"
        )
    elif item in draft.single or item in draft.absent:
        _note_twice(sheet, row, item, notebook)
    else:
        draft.absent.add(item)


def _note_twice(sheet: Sheet, row: SheetRow, item: str, notebook: Notebook) -> None:
    notebook.note(
        sheet.place(row.number, "item"), f"{item} stands twice", "keep one of the two rows", row.cells["item"]
    )


def _add_point(sheet: Sheet, row: SheetRow, item: str, draft: CollectorDraft, notebook: Notebook) -> None:
    flow = _amount(sheet, row, "flow", notebook)
    pressure = _amount(sheet, row, "pressure", notebook)
    power = _amount(sheet, row, "power", notebook) if "power" in row.cells else None
    exponent = _exponent(sheet, row, notebook)
    if flow is None or pressure is None:
        return
    point = FlowPressure(flow, pressure, power, exponent, sheet.place(row.number))
    if item == "blower":
        _add_blower_point(sheet, row, point, draft, notebook)
        return
    if flow == 0.0 or (pressure == 0.0 and item == "advertised"):
        column = "flow" if flow == 0.0 else "pressure"
        notebook.note(
            sheet.place(row.number, column),
            f"{item} is given with no {column}",
            f"write the {column} that belongs to it, or none as the pressure if the part does not exist",
            row.cells[column],
        )
    if item in draft.single or item in draft.absent:
        _note_twice(sheet, row, item, notebook)
    else:
        draft.single[item] = point


def _add_blower_point(
    sheet: Sheet, row: SheetRow, point: FlowPressure, draft: CollectorDraft, notebook: Notebook
) -> None:
    if draft.blower and point.flow_m3_s <= draft.blower[-1].flow_m3_s:
        notebook.note(
            sheet.place(row.number, "flow"),
            f"the blower's flow does not rise: {quoted(row.cells['flow'])} is not above the point before it",
            "write the points from the smallest flow to the largest, each flow once",
            row.cells["flow"],
        )
    draft.blower.append(point)


def _amount(sheet: Sheet, row: SheetRow, column: str, notebook: Notebook) -> float | None:
    """Return a flow [m3/s], a pressure [Pa] or a power [W] of the table; None when it was noted."""
    text = row.cells.get(column)
    place = sheet.place(row.number, column)
    if text is None:
        if column in sheet.columns:
            notebook.note(place, f"this row has no {column}", f"write for example {_EXAMPLES[column]}")
        return None
    try:
        if sheet.decimal_commas:
            refuse_point_of_thousands(text)
        value = parse(text, column, sheet.columns[column].unit)  # type: ignore[arg-type]
        hint = f"write {_ALLOWED[column]}, for example {_EXAMPLES[column]}"
        return limits.within(value, (0.0, _LIMITS[column]), text, f"a {column} of a collector", hint)
    except UnreadableError as error:
        notebook.note_unreadable(place, error, text)
        return None


def _exponent(sheet: Sheet, row: SheetRow, notebook: Notebook) -> float | None:
    text = row.cells.get("exponent")
    if text is None:
        return None
    return notebook.read(sheet.place(row.number, "exponent"), _exponent_of, text)


def _exponent_of(text: str) -> float:
    what, hint = "the exponent of a filter", "write from 1 (clean cloth) to 2"
    return limits.within(parse_number(text), limits.FILTER_EXPONENT, text, what, hint)


def _check(sheet: Sheet, draft: CollectorDraft, notebook: Notebook) -> None:
    """Check that a collector's rows make sense together."""
    advertised = draft.single.get("advertised")
    whose = "" if draft.name == DEFAULT_NAME else f" of {quoted(draft.name)}"
    if advertised is not None and draft.blower:
        notebook.note(
            sheet.place(_row(advertised), "item"),
            f"the blower{whose} has points and an advertised row as well",
            "keep the points: the two advertised numbers are only the ends of the curve",
        )
    elif advertised is None and len(draft.blower) == 1 and not draft.broken:
        notebook.note(
            draft.blower[0].place,
            f"the blower{whose} has one point only",
            "write two or more rows blower, or one row advertised with the two maxima",
        )
    elif draft.blower and not draft.broken and all(point.pressure_pa == 0.0 for point in draft.blower):
        notebook.note(
            sheet.place(_row(draft.blower[0]), "pressure"),
            f"the blower{whose} has no pressure at any flow",
            "write the pressure of each point, for example 8 inwg at no flow",
        )
    _check_filter(sheet, draft, notebook)


def _check_filter(sheet: Sheet, draft: CollectorDraft, notebook: Notebook) -> None:
    clean, loaded = draft.single.get("filter clean"), draft.single.get("filter loaded")
    if ("filter clean" in draft.absent and loaded is not None) or (
        "filter loaded" in draft.absent and clean is not None
    ):
        notebook.note(
            sheet.place(_row(loaded or clean), "pressure"),
            "the filter is none in one row and has a pressure in another",
            "remove one of the rows: none is for a collector without a filter, and a blank clean figure is assumed",
        )
    if clean is None or loaded is None or clean.flow_m3_s != loaded.flow_m3_s:
        return
    if loaded.pressure_pa < clean.pressure_pa:
        notebook.note(
            sheet.place(_row(loaded), "pressure"),
            "the loaded filter costs less than the clean one at the same flow",
            "check the two rows: filter loaded is the pressure just before cleaning",
        )


def _row(point: FlowPressure | None) -> int:
    return (point.place.row or 0) if point is not None and point.place is not None else 0


def build_collectors(
    drafts: list[CollectorDraft], settings: Mapping[str, CollectorSettings], file: str, notebook: Notebook
) -> tuple[Collector, ...]:
    """Join each collector with its settings (by compared name); note what does not fit."""
    return tuple(_build(draft, settings.get(key_of(draft.name)), file, notebook) for draft in drafts)


def _build(
    draft: CollectorDraft, settings: CollectorSettings | None, file: str, notebook: Notebook
) -> Collector:
    said = settings or CollectorSettings(key="collector")
    _check_loaded(draft, said, file, notebook)
    return Collector(
        name=draft.name,
        blower=tuple(draft.blower),
        advertised=draft.single.get("advertised"),
        cyclone=draft.single.get("cyclone"),
        filter_clean=draft.single.get("filter clean"),
        filter_loaded=draft.single.get("filter loaded"),
        absent=frozenset(draft.absent),
        contains=said.contains,
        basis=said.basis,
        outlet_size_m=said.outlet_size_m,
        test_pipe_m=said.test_pipe_m,
        density_kg_m3=said.density_kg_m3,
        viscosity_pa_s=said.viscosity_pa_s,
        place=draft.place,
    )


def _check_loaded(draft: CollectorDraft, said: CollectorSettings, file: str, notebook: Notebook) -> None:
    """Refuse a loaded filter beside a contained one whose clean pressure is unknown."""
    clean_known = "filter clean" in draft.single or draft.broken
    if clean_known:
        return
    place = Place(file, key=f"{said.key}.contains")
    if "filter loaded" in said.contains:
        notebook.note(
            place,
            "the curve contains a loaded filter, but the clean one is not known",
            "write a row filter clean in collector.csv, or take filter loaded out of contains",
            "filter loaded",
        )
    elif "filter clean" in said.contains and "filter loaded" in draft.single:
        notebook.note(
            place,
            "the curve contains the clean filter, whose pressure is not known: nor then what loading adds",
            "write a row filter clean in collector.csv, or remove the row filter loaded",
            "filter clean",
        )
