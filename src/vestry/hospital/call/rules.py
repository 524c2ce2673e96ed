"""What speaks against an entry beginning, by the registers and the minimum team. A drill is never refused.

A refusal is `rule:part`: `may-not:wearer`, `team:present`. A lead may override it by name, for one
entry (overriding.py). Where the register holds nobody at all it cannot refuse; that it says nothing is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from vestry.hospital import facts
from vestry.hospital.access.models import User
from vestry.hospital.call.models import Call, Outsider
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.language import words_now
from vestry.hospital.registers.able import ask, need_for, reason_told
from vestry.hospital.registers.ledger import stock_now
from vestry.hospital.registers.mapper import people_values
from vestry.hospital.registers.models import RegisteredPerson
from vestry.people import May
from vestry.people.values import Duty

DUTIES: tuple[Duty, ...] = ("wearer", "observer", "assistant")


@dataclass(frozen=True)
class Refusal:
    """One rule that refuses, who it is about, and why in words for a lead (no health)."""

    rule: str
    says: str
    reasons: tuple[str, ...] = ()


def may_of(version: ProcedureVersion, duty: Duty, people: Sequence[RegisteredPerson]) -> dict[str, May]:
    """What the registers say of these people in this part, by the key of the register."""
    if not people:
        return {}
    found = ask(version, duty, people_values(people), stock_now(items=need_for(version, duty).items))
    return {one.person: one for one in found.answers}


def register_begun() -> bool:
    """Whether the unit's register holds anybody."""
    return RegisteredPerson.objects.filter(active=True).exists()


def outsider_of(user: User) -> Outsider | None:
    return Outsider.objects.filter(user=user).select_related("briefed_by").first()


def refusals(
    version: ProcedureVersion, people: dict[Duty, User | None], call: Call | None, drill: bool
) -> tuple[Refusal, ...]:
    """What refuses this entry; empty: nothing does."""
    if drill:
        return ()
    found: list[Refusal] = []
    if register_begun():
        for duty in DUTIES:
            user = people.get(duty)
            if user is not None:
                found += _of_person(version, duty, user)
    if call is not None:
        found += _of_team(call)
    return tuple(found)


def _of_person(version: ProcedureVersion, duty: Duty, user: User) -> list[Refusal]:
    part = words_now().term("duty", duty)
    outsider = outsider_of(user)
    if outsider is not None:
        return _of_outsider(version, duty, outsider)
    row = RegisteredPerson.objects.filter(user=user, active=True).first()
    if row is None:
        return [Refusal(f"not-on-register:{duty}", _("%(who)s is not on the register.") % {"who": user.name})]
    answer = may_of(version, duty, [row])[str(row.pk)].seen_by("lead")
    if answer.may:
        return []
    says = _("%(who)s may not go in as %(part)s by the registers.") % {"who": user.name, "part": part}
    return [Refusal(f"may-not:{duty}", says, tuple(reason_told(one) for one in answer.reasons))]


def _of_outsider(version: ProcedureVersion, duty: Duty, outsider: Outsider) -> list[Refusal]:
    if duty != "wearer":
        says = _("%(who)s is an outsider and goes in as wearer only.") % {"who": outsider.name}
        return [Refusal(f"outsider:{duty}", says)]
    catalogue = facts.catalogue_of(version.facts)
    fitted = [one for one in approved_of(version.pk).plan.worn if catalogue.items[one].fit_tested]
    if fitted and outsider.respirator != "fitted":
        says = _("This procedure wears a respirator that must be fitted, and no fit test of %(who)s is known.")
        return [Refusal("outsider-no-fit-test:wearer", says % {"who": outsider.name})]
    return []


def _of_team(call: Call) -> list[Refusal]:
    from vestry.hospital.call.reading import read_call  # it asks the rules of the people

    team = read_call(call).team
    if team.now.present:
        return []
    return [Refusal("team:present", _("The minimum team is not here."), tuple(team.missing))]
