"""Assuring approved procedures again where a fact beneath them changed, or one at the lead's word."""

from __future__ import annotations

import logging
from concurrent.futures import ThreadPoolExecutor

from django.conf import settings
from django.db import close_old_connections
from django.utils import timezone

from vestry.hospital import facts
from vestry.hospital.access.models import User
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import LaterAssurance, ProcedureVersion
from vestry.hospital.desk.standing import touched_under
from vestry.hospital.writing import writing
from vestry.procedure import Again, again
from vestry.sequence.assurance import MODEL_VERSION

log = logging.getLogger("vestry.assuring")
_ONE_AT_A_TIME = ThreadPoolExecutor(max_workers=1, thread_name_prefix="assuring")


def assure_now(version: ProcedureVersion, by: User, model: str = MODEL_VERSION) -> Again:
    """Assure and plan this version again on the facts in force, and store what was found, written once."""
    catalogue = facts.catalogue()
    found = again(approved_of(version.pk), catalogue, model, touched_under(version) or ())
    with writing():
        LaterAssurance.objects.create(
            version=version,
            facts=catalogue.digest,
            model=model,
            assurance=found.assurance.as_json() if found.assurance else None,
            found=found.model_dump(mode="json", by_alias=True),
            by=by,
            at=timezone.now(),
        )
    return found


def assure_flagged_later(by: User) -> None:
    """Assure every version that is flagged and not yet assured on these facts; in place where the settings say so."""
    if settings.PLAN_IN_PLACE:
        _run(by, keep_connection=True)
    else:
        _ONE_AT_A_TIME.submit(_run, by)


def flagged() -> list[ProcedureVersion]:
    """The versions not retired with another fact or another model beneath them, not yet assured on those of now."""
    digest = facts.catalogue().digest
    done = set(LaterAssurance.objects.filter(facts=digest, model=MODEL_VERSION).values_list("version_id", flat=True))
    versions = ProcedureVersion.objects.filter(retirement=None).select_related("procedure").defer("approved")
    return [one for one in versions if one.pk not in done and _flagged(one)]


def _flagged(version: ProcedureVersion) -> bool:
    found = touched_under(version)
    return bool(found) or found is None or version.model != MODEL_VERSION


def _run(by: User, keep_connection: bool = False) -> None:
    try:
        for version in flagged():
            assure_now(version, by)
    except Exception:
        log.exception("assuring again was not finished")
    finally:
        if not keep_connection:
            close_old_connections()
