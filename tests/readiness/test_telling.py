"""The answer in words, and as a calendar that any calendar reads."""

import datetime
import re
from typing import get_args

import icalendar
from tests.readiness.test_tonight import DAY, ask, days, here, link, person

from vestry.readiness.links_of_people import RENEWED
from vestry.readiness.reminders import calendar
from vestry.readiness.telling import (
    TellsNames,
    told_cover,
    told_days,
    told_link,
    told_mend,
    told_stands,
    told_verdict,
    told_why,
)
from vestry.readiness.tonight import STATES, Cover, Mend, Tonight, Topic, Why
from vestry.trade.words import load_words

WORDS = load_words("en")
NAMES = TellsNames({"fever": "Fever, wet"}, {}, {"ana": "Ana Lind"})
NOW = datetime.datetime(2026, 6, 1, 12, tzinfo=datetime.UTC)


def test_every_topic_state_and_mend_has_words():
    for topic in get_args(Topic):
        assert WORDS.term("ready-topic", topic)
    for state in STATES:
        assert WORDS.term("ready-state", state)
    for mend in {*RENEWED.values(), "order-too-late", "borrow", "clear-a-room"}:
        assert WORDS.term("ready-mend", mend)


def test_a_link_says_how_many_of_how_many_until_when_and_what_would_mend_it():
    found = ask(here([person("ana", competent=DAY - days(200)), person("bo")]))
    wearer = link(ask(here([person("ana", competent=DAY - days(85)), person("bo"), person("cy")])), "team")

    assert told_verdict(found, WORDS) == "Not ready for the hours asked."
    assert told_stands(wearer, WORDS) == "3 of 3 needed; holds until 2026-06-08 if nothing is done, then not ready"
    assert told_days(found, WORDS) == "First day that is not ready, if nothing is done: 2026-06-01."
    assert told_why(link(found, "team").why[0], WORDS) == "nobody can do two parts at once (2)"
    assert told_link(link(found, "procedure"), WORDS, NAMES) == "procedure: Fever, wet"


def test_a_name_is_told_only_where_the_shell_gave_it():
    mend = Mend(id="assess", person="ana")

    assert told_mend(mend, WORDS, NAMES) == "assess competency: Ana Lind"
    assert told_mend(mend, WORDS) == "assess competency"


def test_a_size_is_told_where_there_are_sizes_and_how_many_are_wanting():
    mend = Mend(id="order", item="face-shield", size="one-size", count=4)

    assert told_mend(mend, WORDS) == "order: 4, Full face shield"
    assert told_mend(mend.model_copy(update={"size": "m"}), WORDS) == "order: 4, Full face shield, size m"
    assert told_why(Why(id="runs-out", item="face-shield", count=4), WORDS).endswith("(4 wanting)")
    assert "First to run out: Full face shield." in told_cover(runs_out_first("one-size"), WORDS)
    assert "First to run out: Full face shield, size m." in told_cover(runs_out_first("m"), WORDS)


def runs_out_first(size: str) -> Tonight:
    cover = Cover(
        asked=72, low=9, middle=20, high=40, sustains=0.1, low_sustains=0.08, high_sustains=0.12,
        first=("face-shield", size), draws=400, seed=1,
    )  # fmt: skip
    return ask(here([person("ana")])).model_copy(update={"cover": cover})


def feed():
    found = ask(here([person("ana", competent=DAY - days(85)), person("bo"), person("cy")], rooms=()))
    return calendar([found, found], WORDS, NOW, "Harrow Point General", NAMES)


def test_the_feed_is_a_calendar_with_one_all_day_event_for_each_day_and_link():
    raw = feed()
    events = list(icalendar.Calendar.from_ical(raw).walk("VEVENT"))
    said = {str(one["summary"]): one["dtstart"].dt for one in events}

    assert said["Harrow Point General: whole teams of different people"] == datetime.date(2026, 6, 8)
    assert said["Harrow Point General: room"] == DAY
    assert len({str(one["uid"]) for one in events}) == len(events)
    for one in events:
        assert one["dtend"].dt - one["dtstart"].dt == datetime.timedelta(days=1)  # RFC 5545: DTEND is exclusive
        assert one["dtstamp"].dt == NOW
        assert one.walk("VALARM")


def test_the_feed_keeps_to_the_letter_of_rfc_5545():
    raw = feed()

    assert b"VERSION:2.0" in raw
    assert b"PRODID:" in raw
    assert raw.count(b"\n") == raw.count(b"\r\n")
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75


def test_the_feed_is_the_same_each_time_and_names_nobody():
    assert feed() == feed()
    assert not re.search(rb"Ana|ana", feed())
