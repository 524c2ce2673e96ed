"""The links of the answer on one day: each is judged alone, from what the hospital has on that day.

What can be mended is named with the smallest change: the people with the fewest things to renew, the pieces that are
wanting, the check that is due.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from vestry.people import May, Reason
from vestry.people.values import Duty
from vestry.readiness.going import Answers
from vestry.readiness.here import Here, ProcedureHere, RoomHere
from vestry.readiness.shelving import Used, reserve_links, stock_links
from vestry.readiness.supplying import supply_links
from vestry.readiness.teaming import matched
from vestry.readiness.tonight import Link, Mend, Question, State, TeamNeed, Why
from vestry.stock import unit_state
from vestry.trade.dates import months_after
from vestry.trade.standards import Standards
from vestry.trade.values import Presentation

DUTIES: tuple[Duty, ...] = ("wearer", "observer", "assistant")
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


@dataclass(frozen=True, eq=False)
class Today:
    """Everything that the links of one day are judged from. `may`: presentation and duty to everyone's answer.

    doffings sets taken off in the stay; None where that is not known
    by_air   whether the hazard goes through the air, or that is not known, or a task makes aerosol
    """

    question: Question
    here: Here
    team: TeamNeed
    day: datetime.date
    may: Mapping[tuple[Presentation, Duty], Answers]
    used: Mapping[Presentation, tuple[Used, ...]]
    powered: Mapping[Presentation, tuple[str, ...]]
    by_air: bool
    standards: Standards
    doffings: float | None = None

    def order_is_late(self, item: str | None) -> bool:
        """Whether what is ordered now is not there on the day."""
        return 24 * (self.day - self.question.on).days < self.here.lead_times.of(item).hours

    @property
    def teams(self) -> int:
        """How many teams of different people the hours take."""
        return self.team.teams(self.question.hours)


def links_on(today: Today) -> tuple[Link, ...]:
    """All links of a day; the same link for both presentations is one."""
    found: dict[str, Link] = {}
    for one in today.here.procedures:
        for link in (*_procedure(one, today), *_people(one, today), *_things(one, today)):
            known = found.get(link.name)
            found[link.name] = link if known is None else _joined(known, link, today.question.hours)
    supplied = supply_links(today.question, today.here, today.day, today.doffings)
    for link in (*_roster(today), *_room(today), *supplied):
        found[link.name] = link
    return tuple(found.values())


def _joined(one: Link, other: Link, hours: int) -> Link:
    worse = min(one, other, key=lambda link: (rank(link.state), slack(link, hours)))
    presentations = tuple(dict.fromkeys((*one.presentations, *other.presentations)))
    return worse.model_copy(update={"presentations": presentations})


def rank(state: State) -> int:
    """Worst first."""
    return ("not-ready", "watch", "ready").index(state)


def slack(link: Link, hours: int) -> tuple[float, int]:
    """How far a link holds: have over need, and for what runs out its hour over the hours asked; then the early hour.

    A link without numbers counts as just enough.
    """
    if link.runs_out_early is not None:
        return (hours if link.runs_out is None else link.runs_out) / hours, link.runs_out_early
    if link.have is None or not link.need:
        return 1.0, hours
    return link.have / link.need, hours


# ---- procedure and practice -----------------------------------------------------------------------------------------


def _procedure(one: ProcedureHere, today: Today) -> Iterator[Link]:
    there = (one.presentation,)
    if one.slug is None or one.plan is None:
        yield Link(
            topic="procedure",
            presentations=there,
            state="not-ready",
            why=tuple(Why(id=trouble) for trouble in one.hard) or (Why(id="no-procedure"),),
            mend=(Mend(id="name-a-procedure"),),
        )
        return
    soft = [Why(id=trouble) for trouble in one.soft if trouble != "review-due"]
    if one.review_on is not None and one.review_on <= today.day:
        soft.append(Why(id="review-due", on=one.review_on))
    hard = [Why(id=trouble) for trouble in one.hard]
    yield Link(
        topic="procedure",
        subject=one.slug,
        presentations=there,
        state="not-ready" if hard else "watch" if soft else "ready",
        why=(*hard, *soft),
        mend=_mends_of_procedure(hard, soft),
    )
    yield _practice(one, today)


def _mends_of_procedure(hard: list[Why], soft: list[Why]) -> tuple[Mend, ...]:
    if hard:
        return (Mend(id="name-another-procedure"),)
    return tuple(Mend(id="review" if one.id == "review-due" else "assure-again") for one in soft)[:1]


def _practice(one: ProcedureHere, today: Today) -> Link:
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


# ---- people ---------------------------------------------------------------------------------------------------------


def _people(one: ProcedureHere, today: Today) -> Iterator[Link]:
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


def _roster(today: Today) -> Iterator[Link]:
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


# ---- things, units, rooms -------------------------------------------------------------------------------------------


def _things(one: ProcedureHere, today: Today) -> Iterator[Link]:
    if one.plan is None:
        return
    used = today.used.get(one.presentation, ())
    yield from stock_links(today.question, today.here, today.day, one.presentation, used)
    yield from reserve_links(today.here, today.day, one.presentation, one.plan)
    for item in today.powered.get(one.presentation, ()):
        yield _units(item, (one.presentation,), today)


def _units(item: str, there: tuple[Presentation, ...], today: Today) -> Link:
    states = [
        unit_state(unit, events, today.day, today.standards) for unit, events in today.here.units if unit.item == item
    ]
    have, need = sum(one.ready for one in states), today.team.wearer
    counts: dict[str, int] = {}
    for one in states:
        for why in one.why:
            counts[why] = counts.get(why, 0) + 1
    ranked = sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))
    return Link(
        topic="powered-unit",
        subject=item,
        presentations=there,
        state="ready" if have >= need else "not-ready",
        have=have,
        need=need,
        why=() if have >= need else (*(Why(id=why, count=count) for why, count in ranked),) or (Why(id="no-unit"),),
        mend=() if have >= need else (Mend(id="ready-a-unit", item=item, count=need - have),),
    )


def _room(today: Today) -> Iterator[Link]:
    presentations = tuple(one.presentation for one in today.here.procedures)
    rooms = today.here.rooms
    if rooms is None:
        yield Link(
            topic="room",
            presentations=presentations,
            state="watch",
            why=(Why(id="no-register-of-rooms"),),
            mend=(Mend(id="enter-a-room"),),
        )
        return
    best = sorted((_room_stands(one, today) for one in rooms), key=lambda one: -rank(one[0]))
    able = [stands for stands, _ in best if stands != "not-ready"]
    state = best[0][0] if best else "not-ready"
    # Of the rooms that stand best alone: what is wrong with one that nobody would take says nothing about tonight.
    why = [reason for stands, reasons in best if stands == state for reason in reasons]
    if not best:
        why = [Why(id="no-room")]
    yield Link(
        topic="room",
        presentations=presentations,
        state=state,
        have=len(able),
        need=1,
        why=() if state == "ready" else tuple(dict.fromkeys(why)),
        mend=() if state == "ready" else _mends_of_rooms(why) if rooms else (Mend(id="enter-a-room"),),
    )


def _mends_of_rooms(why: list[Why]) -> tuple[Mend, ...]:
    """Clearing for what is taken or was left; a check for all else."""
    left = ("room-in-use", "room-not-cleared")
    return tuple(
        Mend(id=one) for one in dict.fromkeys("clear-a-room" if one.id in left else "check-a-room" for one in why)
    )


def _room_stands(one: RoomHere, today: Today) -> tuple[State, tuple[Why, ...]]:
    why = [Why(id=reason) for reason in one.why]
    if today.by_air and not one.isolation:
        why.append(Why(id="no-isolation-room"))
    if why:
        return "not-ready", tuple(why)
    watch = [Why(id=reason) for reason in one.watch]
    if one.free is not None and today.day <= max(today.question.on, one.free.date()):
        watch.append(Why(id="room-in-use", at=one.free))
    if one.cleared is not None and today.day <= one.cleared:
        watch.append(Why(id="room-not-cleared", on=one.cleared))
    if one.until is not None and one.until < today.day:
        watch.append(Why(id="room-check-due", on=one.until))
    return ("watch" if watch else "ready"), tuple(watch)
