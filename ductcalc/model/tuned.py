"""The facts behind decided numbers, and what readings made of them (tuned.toml)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ductcalc.model.collector import ModelCollector, RatedPart
from ductcalc.model.decided import Decided
from ductcalc.model.loss import Loss
from ductcalc.model.sections import ModelSection
from ductcalc.shop.shop import Collector, FlowPressure
from ductcalc.shop.tuned import Tuned

BLOWER, FILTER, CYCLONE, RESISTANCE, JOINTS = "blower speed", "filter cloth", "cyclone", "resistance", "joints"
SOURCE = "your readings"
Fact = tuple[str, str]
"""What it is, and the machine it belongs to ("" for the whole shop): numbers of one fact are off together."""


def facts_of(
    sections: Sequence[ModelSection], leakage_class: Decided, collector: ModelCollector | None
) -> Iterator[tuple[Fact, Decided]]:
    """Yield every decided number with the fact that it hangs on."""
    for section in sections:
        for head in section.heads:
            assert head[0].k is not None
            yield (RESISTANCE, head[0].label), head[0].k
        for loss in section.body:
            for decided in (loss.k, loss.shut_k, loss.roughness_m, loss.factor):
                if decided is not None:
                    yield fact_of(decided), decided
    yield (JOINTS, ""), leakage_class
    if collector is not None and collector.cyclone is not None:
        yield (CYCLONE, ""), collector.cyclone.pressure_pa
    if collector is not None and collector.filter_clean is not None:
        yield (FILTER, ""), collector.filter_clean.pressure_pa


def fact_of(decided: Decided) -> Fact:
    """Return the fact that a number of a duct hangs on: what was assumed, else why it was decided so."""
    return decided.assumed or decided.reason, ""


class Tuning:
    """Puts decided numbers where readings found them."""

    def __init__(self, tuned: Sequence[Tuned]) -> None:
        """Take what was found."""
        self.found: dict[Fact, Tuned] = {(one.what, one.where): one for one in tuned}

    def section(self, section: ModelSection) -> ModelSection:
        """Return a section with its numbers as found."""
        heads = tuple((self._port(head[0]), *head[1:]) for head in section.heads)
        return replace(section, heads=heads, body=tuple(map(self._loss, section.body)))

    def leakage_class(self, decided: Decided) -> Decided:
        """Return the class of joint leakage as found."""
        return self._number(decided, (JOINTS, ""))

    def collector(self, collector: ModelCollector) -> ModelCollector:
        """Return cyclone and clean filter as found."""
        cyclone, clean = self._part(collector.cyclone, CYCLONE), self._part(collector.filter_clean, FILTER)
        return replace(collector, cyclone=cyclone, filter_clean=clean)

    def blower(self, collector: Collector) -> Collector:
        """Return a blower at the speed found: flow grows with it, pressure with its square, power with its cube."""
        found = self.found.get((BLOWER, ""))
        if found is None:
            return collector
        speed = found.times

        def point(one: FlowPressure) -> FlowPressure:
            power = None if one.power_w is None else one.power_w * speed**3
            return replace(
                one, flow_m3_s=one.flow_m3_s * speed, pressure_pa=one.pressure_pa * speed**2, power_w=power
            )

        advertised = None if collector.advertised is None else point(collector.advertised)
        return replace(collector, blower=tuple(map(point, collector.blower)), advertised=advertised)

    def _port(self, loss: Loss) -> Loss:
        assert loss.k is not None
        return loss._replace(k=self._number(loss.k, (RESISTANCE, loss.label)))

    def _loss(self, loss: Loss) -> Loss:
        k, shut_k, rough, factor = map(self._of_duct, (loss.k, loss.shut_k, loss.roughness_m, loss.factor))
        return loss._replace(k=k, shut_k=shut_k, roughness_m=rough, factor=factor)

    def _of_duct(self, decided: Decided | None) -> Decided | None:
        return None if decided is None else self._number(decided, fact_of(decided))

    def _part(self, part: RatedPart | None, what: str) -> RatedPart | None:
        return None if part is None else part._replace(pressure_pa=self._number(part.pressure_pa, (what, "")))

    def _number(self, decided: Decided, fact: Fact) -> Decided:
        found = self.found.get(fact)
        if found is None:
            return decided
        value, low, high = (decided.value * times for times in (found.times, found.low, found.high))
        return Decided(value, low, high, SOURCE, f"{decided.reason}, tuned")
