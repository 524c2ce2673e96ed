"""What the trade knows, as data: text in, typed values out, bad data refused with file, line and field."""

from vestry.trade.catalogue import Catalogue, load, load_catalogue, packaged_texts
from vestry.trade.errors import BadFacts, Problem
from vestry.trade.evidence import Evidence, EvidenceRecord, NoEvidence, load_evidence, load_evidence_texts
from vestry.trade.law import Law
from vestry.trade.order import Lane, Order, OrderCase, Step, read_order
from vestry.trade.values import Agent, Face, Hazard, Item, Technique, Touch

__all__ = [
    "Agent",
    "BadFacts",
    "Catalogue",
    "Evidence",
    "EvidenceRecord",
    "Face",
    "Hazard",
    "Item",
    "Lane",
    "Law",
    "NoEvidence",
    "Order",
    "OrderCase",
    "Problem",
    "Step",
    "Technique",
    "Touch",
    "load",
    "load_catalogue",
    "load_evidence",
    "load_evidence_texts",
    "packaged_texts",
    "read_order",
]
