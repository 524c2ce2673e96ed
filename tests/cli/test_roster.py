"""`vestry roster`: JSON by its schema, calendar and print, exit statuses, and the page that names every field."""

from __future__ import annotations

import io
import json
import tomllib
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import jsonschema
import pypdf
import pytest
from icalendar import Calendar
from tests.cli.test_reference import fields, text
from tools.make_reference import PLACE

from vestry.cli.main import main
from vestry.roster import propose, read_rota
from vestry.roster.calendar import calendar

ROTA = str(PLACE / "examples" / "rota.toml")
STAMP = datetime(2027, 2, 20, 9, tzinfo=UTC)


def rota():
    return read_rota(text("examples/rota.toml"), "rota.toml")


def events(raw: bytes) -> list:
    return list(Calendar.from_ical(raw).walk("VEVENT"))


def ics(**more) -> bytes:
    return calendar(rota(), propose(rota()), STAMP, lambda one: f"Ä, {one.person}; {'lang' * 30}", **more)


@pytest.mark.parametrize(("example", "schema"), [("rota.toml", "rota"), ("roster.json", "roster")])
def test_each_example_fits_its_schema_and_an_unknown_key_does_not(example, schema):
    read = tomllib.loads if example.endswith("toml") else json.loads
    held = json.loads(json.dumps(read(text(f"examples/{example}")), default=lambda one: one.isoformat()))
    schema = json.loads(text(f"schemas/{schema}.json"))

    jsonschema.validate(held, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(held | {"if": "ill"}, schema)


@pytest.mark.parametrize("schema", ["rota", "roster"])
def test_the_page_names_every_field(schema):
    page = text("roster.md")

    assert not {name for name in fields(json.loads(text(f"schemas/{schema}.json"))) if f"`{name}`" not in page}


def test_gaps_are_told_with_their_reasons_and_what_would_close_them(capsys):
    status = main(["roster", ROTA, "--json"])
    found = json.loads(capsys.readouterr().out)

    jsonschema.validate(found, json.loads(text("schemas/roster.json")))
    assert (status, found["fewest"], found["only"]) == (1, True, True)
    assert found["uncovered"] == sum(gap["needed"] - gap["there"] for gap in found["gaps"]) > 0
    assert found["closing"]["found"] == "changes"


def test_in_a_terminal_it_is_a_proposal_to_take_or_to_leave(capsys):
    assert main(["roster", ROTA]) == 1

    out = capsys.readouterr().out
    assert "A proposal, to take or to leave." in out
    assert "It replaces neither local procedure" in " ".join(out.split())


def test_as_it_is_proposes_nothing(capsys):
    assert main(["roster", ROTA, "--as-it-is", "--json"]) == 1
    assert [one["person"] for one in json.loads(capsys.readouterr().out)["assigned"]] == ["birch"]


# ---- the calendar ----


def test_lines_end_and_fold_as_the_standard_says():
    """RFC 5545: lines end with CRLF and hold at most 75 octets, no character is cut in two."""
    lines = ics().split(b"\r\n")

    assert lines[-1] == b""
    assert all(len(line) <= 75 and b"\n" not in line and b"\r" not in line for line in lines)
    assert all(line.decode() for line in lines[:-1])


def test_each_shift_is_an_event_with_a_name_of_its_own_and_the_stamp_it_was_given():
    found = events(ics())

    assert len(found) == len(propose(rota()).assigned)
    assert len({event["UID"] for event in found}) == len(found)
    assert {event["DTSTAMP"].dt for event in found} == {STAMP}
    assert ics() == ics()


def test_a_night_ends_on_the_next_day_in_the_hospital_s_own_time():
    """The clocks go forward on 28 March 2027 in Vienna: a night from 20:00 to 08:00 is eleven hours long."""
    zone = ZoneInfo("Europe/Vienna")
    late = rota().model_copy(update={"starts": rota().starts.replace(day=27), "fixed": (), "before": ()})
    raw = calendar(late, propose(late, close=False), STAMP, lambda one: one.person, zone)
    night = next(
        event for event in events(raw) if event["DTSTART"].dt.replace(tzinfo=None) == datetime(2027, 3, 27, 20)
    )

    assert night["DTEND"].dt.replace(tzinfo=None) == datetime(2027, 3, 28, 8)
    assert (night["DTEND"].dt.astimezone(UTC) - night["DTSTART"].dt.astimezone(UTC)).total_seconds() == 11 * 3600
    assert b"BEGIN:VTIMEZONE" in raw


def test_one_person_s_calendar_holds_only_theirs(tmp_path, capsys):
    out = tmp_path / "hazel.ics"
    main(["roster", ROTA, "--ics", str(out), "--person", "hazel"])

    named = [event["SUMMARY"] for event in events(out.read_bytes())]
    assert named
    assert all(name.startswith("hazel:") for name in named)


def test_names_that_are_not_known_are_refused_and_nothing_is_written(tmp_path, capsys):
    out = tmp_path / "x.ics"

    assert main(["roster", ROTA, "--ics", str(out), "--person", "oak", "--zone", "Mars/North"]) == 2
    err = capsys.readouterr().err
    assert "no person is called oak" in err
    assert "no time zone is called Mars/North" in err
    assert not out.exists()


# ---- on paper ----


def test_it_prints_as_an_accessible_document(tmp_path, capsys):
    out = tmp_path / "roster.pdf"
    main(["roster", ROTA, "--pdf", str(out)])
    read = pypdf.PdfReader(io.BytesIO(out.read_bytes()))
    said = "\n".join(page.extract_text() for page in read.pages)

    assert read.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert "Harrow Point, four days" in said
    assert all(word in said for word in ("hazel", "nobody", "What would close them"))
