"""Findings in words: a route as one sentence, where one sequence is weaker, what each costs. No advice is in them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from vestry.sequence.assurance import Link, Note, Route
from vestry.sequence.comparison import ComparedStep, Comparison, MemberCompared, Row, Side, Weaker
from vestry.sequence.explanation import ExplainedRoute, Touch, WouldTake
from vestry.sequence.plan import PlanStep
from vestry.sequence.saying import say
from vestry.sequence.subject import Subject
from vestry.sequence.substitution import Substitution
from vestry.sequence.weighed import Outcome, WeighedRule
from vestry.trade import Catalogue
from vestry.trade.words import UnknownWord, Words


def told_note(note: Note, words: Words) -> str:
    """A note on a step, as a sentence."""
    if note.kind == "touches-nothing":
        return words.finding("note.touches-nothing", step=note.number, item=note.what)
    item, _, over = note.what.partition(" ")
    return words.finding(
        "note.drawn-from-beneath", step=note.number, item=words.item_it(item), other=words.item_it(over)
    )


def told_surface(surface: str, words: Words) -> str:
    """A surface in words; one that has none by its id."""
    try:
        return words.surface(surface)
    except UnknownWord:
        return surface.replace(".", ", ").replace("-", " ")


def told_event(event: str, words: Words) -> str:
    """An event in words; one that has none by its id."""
    try:
        return words.event(event)
    except UnknownWord:
        return event


def told_step(step: PlanStep, words: Words, catalogue: Catalogue) -> str:
    """A step by its short name; one that has no words by its id."""
    try:
        return say(step, words, catalogue).short
    except (UnknownWord, StopIteration):
        return step.id


def told_route(route: Route, numbers: Mapping[str, int], words: Words) -> str:
    """A route as one sentence: what goes wrong, then touch after touch, each with its step."""
    chain = told_chain(route, numbers, words)
    if not route.events:
        return words.finding("route.as-taught", chain=chain)
    joined = words.finding("route.together").join(dict.fromkeys(told_event(one, words) for one in route.events))
    return words.finding("route.if", errors=joined, chain=chain)


def told_chain(route: Route, numbers: Mapping[str, int], words: Words) -> str:
    """The touches of a route, joined."""
    if not route.chain:
        return words.finding("route.only", surface=told_surface(route.surface, words))
    parts: list[str] = []
    before: object = None
    for link in route.chain:
        said = {
            "from": told_surface(link.from_surface, words),
            "verb": words.term("verb", link.verb),
            "to": told_surface(link.to_surface, words),
            "step": place_of(link.step, numbers, words),
        }
        key = "route.first" if not parts else "route.same-step" if link.step == before else "route.next"
        parts.append(words.finding(key, **said))
        before = link.step
    return "".join(parts)


def place_of(step: str | None, numbers: Mapping[str, int], words: Words) -> str:
    """A step by its number, or on arrival."""
    if step is None:
        return words.finding("route.arrival")
    return words.finding("route.step", step=numbers.get(step, step))


def told_place(step_id: str, subject: Subject, words: Words) -> str:
    """A step of a subject by its number and its short name: "step 7, Outer gloves off"; by its id when it has none."""
    by_id = {step.id: step for step in subject.steps}
    if step_id not in by_id:
        return step_id
    return f"{place_of(step_id, subject.numbers, words)}, {told_step(by_id[step_id], words, subject.catalogue)}"


def decisive_steps(route: Route) -> tuple[str, ...]:
    """The steps at which the route is opened: those of its errors; as taught, that of its last touch."""
    steps = [event.partition("@")[2] for event in route.events if "@" in event]
    if not steps and route.chain and route.chain[-1].step is not None:
        steps = [route.chain[-1].step]
    return tuple(dict.fromkeys(steps))


SIDES: Mapping[str, str] = {"a": "A", "b": "B"}


def told_weaker(weaker: Weaker, names: Mapping[str, str], subject: Subject, words: Words) -> tuple[str, ...]:
    """Where one is weaker: on which endpoint, by how much; then each route with the step at which it opens."""
    other = "a" if weaker.side == "b" else "b"
    first = words.finding(
        "compare.weaker",
        side=names[weaker.side],
        endpoint=words.endpoint(weaker.endpoint),
        count=_routes(weaker.count, words),
        errors=words.term("errors", str(weaker.errors)),
        against=weaker.other,
        other=names[other],
    )
    if weaker.when == "at-end":
        first += " " + words.finding("compare.at-end")
    if not weaker.throughout:
        first += " " + words.finding("compare.mixed")
    return (first, *(told_at_step(one, subject, words) for one in weaker.routes))


def told_at_step(route: Route, subject: Subject, words: Words) -> str:
    """A route with the step at which it opens: its number and its short name."""
    sentence = told_route(route, subject.numbers, words)
    places = [told_place(step, subject, words) for step in decisive_steps(route) if step in subject.numbers]
    if not places:
        return sentence[:1].upper() + sentence[1:]
    return words.finding("compare.at-step", step=" / ".join(places), route=sentence)


def told_cost(side: Side, name: str, words: Words) -> str:
    """Steps and minutes of one side."""
    return words.finding("compare.cost", side=name, steps=side.steps, **minutes(side))


def minutes(side: Side) -> dict[str, str]:
    """A side's time in whole minutes: central, brisk, slow."""
    return {
        "minutes": str(round(side.time.seconds / 60)),
        "least": str(round(side.time.least / 60)),
        "most": str(round(side.time.most / 60)),
    }


def summary(
    found: Comparison, a: Subject, b: Subject, words: Words, names: Mapping[str, str] = SIDES
) -> tuple[tuple[str, ...], ...]:
    """The comparison in plain words: paragraphs, the first line of each the finding, the others its routes.

    names    what the sides `a` and `b` are called
    """
    if found.equal:
        return ((words.finding("compare.equal"),),)
    told: list[tuple[str, ...]] = [(words.term("why-not", one),) for one in found.why_not]
    told += [told_weaker(one, names, a if one.side == "a" else b, words) for one in found.weaker]
    if found.comparable and not found.weaker:
        told.append((words.finding("compare.none-weaker"),))
    told += _reached_alone(found.reached_lost, "a", names, a, words)
    told += _reached_alone(found.reached_gained, "b", names, b, words)
    told.append((told_cost(found.a, names["a"], words), told_cost(found.b, names["b"], words)))
    return tuple(told)


def _reached_alone(
    routes: Iterable[Route], side: str, names: Mapping[str, str], subject: Subject, words: Words
) -> list[tuple[str, ...]]:
    other = names["a" if side == "b" else "b"]
    return [
        (
            words.finding(
                "compare.reached-gained",
                side=names[side],
                other=other,
                route=told_at_step(one, subject, words),
            ),
        )
        for one in routes
    ]


def _routes(count: int, words: Words) -> str:
    return words.finding("compare.one-route" if count == 1 else "compare.routes", count=count)


def said_step(step: ComparedStep, words: Words, catalogue: Catalogue) -> tuple[str, str]:
    """A compared step in words: what is read aloud, and its short name."""
    whole = PlanStep(
        id=step.id,
        phase="doffing",
        act=step.act,
        items=step.items,
        technique=step.technique,
        who=step.who,
        agent=step.agent,
        to=step.to,
        topic=step.topic,
    )
    try:
        said = say(whole, words, catalogue)
    except (UnknownWord, StopIteration):
        return step.id, step.id
    return said.say, said.short


# ---- substitutions ----


def told_substitution(found: Substitution, words: Words) -> tuple[str, ...]:
    """A substitution in plain words: why, what is worn instead, its standing, and what it costs."""
    it = words.item_it(found.without)
    both = found.comparison
    others = [item for item in both.dropped if item != found.without]
    told = [words.finding(f"substitute.because.{found.because}", item=it)]
    told.append(
        words.finding("substitute.worn", items=listed(both.added, words))
        if both.added
        else words.finding("substitute.nothing-worn")
    )
    if others:
        told.append(words.finding("substitute.falls-away", items=listed(others, words)))
    told += [words.finding("substitute.unapproved"), words.finding(f"substitute.order.{found.own_order}")]
    return (*told, *told_price(both, words))


def told_price(both: Comparison, words: Words) -> tuple[str, ...]:
    """What b costs against a: steps, minutes, and how few errors it takes."""
    before, after = minutes(both.a), minutes(both.b)
    fewest = [words.term("further", "more") if one.fewest is None else str(one.fewest) for one in (both.b, both.a)]
    return (
        words.finding(
            "substitute.steps",
            steps=both.b.steps,
            against=both.a.steps,
            minutes=after["minutes"],
            other=before["minutes"],
        ),
        words.finding("substitute.fewest", count=fewest[0], against=fewest[1]),
        words.finding("substitute.watch", count=both.b.watch, against=both.a.watch),
    )


def listed(items: Iterable[str], words: Words) -> str:
    """Items by their names, as a list in running text."""
    return ", ".join(words.item_short(item).lower() for item in items)


def told_change(row: Row, words: Words, catalogue: Catalogue) -> str:
    """One row of an alignment in words: where the step stands, where it stood, and what is read aloud."""
    step = row.b or row.a
    assert step is not None
    return words.finding(
        f"change.{row.change}",
        step=row.b.number if row.b else "",
        against=row.a.number if row.a else "",
        says=said_step(step, words, catalogue)[0],
    )


def told_team(
    both: Comparison, words: Words, catalogue: Catalogue, names: Mapping[str, str] = SIDES
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What differs of the team and between two exits: a title with its lines; what is the same is left out."""
    told = [(_member_title(one, words), _member_lines(one, words, catalogue, names)) for one in both.team]
    lane = tuple(
        words.finding(f"change.{row.change}", step=row.b, against=row.a, says=words.turnaround(row.id).say)
        for row in both.turnaround
        if row.change != "kept"
    )
    return tuple((title, lines) for title, lines in (*told, (words.finding("lane.title"), lane)) if lines)


def _member_title(one: MemberCompared, words: Words) -> str:
    who = words.term("who", one.role)
    return words.finding("team.title", item=who[:1].upper() + who[1:])


def _member_lines(one: MemberCompared, words: Words, catalogue: Catalogue, names: Mapping[str, str]) -> tuple[str, ...]:
    if one.only:
        return (words.finding("team.only", side=names[one.only]),)
    worn = [
        words.finding("team.worn", side=names[side], items=listed(items, words))
        for side, items in (("a", one.dropped), ("b", one.added))
        if items
    ]
    return (*worn, *(told_change(row, words, catalogue) for row in one.steps if row.change != "kept"))


# ---- explanations ----


def plain_route(one: ExplainedRoute) -> Route:
    """An explained route as the route that it explains."""
    return Route(
        surface=one.surface,
        endpoint=one.endpoint,
        when=one.when,
        events=one.events,
        chain=tuple(
            Link(
                step=touch.step,
                verb=touch.verb,
                from_surface=touch.from_surface,
                to_surface=touch.to_surface,
                event=touch.event,
                source=touch.source.id,
            )
            for touch in one.touches
        ),
    )


def told_explained(one: ExplainedRoute, subject: Subject, words: Words) -> str:
    """An explained route as one sentence."""
    sentence = told_route(plain_route(one), subject.numbers, words)
    return sentence[:1].upper() + sentence[1:]


def told_end(one: ExplainedRoute, words: Words) -> str:
    """The endpoint of a route: the surface, its class, and whether it is clean again at the end."""
    key = "route.end" if one.when == "at-end" or one.endpoint != "skin" else "route.end-clean"
    surface = told_surface(one.surface, words)
    said = words.finding(key, surface=surface, endpoint=words.endpoint(one.endpoint))
    return said[:1].upper() + said[1:]


def told_touch(touch: Touch, words: Words) -> str:
    """One touch: what touched what."""
    return words.finding(
        "route.touch",
        **{
            "from": told_surface(touch.from_surface, words),
            "verb": words.term("verb", touch.verb),
            "to": told_surface(touch.to_surface, words),
        },
    )


def told_source(touch: Touch, words: Words) -> str:
    """Where a touch comes from and how surely: publisher, title, year, and how it was read."""
    source = touch.source
    certainty = words.term("certainty", source.certainty)
    if source.publisher is None:
        return certainty
    year = f", {source.year}" if source.year else ""
    return f"{source.publisher}: {source.title}{year} ({certainty})"


def told_would_take(one: WouldTake, order: int, words: Words) -> str:
    """What would have to go wrong for a surface to be reached: how many errors together, in a sentence."""
    surface = told_surface(one.surface, words)
    if one.fewest is None:
        sentence = words.finding("why-not.nothing", surface=surface, count=order)
    else:
        sentence = words.finding(
            "why-not.takes",
            surface=surface,
            errors=words.term("errors", str(one.fewest)),
            count=words.finding("why-not.one-way" if one.count == 1 else "why-not.ways", count=one.count),
        )
    if one.with_fault is not None and one.with_fault != one.fewest:
        sentence += " " + words.finding("why-not.fault", errors=words.term("errors", str(one.with_fault)))
    return sentence[:1].upper() + sentence[1:]


# ---- rules ----


def told_weighed(one: WeighedRule, words: Words) -> tuple[str, ...]:
    """What a rule costs or buys, endpoint by endpoint, in routes as taught, steps and minutes."""
    on, off = one.with_rule, one.without
    if on is None or off is None:
        return (words.finding("rule.none-with" if on is None else "rule.none-without"),)
    if one.same:
        return (words.finding("rule.same"),)
    told = [_weighed_endpoint(weaker, words) for weaker in one.weaker] or [words.finding("rule.even")]
    for key, mine, theirs in (("with", on, off), ("without", off, on)):
        if only := [surface for surface in mine.routes if surface not in theirs.routes]:
            told.append(words.finding(f"rule.routes-{key}", items=", ".join(told_surface(s, words) for s in only)))
    return (*told, _weighed_cost(on, off, words))


def _weighed_endpoint(weaker: Weaker, words: Words) -> str:
    few, many = weaker.other, weaker.count
    with_it, without = (many, few) if weaker.side == "a" else (few, many)
    told = words.finding(
        "rule.costs" if weaker.side == "a" else "rule.buys",
        endpoint=words.endpoint(weaker.endpoint),
        count=_routes(with_it, words),
        errors=words.term("errors", str(weaker.errors)),
        against=without,
    )
    if weaker.when == "at-end":
        told += " " + words.finding("rule.at-end")
    return told if weaker.throughout else f"{told} {words.finding('compare.mixed')}"


def _weighed_cost(on: Outcome, off: Outcome, words: Words) -> str:
    return words.finding(
        "rule.steps",
        steps=on.steps,
        against=off.steps,
        minutes=round(on.time.seconds / 60),
        other=round(off.time.seconds / 60),
    )
