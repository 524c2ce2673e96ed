"""What a benchmark asks of a process that has the hospital's database at hand. Not for anything but benchmarks.

python -m bench.inside DATA WHAT < asked.json > answer.json
"""

from __future__ import annotations

import json
import random
import sys
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

from bench.enlarging import counted, enlarge
from bench.pressing import Tablet, document, scripted

SCRIPTS = 12
"""Ways that an entry goes; each entry goes along one of them, with words and times of its own."""
BADGE, PIN = "HP-bench", "482913"


def exercise(entries: int, seed: int) -> dict[str, Any]:
    """So many entries opened at once, each with people of its own; codes for their tablets, and sessions for boards."""
    from django.utils import timezone

    from vestry.hospital.access.models import RoleGrant, User
    from vestry.hospital.anteroom.models import Badge
    from vestry.hospital.anteroom.tablets import new_code, set_badge
    from vestry.hospital.desk.models import ProcedureVersion
    from vestry.hospital.record.models import Entry
    from vestry.hospital.record.store import say
    from vestry.hospital.writing import writing

    now = timezone.now()
    lead, tomas = (User.objects.get(sign_in=one) for one in ("ingrid", "tomas"))
    version = ProcedureVersion.objects.select_related("procedure").order_by("at").first()
    assert version is not None
    set_badge(tomas, BADGE, PIN, now)
    like = Badge.objects.get(badge=BADGE)
    opened = []
    for number in range(entries):
        people = {part: f"{part}-{number}" for part in ("wearer", "observer", "assistant")}
        with writing():
            users = {
                part: User.objects.create(sign_in=name, name=f"Invented {name}", password="!")
                for part, name in people.items()
            }
            RoleGrant.objects.bulk_create(
                RoleGrant(user=one, role="trained-observer" if part == "observer" else "staff-member")
                for part, one in users.items()
            )
            # The same PIN for all: to hash it anew for each of them would take most of the time.
            Badge.objects.create(
                person=users["observer"], badge=f"{BADGE}-{number}", pin_hash=like.pin_hash,
                offline_salt=like.offline_salt, offline_rounds=like.offline_rounds,
                offline_hash=like.offline_hash, at=now,
            )  # fmt: skip
            entry = Entry.objects.create(version=version, drill=True, created_at=now, **users)
            desk = f"00000000-0000-4000-8000-{number:012x}"
            say(entry, people["observer"], desk, [("opened", people | {"drill": True}, now)], now)
        opened.append({
            "entry": str(entry.pk), "observer": people["observer"], "badge": f"{BADGE}-{number}",
            "code": new_code(f"Tablet {number}", lead, now),
        })  # fmt: skip
    return {"entries": opened, "sessions": [session("sander") for _ in range(4)]}


def session(sign_in: str) -> str:
    """The key of a session of somebody's, as signing in gives one."""
    from django.contrib.auth import login
    from django.contrib.sessions.backends.db import SessionStore
    from django.http import HttpRequest

    from vestry.hospital.access.models import User

    request = HttpRequest()
    request.session = SessionStore()
    request.META["REMOTE_ADDR"] = "127.0.0.1"
    login(request, User.objects.get(sign_in=sign_in), backend="django.contrib.auth.backends.ModelBackend")
    request.session.save()
    return str(request.session.session_key)


def presses(devices: Mapping[str, str], seed: int) -> dict[str, Any]:
    """What the tablet of each entry says, press by press, and the state that it ends in. `devices`: by entry."""
    from vestry.entry import fold
    from vestry.hospital.desk.models import ApprovalBasis
    from vestry.hospital.record.mapper import led_of
    from vestry.hospital.record.models import Entry
    from vestry.hospital.record.store import events_of

    chance = random.Random(seed)
    rows = list(Entry.objects.filter(pk__in=devices).select_related("version", "observer").order_by("pk"))
    version = rows[0].version
    way = led_of(version)
    basis = ApprovalBasis.objects.filter(version=version).first()
    slips = _slips(basis.program if basis else {})
    scripts = [
        scripted(way, events_of(rows[0])[0], random.Random(chance.random()), lambda step: slips.get(step, []))
        for _ in range(min(SCRIPTS, len(rows)))
    ]
    answer = {}
    for number, row in enumerate(rows):
        (opened,) = events_of(row)
        at = datetime.fromisoformat(opened.clock) + timedelta(seconds=1)
        tablet = Tablet(
            str(row.pk),
            devices[str(row.pk)],
            row.observer.sign_in,
            version.plan_hash,
            at,
            random.Random(chance.random()),
        )
        said = [[document(tablet.say(*one)) for one in press] for press in scripts[number % len(scripts)]]
        answer[str(row.pk)] = {
            "presses": said,
            "state": fold(way, [opened, *tablet.said]).as_json(),
            "link": tablet.link,
        }
    return answer


def _slips(program: Mapping[str, Any]) -> dict[str, list[str]]:
    """By step, the slips of the compiled program that can be seen there."""
    found: dict[str, list[str]] = {}
    steps = list(program.get("steps", ()))
    for event in program.get("events", ()):
        if event.get("sort") == "slip" and 0 <= event.get("step", -1) < len(steps):
            found.setdefault(steps[event["step"]], []).append(event["id"])
    return found


def record(devices: Mapping[str, str]) -> dict[str, Any]:
    """What the record holds of each entry's tablet, the states that it folds, and whether its chains hold."""
    from vestry.hospital.record.chain import verified
    from vestry.hospital.record.mapper import to_value
    from vestry.hospital.record.models import Entry, Event
    from vestry.hospital.record.store import state_of

    found: dict[str, Any] = {}
    for row in Entry.objects.filter(pk__in=devices).select_related("version"):
        rows = list(Event.objects.filter(entry=row).order_by("sequence"))
        said = [one for one in rows if str(one.device) == devices[str(row.pk)]]
        own = sorted(said, key=lambda one: one.device_counter)
        found[str(row.pk)] = {
            "events": [document(to_value(one)) for one in said],
            "link": own[-1].link if own else "",
            "state": state_of(row).as_json(),
            "cached": [row.stage, row.position, row.events_folded, len(rows)],
        }
    return {"entries": found, "problems": [f"{one.what} at {one.sequence}" for one in verified().findings]}


ASKED: Mapping[str, Callable[..., Any]] = {
    "exercise": exercise,
    "presses": presses,
    "record": record,
    "session": session,
    "enlarge": enlarge,
    "counted": counted,
}


def main() -> None:
    """Answer one question."""
    data, what = sys.argv[1:]
    from vestry.hospital.setting_up import set_up

    set_up(data)
    json.dump(ASKED[what](**json.load(sys.stdin)), sys.stdout)


if __name__ == "__main__":
    main()
