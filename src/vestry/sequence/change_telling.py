"""A change of case in words: what changed, what it means for each of those inside, who goes first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from vestry.sequence.case_change import CaseChange, Exit, Followed, Lack, Person, PractisedExit, Turn
from vestry.sequence.telling import told_surface
from vestry.trade import Catalogue
from vestry.trade.crosscheck import NO_SOURCE_NEEDED
from vestry.trade.words import Words

Names = Mapping[str, str]
MOST_WOULD = 4


def told_title(found: CaseChange, words: Words) -> str:
    """What the finding is called."""
    if found.after is None:
        return words.finding("case.title-ruled-out", hazard=words.hazard(found.before.hazard))
    return words.finding("case.title")


def told_case(found: CaseChange, words: Words) -> tuple[str, ...]:
    """What changed, and whether what is worn is enough."""
    told = list(_changed(found, words))
    some_not = [one for one in found.people if not one.enough]
    if not found.people:
        told.append(words.finding("case.nobody"))
    elif some_not:
        told.append(words.finding("case.some-not", count=len(some_not), of=len(found.people)))
    else:
        told.append(words.finding("case.all-enough", count=len(found.people)))
    return tuple(told)


def _changed(found: CaseChange, words: Words) -> Iterable[str]:
    before, after = found.before, found.after
    if not found.changed:
        yield words.finding("case.same")
    if "ruled-out" in found.changed:
        other = {} if after is None else {"other": words.hazard(after.hazard)}
        key = "case.ruled-out" if after is None else "case.ruled-out-other"
        yield words.finding(key, hazard=words.hazard(before.hazard), **other)
    elif after is not None and "hazard" in found.changed:
        yield words.finding("case.hazard", hazard=words.hazard(after.hazard), before=words.hazard(before.hazard))
    if after is not None and "presentation" in found.changed:
        yield words.finding("case.presentation", presentation=words.term("presentation", after.presentation))
    if after is not None and "tasks" in found.changed:
        yield words.finding("case.tasks", tasks=", ".join(words.term("task", task) for task in after.tasks))


def told_asked(found: CaseChange, words: Words) -> tuple[str, ...]:
    """What the new case asks for besides, what it no longer asks for, and agents that count otherwise."""
    told = [words.finding("case.gained", says=words.why(one)) for one in found.gained]
    if found.after is not None:
        told += [words.finding("case.lost", says=words.why(one)) for one in found.lost]
    for one in found.agents:
        if one.before != one.after:
            key = "case.agent-works" if one.after else "case.agent-fails"
            told.append(words.finding(key, agent=_capital(words.agent(one.agent)), on=one.on))
    return tuple(told)


def told_afterwards(found: CaseChange, words: Words) -> tuple[str, ...]:
    """Waste that is held, and who is followed: questions for those who decide them."""
    before, after = found.followed_before, found.followed_after
    told = [words.finding("case.no-exit-needed")] if found.after is None else []
    if found.ruled_out:
        told.append(
            words.finding("case.follow-close", hazard=words.hazard(before.hazard), days=told_days(before, words))
        )
    if after is not None and after.hazard != before.hazard:
        told.append(
            words.finding(
                "case.follow",
                hazard=words.hazard(after.hazard),
                days=told_days(after, words),
                before=told_days(before, words),
            )
        )
    if found.ruled_out and (after is None or after.waste == before.waste):
        told.append(words.finding("case.waste", before=words.waste(before.waste)))
    elif after is not None and after.waste != before.waste:
        told.append(words.finding("case.waste-other", after=words.waste(after.waste), before=words.waste(before.waste)))
    return tuple(told)


def told_days(one: Followed, words: Words) -> str:
    """How long someone is followed for a hazard."""
    if one.days is not None:
        return words.finding("case.days", days=one.days)
    if one.days_default is not None:
        return words.finding("case.days-default", days=one.days_default)
    return words.finding("case.days-unknown")


def told_next_in(found: CaseChange, words: Words) -> tuple[str, ...]:
    """What who goes in next wears."""
    if found.next_in is None:
        return ()
    if found.next_in.worn:
        return (words.finding("case.next-in", items=_items(found.next_in.worn, words)),)
    told = [words.finding("case.next-in-none")]
    for one in found.next_in.open:
        told.append(
            words.finding(
                "case.open",
                site=_capital(told_site(one.site, words)),
                route=words.term("route", one.route),
                says=words.why(one.requirement),
                items=_would(one, words),
            )
        )
    return tuple(told)


# ---- one of those inside ----


def told_person(person: Person, words: Words, catalogue: Catalogue) -> tuple[str, ...]:
    """Whether what they wear is enough, what is missing with its source, and whether they stay."""
    key = "enough" if person.enough else "not-enough"
    told = [words.finding(f"case.{'was-' if person.out else ''}{key}")]
    told += told_lacks(person.lacks, words, catalogue)
    told += [_stays(person, words)]
    if person.missing:
        told.append(words.finding("case.change-to", items=_items(person.missing, words)))
    told.append(_minutes(person, words))
    return tuple(told)


def told_lacks(lacks: Iterable[Lack], words: Words, catalogue: Catalogue) -> list[str]:
    """What is missing: for each requirement where, what is asked for, and who says so."""
    sites: dict[str, list[str]] = {}
    by_id = {one.requirement: one for one in lacks}
    for one in lacks:
        sites.setdefault(one.requirement, []).append(told_site(one.site, words))
    return [
        words.finding(
            "case.lack",
            site=_capital(", ".join(sites[requirement])),
            says=words.why(requirement),
            source=_source(one, words, catalogue),
        )
        for requirement, one in by_id.items()
    ]


def _source(one: Lack, words: Words, catalogue: Catalogue) -> str:
    source, certainty = catalogue.sources.get(one.source), words.term("certainty", one.certainty)
    return f"{source.publisher}, {certainty}" if source and one.certainty not in NO_SOURCE_NEEDED else certainty


def _stays(person: Person, words: Words) -> str:
    if person.out:
        return words.finding("case.on-the-way")
    if person.enough:
        return words.finding("case.stays")
    if person.add:
        return words.finding("case.may-add", items=_items(person.add, words))
    return words.finding("case.leaves")


def _minutes(person: Person, words: Words) -> str:
    if person.minutes is None or person.minutes_left is None:
        return words.finding("case.minutes-unknown")
    if person.minutes_left < 0:
        return words.finding("case.minutes-over", minutes=person.minutes, left=-person.minutes_left)
    return words.finding("case.minutes", minutes=person.minutes, left=person.minutes_left)


def told_loads(person: Person, words: Words) -> tuple[str, ...]:
    """Where nothing covers, and on which faces the new case puts more or less."""
    rank = ("none", "low", "high")
    told = []
    if person.uncovered:
        told.append(words.finding("case.uncovered", items=", ".join(told_site(one, words) for one in person.uncovered)))
    for key, sign in (("heavier", 1), ("lighter", -1)):
        faces = [one.surface for one in person.loads if (rank.index(one.after) - rank.index(one.before)) * sign > 0]
        if faces:
            told.append(words.finding(f"case.{key}", items=_surfaces(faces, words)))
    return tuple(told)


def told_adding(person: Person, words: Words) -> tuple[str, ...]:
    """Why pieces that would help are not put on inside; one sentence for each reason."""
    by_reason: dict[str, list[str]] = {}
    for one in person.adding:
        if one.why is not None:
            by_reason.setdefault(one.why, []).append(one.item)
    return tuple(
        words.finding("case.add-no", items=_items(items, words), why=words.term("why-not-inside", why))
        for why, items in by_reason.items()
    )


def told_site(site: str, words: Words) -> str:
    """A body site, or the airways."""
    return site if site == "airways" else told_surface(f"body.{site}", words)


# ---- the way out ----


def told_exit(person: Person, found: Exit | None, words: Words) -> tuple[str, ...]:
    """Which exit it is, what the model says of it, and how long it takes. For the desk: it holds a margin."""
    if found is None:
        return (words.finding("case.no-exit", why=person.no_exit or ""),)
    told = list(_which(found, words))
    if found.plan.start is not None and found.plan.start.contaminated:
        key = "case.assumed-alone" if found.plan.start.alone else "case.assumed"
        told.append(words.finding(key, items=_surfaces(found.plan.start.contaminated, words)))
    told += _verdict(found, words)
    return (*told, _time(found, words))


def _which(found: Exit, words: Words) -> Iterable[str]:
    taken = next((one for one in found.practised if one.name == found.take), None)
    if taken is not None:
        key = "case.exit-practised" if taken.approved else "case.exit-own"
        yield words.finding(key, title=taken.title)
        if taken.same:
            yield words.finding("case.exit-equal")
        elif found.comparison is not None:
            changed = sum(row.change != "kept" for row in found.comparison.steps)
            yield words.finding("case.exit-differs", count=changed)
    else:
        yield words.finding("case.exit-computed")
    for one in found.practised:
        if not one.stands:
            yield from _falls(one, words)


def _falls(one: PractisedExit, words: Words) -> Iterable[str]:
    if not one.clean:
        yield words.finding(
            "case.exit-not-clean", title=one.title, items=_surfaces((route.surface for route in one.reached), words)
        )
    if one.rules_broken:
        yield words.finding("case.exit-breaks", title=one.title, rules=_rules(one.rules_broken, words))


def _verdict(found: Exit, words: Words) -> list[str]:
    told = []
    if found.exposed:
        told.append(words.finding("case.exposed", items=_surfaces(found.exposed, words)))
    if found.clean or found.take is not None:
        told.append(words.finding("case.clean"))
    else:
        beyond = [
            one.surface
            for one in found.assurance.reached
            if one.surface not in found.exposed
            and (one.endpoint in ("mucosa", "helper") or (one.endpoint == "skin" and one.when == "at-end"))
        ]
        told.append(words.finding("case.reached", items=_surfaces(beyond, words)))
    fewest = next((one.fewest for one in found.practised if one.name == found.take), found.fewest)
    count = words.term("further", "more") if fewest is None else str(fewest)
    told.append(words.finding("case.fewest", count=count))
    if found.rules_left and found.take is None:
        told.append(words.finding("case.rules-left", rules=_rules(found.rules_left, words)))
    if found.people is not None:
        told.append(words.finding("case.people", why=found.people))
    return told


def _time(found: Exit, words: Words) -> str:
    span = found.time
    return words.finding(
        "case.minutes-out",
        minutes=round(span.seconds / 60),
        least=round(span.least / 60),
        most=round(span.most / 60),
    )


# ---- who first ----


def told_turn(turn: Turn, name: str, words: Words) -> tuple[str, ...]:
    """One place in the order of leaving, what puts them there, and when the lane is theirs."""
    reason = words.term("because-first", turn.because)
    told = [words.finding("case.turn", place=turn.place, who=name, reason=reason)]
    minutes = round(turn.wait.seconds / 60)
    told.append(words.finding("case.turn-now") if not minutes else words.finding("case.turn-wait", minutes=minutes))
    if turn.late:
        told.append(words.finding("case.turn-late"))
    return tuple(told)


def told_lane(found: CaseChange, names: Names, words: Words) -> tuple[str, ...]:
    """What one leaves for another through one lane in this order."""
    if found.lane is None:
        return ()
    if found.lane.clean:
        told = [words.finding("case.lane-clean")]
        if found.lane.added:
            items = _of_exits((one.surface for one in found.lane.added), found, names, words)
            told.append(words.finding("case.lane-besides", items=items))
    else:
        items = _of_exits((one.surface for one in found.lane.added), found, names, words)
        told = [words.finding("case.lane-added", items=items)]
    added = {one.surface for one in found.lane.added}
    besides = [one.surface for one in found.lane.added_unturned if one.surface not in added]
    if besides:
        told.append(words.finding("case.lane-unturned", items=_of_exits(besides, found, names, words)))
    return tuple(told)


def _of_exits(surfaces: Iterable[str], found: CaseChange, names: Names, words: Words) -> str:
    """Surfaces of exits by number, each with the name of who takes that exit."""
    leaving = [turn.code for turn in found.order if _has_exit(found, turn.code)]
    told = []
    for name in surfaces:
        number, _, own = name.rpartition("/")
        told.append(f"{told_surface(own, words)} ({names[leaving[int(number) - 1]]})")
    return ", ".join(told)


def _has_exit(found: CaseChange, code: str) -> bool:
    return any(one.code == code and one.exit is not None for one in found.people)


# ---- on paper, for each person ----


def told_all_clear(found: CaseChange, who: str, words: Words) -> tuple[str, ...]:
    """What the paper for one of them says once a hazard is ruled out. ValueError where nothing is."""
    if found.ruled_out is None:
        raise ValueError("nothing was ruled out")
    hazard = words.hazard(found.ruled_out)
    told = [
        words.finding("all-clear.for", who=who, code=found.before.code),
        words.finding("all-clear.said", hazard=hazard),
    ]
    if found.after is not None:
        told.append(words.finding("all-clear.said-other", other=words.hazard(found.after.hazard)))
    told += [words.finding("all-clear.means"), words.finding("all-clear.not")]
    return (*told, words.finding("all-clear.unwell"), words.finding("all-clear.thanks"))


# ---- within ----


def _would(one: Lack, words: Words) -> str:
    if not one.would:
        return words.finding("case.nothing-would")
    if len(one.would) > MOST_WOULD:
        return words.finding("case.many", count=len(one.would))
    return _items(one.would, words)


def _rules(rules: Iterable[str], words: Words) -> str:
    return " ".join(words.rule(one).says for one in rules)


def _items(items: Iterable[str], words: Words) -> str:
    return ", ".join(words.item_short(item).lower() for item in items)


def _surfaces(surfaces: Iterable[str], words: Words) -> str:
    return ", ".join(dict.fromkeys(told_surface(one, words) for one in surfaces))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
