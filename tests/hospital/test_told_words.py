"""What a record holds as a key is told in the words of the page; old sentences and typed words stay readable."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from tests.hospital.recording import said

import vestry.hospital.anteroom as anteroom
from vestry.hospital.record.showing import show
from vestry.hospital.record.store import append
from vestry.hospital.record.told_words import BEFORE, REASONS, reason_told, rule_told

WEB = Path(anteroom.__file__).parent / "web"


def keys_of_the_tablet() -> set[str]:
    """The reasons that a key of the tablet gives, from its modules."""
    after, rest = (WEB / "after.js").read_text("utf-8"), ""
    for name in ("trouble.js", "presses.js", "before.js"):
        rest += (WEB / name).read_text("utf-8")
    listed = re.search(r"whyNot: \{(.*?)\}", after)
    assert listed is not None
    found = set(re.findall(r'"([a-z-]+)":', listed[1])) | set(re.findall(r'reason: "([a-z]+-[a-z-]+)"', rest))
    for ending in re.findall(r"reason: `\$\{(?:said\.)?what\}-(\w+)`", rest):
        found |= {f"{what}-{ending}" for what in ("unwell", "lost-air")}
    return found | {"unwell", "lost-air"}  # trouble.js ends the entry with the trouble itself


def test_every_key_of_the_tablet_that_gives_a_reason_has_words():
    assert keys_of_the_tablet() <= set(REASONS)
    assert len(keys_of_the_tablet()) == 10


def test_a_sentence_of_an_old_record_and_the_key_of_today_are_told_alike_and_what_was_typed_stays():
    assert set(BEFORE.values()) <= set(REASONS)
    for sentence, key in BEFORE.items():
        assert reason_told(sentence) == reason_told(key) != key
    assert reason_told("The lane is needed.") == "The lane is needed."


def test_a_rule_is_told_by_the_unit_s_list_and_one_that_is_not_known_stays():
    lines = {("area", "bins"): "Bins have room"}
    line = lambda check, item: lines.get((check, item), item)  # noqa: E731

    assert rule_told("area:bins", line) == "the doffing area: Bins have room"
    assert rule_told("person:register", line) == "the person: what the registers say"
    assert rule_told("may-not:wearer", line) == "by the registers may not go in as wearer"
    assert rule_told("team:present", line) == "the minimum team is not here"
    assert rule_told("of-later:wearer", line) == "of-later:wearer"


@pytest.mark.django_db
def test_no_key_stands_raw_on_a_record(entry: Any):
    overridden = {
        "rules": ["person:register", "may-not:wearer"], "decided-by": "sander", "reason": "typed",
        "alternative": "wait",
    }  # fmt: skip
    rules = "by the registers may not go in as wearer, the person: what the registers say"
    says = [
        ("item-checked", {"check": "person", "item": "own-answer", "says": "not-in-order"},
         "what they answer alone, not in order"),
        ("overridden", overridden, f"{rules}, wait, typed, Sander Brook"),
        ("undressing-left-out", {"role": "observer", "reason": "stays-for-the-next"},
         "trained observer, stays for the next wearer"),
        ("undressing-left-out", {"role": "observer", "reason": "stay for the next wearer"},
         "trained observer, stays for the next wearer"),
        ("undressing-begun", {"role": "observer", "how": "mirror"}, "trained observer, by the mirror"),
        ("coming-out", {"note": "lost-air"}, "air lost"),
        ("item-crossed", {"item": "specimen", "direction": "out"}, "specimen, out"),
        ("pressed-wrongly", {"note": "STOP"}, "STOP"),
        ("drill-injected", {"what": "tear", "surface": "gown-isolation.front"}, "front of the gown, torn"),
    ]  # fmt: skip
    append(entry, [said(entry, kind, **payload) for kind, payload, _ in says], entry.created_at)
    shown = show(entry)

    assert [row["says"] for row in shown.rows[1:]] == [told for _, _, told in says]
    flags = [one for row in shown.rows for one in row["flags"]]
    assert f"a rule was overridden by name: {rules}" in flags
