"""What the pages of amounts are asked: a sequence, its circumstances, another beside it, how many runs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from django import forms
from django.http import Http404, HttpRequest
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from vestry.contact.amounts import Context
from vestry.entry import Counted
from vestry.hospital import facts
from vestry.hospital.desk.asked import choices, subject_of
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import PlannedCase, ProcedureVersion
from vestry.hospital.language import words_now
from vestry.hospital.record.counting import counts
from vestry.procedure import Answer
from vestry.sequence import Recovery, Subject, subject_of_plan, substitute
from vestry.sequence.amounts import Asked, context_of
from vestry.trade import Catalogue, Evidence

AS_IT_SAYS = [("", _("as the sequence says")), ("yes", "yes"), ("no", "no")]
WITHOUT = "without:"
DRAWS, THREADS = 20_000, 2


class AskingForm(forms.Form):
    """The circumstances. Everything left out is as in a pass that goes by the procedure."""

    with_ = forms.CharField(label=_("Beside"), required=False)
    observer = forms.ChoiceField(label=_("Somebody watches every step"), choices=AS_IT_SAYS, required=False)
    aloud = forms.ChoiceField(label=_("Every step is read aloud"), choices=AS_IT_SAYS, required=False)
    trained = forms.ChoiceField(
        label=_("Taught and checked"), choices=[("", _("yes")), ("no", _("no, routine practice"))], required=False
    )
    months = forms.FloatField(label=_("Months since practice"), min_value=0, max_value=240, required=False)
    minutes = forms.FloatField(
        label=_("Minutes in the ensemble when undressing begins"), min_value=0, max_value=1440, required=False
    )
    climate = forms.ChoiceField(
        label=_("Climate"), choices=[("", _("not known")), ("hot", _("hot")), ("cool", _("cool"))], required=False
    )
    soil = forms.ChoiceField(
        label=_("Visible blood on gloves and surfaces"), choices=[("", _("no")), ("blood", _("yes"))], required=False
    )
    counts = forms.ChoiceField(
        label=_("Rates of errors"),
        choices=[("", _("as published")), ("own", _("moved by this unit's own record"))],
        required=False,
    )
    draws = forms.ChoiceField(
        label=_("Runs"),
        choices=[("", "20,000"), ("100000", "100,000"), ("500000", "500,000"), ("2000000", "2,000,000")],
        required=False,
    )

    def __init__(self, data: Any, beside: list[tuple[str, list[tuple[str, str]]]]) -> None:
        super().__init__(data)
        every = [("", gettext("nothing else")), *beside]
        self.fields["with"] = forms.ChoiceField(label=gettext("Beside it"), choices=every, required=False)
        del self.fields["with_"]


@dataclass(frozen=True)
class Question:
    """A question that can be asked: the sequence bound to its circumstances, how the other is made, and its key."""

    asked: Asked
    other: Callable[[], Asked] | None
    counted: Counted
    own_counts: bool

    @property
    def key(self) -> str:
        """Everything that the answer depends on."""
        one = self.asked
        return "|".join(
            str(part)
            for part in (
                one.subject.name, one.subject.catalogue.digest, one.evidence.digest, one.context, one.draws, one.seed,
                len(one.recoveries),
            )
        )  # fmt: skip


def form_of(request: HttpRequest, subject: Subject) -> AskingForm:
    """The form as the address fills it."""
    return AskingForm(request.GET, _beside(subject))


def _beside(subject: Subject) -> list[tuple[str, list[tuple[str, str]]]]:
    words = words_now()
    found = list(choices())
    if subject.plan is not None:
        worn = [
            (f"{WITHOUT}{item}", gettext("without: %(item)s") % {"item": words.item(item)})
            for item in subject.plan.worn
        ]
        found.insert(0, (gettext("The best plan without one of its items"), worn))
    return found


def question_of(name: str, subject: Subject, said: dict[str, Any]) -> Question:
    """The question that a valid form asks."""
    evidence, counted = facts.estimates().evidence, counts()
    own = said["counts"] == "own"
    context = _context(subject, said)
    if own:
        context = replace(context, counts=counted.of_events(event.id for event in subject.program.events))
    draws = int(said["draws"] or DRAWS)
    asked = Asked(subject, evidence, context, recoveries_of(name), draws=draws, threads=THREADS)
    other = _other(said, subject, asked, counted if own else None, evidence) if said["with"] else None
    return Question(asked, other, counted, own)


def _context(subject: Subject, said: dict[str, Any]) -> Context:
    context = context_of(
        subject,
        trained=said["trained"] != "no",
        months=said["months"] or 0.0,
        minutes=said["minutes"] or 0.0,
        climate=said["climate"] or None,
        soil=said["soil"] or "none",
    )
    if said["observer"]:
        context = replace(context, observer=said["observer"] == "yes", read_aloud=said["observer"] == "yes")
    if said["aloud"]:
        context = replace(context, read_aloud=said["aloud"] == "yes")
    return context


def _other(
    said: dict[str, Any], subject: Subject, asked: Asked, counted: Counted | None, evidence: Evidence
) -> Callable[[], Asked]:
    """The other side, in the same circumstances. What needs the database is fetched now, what takes long is left."""
    name, catalogue = said["with"], subject.catalogue
    here = None if name.startswith(WITHOUT) else subject_of(name, subject.order.case.presentation)
    recoveries = recoveries_of(name) if here is not None else ()

    def made() -> Asked:
        other = here or _without(subject, name.removeprefix(WITHOUT), catalogue)
        context = _context(other, said)
        if counted is not None:
            context = replace(context, counts=counted.of_events(event.id for event in other.program.events))
        return Asked(other, evidence, context, recoveries, draws=asked.draws, seed=asked.seed, threads=THREADS)

    return made


def _without(subject: Subject, item: str, catalogue: Catalogue) -> Subject:
    assert subject.plan is not None
    plan = substitute(subject.plan, item, catalogue).plan
    title = words_now().finding("substitute.title", item=words_now().item_it(item))
    return subject_of_plan(plan, f"{subject.name}-without-{item}", title, catalogue)


def recoveries_of(name: str) -> tuple[Recovery, ...]:
    """The answers to deviations that are kept with a planned case or a procedure; an order has none."""
    sort, _, key = name.partition(":")
    if sort == "procedure":
        version = ProcedureVersion.objects.filter(pk=key).values_list("pk", flat=True).first()
        if version is None:
            raise Http404("no such procedure")
        return tuple(one.recovery for one in approved_of(version).answers)
    if sort == "case":
        planned = PlannedCase.objects.filter(pk=key).values_list("worked_out", flat=True).first()
        return tuple(Answer.model_validate(one).recovery for one in (planned or {}).get("answers", ()))
    return ()
