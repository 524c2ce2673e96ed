"""Team and lane of two plans side by side: what each member wears, dresses and undresses, and the turnaround."""

from __future__ import annotations

from vestry.sequence.aligning import align
from vestry.sequence.comparison import ComparedStep, MemberCompared, Row, TurnaroundRow, Which
from vestry.sequence.plan import Member, Plan, PlanStep
from vestry.sequence.timing import span_of
from vestry.trade import Catalogue


def same_team(a: Plan, b: Plan) -> bool:
    """Whether both plans ask the same of those beside the wearer, and of the lane."""
    return (a.team, a.turnaround) == (b.team, b.turnaround)


def team_compared(a: Plan, b: Plan, catalogue: Catalogue) -> tuple[MemberCompared, ...]:
    """Every member of either plan, in the order of the second, then those whom only the first has."""
    roles = dict.fromkeys(one.role for one in (*b.team, *a.team))
    return tuple(
        _member(
            next((one for one in a.team if one.role == role), None),
            next((one for one in b.team if one.role == role), None),
            catalogue,
        )
        for role in roles
    )


def _member(a: Member | None, b: Member | None, catalogue: Catalogue) -> MemberCompared:
    known = b or a
    assert known is not None
    worn_a, worn_b = (one.worn if one else () for one in (a, b))
    only: Which | None = "b" if a is None else "a" if b is None else None
    return MemberCompared(
        role=known.role,
        only=only,
        dropped=tuple(item for item in worn_a if item not in worn_b),
        added=tuple(item for item in worn_b if item not in worn_a),
        steps=_rows(a.steps if a else (), b.steps if b else (), catalogue),
    )


def _rows(a: tuple[PlanStep, ...], b: tuple[PlanStep, ...], catalogue: Catalogue) -> tuple[Row, ...]:
    return tuple(
        Row(
            change=pair.change,
            a=None if pair.first is None else _step(a, pair.first, catalogue),
            b=None if pair.second is None else _step(b, pair.second, catalogue),
        )
        for pair in align([step.id for step in a], [step.id for step in b])
    )


def _step(steps: tuple[PlanStep, ...], place: int, catalogue: Catalogue) -> ComparedStep:
    step = steps[place]
    return ComparedStep(
        id=step.id,
        number=place + 1,
        act=step.act,
        items=step.items,
        technique=step.technique,
        who=step.who,
        agent=step.agent,
        to=step.to,
        topic=step.topic,
        seconds=span_of(step.act, step.items, step.agent, catalogue).seconds,
        judged=False,
        further=None,
        with_fault=None,
        watch=False,
    )


def turnaround_compared(a: Plan, b: Plan) -> tuple[TurnaroundRow, ...]:
    """What is done to the lane between two exits, side by side."""
    rows = []
    for pair in align(a.turnaround, b.turnaround):
        at = b.turnaround[pair.second] if pair.second is not None else a.turnaround[pair.first or 0]
        first, second = (None if one is None else one + 1 for one in (pair.first, pair.second))
        rows.append(TurnaroundRow(change=pair.change, id=at, a=first, b=second))
    return tuple(rows)
