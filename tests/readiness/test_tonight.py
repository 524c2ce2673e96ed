"""Could this hospital take this patient tonight: links, the weakest first, today and on the thirty days ahead."""

import datetime
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vestry.people import Absence, Clearance, Competency, FitTest, Person, Tried, need_of, who_can_go_in
from vestry.readiness import Here, Lasting, Memory, ProcedureHere, Question, RoomHere, TeamNeed, Used, lasting, tonight
from vestry.readiness.going import Going, ahead
from vestry.readiness.teaming import matched, places
from vestry.readiness.telling import told_why
from vestry.readiness.today import rank
from vestry.sequence import Case, Policy, plan_case
from vestry.stock import Lot, PoweredUnit, UnitEvent, Where
from vestry.trade import load_catalogue
from vestry.trade.standards import load_standards
from vestry.trade.words import load_words

DAY = datetime.date(2026, 6, 1)
FACTS, STANDARDS = load_catalogue(), load_standards()
ONE_TEAM = TeamNeed(wearer=1, observer=1, assistant=1, shift_hours=12)
LATELY = DAY - datetime.timedelta(days=10)
A_ROOM = (RoomHere("room-1"),)
QUESTION = Question(hazard="lassa", on=DAY, hours=12, presentations=("dry",))


@cache
def plan(respirator=None):
    gear = {"respirator": respirator} if respirator else {}
    return plan_case(Case(hazard="lassa"), Policy(**gear), FACTS)


@cache
def fitted_items():
    """Fit-tested items that anyone in the plan wears."""
    worn = {item for duty in ("wearer", "observer", "assistant") for item in need_of(plan(), FACTS, duty).items}
    return tuple(sorted(item for item in worn if FACTS.items[item].fit_tested))


def days(count):
    return datetime.timedelta(days=count)


def person(name, *duties, competent=LATELY, absences=()):
    duties = duties or ("wearer", "observer", "assistant")
    sized = {FACTS.items[item].kind for d in duties for item in need_of(plan(), FACTS, d).items}
    return Person(
        id=name,
        duties=duties,
        competencies=[Competency(subject="fever", duty=one, on=competent, months=3) for one in duties],
        clearances=[Clearance(on=DAY - days(100), cleared="any", until=DAY + days(400))],
        fit_tests=[
            FitTest(
                item=item,
                model="A1",
                size=_size(item),
                system="us",
                method="quantitative",
                on=DAY - days(50),
                overall=200,
            )
            for item in fitted_items()
        ],
        tried=[Tried(what=kind, size=size) for kind in sorted(sized) for size in [_kind_size(kind)] if size],
        absences=absences,
    )


def _size(item):
    sizes = FACTS.items[item].sizes
    return "m" if "m" in sizes or not sizes else sizes[0]


def _kind_size(kind):
    sizes = next(item.sizes for item in FACTS.items.values() if item.kind == kind)
    return "m" if "m" in sizes else None


@cache
def everything(expiry=None):
    """A lot of everything that anyone wears, and how many of each."""
    items = sorted(
        {item for duty in ("wearer", "observer", "assistant") for item in need_of(plan(), FACTS, duty).items}
    )
    lots = tuple(
        Lot(
            id=item,
            item=item,
            size=_size(item) or "one-size",
            number=item,
            expiry=expiry,
            model="A1" if FACTS.items[item].fit_tested else None,
        )
        for item in items
    )
    return lots, {Where(one.id, "store"): 50 for one in lots}


def here(people=None, rooms=A_ROOM, expiry=None, **changed):
    lots, counts = everything(expiry)
    said = {
        "procedures": (
            ProcedureHere("dry", "fever", 1, plan(), review_on=DAY + days(300), practised={"ana": DAY, "bo": DAY}),
        ),
        "people": tuple(people if people is not None else [person("ana"), person("bo"), person("cy")]),
        "lots": lots,
        "counts": counts,
        "rooms": rooms,
        "system": "us",
    }
    return Here(**(said | changed))


def ask(there, question=QUESTION, team=ONE_TEAM, **more):
    return tonight(question, there, FACTS, STANDARDS, team=team, **more)


def link(found, topic):
    return next(one for one in found.links if one.topic == topic)


def test_three_people_who_may_do_everything_a_room_and_a_shelf_are_ready():
    found = ask(here())

    assert (found.state, found.ready) == ("ready", True)
    assert {one.topic for one in found.links} == {
        "procedure",
        "practice",
        "wearer",
        "observer",
        "assistant",
        "team",
        "room",
    }


def test_two_people_do_not_fill_three_places_though_each_may_do_everything():
    found = ask(here([person("ana"), person("bo")]))

    assert found.state == "not-ready"
    assert [(one.topic, one.have, one.need) for one in found.links if one.state == "not-ready"] == [("team", 2, 3)]


def test_longer_than_a_shift_takes_a_second_team():
    assert [TeamNeed().teams(hours) for hours in (1, 12, 13, 24, 25, 720)] == [1, 1, 2, 2, 2, 2]
    assert TeamNeed(shift_hours=8).teams(72) == 3
    assert TeamNeed(shift_hours=24).teams(72) == 2  # who worked one shift does not work the next

    found = ask(here(), QUESTION.model_copy(update={"hours": 24}))

    assert (link(found, "wearer").need, link(found, "team").need) == (2, 6)
    assert not found.ready


def test_no_procedure_in_the_table_is_not_ready_and_says_what_would_mend_it():
    found = ask(here(procedures=(ProcedureHere("dry"),)))

    assert found.state == "not-ready"
    assert found.links[0].topic == "procedure"
    assert [one.id for one in found.links[0].why] == ["no-procedure"]
    assert [one.id for one in found.links[0].mend] == ["name-a-procedure"]


@pytest.mark.parametrize(
    ("hard", "soft", "state"), [(("retired",), (), "not-ready"), ((), ("newer-version",), "watch")]
)
def test_a_retired_procedure_is_not_ready_a_newer_version_is_watched(hard, soft, state):
    there = here(procedures=(ProcedureHere("dry", "fever", 1, plan(), hard, soft, practised={"ana": DAY}),))

    assert link(ask(there), "procedure").state == state


def test_a_review_that_comes_due_is_told_with_the_last_day_before_it():
    there = here(
        procedures=(ProcedureHere("dry", "fever", 1, plan(), review_on=DAY + days(5), practised={"ana": DAY}),)
    )
    found = link(ask(there), "procedure")

    assert (found.state, found.until, found.then) == ("ready", DAY + days(4), "watch")
    assert [one.id for one in found.mend] == ["review"]


def test_who_lapses_next_stands_first_with_the_day_and_the_person_to_renew():
    lapsing = person("ana", competent=DAY - days(85))  # three months after 2026-03-08: until 2026-06-08
    found = ask(here([lapsing, person("bo"), person("cy")]))
    first = found.links[0]

    assert found.state == "ready"
    assert (first.topic, first.until, first.then) == ("team", datetime.date(2026, 6, 8), "not-ready")
    assert [day.on for day in found.days if day.state == "not-ready"] == [DAY + days(n) for n in range(8, 31)]


def test_a_lapsed_competency_is_mended_by_the_person_with_the_fewest_things_to_renew():
    lapsed = person("ana", competent=DAY - days(200))
    worse = person("bo", competent=DAY - days(200)).model_copy(update={"clearances": ()})
    found = link(ask(here([worse, lapsed])), "wearer")

    assert (found.state, found.have, found.need) == ("not-ready", 0, 1)
    assert [(one.id, one.person) for one in found.mend] == [("assess", "ana")]


def test_reasons_that_tell_of_health_are_not_told():
    barred = person("ana").model_copy(update={"clearances": (Clearance(on=DAY - days(1), cleared="none"),)})
    found = ask(here([barred])).model_dump_json()

    assert "not-cleared" not in found
    assert "powered-only" not in found


def test_an_absence_that_ends_brings_somebody_back():
    away = person("ana", absences=(Absence(**{"from": DAY, "until": DAY + days(3)}),))
    found = ask(here([away, person("bo"), person("cy")]))

    assert [day.state for day in found.days][:6] == ["not-ready"] * 4 + ["ready"] * 2


def test_days_that_never_come_are_no_error():
    """Lists from elsewhere say `never` with the last day that a calendar has."""
    never = datetime.date.max
    away = person("dot", absences=(Absence(**{"from": DAY, "until": never}),))
    cleared = person("ana").model_copy(
        update={"clearances": (Clearance(on=DAY - days(9), cleared="any", until=never),)}
    )
    found = ask(here([cleared, person("bo"), person("cy"), away], expiry=never))

    assert found.state == "ready"
    assert last(here(expiry=never)).cover.low == last(here()).cover.low


def test_stock_that_expires_within_the_horizon_is_told_with_its_last_day():
    gown = next(item for item in plan().worn if FACTS.items[item].kind == "gown")
    used = {"dry": (Used(gown, _size(gown), 12, lasts=True),)}
    found = ask(here(expiry=DAY + days(6)), lasts=Lasting(used, None, ()))
    stock = link(found, "stock")

    assert (stock.state, stock.have, stock.need) == ("ready", 50, 12)
    assert (stock.until, stock.then) == (DAY + days(6), "not-ready")  # twelve hours from the 7th end on the 7th
    assert [(one.id, one.count) for one in stock.mend] == [("order", 12)]


def test_what_the_forecast_says_does_not_last_is_not_ready():
    gown = next(item for item in plan().worn if FACTS.items[item].kind == "gown")
    found = ask(here(), lasts=Lasting({"dry": (Used(gown, _size(gown), 70, lasts=False),)}, None, ()))

    assert link(found, "stock").state == "not-ready"
    assert [(one.id, one.count) for one in link(found, "stock").mend] == [("order", 20)]


def test_powered_units_in_service_are_counted():
    powered = plan("belt-blower")
    item = next(one for one in powered.worn if FACTS.items[one].kind == "papr-belt-unit")
    unit = PoweredUnit(id="u1", item=item, serial="1")
    done = tuple(
        UnitEvent(id=kind, unit="u1", kind=kind, at="2026-05-30T08:00:00Z", by="x")
        for kind in ("serviced", "battery-tested", "flow-checked")
    )
    used = (*done, UnitEvent(id="w", unit="u1", kind="used", at="2026-05-31T08:00:00Z", by="x"))
    procedure = ProcedureHere("dry", "fever", 1, powered)

    states = {
        name: link(ask(here(procedures=(procedure,), units=((unit, events),))), "powered-unit")
        for name, events in (("ready", done), ("dirty", used))
    }

    assert (states["ready"].state, states["ready"].have) == ("ready", 1)
    assert states["dirty"].state == "not-ready"
    assert [(one.id, one.count) for one in states["dirty"].why] == [("to-be-cleaned", 1)]


def test_a_room_is_ready_until_its_check_falls_due_and_no_register_is_said():
    found = link(ask(here(rooms=(RoomHere("room-1", until=DAY + days(2)),))), "room")
    broken = link(ask(here(rooms=(RoomHere("room-1", why=("pressure-out-of-limits",)), RoomHere("room-2")))), "room")
    unkept = link(ask(here(rooms=None)), "room")
    none = link(ask(here(rooms=())), "room")

    assert (found.state, found.until, found.then) == ("ready", DAY + days(2), "watch")
    assert (broken.state, broken.have) == ("ready", 1)
    assert (unkept.state, [one.id for one in unkept.why]) == ("watch", ["no-register-of-rooms"])
    assert (none.state, [one.id for one in none.why]) == ("not-ready", ["no-room"])


def test_why_a_room_is_looked_at_first_is_told_of_the_rooms_that_would_be_taken_alone():
    spoilt = RoomHere("room-2", why=("pressure-out-of-limits",), isolation=False)
    found = link(ask(here(rooms=(RoomHere("room-1", until=DAY - days(1)), spoilt))), "room")

    assert (found.state, [one.id for one in found.why]) == ("watch", ["room-check-due"])


def test_a_room_in_use_is_in_the_way_until_it_is_expected_to_be_ready_and_says_when():
    states = {
        room: ([day.state for day in found.days][:3], [one.id for one in link(found, "room").mend])
        for room, found in (
            (one, ask(here(rooms=(one,))))
            for one in (
                RoomHere("room-1", free=_at(DAY)),
                RoomHere("room-1", free=_at(DAY + days(1))),  # late in the evening
                RoomHere("room-1", free=_at(DAY - days(1))),  # overdue: it is there that it is in use
                RoomHere("room-1", cleared=DAY),
            )
        )
    }

    today, tomorrow = ["watch", "ready", "ready"], ["watch", "watch", "ready"]
    assert list(states.values()) == [(one, ["clear-a-room"]) for one in (today, tomorrow, today, today)]
    why = link(ask(here(rooms=(RoomHere("room-1", free=_at(DAY)),))), "room").why[0]
    assert told_why(why, load_words("en")) == (
        "in use: an entry is led there that is not closed; expected to be over and the room ready again by "
        "2026-06-01 03:20"
    )


def _at(day):
    return datetime.datetime.combine(day, datetime.time(3, 20), datetime.UTC)


def test_what_goes_through_the_air_wants_an_isolation_room():
    there = here(rooms=(RoomHere("ward", isolation=False),))
    states = {
        hazard: link(ask(there, QUESTION.model_copy(update={"hazard": hazard})), "room").state
        for hazard in ("lassa", "mers", "suspected-hcid")
    }

    assert states == {"lassa": "ready", "mers": "not-ready", "suspected-hcid": "not-ready"}


def test_nothing_at_all_is_not_ready_and_no_error():
    empty = Here(procedures=(ProcedureHere("dry"), ProcedureHere("wet")))
    found = tonight(Question(hazard="ebola", on=DAY), empty, FACTS, STANDARDS)

    assert not found.ready
    assert len(found.days) == 31
    assert tonight(Question(hazard="ebola", on=DAY), Here(()), FACTS, STANDARDS).state == "watch"


def test_links_are_weakest_first():
    found = ask(here([person("ana"), person("bo")], rooms=None))
    ranks = [rank(one.state) for one in found.links]

    assert ranks == sorted(ranks)
    assert found.links[0].topic == "team"


# ---- laws -----------------------------------------------------------------------------------------------------------

_people = st.lists(
    st.builds(
        lambda n, back, away, length, duties: person(
            f"p{n}",
            *duties,
            competent=DAY - days(back),
            absences=(Absence(**{"from": DAY + days(away), "until": DAY + days(away + length)}),) if length else (),
        ),
        st.integers(0, 10**6),
        st.integers(60, 120),
        st.integers(-5, 25),
        st.integers(0, 6),
        st.sampled_from([("wearer",), ("observer", "assistant"), ("wearer", "observer", "assistant")]),
    ),
    max_size=6,
    unique_by=lambda one: one.id,
)


_asked = st.tuples(
    st.sampled_from(["lassa", "ebola", "mers"]),
    st.sampled_from([12, 48]),
    st.sampled_from([("dry",), ("wet",), ("dry", "wet")]),
    st.sampled_from([(), ("review-due",), ("facts-changed",)]),
    st.sampled_from([5, 60]),
    st.sampled_from([None, 3.0]),
)


@settings(max_examples=6, deadline=None)
@given(_people, st.integers(0, 30), st.lists(_asked, min_size=2, max_size=4))
def test_questions_that_share_a_memory_are_answered_as_each_alone(people, expires, several):
    memory = Memory()
    for hazard, hours, presentations, soft, pieces, doffings in several:
        along = [ProcedureHere(one, "fever", 1, plan(), soft=soft, practised={"p1": DAY}) for one in presentations]
        there = here(people, expiry=DAY + days(expires), procedures=tuple(along))
        used = (Used(plan().worn[0], _size(plan().worn[0]) or "one-size", pieces, lasts=True),)
        lasts = Lasting(dict.fromkeys(presentations, used), None, (), doffings)
        question = Question(hazard=hazard, on=DAY, hours=hours, presentations=presentations)
        assert ask(there, question, lasts=lasts, memory=memory) == ask(there, question, lasts=lasts)


@settings(max_examples=12, deadline=None)
@given(_people, st.integers(0, 30))
def test_asking_again_only_of_those_who_change_gives_what_asking_everyone_gives(people, expires):
    there = here(people, expiry=DAY + days(expires))
    need = need_of(plan(), FACTS, "wearer", "fever")
    for n, answers in enumerate(ahead(need, there, DAY, 30, FACTS, STANDARDS)):
        day = DAY + days(n)
        whole = who_can_go_in(need, people, there.shelf(day), day, FACTS, STANDARDS, "us")
        assert {one.person: (one.reasons, one.sizes) for one in whole.answers} == {
            one.person: (one.reasons, one.sizes) for one in answers.values()
        }
        assert answers.able == {one.person for one in whole.may}


@settings(max_examples=6, deadline=None)
@given(_people)
def test_sizes_found_for_one_need_hold_for_the_next(people):
    there = here(people)
    going = Going(there, DAY, 2, FACTS, STANDARDS)
    for duty in ("wearer", "observer", "assistant"):
        need = need_of(plan(), FACTS, duty, "fever")
        whole = who_can_go_in(need, people, there.shelf(DAY), DAY, FACTS, STANDARDS, "us")
        assert dict(going.ahead(need)[0]) == {one.person: one for one in whole.answers}


@settings(max_examples=8, deadline=None)
@given(_people, _people)
def test_more_people_never_make_a_day_worse(some, more):
    more = [one for one in more if one.id not in {two.id for two in some}]
    fewer, all_ = ask(here(some)), ask(here([*some, *more]))

    assert all(rank(b.state) >= rank(a.state) for a, b in zip(fewer.days, all_.days, strict=True))


@settings(max_examples=60, deadline=None)
@given(
    st.fixed_dictionaries({duty: st.frozensets(st.sampled_from("abcdef")) for duty in ("w", "o", "a")}),
    st.fixed_dictionaries({duty: st.integers(0, 3) for duty in ("w", "o", "a")}),
)
def test_the_matching_is_the_best_of_all_ways_to_give_each_person_one_place(able, needs):
    assert matched(able, needs) == _brute(able, needs, sorted({one for several in able.values() for one in several}))
    assert len(places(able, needs)) == matched(able, needs)


def _brute(able, needs, people):
    if not people:
        return 0
    first, rest = people[0], people[1:]
    best = _brute(able, needs, rest)
    for duty, count in needs.items():
        if count and first in able[duty]:
            best = max(best, 1 + _brute(able, {**needs, duty: count - 1}, rest))
    return best


# ---- how long it lasts ----------------------------------------------------------------------------------------------

STARTS = datetime.datetime(2026, 6, 1, 7)


def last(there, hours=24, team=ONE_TEAM):
    question = QUESTION.model_copy(update={"hours": hours})
    return lasting(question, there, team, STARTS, FACTS, STANDARDS, Memory())


def test_what_is_on_the_shelf_lasts_so_long_and_no_longer():
    _, counts = everything()
    few = {where: (12 if FACTS.items[where.lot].kind == "gown" else 500) for where in counts}
    found = last(here(counts=few), hours=48)

    gown = next(one for one in found.used["dry"] if FACTS.items[one.item].kind == "gown")
    assert found.cover.first[0] == gown.item
    assert not gown.lasts
    assert 0 < found.cover.low <= found.cover.middle < 48
    assert found.cover.sustains == 0


def test_more_on_the_shelf_never_lasts_shorter():
    covers = [
        last(here(counts=dict.fromkeys(everything()[1], count)), hours=48).cover.middle for count in (5, 20, 80, 500)
    ]

    assert covers == sorted(covers)
    assert covers[0] < covers[-1] == 48


def test_without_people_or_a_procedure_there_is_no_forecast_and_it_says_why():
    assert [one.id for one in last(here([])).no_cover] == ["no-forecast-without-people"]
    assert [one.id for one in last(here(procedures=(ProcedureHere("dry"),))).no_cover] == [
        "no-forecast-without-procedure"
    ]


def test_powered_units_are_used_again_and_only_ready_ones_count():
    powered = plan("belt-blower")
    item = next(one for one in powered.worn if FACTS.items[one].kind == "papr-belt-unit")
    worn = sorted({i for duty in ("wearer", "observer", "assistant") for i in need_of(powered, FACTS, duty).items})
    lots = tuple(Lot(id=one, item=one, size=_size(one) or "one-size", number=one) for one in worn)

    def with_units(count, kinds=("serviced", "battery-tested", "flow-checked")):
        units = tuple(
            (
                PoweredUnit(id=f"u{n}", item=item, serial=str(n)),
                tuple(
                    UnitEvent(id=f"{n}{kind}", unit=f"u{n}", kind=kind, at="2026-05-30T08:00:00Z", by="x")
                    for kind in kinds
                ),
            )
            for n in range(count)
        )
        shelf = {Where(one.id, "store"): 500 for one in lots}
        procedures = (ProcedureHere("dry", "fever", 1, powered),)
        return last(here(procedures=procedures, units=units, lots=lots, counts=shelf), hours=12).cover

    # Entries of two hours, four hours until a unit is ready again: two are just enough, one is not, in whatever number
    # there are of those that are not ready.
    assert with_units(2).sustains == 1
    assert with_units(1).first == (item, "one-size")
    assert with_units(1).middle < 12
    assert with_units(9, kinds=("serviced",)).middle < 12
