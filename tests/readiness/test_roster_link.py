"""The roster that was taken as a link of the question "tonight?"."""

from __future__ import annotations

from tests.readiness.test_tonight import DAY, ask, days, here, link

from vestry.readiness import RosterDay

WHOLE = RosterDay(8, 8)


def taken(first: int, last: int, **other: RosterDay):
    return {DAY + days(n): WHOLE for n in range(first, last)} | {
        DAY + days(int(name.removeprefix("d"))): one for name, one in other.items()
    }


def test_where_nobody_was_asked_about_rosters_there_is_no_link():
    assert "roster" not in {one.topic for one in ask(here()).links}


def test_no_roster_taken_is_said_and_is_to_be_looked_at():
    found = link(ask(here(roster={})), "roster")

    assert (found.state, [one.id for one in found.why]) == ("watch", ["no-roster-taken"])


def test_a_roster_that_covers_everything_is_ready_until_it_ends():
    found = link(ask(here(roster=taken(0, 12))), "roster")

    assert (found.state, found.have, found.need) == ("ready", 8, 8)
    assert (found.until, found.then) == (DAY + days(11), "watch")
    assert [one.id for one in found.why] == ["roster-ends"]


def test_a_gap_ahead_ends_it_the_day_before_and_the_day_is_not_ready():
    found = ask(here(roster=taken(0, 31, d9=RosterDay(7, 8))))
    one = link(found, "roster")

    assert (one.state, one.until, one.then) == ("ready", DAY + days(8), "not-ready")
    assert [(why.id, why.count) for why in one.why] == [("places-empty", 1)]
    assert [day.on for day in found.days if "roster" in day.failing] == [DAY + days(9)]


def test_somebody_asked_tonight_who_is_away_leaves_it_not_ready():
    found = ask(here(roster=taken(0, 31, d0=RosterDay(8, 8, broken=2))))
    one = link(found, "roster")

    assert (found.state, one.state, one.have, one.need) == ("not-ready", "not-ready", 6, 8)
    assert [(mend.id, mend.count) for mend in one.mend] == [("fill-the-roster", 2)]
    assert found.links[0].topic == "roster"


def test_more_places_filled_never_make_the_answer_worse():
    states = [ask(here(roster={DAY: RosterDay(have, 8)})).state for have in range(9)]

    assert states == ["not-ready"] * 8 + ["ready"]
