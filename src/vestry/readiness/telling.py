"""The answer in words, the same for terminal, page, paper and calendar. Days as they are written in the record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from vestry.readiness.saying import finding, term
from vestry.readiness.tonight import Link, Mend, Tonight, Why
from vestry.trade.words import UnknownWord, Words, load_words

REASON_GROUPS = ("ready-why", "may-not", "unit-not-ready")
PEOPLE = ("wearer", "observer", "assistant")


@dataclass(frozen=True)
class TellsNames:
    """Names that only the shell knows, by key. A name that is not here is not told."""

    procedures: Mapping[str, str]
    rooms: Mapping[str, str]
    people: Mapping[str, str]


NO_NAMES = TellsNames({}, {}, {})


def told_question(found: Tonight, words: Words) -> str:
    """For which hazard, from when, for how long, for which presentation."""
    asked = found.question
    said = {"hazard": words.hazard(asked.hazard), "on": asked.on.isoformat(), "hours": asked.hours}
    if len(asked.presentations) == 1:
        return words.finding(
            "ready.question-one", presentation=words.term("presentation", asked.presentations[0]), **said
        )
    return words.finding("ready.question", **said)


def told_verdict(found: Tonight, words: Words) -> str:
    """Ready, ready with something to be looked at, or not ready."""
    return words.finding({"ready": "ready.yes", "watch": "ready.watch", "not-ready": "ready.no"}[found.state])


def told_cover(found: Tonight, words: Words) -> list[str]:
    """How long it lasts, what is first to run out, or why that could not be worked out."""
    cover = found.cover
    if cover is None:
        return [words.finding("ready.no-cover", why=told_why(why, words)) for why in found.no_cover]
    said = [
        words.finding("ready.cover", low=f"{cover.low:g}", middle=f"{cover.middle:g}", asked=cover.asked),
        words.finding(
            "ready.sustains",
            share=f"{100 * cover.sustains:.1f}",
            least=f"{100 * cover.low_sustains:.1f}",
            most=f"{100 * cover.high_sustains:.1f}",
        ),
    ]
    if cover.first:
        said.append(words.finding("ready.first", item=_sized(words.item(cover.first[0]), cover.first[1], words)))
    else:
        said.append(words.finding("ready.nothing-runs-out"))
    if not cover.people_enough:
        said.append(words.finding("ready.people-short"))
    return said


def told_days(found: Tonight, words: Words) -> str:
    """The first day ahead that is not ready if nothing is done."""
    first = next((day.on for day in found.days if day.state == "not-ready"), None)
    if first is None:
        return words.finding("ready.days-all", days=len(found.days) - 1)
    return words.finding("ready.days-first", on=first.isoformat())


def told_link(link: Link, words: Words, names: TellsNames = NO_NAMES) -> str:
    """What the link is of: "on the shelf: impermeable gown, size m"."""
    topic = term("ready-topic", link.topic, words)
    if not link.subject:
        return topic
    match link.topic:
        case "stock" | "reserve" | "powered-unit":
            subject = words.item(link.subject)
        case "room":
            subject = names.rooms.get(link.subject, link.subject)
        case _:
            subject = names.procedures.get(link.subject, link.subject)
    return f"{topic}: {_sized(subject, link.size, words)}"


def told_stands(link: Link, words: Words) -> str:
    """How it stands: numbers, at which hour it runs out, and until when."""
    parts = []
    if link.have is not None and link.need is not None:
        parts.append(words.finding("ready.numbers", have=link.have, need=link.need))
    if link.runs_out is not None:
        parts.append(words.finding("ready.runs-out", middle=link.runs_out, low=link.runs_out_early))
    elif link.runs_out_early is not None:
        parts.append(words.finding("ready.runs-out-seldom", low=link.runs_out_early))
    if link.until is not None and link.then is not None:
        then = words.term("ready-state", link.then)
        parts.append(words.finding("ready.until", until=link.until.isoformat(), then=then))
    return "; ".join(parts)


def told_why(why: Why, words: Words) -> str:
    """One reason, with its number or day."""
    said = _reason(why.id, words)
    wanting = why.id in ("runs-out", "below-the-reserve")
    if why.item and not wanting:  # there the link names it
        said = f"{words.item(why.item)}: {said}"
    if why.count is not None:
        said += f" ({why.count} {words.term('ready-count', 'wanting')})" if wanting else f" ({why.count})"
    if why.at is not None:
        said = finding("ready.expected", words, why=said, until=f"{why.at:%Y-%m-%d %H:%M}")
    return said + (f", {why.on.isoformat()}" if why.on else "")


def told_mend(mend: Mend, words: Words, names: TellsNames = NO_NAMES) -> str:
    """What would mend it: of which item and size, how many, and whom, where the name may be told."""
    parts = [term("ready-mend", mend.id, words)]
    if mend.id == "order-too-late":
        parts = [words.finding("ready.order-too-late", hours=mend.by_hour, lead=mend.lead_hours)]
    elif mend.order_by is not None:
        parts = [finding("ready.order-later", words, order=mend.order_by, hours=mend.by_hour)]
    elif mend.by_hour is not None:
        parts = [finding("ready.order-now", words, hours=mend.by_hour)]
    if mend.count is not None:
        parts.append(str(mend.count))
    if mend.item:
        parts.append(_sized(words.item(mend.item), mend.size, words))
    if mend.topic:
        parts.append(term("ready-topic", mend.topic, words))
    if mend.person and mend.person in names.people:
        parts.append(names.people[mend.person])
    told = ": ".join(filter(None, (parts[0], ", ".join(parts[1:]))))
    return told if mend.lead_kept is not False else f"{told} ({term('ready-count', 'lead-judged', words)})"


def _sized(what: str, size: str | None, words: Words) -> str:
    if not size or size == "one-size":
        return what
    return finding("ready.sized", words, item=what, size=size)


def _reason(name: str, words: Words) -> str:
    for said in (words, load_words("en")):
        for group in REASON_GROUPS:
            try:
                return said.term(group, name)
            except UnknownWord:
                continue
    raise UnknownWord(" or ".join(REASON_GROUPS), name, ())
