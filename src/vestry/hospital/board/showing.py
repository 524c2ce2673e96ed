"""The board as a wall shows it: every text ready, every bar placed in percent, no more of a name than is allowed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _

from vestry.entry.left_behind import Met
from vestry.hospital.access.models import User
from vestry.hospital.board.figures import figure_name
from vestry.hospital.board.looking import Looked, Seen, met
from vestry.hospital.board.models import FIRST_NAMES, INITIALS
from vestry.hospital.language import words_now
from vestry.trade.words import UnknownWord

MOST_ROWS, MOST_OF_TWO = 6, 3
_BACK, _AHEAD, _MOST_BACK, _MOST_AHEAD = (timedelta(hours=h) for h in (0.75, 1.25, 3, 4))
_ORDER = {"in-lane": 0, "inside": 1, "dressed": 2, "donning": 3}


@dataclass(frozen=True)
class Bar:
    """A stretch of a row, in percent of its width."""

    sort: str
    x: float
    width: float
    says: str = ""


@dataclass(frozen=True)
class Row:
    """One person. `until` is when the unit's limit is reached, for the page's own clock.

    figure   what they have on now, as the address of its figure says it; empty where it cannot be drawn
    """

    code: str
    name: str
    figure: str
    worn: str
    where: str
    big: str
    small: str
    until: str
    start_by: str
    now: bool
    late: str
    place: int
    bars: tuple[Bar, ...]
    mark: float | None
    mark_at_end: bool


@dataclass(frozen=True)
class LaneShown:
    """The lane in words, and its own row of bars."""

    state: str
    title: str
    more: str
    bars: tuple[Bar, ...]
    left: str
    reached: str


@dataclass(frozen=True)
class Part:
    """Live entries, or drills: rows, lane, relief, area, case."""

    drill: bool
    rows: tuple[Row, ...]
    more: str
    lane: LaneShown
    relief: tuple[str, ...]
    area: str
    case: str
    case_code: str
    ticks: tuple[tuple[float, str], ...]
    at: float


def clock(moment: datetime | str | None) -> str:
    """The time of day, where the board hangs."""
    if moment is None:
        return ""
    when = datetime.fromisoformat(moment) if isinstance(moment, str) else moment
    return timezone.localtime(when).strftime("%H:%M")


def minutes(span: timedelta) -> int:
    """Whole minutes, up."""
    return -int(-span.total_seconds() // 60)


class Names:
    """What stands for a person: as much as the unit allows, and never the same for two."""

    def __init__(self, how: str, seen: Iterable[Seen]) -> None:
        self.how = how
        self.given: dict[int, str] = {}
        for one in sorted(seen, key=lambda one: one.entry.created_at):
            for who in (one.entry.wearer,):
                self.of(who)

    def of(self, person: User) -> str:
        if person.pk not in self.given:
            self.given[person.pk] = self._unlike_the_others(self._plain(person))
        return self.given[person.pk]

    def _plain(self, person: User) -> str:
        if self.how == FIRST_NAMES:
            return person.given
        if self.how == INITIALS:
            return "".join(part[0].upper() for part in person.name.split() if part)
        return _("wearer %(number)s") % {"number": len(self.given) + 1}

    def _unlike_the_others(self, name: str) -> str:
        taken = set(self.given.values())
        return next(one for one in (name, *(f"{name} {n}" for n in range(2, 999))) if one not in taken)


def part_of(looked: Looked, how: str, most: int = MOST_ROWS) -> Part:
    """Everything of live entries, or of drills. `most`: how many rows there is room for."""
    return _Showing(looked, how, most).part()


class _Showing:
    def __init__(self, looked: Looked, how: str, most: int) -> None:
        self.most = most
        self.looked, self.lane, self.now = looked, looked.lane, looked.now
        self.names = Names(how, looked.seen)
        self.there = [one for one in looked.seen if self._there(one)]
        untils = [one.passing.until for one in self.there if one.passing.until]
        begun = [self._begun(one) for one in self.there]
        back = max(_BACK, *(self.now - one for one in begun)) if begun else _BACK
        ahead = max(_AHEAD, *(one - self.now for one in untils)) if untils else _AHEAD
        self.begin = self.now - min(back, _MOST_BACK) - timedelta(minutes=8)
        self.end = self.now + min(ahead, _MOST_AHEAD) + timedelta(minutes=8)

    @staticmethod
    def _there(one: Seen) -> bool:
        return one.where in ("in-lane", "inside") or (one.where in ("dressed", "donning") and not one.over)

    @staticmethod
    def _begun(one: Seen) -> datetime:
        begun = one.state.entered_at or one.state.dressed_at or one.state.opened_at
        return datetime.fromisoformat(begun) if begun else one.entry.created_at

    def part(self) -> Part:
        listed = sorted(self.there, key=self._place)
        rest = len(listed) - self.most
        more = _("and %(count)s more") % {"count": rest} if rest > 0 else ""
        newest = max(self.there or self.looked.seen, key=lambda one: one.entry.created_at, default=None)
        return Part(
            drill=self.looked.drill,
            rows=tuple(self._row(one) for one in listed[: self.most]),
            more=more,
            lane=self._lane(),
            relief=tuple(self._relief(one) for one in listed if one.where == "dressed"),
            area=self._area(),
            case=self._case(newest) if newest else "",
            case_code=newest.of.case if newest else "",
            ticks=tuple(self._ticks()),
            at=self._x(self.now),
        )

    # ---- people ----

    def _place(self, one: Seen) -> tuple[int, int, str]:
        turn = self.lane.turn(one.passing.code)
        return _ORDER[one.where], turn.place if turn else 0, one.passing.code

    def _row(self, one: Seen) -> Row:
        turn, until = self.lane.turn(one.passing.code), one.passing.until
        by = turn.start_by if turn and one.where == "inside" else None
        late = minutes(turn.late) if turn else 0
        left = minutes(until - self.now) if until else None
        big, small = self._says(one, left)
        return Row(
            code=one.passing.code,
            name=self.names.of(one.entry.wearer),
            figure=figure_name(tuple(one.state.worn)),
            worn=self._worn(one),
            where=one.where,
            big=big,
            small=small,
            until=until.isoformat() if until and one.where == "inside" else "",
            start_by=clock(by),
            now=by is not None and by <= self.now,
            late=_("cannot make it: %(count)s min late") % {"count": late} if late else "",
            place=turn.place if turn else 0,
            bars=tuple(self._bars(one)),
            mark=self._x(by) if by and by > self.now else None,
            mark_at_end=by is not None and self._x(by) > 78,
        )

    def _worn(self, one: Seen) -> str:
        """What they wear; of a sheet that is being typed in, that it is one.

        It says where somebody was. Its clock stands all the same: where a tablet failed they may be inside still.
        """
        if one.state.transcribed and not one.over:
            return _("on paper, being typed in: ask where they are")
        return ", ".join(words_now().item_short(item).lower() for item in one.of.worn)

    def _says(self, one: Seen, left: int | None) -> tuple[str, str]:
        count, at = len(one.entry_course.steps), one.state.position
        step = _("step %(at)s of %(count)s") % {"at": min(at + 1, count), "count": count}
        if one.over:
            return _("inside"), _("entry ended early, led otherwise")
        if one.state.held:
            return _("held"), _("since %(time)s") % {"time": clock(one.state.held.at)}
        if one.where == "in-lane":
            return _("in the lane"), step
        if one.where == "dressed":
            return _("dressed"), _("relief, since %(time)s") % {"time": clock(one.state.dressed_at)}
        if one.where == "donning":
            return _("donning"), step
        assert left is not None
        if left < 0:
            return str(-left), _("min over the limit")
        return str(left), _("min left")

    def _bars(self, one: Seen) -> Iterable[Bar]:
        begun, until = self._begun(one), one.passing.until
        since = _("in %(time)s") if until else _("since %(time)s")
        yield self._bar("done" if until else "before", begun, self.now, since % {"time": clock(begun)})
        if until and one.where == "inside" and until > self.now:
            yield self._bar("left", self.now, until)

    # ---- the lane ----

    def _lane(self) -> LaneShown:
        lane = self.lane
        who = self.looked.of(lane.who) if lane.who else None
        name = self.names.of(who.entry.wearer) if who else ""
        titles = {
            "free": _("Lane free"),
            "occupied": _("Lane in use: %(name)s") % {"name": name},
            "to-clear": _("Lane to be cleared"),
        }
        tasks = {"seat": _("seat"), "floor": _("floor"), "bins": _("bins"), "restock": _("restock")}
        to_do = ", ".join(tasks[one] for one in lane.to_do)
        more = {
            "free": _("turned around and shown clear") if who is None and self._was_cleared() else "",
            "occupied": _("free by %(time)s, turned around") % {"time": clock(lane.free_at)},
            "to-clear": _("after %(name)s: %(tasks)s to do") % {"name": name, "tasks": to_do},
        }
        left, reached = self._left()
        return LaneShown(lane.state, titles[lane.state], more[lane.state], tuple(self._lane_bars()), left, reached)

    def _was_cleared(self) -> bool:
        return any(one.passing.clear_at for one in self.looked.seen)

    def _left(self) -> tuple[str, str]:
        """What was left for the next, and what of the next it can reach as taught."""
        coming = next((turn for turn in self.lane.turns if turn.start_by is not None), None)
        found: Met | None = met(self.looked, coming.code) if coming else None
        if found is None or coming is None:
            return "", ""
        seen = self.looked.of(coming.code)
        name = self.names.of(seen.entry.wearer) if seen else ""
        left = _listed(found.left)
        told = _("may be contaminated when %(name)s comes: %(what)s") % {"name": name, "what": left} if left else ""
        if not found.whole:
            told = _("something happened that the model does not know: all of the lane may be contaminated")
        reached = _listed(found.reached)
        return told, _("can reach %(name)s, every step as taught: %(what)s") % {
            "name": name,
            "what": reached,
        } if reached else ""

    def _lane_bars(self) -> Iterable[Bar]:
        for turn in self.lane.turns:
            seen = self.looked.of(turn.code)
            starts = turn.starts if turn.start_by is None else max(turn.starts, turn.start_by)
            out = starts + (turn.out - turn.starts)
            name = self.names.of(seen.entry.wearer) if seen else ""
            yield self._bar("out" if turn.start_by is None else "out-later", starts, out, name)
            yield self._bar("turned", out, out + self.looked.turnaround)

    # ---- beside ----

    def _relief(self, one: Seen) -> str:
        return _("%(name)s, dressed since %(time)s") % {
            "name": self.names.of(one.entry.wearer),
            "time": clock(one.state.dressed_at),
        }

    def _area(self) -> str:
        said = [one.state.area_confirmed_at for one in self.there if one.state.area_confirmed_at]
        return clock(max(said)) if said else ""

    def _case(self, one: Seen) -> str:
        wet = _("bleeding, vomiting or diarrhoea") if one.of.wet else _("stable")
        return f"{one.of.case}. {words_now().hazard(one.of.hazard)}, {wet}"

    # ---- places ----

    def _x(self, moment: datetime) -> float:
        share = (moment - self.begin) / (self.end - self.begin)
        return round(100 * min(1.0, max(0.0, share)), 1)

    def _bar(self, sort: str, start: datetime, end: datetime, says: str = "") -> Bar:
        x = self._x(start)
        return Bar(sort, x, round(max(0.0, self._x(end) - x), 1), says)

    def _ticks(self) -> Iterable[tuple[float, str]]:
        hour = timezone.localtime(self.begin).replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)
        while hour < self.end:
            yield self._x(hour), hour.strftime("%H:%M")
            hour += timedelta(hours=1)


def _listed(surfaces: tuple[str, ...]) -> str:
    """Surfaces in words, once each; of left and right one."""
    words = words_now()
    named = []
    for one in surfaces:
        try:
            named.append(words.surface(one))
        except UnknownWord:
            named.append(one)
    return ", ".join(dict.fromkeys(named))
