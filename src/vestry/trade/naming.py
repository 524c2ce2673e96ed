"""Which other records a record names, as (kind, id)."""

from __future__ import annotations

from collections.abc import Iterator

from vestry.trade.values import (
    ExposureZone,
    Fact,
    Hazard,
    Helper,
    Item,
    ProtectionFactor,
    Sourced,
    Technique,
    Value,
    WasteRule,
)

Named = tuple[str, str]


def named_by(record: Value) -> Iterator[Named]:
    """The records that this one names by id. Kinds of item are not records, and so not here."""
    yield from (("source", source) for source in sources_of(record))
    if isinstance(record, Item):
        for face in record.faces:
            yield from (("body", site) for site in (*face.at, *face.inside))
            yield "zone", face.zone
        if record.tied_to:
            yield "item", record.tied_to
    elif isinstance(record, ExposureZone) and record.counts_clean:
        yield "convention", record.counts_clean
    elif isinstance(record, WasteRule | ProtectionFactor):
        yield "jurisdiction", record.jurisdiction
    if isinstance(record, Hazard):
        yield from _streams(record.waste_stream)
    if isinstance(record, WasteRule) and record.stream is not None:
        yield from _streams(record.stream)


def _streams(fact: Fact[str]) -> Iterator[Named]:
    yield from (("waste-stream", stream) for stream in (fact.value, fact.default) if stream)


def sources_of(record: Value) -> Iterator[str]:
    """The sources that a record cites, its touches and faults too."""
    if isinstance(record, Sourced):
        yield record.source
    if isinstance(record, Technique):
        yield from (touch.from_ for touch in record.touches)
    if isinstance(record, Item | Helper):
        yield from (fault.source for fault in record.latent)
    for field in type(record).model_fields:
        fact = getattr(record, field)
        if isinstance(fact, Fact):
            yield fact.source
