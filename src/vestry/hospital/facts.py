"""The facts in force in this hospital, and the facts of old: the one place where the pages get a catalogue from.

An entry, an approved plan and its sheet are shown on the facts that they were approved on (`catalogue_of`); whatever is
planned, checked or filled in anew uses the facts in force (`catalogue`).
"""

from __future__ import annotations

import datetime
import logging
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import lru_cache

from vestry.trade import BadFacts, Catalogue, Evidence, Problem, load_catalogue, load_evidence, packaged_texts
from vestry.trade.evidence import load_evidence_texts
from vestry.trade.overlay import Overlaid, lay_over
from vestry.trade.parting import part
from vestry.trade.shipped import shipped_texts

log = logging.getLogger("vestry.facts")


@dataclass(frozen=True)
class InForce:
    """The facts in force.

    version    the adopted overlay, None for the facts as shipped
    problems   why the overlay does not fit the facts that are shipped now; then those of its adoption are in force
    """

    laid: Overlaid
    version: uuid.UUID | None
    problems: tuple[Problem, ...] = ()

    @property
    def catalogue(self) -> Catalogue:
        return self.laid.catalogue


_LOOK: ContextVar[list[uuid.UUID | None] | None] = ContextVar("facts looked up", default=None)


@contextmanager
def looked_up_once() -> Iterator[None]:
    """Within it, which overlay is the newest is asked of the database once: a page is shown on one set of facts."""
    token = _LOOK.set([])
    try:
        yield
    finally:
        _LOOK.reset(token)


def forget() -> None:
    """Another overlay was adopted just now: look again."""
    if (look := _LOOK.get()) is not None:
        look.clear()


def newest() -> uuid.UUID | None:
    """The newest adopted overlay; None for the facts as shipped."""
    from vestry.hospital.desk.models import FactsVersion

    look = _LOOK.get()
    if look:
        return look[0]
    found = FactsVersion.objects.order_by("-number").values_list("pk", flat=True).first()
    if look is not None:
        look.append(found)
    return found


def in_force() -> InForce:
    """The facts of the newest adopted overlay, laid over those shipped."""
    return _in_force(newest())


def catalogue() -> Catalogue:
    """The facts in force."""
    return in_force().catalogue


def shipped() -> Catalogue:
    """The facts as shipped, whatever the hospital laid over them."""
    return load_catalogue()


def catalogue_of(digest: str) -> Catalogue:
    """The facts of a digest, as when something was approved on them; those in force where they were not kept."""
    now = catalogue()
    if now.digest == digest:
        return now
    return _kept(digest) or now


def laid_over(files: dict[str, str]) -> Overlaid:
    """A hospital's own files of facts over those shipped; its files of evidence are let be. BadFacts as `lay_over`."""
    return lay_over(part(files).facts)


def evidence_over(files: dict[str, str], catalogue: Catalogue) -> Evidence:
    """The shipped evidence with a hospital's own files of evidence over it, for the facts of a catalogue. BadFacts."""
    return load_evidence_texts(shipped_texts("evidence"), part(files).evidence, catalogue, load_catalogue())


@dataclass(frozen=True)
class Estimates:
    """The evidence in force. `problems`: why the hospital's own, or any, cannot be used; then what is shipped is."""

    evidence: Evidence
    problems: tuple[Problem, ...] = ()


def estimates() -> Estimates:
    """The evidence in force: the hospital's own estimates over those shipped, for the facts in force."""
    return _estimates(in_force().version)


@lru_cache(maxsize=8)
def _estimates(version: uuid.UUID | None) -> Estimates:
    from vestry.hospital.desk.models import FactsVersion

    if version is None:
        return Estimates(load_evidence())
    files = FactsVersion.objects.get(pk=version).files
    try:
        return Estimates(evidence_over(files, _in_force(version).catalogue))
    except BadFacts as bad:
        log.error("the hospital's own estimates cannot be used: %s", bad)
        return Estimates(load_evidence(), tuple(bad.problems))


def keep(digest: str, now: datetime.datetime) -> None:
    """Keep the texts of the facts in force, once. Call it within the transaction that relies on them."""
    from vestry.hospital.desk.models import FactsSnapshot, FactsVersion

    if FactsSnapshot.objects.filter(digest=digest).exists():
        return
    newest = FactsVersion.objects.order_by("-number").first()
    FactsSnapshot.objects.create(
        digest=digest, ours=packaged_texts(), overlays=dict(newest.files) if newest else {}, at=now
    )


@lru_cache(maxsize=8)
def _in_force(version: uuid.UUID | None) -> InForce:
    from vestry.hospital.desk.models import FactsVersion

    if version is None:
        return InForce(Overlaid(load_catalogue(), ()), None)
    row = FactsVersion.objects.get(pk=version)
    try:
        return InForce(laid_over(row.files), version)
    except BadFacts as bad:
        log.error("the hospital's own facts do not fit the facts shipped now: %s", bad)
        return InForce(_as_adopted(row.digest, row.files), version, tuple(bad.problems))


def _as_adopted(digest: str, files: dict[str, str]) -> Overlaid:
    """The overlay over the facts that were shipped when it was adopted; the facts as shipped where those are lost."""
    from vestry.hospital.desk.models import FactsSnapshot

    kept = FactsSnapshot.objects.filter(digest=digest).first()
    try:
        return lay_over(part(files).facts, kept.ours) if kept else Overlaid(load_catalogue(), ())
    except BadFacts:
        return Overlaid(load_catalogue(), ())


@lru_cache(maxsize=8)
def _kept(digest: str) -> Catalogue | None:
    if load_catalogue().digest == digest:
        return load_catalogue()
    from vestry.hospital.desk.models import FactsSnapshot

    row = FactsSnapshot.objects.filter(digest=digest).first()
    if row is None:
        return None
    try:
        return lay_over(part(row.overlays).facts, row.ours).catalogue
    except BadFacts as bad:
        log.error("facts %s can no longer be read: %s", digest, bad)
        return None
