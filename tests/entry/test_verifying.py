"""A record's chains: every single tampering is found, or is of the kind that no chain can find and that is named."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vestry.entry import Event
from vestry.entry.chains import FIRST, commitment_of, hash_of, link_of, said_of
from vestry.entry.removing import left_of, payload_of, removal_of
from vestry.entry.verifying import CANNOT, heads_of, verify

TABLET, OTHER, BROWSER = (f"{n}d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90" for n in (0, 1, 2))


def record(size: int = 14, withheld: tuple[int, ...] = (5, 6)) -> dict[str, Any]:
    """An exported record: two tablets with chains of their own, a browser without, places of other entries."""
    rows: list[dict[str, Any]] = []
    links: dict[str, str] = {}
    previous = "ab" * 32
    for sequence in range(101, 101 + size):
        device = (TABLET, OTHER, BROWSER)[sequence % 3]
        event = Event(
            id=f"01936f2e-0000-7000-8000-{sequence:012x}",
            entry="e",
            kind="read",
            payload={"step": f"doff:gown-{sequence}", "note": "ä \u2028 €"},
            actor="tomas",
            device=device,
            clock=f"2026-11-25T02:14:{sequence - 100:02d}.000+00:00",
            counter=sequence,
            plan="p",
        )
        said, salt = said_of(event), f"{sequence:032x}"
        commitment = commitment_of(salt, said)
        before = None if device == BROWSER else links.get(device, FIRST)
        link = None if before is None else link_of(before, commitment)
        row = {"sequence": sequence, "previous": previous, "server-time": f"t{sequence}", "commitment": commitment}
        row |= {
            "device-previous": before,
            "link": link,
            "hash": hash_of(sequence, previous, row["server-time"], commitment, link),
        }
        previous = row["hash"]
        if sequence - 101 not in withheld:
            row |= {"salt": salt, "said": said}
            if link:
                links[device] = link
        rows.append(row)
    return {"heads": heads_of(verify(rows)), "events": rows}


WHOLE = record()
HEAD = WHOLE["events"][-1]["hash"]
LAST = len(WHOLE["events"]) - 1


def holds(document: Any, *anchors: str) -> bool:
    return verify(document["events"], document["heads"], anchors).holds


def test_a_whole_record_holds_with_and_without_its_anchors():
    found = verify(WHOLE["events"], WHOLE["heads"], (HEAD, WHOLE["events"][3]["hash"]))

    assert found.findings == ()
    assert (found.events, found.withheld, found.unchained) == (12, 2, 4)
    assert found.anchored == 101 + LAST
    assert [(one.device, one.events) for one in found.devices] == [(TABLET, 5), (OTHER, 3)]


def test_a_purge_leaves_the_chains_standing_and_shows_as_withheld():
    purged = copy.deepcopy(WHOLE)
    for place in (4, 7, 9):  # two of a tablet, one after the other, and one of the browser
        del purged["events"][place]["salt"], purged["events"][place]["said"]

    found = verify(purged["events"], None, (HEAD,))
    assert found.findings == ()
    assert found.withheld == 5


def emptied(places: tuple[int, ...] = (4, 7, 9)) -> dict[str, Any]:
    """The record with the content of these places removed, and the event that says so at its end."""
    rows = copy.deepcopy(WHOLE["events"])
    left = []
    for place in places:
        said = rows[place].pop("said")
        del rows[place]["salt"]
        rows[place]["left"] = left_of(said)
        left.append((rows[place]["sequence"], rows[place]["left"]))
    said = {
        **said,
        "id": "01936f2e-0000-7000-8000-00000000ffff",
        "kind": "content-removed",
        "payload": payload_of("2040-01-02", "policy 3, entries, 3650 days", "1", left),
        "actor": "",
        "device": "9d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90",
        "counter": 1,
    }
    number, salt = rows[-1]["sequence"] + 1, "f" * 32
    commitment = commitment_of(salt, said)
    rows.append(
        {
            "sequence": number,
            "previous": rows[-1]["hash"],
            "server-time": "t",
            "commitment": commitment,
            "device-previous": None,
            "link": None,
            "hash": hash_of(number, rows[-1]["hash"], "t", commitment, None),
            "salt": salt,
            "said": said,
        }
    )
    return {"heads": heads_of(verify(rows)), "events": rows}


def test_content_removed_is_told_with_day_and_policy_and_every_anchor_of_before_still_holds():
    other = emptied()
    links = tuple(row["link"] for row in WHOLE["events"] if row["link"])
    found = verify(other["events"], other["heads"], (HEAD, *links))

    assert found.findings == ()
    assert (found.emptied, found.events, found.withheld) == (3, 10, 2)
    assert [(one.on, one.policy, one.places) for one in found.removals] == [
        ("2040-01-02", "policy 3, entries, 3650 days", 3)
    ]


@pytest.mark.parametrize("field", ["id", "kind", "device", "clock", "counter", "plan", "entry"])
def test_what_is_left_of_an_event_cannot_be_changed(field: str):
    other = emptied()
    was = other["events"][7]["left"][field]
    other["events"][7]["left"][field] = was + 1 if field == "counter" else was + "x"

    assert not holds(cut(other, lambda rows: rows))


def test_emptying_without_a_removal_that_names_the_place_is_found():
    other = emptied()
    row = other["events"][1]
    row["left"] = left_of(row.pop("said"))
    del row["salt"]

    found = verify(cut(other, lambda rows: rows)["events"])
    assert [(one.what, one.sequence) for one in found.findings] == [("changed", 102)]


def test_a_removal_taken_away_moved_or_of_another_entry_is_found():
    assert not holds(cut(emptied(), lambda rows: rows[:-1]))
    other = emptied()
    other["events"][7]["left"]["entry"] = "another"
    assert not holds(cut(other, lambda rows: rows))
    gone = emptied()
    del gone["events"][7]["left"]
    assert not holds(cut(gone, lambda rows: rows))


@given(st.integers(0, LAST + 1), st.data())
@settings(max_examples=60, deadline=None)
def test_after_a_removal_any_changed_byte_is_still_found(place: int, data: st.DataObject):
    whole = emptied()
    text = json.dumps(whole["events"][place], ensure_ascii=False)
    at = data.draw(st.integers(0, len(text) - 1))
    changed = text[:at] + data.draw(st.sampled_from('abc019xyz{}"')) + text[at + 1 :]
    try:
        row = json.loads(changed)
    except ValueError:
        return
    if row == whole["events"][place]:
        return
    other = {**whole, "events": [*whole["events"][:place], row, *whole["events"][place + 1 :]]}
    assert not holds(other)
    assert not holds(cut(other, lambda rows: rows))


@given(st.sets(st.integers(1, 5000), min_size=1, max_size=700))
@settings(max_examples=30, deadline=None)
def test_places_in_words_are_the_places(places: set[int]):
    said = {"kind": "content-removed", "entry": "e", "payload": payload_of("d", "p", "1", [(n, LEFT) for n in places])}
    found = removal_of(9000, said)
    assert found is not None
    assert set(found.numbers()) == places
    assert all(len(one) <= 2000 for one in said["payload"]["places"])


LEFT = {"id": "i", "entry": "e", "kind": "read", "device": "d", "clock": "c", "counter": 1, "plan": "p"}


@pytest.mark.parametrize(
    "places", [["0"], ["7-3"], ["1-"], ["9001"], ["1-99999999999999999999"], [], "1-3", ["1, 2"], [3], None]
)
def test_a_removal_that_cannot_be_read_is_none_and_is_found(places: Any):
    said = {"kind": "content-removed", "entry": "e", "payload": payload_of("d", "p", "1", [(1, LEFT)])}
    said["payload"]["places"] = places
    if places != [3]:
        assert removal_of(9000, said) is None


def test_a_removal_that_names_very_many_places_takes_no_time_and_is_found():
    other = emptied()
    other["events"][-1]["said"]["payload"]["places"] = ["1-99999999"] * 1
    other["events"][-1]["sequence"] = 10**9
    assert not holds(other)


def cut(document: Any, change: Any) -> Any:
    """The record with its events changed, the heads in the file made to fit: what a careful forger would hand over."""
    other = copy.deepcopy(document)
    other["events"] = change(other["events"])
    other["heads"] = heads_of(verify(other["events"]))
    return other


@pytest.mark.property
@given(place=st.integers(0, LAST), data=st.data())
@settings(max_examples=150, deadline=None)
def test_any_byte_of_any_event_that_is_changed_is_found(place: int, data: st.DataObject):
    text = json.dumps(WHOLE["events"][place], ensure_ascii=False)
    at = data.draw(st.integers(0, len(text) - 1))
    sign = data.draw(st.sampled_from([chr(n) for n in range(32, 127)] + ["ä", "\x00"]))
    changed = text[:at] + sign + text[at + 1 :]
    try:
        row = json.loads(changed)
    except ValueError:
        return  # not JSON any more: refused before it is walked
    if row == WHOLE["events"][place] or json.dumps(row) == json.dumps(WHOLE["events"][place]):
        return  # another writing of the same
    other = {**WHOLE, "events": [*WHOLE["events"][:place], row, *WHOLE["events"][place + 1 :]]}

    assert not holds(other)
    assert not holds(cut(other, lambda rows: rows))


@pytest.mark.parametrize("place", range(LAST + 1))
def test_an_event_left_out_is_found_or_was_the_first_or_last_and_then_its_anchor_finds_it(place: int):
    def without(rows: list[Any]) -> list[Any]:
        return rows[:place] + rows[place + 1 :]

    careless = {**WHOLE, "events": without(WHOLE["events"])}
    assert not holds(careless)
    careful = cut(WHOLE, without)
    if place == LAST:
        assert holds(careful), "the end cut with its heads: no chain alone can find it"
        assert not holds(careful, HEAD)
    elif place == 0:
        assert not holds(careful, WHOLE["events"][0]["previous"], HEAD)
    else:
        assert not holds(careful)


@pytest.mark.parametrize("one", range(LAST + 1))
def test_two_that_change_places_are_found_and_so_is_one_that_stands_twice(one: int):
    other = (one + 1) % (LAST + 1)

    def swapped(rows: list[Any]) -> list[Any]:
        rows[one], rows[other] = rows[other], rows[one]
        return rows

    assert not holds(cut(WHOLE, swapped))
    assert not holds(cut(WHOLE, lambda rows: [*rows[: one + 1], rows[one], *rows[one + 1 :]]))
    assert not holds(cut(WHOLE, lambda rows: [*rows, rows[one]]))


@pytest.mark.parametrize("place", [0, 1, 8, LAST])
def test_words_taken_out_of_the_file_are_found_by_its_heads_or_stand_as_withheld(place: int):
    if WHOLE["events"][place]["link"]:
        careless = copy.deepcopy(WHOLE)
        del careless["events"][place]["said"], careless["events"][place]["salt"]
        assert not holds(careless)

    def hushed(rows: list[Any]) -> list[Any]:
        del rows[place]["said"], rows[place]["salt"]
        return rows

    careful = cut(WHOLE, hushed)
    assert verify(careful["events"], careful["heads"]).withheld == 3
    assert any("withheld" in one for one in CANNOT)


@pytest.mark.parametrize("kept", range(1, LAST + 1))
def test_a_tail_cut_off_is_found_by_the_heads_or_by_an_anchor(kept: int):
    assert not holds({**WHOLE, "events": WHOLE["events"][:kept]})
    careful = cut(WHOLE, lambda rows: rows[:kept])

    assert holds(careful)
    assert not holds(careful, HEAD)
    assert "cut off" in CANNOT[0]


def test_a_forger_who_chains_anew_as_a_whole_is_found_by_an_anchor_alone():
    other = record(withheld=())
    forged = record(withheld=())
    rows = forged["events"]
    rows[4]["said"]["payload"]["note"] = "nothing happened"
    previous, links = rows[0]["previous"], {}
    for row in rows:
        row["previous"], device = previous, row["said"]["device"]
        row["commitment"] = commitment_of(row["salt"], row["said"])
        if row["link"]:
            row["device-previous"] = links.get(device, FIRST)
            row["link"] = links[device] = link_of(row["device-previous"], row["commitment"])
        row["hash"] = previous = hash_of(row["sequence"], previous, row["server-time"], row["commitment"], row["link"])
    forged["heads"] = heads_of(verify(rows))

    assert holds(forged)
    assert not holds(forged, other["events"][-1]["hash"])
    assert "made anew" in CANNOT[1]


def test_who_chains_only_the_server_anew_is_found_by_the_devices_chains():
    rows = copy.deepcopy(WHOLE["events"])
    del rows[4]  # a tablet's
    previous = rows[0]["previous"]
    for number, row in enumerate(rows):
        row["sequence"], row["previous"] = 101 + number, previous
        row["hash"] = previous = hash_of(row["sequence"], previous, row["server-time"], row["commitment"], row["link"])
    found = verify(rows, heads_of(verify(rows)))

    assert {one.what for one in found.findings} == {"device"}


def test_a_jump_that_the_file_states_is_another_part_and_one_that_it_does_not_is_a_gap():
    rows = [*WHOLE["events"][:4], *WHOLE["events"][8:]]
    stated = verify(rows, {"parts": [{"before": {"sequence": 108, "hash": ""}}]})

    assert len(stated.parts) == 2
    assert "missing" not in {one.what for one in stated.findings}
    assert "missing" in {one.what for one in verify(rows).findings}


@pytest.mark.parametrize(
    "row",
    [
        None, 7, {}, {"sequence": 1}, *({**WHOLE["events"][0], **more} for more in (
            {"sequence": 2**60}, {"server-time": "\ud800"}, {"more": 1}, {"sequence": True},
        )),
    ],
)  # fmt: skip
def test_what_is_no_row_is_told_and_breaks_nothing(row: Any):
    assert not verify([row]).holds


def test_a_whole_record_begins_with_the_first_event():
    assert {one.what for one in verify(WHOLE["events"], from_the_first=True).findings} == {"missing"}


def test_nothing_at_all_holds_and_says_that_it_is_nothing():
    found = verify([], heads_of(verify([])))
    assert (found.holds, found.events, found.parts) == (True, 0, ())
