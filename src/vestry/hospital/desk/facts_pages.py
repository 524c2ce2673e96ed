"""The facts: what is in force with source and certainty, what the hospital laid over ours, and adopting an overlay."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from vestry.hospital import facts, running_facts
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.estimates import estimates_told
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ApprovalBasis, FactsVersion, ProcedureVersion
from vestry.hospital.desk.telling import name_of, touched_told
from vestry.hospital.jobs.assuring import assure_flagged_later
from vestry.hospital.language import words_now
from vestry.hospital.running_facts import Running
from vestry.hospital.writing import writing
from vestry.procedure import touched
from vestry.trade import BadFacts, Evidence, Problem, load_evidence
from vestry.trade.catalogue import KINDS
from vestry.trade.operations import load_operations
from vestry.trade.overlay import Overlaid
from vestry.trade.parting import part
from vestry.trade.shadows import Shadow, shown
from vestry.trade.standards import load_standards
from vestry.trade.values import Fact, Source, Value

MOST_FILES = 6
SAMPLE = """format-version = 1

"""


@door(GET="see-facts")
def records(request: HttpRequest) -> HttpResponse:
    """The records of one kind, with source, certainty and year; laid-over ones marked."""
    now, running = facts.in_force(), running_facts.running()
    tables: dict[str, tuple[Mapping[str, Value], Mapping[str, Source]]] = {
        **{kind: (now.catalogue.records(kind), now.catalogue.sources) for kind in KINDS},
        **{kind: (found, running.operations.sources) for kind, found in running.operations.tables.items()},
        **{kind: (found, running.standards.sources) for kind, found in running.standards.tables.items()},
    }
    kind = request.GET.get("kind", "hazard")
    kind = kind if kind in tables else "hazard"
    held, sources = tables[kind]
    all_shadows = (*now.laid.shadows, *running.shadows)
    shadows = {(one.kind, one.id) for one in all_shadows}
    groups: tuple[tuple[str, Iterable[str]], ...] = (
        (gettext("Orders and plans rest on"), KINDS),
        (gettext("A unit runs on"), running.operations.tables),
        (gettext("Fit and size"), running.standards.tables),
    )
    context = {
        "groups": [
            (title, [(one, one.replace("-", " "), len(tables[one][0])) for one in kinds]) for title, kinds in groups
        ],
        "kind": kind,
        "facts_themselves": kind in ("hazard", "interval"),
        "rows": [_row(kind, key, record, (kind, key) in shadows, sources) for key, record in held.items()],
        "shadows": shadows_told(all_shadows),
        "estimates": estimates_told(facts.estimates().evidence),
        "digest": now.catalogue.digest,
        "running": running.digests,
        "problems": (*now.problems, *running.problems, *facts.estimates().problems),
        "version": FactsVersion.objects.select_related("by").first(),
    }
    return render(request, "desk/facts.html", context)


def _row(kind: str, key: str, record: Value, shadowed: bool, sources: Mapping[str, Source]) -> dict[str, Any]:
    said = []
    for field in type(record).model_fields:
        value = getattr(record, field)
        if isinstance(value, Fact):
            default = "" if value.value is not None else gettext(" (not known; this is a cautious default)")
            told = value.value if value.value is not None else value.default
            said.append(
                {
                    "field": field.replace("_", " "),
                    "value": f"{_plain(told)}{default}",
                    **_authority(value.source, value.certainty, value.year, sources),
                    "note": value.note or "",
                }
            )
        elif field not in ("id", "source", "certainty", "because") and value not in (None, (), {}, False):
            said.append({"field": field.rstrip("_").replace("_", " "), "value": _plain(value)})
    certainty, source = getattr(record, "certainty", ""), getattr(record, "source", "")
    name = name_of(kind, key, words_now())
    return {
        "id": key,
        "name": name if name != key else "",
        "said": said,
        **_authority(source, certainty, None, sources),
        "shadow": shadowed,
    }


def _authority(source: str, certainty: str, year: int | None, sources: Any) -> dict[str, str]:
    """Where a fact comes from and how surely."""
    known = sources.get(source)
    publisher = known.publisher if known else source.replace("-", " ")
    when = str(year) if year else (known.year if known and known.year != "unknown" else gettext("year not known"))
    told = words_now().term("certainty", certainty) if certainty else ""
    return {"source": publisher if source else "", "certainty": told, "year": when if known else ""}


def _plain(value: Any) -> str:
    if isinstance(value, Value):
        return shown(value.model_dump(mode="json", by_alias=True, exclude_none=True))
    if isinstance(value, tuple):
        if all(isinstance(one, str) for one in value):
            return ", ".join(value)
        return f"{len(value)}: " + ", ".join(
            str(getattr(one, "id", None) or getattr(one, "touch", one)) for one in value
        )
    return shown(value)


def shadows_told(shadows: Iterable[Shadow]) -> list[dict[str, Any]]:
    """Every shadowed record, with what differs, why, who and when."""
    words = words_now()
    return [
        {
            "kind": one.kind.replace("-", " "),
            "id": one.id,
            "name": name_of(one.kind, one.id, words),
            "change": {"laid-over": gettext("laid over"), "added": "added", "retired": "retired"}[one.change],
            "differs": [
                {"field": row.field.replace("-", " "), "ours": shown(row.ours), "theirs": shown(row.theirs)}
                for row in one.differs
            ],
            "because": one.because,
            "place": gettext("%(file)s, line %(line)s") % {"file": one.file, "line": one.line},
        }
        for one in shadows
    ]


# ---- adopting ----


class OverlayForm(forms.Form):
    """Up to six files of own facts, as text. All of them together are the overlay; those left empty are none."""

    reason = forms.CharField(
        label=_("Reason for adopting it"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    digest = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number in range(1, MOST_FILES + 1):
            self.fields[f"name_{number}"] = forms.RegexField(
                r"^[a-z0-9][a-z0-9-]{0,60}\.toml$",
                label=gettext("Name of file %(number)s") % {"number": number},
                required=False,
                error_messages={"invalid": gettext("Small letters, digits and hyphens, ending with .toml.")},
            )
            self.fields[f"text_{number}"] = forms.CharField(
                label=gettext("Text of file %(number)s") % {"number": number},
                required=False,
                max_length=200_000,
                strip=False,
                widget=forms.Textarea(attrs={"rows": 16, "spellcheck": "false", "class": "code"}),
            )

    def pairs(self) -> list[tuple[Any, Any, bool]]:
        """The fields of each file, and whether there is anything in them."""
        numbers = range(1, MOST_FILES + 1)
        return [(self[f"name_{n}"], self[f"text_{n}"], n == 1 or bool(self[f"text_{n}"].value())) for n in numbers]

    def texts(self) -> dict[str, str]:
        """File name to text. Call it once the form is valid."""
        said = self.cleaned_data
        pairs = [(said[f"name_{n}"], said[f"text_{n}"]) for n in range(1, MOST_FILES + 1)]
        return {name: text.replace("\r\n", "\n") for name, text in pairs if text.strip()}

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        names = []
        for number in range(1, MOST_FILES + 1):
            name, text = said.get(f"name_{number}"), said.get(f"text_{number}")
            if text and text.strip() and not name and f"name_{number}" not in self.errors:
                self.add_error(f"name_{number}", gettext("Give the file a name."))
            if text and text.strip() and name:
                names.append(name)
        if len(set(names)) != len(names):
            self.add_error(None, gettext("Two files have one name."))
        return said


@door(GET="adopt-facts", POST="adopt-facts")
def adopt(request: HttpRequest) -> HttpResponse:
    """Look at what an overlay would do; then adopt just that."""
    if request.method != "POST":
        newest = FactsVersion.objects.first()
        initial: dict[str, str] = {}
        for number, (name, text) in enumerate(newest.files.items() if newest else [("own-facts.toml", SAMPLE)], 1):
            initial |= {f"name_{number}": name, f"text_{number}": text}
        return render(request, "desk/adopt.html", {"form": OverlayForm(initial=initial)})
    form = OverlayForm(request.POST)
    if not form.is_valid():
        return render(request, "desk/adopt.html", {"form": form}, status=422)
    try:
        would = _would_be(form.texts())
    except BadFacts as bad:
        return render(request, "desk/adopt.html", {"form": form, "problems": bad.problems}, status=422)
    if request.POST.get("act") == "adopt":
        problem = _store(request, form, would)
        if problem is None:
            return HttpResponseRedirect("/facts/")
        form.add_error(*problem)
        return render(request, "desk/adopt.html", {"form": form, **_preview(would)}, status=422)
    shown_form = OverlayForm(initial={**form.cleaned_data, "digest": would.digest})
    return render(request, "desk/adopt.html", {"form": shown_form, **_preview(would)})


@dataclass(frozen=True)
class _WouldBe:
    """All that an overlay would put in force: facts, estimates, and what the unit runs on."""

    laid: Overlaid
    estimates: Evidence
    running: Running

    @property
    def digest(self) -> str:
        """One name for all of it: what was looked at is what is adopted. The facts' own where only they differ."""
        rest = (self.estimates.digest, *self.running.digests)
        if rest == (load_evidence().digest, load_operations().digest, load_standards().digest):
            return self.laid.digest
        return hashlib.sha256(" ".join((self.laid.digest, *rest)).encode()).hexdigest()

    @property
    def shadows(self) -> list[dict[str, Any]]:
        """What lies over ours, of facts and of what the unit runs on."""
        return shadows_told((*self.laid.shadows, *self.running.shadows))


def _would_be(files: dict[str, str]) -> _WouldBe:
    """Read all files as one. BadFacts with every problem of facts and of what the unit runs on."""
    problems: list[Problem] = []
    parted = part(files)
    try:
        laid = facts.laid_over(files)
    except BadFacts as bad:
        problems.extend(bad.problems)
    try:
        running = running_facts.laid(files)
    except BadFacts as bad:
        problems.extend(bad.problems)
    if problems:
        raise BadFacts(problems)
    estimates = facts.evidence_over(files, laid.catalogue) if parted.evidence else load_evidence()
    return _WouldBe(laid, estimates, running)


def _preview(would: _WouldBe) -> dict[str, Any]:
    """What adopting would do: what is shadowed, and which approved procedures use a fact that would be another."""
    touched_now = []
    for version in ProcedureVersion.objects.filter(retirement=None).select_related("procedure").defer("approved"):
        basis = ApprovalBasis.objects.filter(version=version).values_list("used", flat=True).first()
        found = touched(basis, approved_of(version.pk).plan, would.laid.catalogue) if basis is not None else ()
        if found or basis is None:
            touched_now.append({"version": version, "touched": touched_told(found), "unknown": basis is None})
    return {
        "preview": True,
        "digest": would.digest,
        "shadows": would.shadows,
        "touched": touched_now,
        "estimates": estimates_told(would.estimates),
        "same": would.digest == _now().digest,
    }


def _now() -> _WouldBe:
    return _WouldBe(facts.in_force().laid, facts.estimates().evidence, running_facts.running())


def _store(request: HttpRequest, form: OverlayForm, would: _WouldBe) -> tuple[str | None, str] | None:
    """Adopt it, or say at which field it fails."""
    said = form.cleaned_data
    if not said["reason"].strip():
        return "reason", gettext("Say why this overlay is adopted.")
    if said["digest"] != would.digest:
        return None, gettext("What you adopt is not what the preview showed. Look at the preview again, then adopt.")
    now = timezone.now()
    with writing():
        newest = FactsVersion.objects.first()
        FactsVersion.objects.create(
            number=newest.number + 1 if newest else 1,
            files=form.texts(),
            digest=would.laid.digest,
            reason=said["reason"].strip(),
            by=visitor(request),
            at=now,
        )
        facts.forget()
        facts.keep(would.laid.digest, now)
        running_facts.keep(now)
    assure_flagged_later(visitor(request))
    return None


@door(GET="see-facts")
def history(request: HttpRequest) -> HttpResponse:
    return render(request, "desk/facts-history.html", {"versions": FactsVersion.objects.select_related("by")})


@door(GET="see-facts")
def adopted(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """One adopted version: its files as they were, and what they shadowed."""
    version = get_object_or_404(FactsVersion.objects.select_related("by"), pk=key)
    problems: list[Problem] = []
    shadows: list[dict[str, Any]] = []
    estimates: list[dict[str, Any]] = []
    try:
        would = _would_be(version.files)
        shadows = would.shadows
        estimates = estimates_told(would.estimates) if part(version.files).evidence else []
    except BadFacts as bad:
        problems = bad.problems
    context = {
        "version": version, "files": version.files.items(), "shadows": shadows, "estimates": estimates,
        "problems": problems,
    }  # fmt: skip
    return render(request, "desk/facts-version.html", context)
