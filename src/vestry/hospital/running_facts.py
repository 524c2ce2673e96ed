"""What a unit runs on (operations) and the standards of fit and size: the hospital's own over those shipped.

They are adopted together with its own facts, and kept: what was worked out on them can be read again.
"""

from __future__ import annotations

import datetime
import logging
import uuid
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from vestry.hospital import facts
from vestry.trade import BadFacts, Problem
from vestry.trade.operations import Operations, load_operations, load_operations_texts
from vestry.trade.parting import Parted, part
from vestry.trade.shadows import Shadow
from vestry.trade.shipped import shipped_texts
from vestry.trade.standards import Standards, load_standards, load_standards_texts

log = logging.getLogger("vestry.facts")
Sort = Literal["operations", "standards"]
SORTS: tuple[Sort, ...] = ("operations", "standards")


@dataclass(frozen=True)
class Running:
    """What a unit runs on.

    problems   why the hospital's own do not fit those shipped now; then those of their adoption are in force
    """

    operations: Operations
    standards: Standards
    problems: tuple[Problem, ...] = ()

    @property
    def shadows(self) -> tuple[Shadow, ...]:
        """What lies over ours, of both."""
        return (*self.operations.shadows, *self.standards.shadows)

    @property
    def digests(self) -> tuple[str, str]:
        """Of operations, and of standards."""
        return self.operations.digest, self.standards.digest


def running() -> Running:
    """Those in force."""
    return _running(facts.newest())


def operations() -> Operations:
    """The records of operations in force."""
    return running().operations


def standards() -> Standards:
    """The standards in force."""
    return running().standards


def operations_at(moment: datetime.datetime) -> Operations:
    """The records of operations that were in force then: what an entry that was opened then is led by."""
    from vestry.hospital.desk.models import FactsVersion

    then = FactsVersion.objects.filter(at__lte=moment).order_by("-number").values_list("pk", flat=True).first()
    return _running(then).operations


def laid(files: dict[str, str]) -> Running:
    """A hospital's own files over those shipped; its files of facts and of evidence are let be. BadFacts, of all."""
    parted, problems, found = part(files), list[Problem](), {}
    for sort in SORTS:
        try:
            found[sort] = _read(sort, shipped_texts(sort), getattr(parted, sort))
        except BadFacts as bad:
            problems.extend(bad.problems)
    if problems:
        raise BadFacts(problems)
    return Running(found["operations"], found["standards"])  # type: ignore[arg-type]


def keep(now: datetime.datetime) -> None:
    """Keep the texts of what is in force, once for each digest. Call it within the transaction that relies on them."""
    from vestry.hospital.desk.models import FactsVersion, RunningSnapshot

    newest = FactsVersion.objects.order_by("-number").first()
    parted = part(newest.files) if newest else Parted()
    for sort, digest in zip(SORTS, _running(newest.pk if newest else None).digests, strict=True):
        if not RunningSnapshot.objects.filter(sort=sort, digest=digest).exists():
            RunningSnapshot.objects.create(
                sort=sort, digest=digest, ours=shipped_texts(sort), overlays=getattr(parted, sort), at=now
            )


def operations_of(digest: str) -> Operations | None:
    """The records of a digest, as when something was worked out on them; None where they were not kept."""
    from vestry.hospital.desk.models import RunningSnapshot

    if (now := operations()).digest == digest:
        return now
    row = RunningSnapshot.objects.filter(sort="operations", digest=digest).first()
    try:
        return load_operations_texts(row.ours, row.overlays) if row else None
    except BadFacts as bad:
        log.error("operations %s can no longer be read: %s", digest, bad)
        return None


@lru_cache(maxsize=8)
def _running(version: uuid.UUID | None) -> Running:
    from vestry.hospital.desk.models import FactsVersion

    if version is None:
        return Running(load_operations(), load_standards())
    files = FactsVersion.objects.get(pk=version).files
    try:
        return laid(files)
    except BadFacts as bad:
        log.error("the hospital's own records do not fit those shipped now: %s", bad)
        found = [_as_adopted(sort, files) for sort in SORTS]
        return Running(found[0], found[1], tuple(bad.problems))  # type: ignore[arg-type]


def _as_adopted(sort: Sort, files: dict[str, str]) -> Operations | Standards:
    """The hospital's own over what was shipped when they were adopted; those shipped now where that is lost."""
    from vestry.hospital.desk.models import RunningSnapshot

    try:
        own = getattr(part(files), sort)
        for row in RunningSnapshot.objects.filter(sort=sort).order_by("-pk"):
            if row.overlays == own:
                return _read(sort, row.ours, row.overlays)
    except BadFacts:
        pass
    return _read(sort, shipped_texts(sort), {})


def _read(sort: Sort, ours: dict[str, str], own: dict[str, str]) -> Operations | Standards:
    return load_operations_texts(ours, own) if sort == "operations" else load_standards_texts(ours, own)
