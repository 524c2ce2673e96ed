"""Links of people on one day: who may do each duty, a team of different people, practice, the roster that was taken.

What can be mended is named with the smallest change: the people with the fewest things to renew.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from vestry.people import May, Reason
from vestry.people.values import Duty
from vestry.readiness.going import Answers
from vestry.readiness.here import ProcedureHere
from vestry.readiness.teaming import matched
from vestry.readiness.today import DUTIES, Today
from vestry.readiness.tonight import Link, Mend, Why
from vestry.trade.dates import months_after
from vestry.trade.values import Presentation

RENEWED = {
    "no-competency": "assess",
    "competency-lapsed": "assess",
    "no-clearance": "clear",
    "clearance-lapsed": "clear",
    "no-fit-test": "fit-test",
    "fit-test-lapsed": "fit-test",
    "fit-test-not-passed": "fit-test",
    "fit-test-other-system": "fit-test",
    "fit-test-before-clearance": "fit-test",
    "fitted-size-not-on-shelf": "order",
    "size-not-on-shelf": "order",
    "size-unknown": "measure",
    "gown-too-short": "order",
}
"""What renews somebody, by the reason why they may not. The other reasons are not for the lead to mend."""


def practice(one: ProcedureHere, today: Today) -> Link:
    """Of those who may go in, how many have practised it lately; a team's worth is wanted."""
    may = today.may[one.presentation, "wearer"].able
    fresh = {
        person
        for person, day in one.practised.items()
        if day <= today.day <= months_after(day, today.team.practised_months)
    }
    need = today.team.wearer
    have = len(may & fresh)
    return Link(
        topic="practice",
        subject=one.slug or "",
        presentations=(one.presentation,),
        state="ready" if have >= need else "watch",
        have=have,
        need=need,
        why=() if have >= need else (Why(id="not-practised", count=len(may)),),
        mend=() if have >= need else (Mend(id="practise", count=need - have),),
    )


def duty_links(one: ProcedureHere, today: Today) -> Iterator[Link]:
    """Each duty alone, and all of them together with nobody twice. None without a plan."""
    if one.plan is None:
        return
    able: dict[Duty, frozenset[str]] = {}
    for duty in DUTIES:
        need = getattr(today.team, duty) * today.teams
        answers = today.may[one.presentation, duty]
        able[duty] = answers.able
        if need:
            yield _duty_link(duty, one.presentation, answers, need, today)
    needs = {duty: getattr(today.team, duty) * today.teams for duty in DUTIES}
    found, need = matched(able, needs), sum(needs.values())
    yield Link(
        topic="team",
        presentations=(one.presentation,),
        state="ready" if found >= need else "not-ready",
        have=found,
        need=need,
        why=() if found >= need else (Why(id="not-enough-different-people", count=need - found),),
        mend=() if found >= need else (Mend(id="ready-more-people", count=need - found),),
    )


def _duty_link(duty: Duty, presentation: Presentation, answers: Answers, need: int, today: Today) -> Link:
    have = len(answers.able)
    enough = have >= need
    return Link(
        topic=duty,
        presentations=(presentation,),
        state="ready" if enough else "not-ready",
        have=have,
        need=need,
        why=() if enough else _commonest(answers.values()),
        mend=() if enough else _renewals(answers, need - have, today),
    )


def _commonest(answers: Iterable[May]) -> tuple[Why, ...]:
    """Why the others may not, of which item, with how many; commonest first. No reason that tells of health."""
    counts: dict[tuple[str, str | None], int] = {}
    for one in answers:
        for reason in dict.fromkeys((reason.id, reason.item) for reason in one.seen_by("lead").reasons):
            counts[reason] = counts.get(reason, 0) + 1
    ranked = sorted(counts.items(), key=lambda pair: (-pair[1], pair[0][0], pair[0][1] or ""))
    return tuple(Why(id=reason, item=item, count=count) for (reason, item), count in ranked[:5])


def _renewals(answers: Mapping[str, May], wanting: int, today: Today) -> tuple[Mend, ...]:
    """What would make so many more ready: those with the fewest things to renew, each thing a line."""
    open_to = []
    for person, said in answers.items():
        reasons = said.seen_by("lead").reasons
        if reasons and all(reason.id in RENEWED for reason in reasons):
            open_to.append((len(reasons), person, reasons))
    chosen = sorted(open_to)[:wanting]
    mends = [
        Mend(id=_renewed(reason, today), item=reason.item, person=person)
        for _, person, reasons in chosen
        for reason in reasons
    ]
    if len(chosen) < wanting:
        mends.append(Mend(id="train", count=wanting - len(chosen)))
    return tuple(mends)


def _renewed(reason: Reason, today: Today) -> str:
    """An order that is not there on the day renews nobody."""
    mend = RENEWED[reason.id]
    return "borrow" if mend == "order" and today.order_is_late(reason.item) else mend


def roster(today: Today) -> Iterator[Link]:
    """Whether the shifts that begin on the day are covered by a roster that was taken. None taken: to be looked at."""
    days = today.here.roster
    if days is None:
        return
    presentations = tuple(one.presentation for one in today.here.procedures)
    day = days.get(today.day)
    if day is None:
        why = "no-roster-taken" if not days or max(days) < today.question.on else "roster-ends"
        yield Link(
            topic="roster",
            presentations=presentations,
            state="watch",
            why=(Why(id=why),),
            mend=(Mend(id="take-a-roster"),),
        )
        return
    have = day.have - day.broken
    why_not = [Why(id="places-empty", count=day.need - day.have)] if day.have < day.need else []
    if day.broken:
        why_not.append(Why(id="roster-broken", count=day.broken))
    yield Link(
        topic="roster",
        presentations=presentations,
        state="ready" if have >= day.need else "not-ready",
        have=have,
        need=day.need,
        why=tuple(why_not),
        mend=() if have >= day.need else (Mend(id="fill-the-roster", count=day.need - have),),
    )
