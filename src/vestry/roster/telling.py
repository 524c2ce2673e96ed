"""A roster in sentences, as desk, terminal and paper show it."""

from __future__ import annotations

from vestry.roster.found import Change, Closing, Gap, Roster
from vestry.roster.rota import Assigned
from vestry.trade.words import Words


def headlines(found: Roster, words: Words) -> list[str]:
    """What it is, and whether everything is covered."""
    told = [words.term("roster", "proposal" if found.proposed else "as-it-is")]
    if not found.uncovered:
        told.append(words.finding("roster.covered"))
    else:
        sort = "uncovered" if found.fewest else "uncovered-so-far" if found.proposed else "uncovered-as-it-is"
        told.append(words.finding(f"roster.{sort}", count=found.uncovered))
    if found.proposed:
        told.append(words.finding("roster.only" if found.only else "roster.not-only"))
    return told


def why_not(gap: Gap, words: Words) -> str:
    """How many are qualified for a gap, and what keeps them from it."""
    reasons = gap.reasons
    parts = [words.finding("roster.reasons", count=reasons.qualified)]
    counts = {"away": reasons.away, "other-duty": reasons.other_duty, "rest": reasons.rest, "limit": reasons.limit}
    parts += [words.finding(f"roster.{name}", count=count) for name, count in counts.items() if count]
    return ", ".join(parts)


def told_change(change: Change, words: Words) -> str:
    """One change in a sentence."""
    duties = (change.duty,) if change.duty else change.duties
    on = ", ".join(words.term("roster-duty", duty) for duty in duties)
    return words.finding(f"roster.{change.kind}", who=change.person or "", on=on)


def told_closing(closing: Closing, words: Words) -> list[str]:
    """The smallest change, sentence by sentence."""
    if closing.found in ("too-many", "not-settled"):
        return [words.finding(f"roster.{closing.found}")]
    told = [told_change(change, words) for change in closing.changes]
    return [*told, words.finding("roster.fewest")] if told and closing.fewest else told


def event_name(one: Assigned, words: Words) -> str:
    """What a calendar calls somebody's shift."""
    return f"{one.person}: {words.term('roster-duty', one.duty)} ({one.shift})"
