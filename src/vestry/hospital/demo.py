"""The invented hospital: Harrow Point General, its staff, policy and own facts, a planned case, two procedures."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from vestry.hospital.setting_up import migrate, set_up
from vestry.sequence import Case, Policy

NAME = "Harrow Point General"
PASSWORD_FILE = "demo-password"
INVENTED = "Invented for demonstration."


@dataclass(frozen=True)
class Person:
    """Someone invented: sign-in, name, roles."""

    sign_in: str
    name: str
    roles: tuple[str, ...]


STAFF = (
    Person("ingrid", "Ingrid Vell", ("programme-lead", "staff-member")),
    Person("tomas", "Tomas Arden", ("trained-observer", "staff-member")),
    Person("ilse", "Ilse Marrow", ("trained-observer", "staff-member")),
    Person("noor", "Noor Hadley", ("staff-member",)),
    Person("petra", "Petra Quill", ("staff-member",)),
    Person("sander", "Sander Brook", ("shift-lead", "staff-member")),
    Person("oona", "Oona Fell", ("occupational-health",)),
    Person("anselm", "Anselm Reed", ("auditor",)),
    Person("ada", "Ada Thorne", ("administrator",)),
)


# What the lead's table names for a stable patient and for a wet one ("": nothing; "none": said that there is none), and
# why. Most hazards can be taken; four are not, each for another reason, so that the page of what is ready shows them.
CASE_TABLE: dict[tuple[str, str, str], tuple[str, ...]] = {
    ("wet", "wet", ""): (
        "suspected-hcid", "ebola", "lassa", "marburg", "crimean-congo", "south-american", "nipah",
    ),
    ("stable", "wet", ""): (
        "mers", "sars", "novel-influenza-a", "pneumonic-plague", "andes-hantavirus", "mpox-clade-i",
    ),
    ("stable", "", "Nobody has decided yet what a wet patient is."): ("mpox-clade-ii",),
    ("stable", "wet", "Named before the new requirements were read; it is not enough."): ("chapare",),
    ("none", "none", "Goes to the regional unit at once."): ("hendra",),
    ("wet", "none", "A wet patient goes to the regional unit at once."): ("smallpox",),
}  # fmt: skip


def planned() -> tuple[tuple[Case, Policy], tuple[Case, Policy]]:
    """The two cases that its procedures are for, each with the unit's policy; a person who is wet comes first.

    On gloves the wipe: the rub is not counted against an agent that nobody has identified.
    """
    policy = Policy(glove_agent="disinfectant-wipe")
    plainer = {"eye_protection": "goggles", "with_hair_cover": False, "with_foot_covers": False}
    return (
        (Case(code="practice-ward", hazard="suspected-hcid", presentation="wet"), policy),
        (Case(code="respiratory-ward", hazard="mers"), policy.model_copy(update=plainer)),
    )


def load(data_dir: Path | str, progress: Callable[[str, int], None] | None = None) -> int:
    """Fill a data folder with the invented hospital and say its sign-ins; 0. Twice does no harm."""
    set_up(data_dir)
    migrate()
    password = _password(Path(data_dir))
    from vestry.hospital.desk.models import Unit

    if not Unit.objects.exists():
        _fill(password, progress or (lambda stage, count: None))
    print(f"{NAME}, invented for demonstration. Sign in with the password {password} as")
    for person in STAFF:
        print(f"  {person.sign_in:8} {person.name:14} {', '.join(person.roles)}")
    return 0


def _password(data: Path) -> str:
    """One password for all invented people, made anew for each data folder."""
    path = data / PASSWORD_FILE
    if not path.exists():
        path.touch(mode=0o600)
        path.write_text(f"harrow-{secrets.token_hex(4)}\n", "utf-8")
    return path.read_text("utf-8").strip()


def _fill(password: str, progress: Callable[[str, int], None]) -> None:
    from django.contrib.auth.hashers import make_password
    from django.utils import timezone

    from vestry.hospital.access.models import RoleGrant, User
    from vestry.hospital.call import demo as calls_demo
    from vestry.hospital.coverage.demo import fill as fill_coverage
    from vestry.hospital.desk.approvals import store
    from vestry.hospital.desk.models import PlannedCase, PolicyVersion, Unit
    from vestry.hospital.jobs.planning import work_out
    from vestry.hospital.record import demo as record_demo
    from vestry.hospital.registers.demo import fill as fill_registers
    from vestry.hospital.rooms import demo as rooms_demo
    from vestry.hospital.writing import writing

    (case, policy), other = planned()
    done = work_out(case, policy, lambda words: progress(words, 0))
    respiratory = work_out(*other, lambda words: progress(words, 0))
    hashed, now = make_password(password), timezone.now()
    with writing():
        people = {}
        for person in STAFF:
            user = User(sign_in=person.sign_in, name=person.name, password=hashed)
            user.save()
            RoleGrant.objects.bulk_create(RoleGrant(user=user, role=role) for role in person.roles)
            people[person.sign_in] = user
        lead = people["ingrid"]
        PolicyVersion.objects.create(
            number=1,
            policy=policy.model_dump(mode="json", by_alias=True),
            reason=INVENTED,
            by=lead,
            at=now,
        )
        PlannedCase.objects.create(
            case=case.model_dump(mode="json", by_alias=True),
            policy=policy.model_dump(mode="json", by_alias=True),
            asked_by=lead,
            asked_at=now,
            state=PlannedCase.PLANNED,
            plan_hash=done.plan.hash,
            worked_out=done.model_dump(mode="json", by_alias=True),
            done_at=now,
        )
        said = {
            "reason": f"{INVENTED} Practised by the team in the last drill.",
            "review_on": timezone.localdate() + timedelta(days=365),
        }
        wet = store(done, said | {"title": "Suspected case, wet patient"}, lead)
        stable = store(respiratory, said | {"title": "Suspected respiratory infection, stable patient"}, lead)
        _practise_and_name(wet, stable, people)
        fill_registers(lead, people["oona"])
        Unit.objects.create(name=NAME, invented=True)
        rooms_demo.fill(people, now)
        rooms_demo.gear_of(lead, wet.procedure.slug, now)
        rooms_demo.gear_of(lead, stable.procedure.slug, now, woven=("0.9", "0.36"))
        record_demo.fill(lead, now)
        calls_demo.fill(people, now)
    progress("A roster for four weeks", 0)
    fill_coverage(lead, people["sander"], wet)
    progress("Own facts laid over ours; what they touch is assured again", 0)
    _adopt_own_facts(lead)


def _practise_and_name(wet: Any, stable: Any, people: dict[str, Any]) -> None:
    """Drills of the two procedures, and the lead's table with a row for each."""
    from django.utils import timezone

    from vestry.hospital.desk.models import CaseRow, Practice

    lead, now, drilled = people["ingrid"], timezone.now(), timezone.localdate() - timedelta(days=20)
    for version, wearers in ((wet, ("noor", "petra")), (stable, ("noor", "ilse"))):
        for sign_in, role in (*((one, "wearer") for one in wearers), ("tomas", "observer")):
            person = people[sign_in]
            Practice.objects.create(
                version=version, person=person, role=role, sort=Practice.DRILL, on=drilled, by=lead, at=now
            )
    versions = {"wet": wet, "stable": stable, "none": None}
    for (dry_one, wet_one, why), hazards in CASE_TABLE.items():
        for hazard in hazards:
            for presentation, which in (("dry", dry_one), ("wet", wet_one)):
                if which:
                    CaseRow.objects.create(
                        hazard=hazard, presentation=presentation, task="care", version=versions[which],
                        reason=f"{why} {INVENTED}".strip(), by=lead, at=now,
                    )  # fmt: skip


def _adopt_own_facts(lead: Any) -> None:
    """Its own facts: single-use goggles, which the second procedure wears, and a helmet that is not owned."""
    from django.utils import timezone

    from vestry.hospital import facts
    from vestry.hospital.desk.models import FactsVersion
    from vestry.hospital.jobs.assuring import assure_now, flagged
    from vestry.hospital.writing import writing

    names = {"harrow-point.toml": "demo-facts.toml", "harrow-point-estimates.toml": "demo-estimates.toml"}
    files = {name: Path(__file__).with_name(own).read_text("utf-8") for name, own in names.items()}
    digest, now = facts.laid_over(files).digest, timezone.now()
    with writing():
        FactsVersion.objects.create(number=1, files=files, digest=digest, reason=INVENTED, by=lead, at=now)
        facts.keep(digest, now)
    for version in flagged():
        assure_now(version, lead)
