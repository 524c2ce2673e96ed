"""Amounts of a plan or of anyone's order: what reaches where, how surely, what each step contributes.

A plan with an observer is followed into its recoveries: when a deviation is seen, the run goes on with the recovery for
it. Orders written by anyone have no recoveries of their own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, cast

from vestry.contact.amounts import ENVELOPE, Bound, Choice, Context, Continuation, bind_order
from vestry.contact.amounts.answers import (
    Contribution,
    Difference,
    Matter,
    Question,
    Whole,
    contributions,
    difference,
    what_matters,
    whole,
)
from vestry.contact.amounts.binding import Use
from vestry.contact.amounts.limits import Limit, limits_of
from vestry.contact.amounts.tally import Estimate, Reaching
from vestry.contact.taught import TaughtStep, taught
from vestry.sequence.amounts_found import (
    AmountsDiffer,
    AmountsFound,
    ContextValue,
    ContributionRow,
    DifferenceRow,
    EndpointName,
    LimitName,
    LimitRow,
    Number,
    QuantileRow,
    ReachingRow,
    RestsOn,
    UnknownRow,
)
from vestry.sequence.assurance import Recovery
from vestry.sequence.recovering import ENVELOPE as ENVELOPE_HAPPENED
from vestry.sequence.subject import Subject
from vestry.sequence.timing import span_of
from vestry.trade import Catalogue, Evidence, Order, Step

DRAWS, SEED = 20_000, 1
MOST_UNKNOWNS = 40
Progress = Callable[[str, int, int], bool | None]


@dataclass(frozen=True)
class Asked:
    """A sequence in its circumstances, bound to the evidence; made once, asked several things.

    recoveries      followed after a seen deviation; empty: none are
    marker          by what a sample is looked at, for the detection limit
    """

    subject: Subject
    evidence: Evidence
    context: Context
    recoveries: tuple[Recovery, ...] = ()
    draws: int = DRAWS
    seed: int = SEED
    marker: str = "virus"
    choice: Choice = "auto"
    threads: int = 1

    @cached_property
    def bound(self) -> Bound:
        """The numbers of the sequence."""
        return bound_order(self.subject.order, self.subject.catalogue, self.evidence, self.context)

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """The limits that its amounts are held against."""
        hazard = self.subject.order.case.hazard
        family = self.subject.catalogue.hazards[hazard].family if hazard else None
        return limits_of(self.bound, self.evidence, family, self.marker)

    @cached_property
    def question(self) -> Question:
        """What the engine is asked."""
        return Question(
            model=self.bound.model,
            limits=self.limits,
            draws=self.draws,
            seed=self.seed,
            continuations=continuations(self) if self.context.observer else None,
            leave_out=self.bound.uncovered,
            choice=self.choice,
            threads=self.threads,
        )


def context_of(subject: Subject, **changes: object) -> Context:
    """The circumstances that a subject itself states: a plan's policy has an observer, who reads aloud, or has not.

    An order names an observer in its roles or is taken as it stands: nobody watches.
    """
    there = subject.plan.policy.observer if subject.plan else "observer" in subject.order.roles
    return replace(Context(observer=there, read_aloud=there), **changes)  # type: ignore[arg-type]


def bound_order(
    order: Order, catalogue: Catalogue, evidence: Evidence, context: Context, prefix: str = "", arrival: bool = True
) -> Bound:
    """An order bound, each step with the minutes that passed until then."""
    return bind_order(order, catalogue, evidence, context, None, prefix, arrival, elapsed(order, catalogue))


def elapsed(order: Order, catalogue: Catalogue) -> dict[str, float]:
    """Minutes from the beginning of the sequence to each step, by step id."""
    now, minutes = 0.0, {}
    for step in taught(order, catalogue):
        minutes[step.id] = now
        now += seconds_of(step, catalogue) / 60
    return minutes


def seconds_of(step: TaughtStep, catalogue: Catalogue) -> int:
    """How long a step takes, by the durations of the catalogue."""
    return span_of(step.act, step.items, step.agent, catalogue, step.seconds).seconds


def continuations(asked: Asked) -> dict[tuple[int, str], Continuation]:
    """The ways on after a seen deviation, by step and event; equal continuations are bound once."""
    order, program = asked.subject.order, asked.bound.program
    numbers = {step: number for number, step in enumerate(program.steps)}
    found: dict[tuple[int, str], Continuation] = {}
    made: dict[tuple[tuple[str, ...], str, tuple[Step, ...]], Continuation] = {}
    for one in asked.recoveries:
        if one.at not in numbers or len(one.happened) != 1 or one.happened[0].startswith("soiled:"):
            continue
        key = (one.worn, one.zone, one.steps)
        if key not in made:
            rest = order.model_copy(
                update={
                    "worn": one.worn,
                    "zone": one.zone,
                    "steps": one.steps or (Step(act="confirm"),),
                    "loads": {},
                    "lane": type(order.lane)(),
                }
            )
            bound = bound_order(
                rest, asked.subject.catalogue, asked.evidence, asked.context, f"recovery:{len(made)}:", arrival=False
            )
            made[key] = Continuation(bound.model)
        event = ENVELOPE if one.happened[0] == ENVELOPE_HAPPENED else one.happened[0]
        found[numbers[one.at], event] = made[key]
    return found


# ---- answers ----------------------------------------------------------------------------------------------------


def amounts(
    asked: Asked, *, with_contributions: bool = True, with_unknowns: bool = True, progress: Progress | None = None
) -> AmountsFound:
    """Everything on one sequence; it depends on sequence, facts, evidence, context, seed and number of draws alone.

    Contributions and unknowns are those of runs in which nobody steps in: what an error does by itself.
    """

    def told(stage: str) -> Callable[[int, int], bool | None] | None:
        return None if progress is None else lambda done, of: progress(stage, done, of)

    question = asked.question
    found = whole(question, told("draws"))
    unseen = replace(question, continuations=None)
    contributed = contributions(unseen, told("contributions")) if with_contributions else ()
    mattering = what_matters(unseen, told("unknowns")) if with_unknowns else ()
    return _answer(asked, found, contributed, mattering)


def differ(a: Asked, b: Asked) -> AmountsDiffer:
    """Two sequences on paired draws: same seed, same numbers for what they share."""
    return AmountsDiffer(
        a=a.subject.name,
        b=b.subject.name,
        draws=a.draws,
        seed=a.seed,
        limit=first_limit(a.limits),
        rows=difference_rows(difference(a.question, b.question)),
    )


def first_limit(limits: tuple[Limit, ...]) -> LimitName | None:
    """The limit by which contributions and differences are told."""
    return cast(LimitName, limits[0].name) if limits else None


def difference_rows(found: Iterable[Difference]) -> tuple[DifferenceRow, ...]:
    """Differences as values."""
    return tuple(
        DifferenceRow(
            endpoint=cast(EndpointName, one.endpoint),
            a=number(one.a),
            b=number(one.b),
            difference=number(one.ever),
            interval=one.interval,
            at_end=number(one.at_end),
            less=one.less,
            more=one.more,
        )
        for one in found
    )


def number(found: Estimate) -> Number:
    """An estimate as a value."""
    return Number(value=found.value, error=found.error)


def context_value(context: Context) -> ContextValue:
    """A context as a value."""
    return ContextValue(
        observer=context.observer,
        read_aloud=context.read_aloud,
        trained=context.trained,
        months=context.months,
        minutes=context.minutes,
        climate=context.climate,
        soil=context.soil,
        counts=dict(context.counts),
    )


def _answer(
    asked: Asked, found: Whole, contributed: tuple[Contribution, ...], mattering: tuple[Matter, ...]
) -> AmountsFound:
    subject, bound = asked.subject, asked.bound
    rests = tuple(_rests_on(use) for use in sorted(bound.rests_on, key=lambda use: (use.quantity, use.id)))
    return AmountsFound(
        name=subject.name,
        title=subject.title,
        plan=subject.plan.hash if subject.plan else None,
        facts=subject.catalogue.digest,
        evidence=asked.evidence.digest,
        context=context_value(asked.context),
        draws=found.draws,
        seed=asked.seed,
        unit=bound.unit,
        limits=tuple(
            LimitRow(name=cast(LimitName, one.name), records=tuple(record.id for record in one.records))
            for one in asked.limits
        ),
        reaching=tuple(_reaching(one) for one in found.reaching),
        contributions=tuple(_contribution(one, bound) for one in contributed),
        unknowns=tuple(_unknown(one) for one in mattering[:MOST_UNKNOWNS]),
        uncovered=tuple(sorted(bound.uncovered)),
        recoveries=bool(asked.question.continuations),
        recovered=found.recovered,
        rests_on=rests,
        defaults=tuple(one for one in rests if one.source is None),
    )


def _reaching(one: Reaching) -> ReachingRow:
    return ReachingRow(
        endpoint=cast(EndpointName, one.endpoint),
        surface=one.surface,
        when=cast(Literal["ever", "at-end"], one.when),
        limits={cast(LimitName, name): number(value) for name, value in one.chances.items()},
        something=number(one.any),
        mean=number(one.mean),
        quantiles=tuple(QuantileRow(at=q.at, value=q.value, low=q.low, high=q.high) for q in one.quantiles),
    )


def _contribution(one: Contribution, bound: Bound) -> ContributionRow:
    return ContributionRow(
        kind=cast(Literal["step", "event"], one.kind),
        id=one.id,
        step=bound.program.steps[one.step] if one.step >= 0 else None,
        number=one.step + 1 if one.step >= 0 else None,
        happened=one.happened,
        falls={cast(EndpointName, name): number(value) for name, value in one.by.items()},
        share_of_mean={cast(EndpointName, name): number(value) for name, value in one.mean.items()},
    )


def _unknown(one: Matter) -> UnknownRow:
    return UnknownRow(
        record=one.unknown, endpoint=cast(EndpointName, one.endpoint), share=number(one.share), direction=one.direction
    )


def _rests_on(use: Use) -> RestsOn:
    record, asked = use.record, dict(use.asked)
    if record is None:
        return RestsOn(id=use.id, quantity=use.quantity, certainty="judgement", times=use.times, asked=asked)
    return RestsOn(
        id=record.id,
        quantity=record.quantity,
        unit=record.unit,
        law=record.law,
        range=record.range,
        source=record.source,
        certainty=record.certainty,
        trust=record.trust,
        drawn=record.drawn,
        times=use.times,
        asked=asked,
    )
