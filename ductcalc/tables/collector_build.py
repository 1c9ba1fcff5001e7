"""A collector's rows joined with what the settings say of it."""

from __future__ import annotations

from collections.abc import Mapping

from ductcalc.errors import Place
from ductcalc.shop import Collector, key_of
from ductcalc.tables.collectors import CollectorDraft
from ductcalc.tables.notebook import Notebook
from ductcalc.tables.settings_collector import CollectorSettings


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
