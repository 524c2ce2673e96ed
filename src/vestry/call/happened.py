"""What was said of a call, appended and never changed, and where the call stands by it.

1. Each line counts once, whatever its number of arrivals. A line that was taken back counts as never written.
2. Lines count in the order of the time that they tell (`when`), those of one time in the order in which they were
   written. A line written late therefore takes its own place.
3. Of a person, of a call to make, of the arrival and of the decision the latest word holds.
4. A call that was closed stays closed; what is written afterwards is kept and changes the rest as before.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal, get_args

CallKind = Literal[
    "asked", "coming", "cannot", "no-answer", "arrived", "left", "made", "expected", "transfer", "stay",
    "stood-down", "closed", "taken-back",
]  # fmt: skip
CALL_KINDS: tuple[CallKind, ...] = get_args(CallKind)
OF_A_PERSON: frozenset[CallKind] = frozenset({"asked", "coming", "cannot", "no-answer", "arrived", "left"})
DECISIONS: frozenset[CallKind] = frozenset({"transfer", "stay"})
ENDS: frozenset[CallKind] = frozenset({"stood-down", "closed"})


@dataclass(frozen=True)
class Happened:
    """One line on a call.

    id        the same line sent twice is one line
    when      when it happened, as told; `written`: when it was written down
    subject   of a person: their key; `made`: which call; `taken-back`: the id of the line
    due       `coming`: when they will be here; `expected`: when the patient will
    """

    id: str
    kind: CallKind
    when: datetime.datetime
    written: datetime.datetime
    by: str
    subject: str = ""
    due: datetime.datetime | None = None
    note: str = ""


@dataclass(frozen=True)
class Reply:
    """Where one person stands: what was said last, since when, and when they will be or are here."""

    person: str
    says: CallKind
    since: datetime.datetime
    by: str
    due: datetime.datetime | None = None
    arrived: datetime.datetime | None = None
    note: str = ""

    @property
    def here(self) -> bool:
        """Whether they are here now."""
        return self.says == "arrived"

    @property
    def counts(self) -> bool:
        """Whether they are here or on their way."""
        return self.says in ("arrived", "coming")


@dataclass(frozen=True)
class Made:
    """A call that was made: when, by whom, what was said."""

    item: str
    when: datetime.datetime
    by: str
    note: str = ""


@dataclass(frozen=True)
class CallState:
    """Where a call stands.

    expected  when the patient is expected; None: not known
    decision  the line that says transfer or stay; None: not decided
    ended     the line that stood the call down or closed it
    lines     all lines that count, in the order in which they count
    """

    expected: datetime.datetime | None = None
    replies: dict[str, Reply] = field(default_factory=dict)
    made: dict[str, Made] = field(default_factory=dict)
    decision: Happened | None = None
    ended: Happened | None = None
    lines: tuple[Happened, ...] = ()
    taken_back: frozenset[str] = frozenset()

    @property
    def open(self) -> bool:
        """Whether the call is still under way."""
        return self.ended is None


def stands(expected: datetime.datetime | None, lines: Iterable[Happened]) -> CallState:
    """Where a call stands. `expected` is what was said of the arrival when it was taken."""
    unique = {one.id: one for one in lines}
    gone = frozenset(one.subject for one in unique.values() if one.kind == "taken-back")
    counting = sorted(
        (one for one in unique.values() if one.id not in gone and one.kind != "taken-back"),
        key=lambda one: (one.when, one.written, one.id),
    )
    state = CallState(expected=expected, lines=tuple(counting), taken_back=gone)
    for one in counting:
        state = _after(state, one)
    return state


def _after(state: CallState, one: Happened) -> CallState:
    if one.kind in OF_A_PERSON:
        return replace(state, replies={**state.replies, one.subject: _reply(state.replies.get(one.subject), one)})
    if one.kind == "made":
        return replace(state, made={**state.made, one.subject: Made(one.subject, one.when, one.by, one.note)})
    if one.kind == "expected":
        return replace(state, expected=one.due)
    if one.kind in DECISIONS:
        return replace(state, decision=one)
    return replace(state, ended=state.ended or one)


def _reply(before: Reply | None, one: Happened) -> Reply:
    """Asked again, somebody who is coming is still coming."""
    if one.kind == "asked" and before is not None and before.counts:
        return before
    due = one.due or (before.due if before is not None and one.kind == "arrived" else None)
    return Reply(
        one.subject,
        one.kind,
        one.when,
        one.by,
        due=due,
        arrived=one.when if one.kind == "arrived" else None,
        note=one.note or (before.note if before else ""),
    )
