"""The lead's table from case to procedure, as a page, and what it says for a case on the night."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.forms import TASKS
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import CaseRow, ProcedureVersion
from vestry.hospital.desk.practice import PractisedBy, practised_by
from vestry.hospital.desk.standing import in_force, standing_of
from vestry.hospital.desk.telling import name_of
from vestry.hospital.language import words_now
from vestry.hospital.writing import writing
from vestry.procedure.casetable import HARD, Cell, Trouble, fit, gaps, lacking, not_at_hand
from vestry.sequence import Case

PRESENTATIONS = ("dry", "wet")
SHORT = {"dry": "stable", "wet": "wet"}
TROUBLES: dict[Trouble, str | Promise] = {
    "retired": _("this version is retired"),
    "fact-retired": _("a fact that it uses is retired"),
    "review-due": _("its review is due"),
    "newer-version": _("a newer version is approved"),
    "other-case": _("planned for another case"),
    "not-enough": _("what it wears is not enough for this case"),
    "not-at-hand": _("not all that it wears is at hand"),
}


@dataclass(frozen=True)
class OnTheNight:
    """What the table says for a case: one version with its troubles, or why there is none to take."""

    version: ProcedureVersion | None
    practised: PractisedBy | None
    troubles: tuple[str, ...] = ()
    blocked: bool = False
    why: str = ""

    @property
    def to_take(self) -> bool:
        """Whether this version is the default tonight."""
        return self.version is not None and not self.blocked


def rows_in_force() -> dict[Cell, CaseRow]:
    """The newest row of every cell."""
    found: dict[Cell, CaseRow] = {}
    for row in CaseRow.objects.select_related("version__procedure", "by").defer("version__approved"):
        found.setdefault((row.hazard, row.presentation, row.task), row)
    return found


def for_case(case: Case) -> OnTheNight:
    """The unit's own approved procedure for a case, as the lead's table has it."""
    words, rows = words_now(), rows_in_force()
    says = fit(case, {cell: str(row.version_id) if row.version_id else None for cell, row in rows.items()})
    if says.sort == "none":
        missing = ", ".join(words.term("task", task) for task in says.missing)
        return OnTheNight(
            None,
            None,
            why=gettext("The table names no procedure for this case with: %(missing)s.") % {"missing": missing},
        )
    versions = ProcedureVersion.objects.select_related("procedure", "approved_by", "retirement").defer("approved")
    if says.sort == "several":
        named = " and ".join(str(one) for one in versions.filter(pk__in=says.versions))
        return OnTheNight(
            None,
            None,
            why=gettext("The tasks of this case have different procedures: %(named)s. The lead decides.")
            % {"named": named},
        )
    version = versions.get(pk=uuid.UUID(says.versions[0]))
    troubles = troubles_of(version, case)
    return OnTheNight(
        version, practised_by(version), tuple(str(TROUBLES[one]) for one in troubles), bool(set(troubles) & HARD)
    )


def troubles_of(version: ProcedureVersion, case: Case) -> tuple[Trouble, ...]:
    """What speaks against taking a version for a case, worst first."""
    stands, plan, now = standing_of(version), approved_of(version.pk).plan, facts.catalogue()
    found: list[Trouble] = []
    if version.retired:
        found.append("retired")
    if stands.blocked_by:
        found.append("fact-retired")
    if case.hazard in now.hazards and lacking(plan, case, now):
        found.append("not-enough")
    if not_at_hand(plan, case):
        found.append("not-at-hand")
    if "review-due" in stands.changed:
        found.append("review-due")
    if version.procedure.versions.filter(number__gt=version.number, retirement=None).exists():
        found.append("newer-version")
    return tuple(found)


# ---- the page ----


class RowsForm(forms.Form):
    """One version for a block of cases: hazards by presentations by tasks."""

    hazards = forms.MultipleChoiceField(label=_("Hazards"), widget=forms.CheckboxSelectMultiple)
    presentations = forms.MultipleChoiceField(label=_("Presentation"), widget=forms.CheckboxSelectMultiple)
    tasks = forms.MultipleChoiceField(label=_("Tasks"), widget=forms.CheckboxSelectMultiple)
    version = forms.ChoiceField(label=_("Take this procedure"), required=False)
    reason = forms.CharField(label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words = words_now()
        choices = [
            ("hazards", [(one, words.hazard(one)) for one in facts.catalogue().hazards]),
            ("presentations", [(one, words.term("presentation", one)) for one in PRESENTATIONS]),
            ("tasks", [(one, words.term("task", one)) for one in TASKS]),
            (
                "version",
                [("", gettext("none: there is no procedure for it")), *((str(one.pk), str(one)) for one in in_force())],
            ),
        ]
        for name, offered in choices:
            field: Any = self.fields[name]
            field.choices = offered
            field.error_messages["invalid_choice"] = gettext("%(label)s: %%(value)s is not one of those offered.") % {
                "label": field.label
            }


@door(GET="see-case-table", POST="edit-case-table")
def table(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _page(request, RowsForm())
    form = RowsForm(request.POST)
    if not form.is_valid():
        return _page(request, form, 422)
    said, now = form.cleaned_data, timezone.now()
    with writing():
        for hazard in said["hazards"]:
            for presentation in said["presentations"]:
                for task in said["tasks"]:
                    CaseRow.objects.create(
                        hazard=hazard,
                        presentation=presentation,
                        task=task,
                        version_id=uuid.UUID(said["version"]) if said["version"] else None,
                        reason=said["reason"],
                        by=visitor(request),
                        at=now,
                    )
    return HttpResponseRedirect("/case-table/")


def _page(request: HttpRequest, form: RowsForm, status: int = 200) -> HttpResponse:
    words, rows, now = words_now(), rows_in_force(), facts.catalogue()
    known = {cell: str(row.version_id) if row.version_id else None for cell, row in rows.items()}
    lines: list[dict[str, Any]] = []
    conflicts = 0
    for hazard in now.hazards:
        for presentation in PRESENTATIONS:
            cells = [_cell(rows.get((hazard, presentation, task)), hazard, presentation, task) for task in TASKS]
            conflicts += sum(bool(one["troubles"]) for one in cells)
            lines.append(
                {
                    "hazard": words.hazard(hazard),
                    "first": presentation == PRESENTATIONS[0],
                    "presentation": SHORT[presentation],
                    "cells": cells,
                }
            )
    context = {
        "form": form,
        "tasks": [words.term("task", task) for task in TASKS],
        "lines": lines,
        "gaps": len(gaps(now.hazards, PRESENTATIONS, TASKS, known)),
        "cells": len(now.hazards) * len(PRESENTATIONS) * len(TASKS),
        "conflicts": conflicts,
        "history": [
            {
                "row": row,
                "hazard": name_of("hazard", row.hazard, words),
                "presentation": words.term("presentation", row.presentation),
                "task": words.term("task", row.task),
            }
            for row in CaseRow.objects.select_related("by", "version__procedure").defer("version__approved")[:30]
        ],
    }
    return render(request, "desk/case-table.html", context, status=status)


def _cell(row: CaseRow | None, hazard: str, presentation: Any, task: Any) -> dict[str, Any]:
    if row is None or row.version is None:
        return {"version": None, "row": row, "troubles": []}
    case = Case(hazard=hazard, presentation=presentation, tasks=(task,))
    return {"version": row.version, "row": row, "troubles": [TROUBLES[one] for one in troubles_of(row.version, case)]}
