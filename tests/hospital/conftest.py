"""Harrow Point General for tests: a lead, an observer, a wearer and everyone else; one approved procedure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from tests.procedure.example import example

from vestry.hospital.access.table import ROLES

STAFF = {
    "ingrid": ("Ingrid Vell", ("programme-lead",)),
    "tomas": ("Tomas Arden", ("trained-observer",)),
    "noor": ("Noor Hadley", ("staff-member",)),
    "petra": ("Petra Quill", ("staff-member",)),
    "sander": ("Sander Brook", ("shift-lead",)),
    "oona": ("Oona Fell", ("occupational-health",)),
    "anselm": ("Anselm Reed", ("auditor",)),
    "ada": ("Ada Thorne", ("administrator",)),
    "stranger": ("Wim Stranger", ("trained-observer",)),
}
BY_ROLE = {
    "programme-lead": "ingrid", "trained-observer": "tomas", "staff-member": "noor", "shift-lead": "sander",
    "occupational-health": "oona", "auditor": "anselm", "administrator": "ada",
}  # fmt: skip
assert set(BY_ROLE) == set(ROLES)
PASSWORD = "harrow-for-tests"


@pytest.fixture(autouse=True)
def _quick(settings: Any) -> None:
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.PLAN_IN_PLACE = True
    settings.PIN_ROUNDS = 1000


@pytest.fixture
def staff(db: None) -> dict[str, Any]:
    from vestry.hospital.access.models import User

    return {
        sign_in: User.objects.create_person(sign_in, name, PASSWORD, roles) for sign_in, (name, roles) in STAFF.items()
    }


@pytest.fixture
def signed_in(staff: dict[str, Any]) -> Callable[[str], Client]:
    def sign_in(name: str) -> Client:
        client = Client(raise_request_exception=False)
        client.force_login(staff[name])
        return client

    return sign_in


@pytest.fixture
def worked_out() -> Any:
    from vestry.hospital.jobs.planning import WorkedOut

    made = example()
    return WorkedOut(plan=made.plan, assurance=made.assurance, scenes=made.scenes, answers=made.answers)


@pytest.fixture
def planned(staff: dict[str, Any], worked_out: Any) -> Any:
    from vestry.hospital.desk.models import PlannedCase

    return PlannedCase.objects.create(
        case=worked_out.plan.case.model_dump(mode="json", by_alias=True),
        policy=worked_out.plan.policy.model_dump(mode="json", by_alias=True),
        asked_by=staff["ingrid"],
        asked_at=timezone.now(),
        state=PlannedCase.PLANNED,
        plan_hash=worked_out.plan.hash,
        worked_out=worked_out.model_dump(mode="json", by_alias=True),
    )


@pytest.fixture
def version(staff: dict[str, Any], worked_out: Any) -> Any:
    import datetime

    from vestry.hospital.desk.approvals import store

    said = {"title": "Example", "reason": "for tests", "review_on": timezone.localdate() + datetime.timedelta(days=300)}
    return store(worked_out, said, staff["ingrid"])


OWN_FACTS = """format-version = 1
[[item]]
because = { reason = "invented", name = "Ingrid Vell", date = 2026-11-02 }
id = "goggles"
kind = "goggles"
traps = ["hair-cover", "hood"]
barrier = "en-166-or-ansi-z87.1"
source = "hospital"
certainty = "invented"
reusable = false
sizes = ["one-size"]
faces = [
  { id = "lens", at = ["eyes"], cover = "sealing", zone = "face" },
  { id = "strap", at = ["hair-ears"], cover = "narrow", zone = "straps" },
  { id = "inside", at = [], cover = "sealing", zone = "none", inside = ["eyes"] },
]
"""


@pytest.fixture
def own_facts(staff: dict[str, Any]) -> Any:
    """An adopted overlay that no approved procedure of these tests uses."""
    return adopt(staff["ingrid"], {"own.toml": OWN_FACTS})


def adopt(lead: Any, files: dict[str, str]) -> Any:
    """Adopt an overlay without its pages."""
    from vestry.hospital import facts
    from vestry.hospital.desk.models import FactsVersion

    now, newest = timezone.now(), FactsVersion.objects.first()
    version = FactsVersion.objects.create(
        number=newest.number + 1 if newest else 1,
        files=files,
        digest=facts.laid_over(files).digest,
        reason="for tests",
        by=lead,
        at=now,
    )
    facts.keep(version.digest, now)
    return version


@pytest.fixture
def entry(signed_in: Callable[[str], Client], version: Any) -> Any:
    from vestry.hospital.record.models import Entry

    people = {"wearer": "noor", "observer": "tomas", "assistant": "petra"}
    answer = signed_in("tomas").post(f"/procedures/{version.pk}/start/", people)
    assert answer.status_code == 302
    return Entry.objects.get()


@pytest.fixture
def registered(staff: dict[str, Any]) -> Any:
    """Noor on the register as a wearer, with nothing noted yet."""
    from vestry.hospital.registers.people_pages import enter

    return enter("H-1", "Noor Hadley", ["wearer"], staff["noor"], staff["ingrid"])


@pytest.fixture
def lot(staff: dict[str, Any]) -> Any:
    """Ten impermeable gowns, size l, in the store."""
    return stocked(staff["ingrid"], "gown-impermeable", "l", 10)


@pytest.fixture
def powered_unit(staff: dict[str, Any]) -> Any:
    from vestry.hospital.registers.models import StockUnit

    return StockUnit.objects.create(item="papr-belt-unit", serial="BU-1", by=staff["ingrid"], at=timezone.now())


def stocked(by: Any, item: str, size: str, quantity: int, number: str = "L-1", **more: Any) -> Any:
    """A lot, with so many of it received into the store."""
    from vestry.hospital.registers import ledger
    from vestry.hospital.registers.models import StockLot, StockMovement

    now = timezone.now()
    lot = StockLot.objects.create(item=item, size=size, number=number, by=by, at=now, **more)
    ledger.write([StockMovement(lot=lot, kind="received", quantity=quantity, to_place="store", at=now, by=by)])
    return lot


class TabletClient:
    """An enrolled tablet without a browser: its token goes with each request, and who was identified on it."""

    def __init__(self, identity: str, token: str) -> None:
        self.client = Client(raise_request_exception=False)
        self.id, self.token, self.identified = identity, token, ""

    def _headers(self) -> dict[str, str]:
        return {"HTTP_AUTHORIZATION": f"Vestry-Tablet {self.token}", "HTTP_VESTRY_IDENTIFIED": self.identified}

    def get(self, address: str) -> Any:
        return self.client.get(address, **self._headers())

    def post(self, address: str, document: Any) -> Any:
        return self.client.post(address, document, content_type="application/json", **self._headers())

    def identify(self, badge: str, pin: str) -> Any:
        answer = self.post("/tablet/identify/", {"badge": badge, "pin": pin})
        self.identified = answer.json().get("identified", "")
        return answer


@pytest.fixture
def enrol(staff: dict[str, Any]) -> Callable[[], TabletClient]:
    """Enrol another tablet."""
    from vestry.hospital.anteroom.tablets import new_code

    def one() -> TabletClient:
        code = new_code("Anteroom 1", staff["ingrid"], timezone.now())
        told = Client().post("/tablet/enrol/", {"code": code}, content_type="application/json").json()
        return TabletClient(told["tablet"], told["token"])

    return one


@pytest.fixture
def tablet(enrol: Callable[[], TabletClient]) -> TabletClient:
    return enrol()


@pytest.fixture
def taken_call(staff: dict[str, Any]) -> Any:
    """A call that is under way."""
    from vestry.hospital.call.models import Call

    said = {"code": "ward-1", "hazard": "suspected-hcid", "presentation": "wet", "tasks": ["care"]}
    return Call.objects.create(**said, stays="transfer", hours=24, by=staff["sander"], at=timezone.now())


@pytest.fixture
def made_up(staff: dict[str, Any]) -> Any:
    """Disinfectant that was made up."""
    from vestry.hospital.rooms.models import MadeUp

    now = timezone.now()
    recipe = {"from": "bleach", "gives": "0.5 %", "litres": "10", "lines": [], "notes": [], "contact": "15 min"}
    said = {
        "code": "room-1",
        "form": "liquid",
        "stock": "5",
        "wanted": "0.5",
        "recipe": recipe,
        "operations": "ab" * 32,
    }
    return MadeUp.objects.create(**said, discard_at=now, by=staff["noor"], at=now)


@pytest.fixture
def feed(staff: dict[str, Any]) -> tuple[str, Any]:
    """The secret of a calendar feed of the lead's, and the feed."""
    from vestry.hospital.desk.models import CalendarFeed

    secret, made = CalendarFeed.made_for(staff["ingrid"], timezone.now())
    made.save()
    return secret, made


@pytest.fixture
def exposed(entry: Any) -> Any:
    """The row of an exposure in the entry: an eye of the assistant."""
    from tests.hospital.recording import said

    from vestry.hospital.record.models import Event
    from vestry.hospital.record.store import append

    append(entry, [said(entry, "exposure", site="eyes", sort="splash", who="assistant")], timezone.now())
    return Event.objects.get(kind="exposure")


@pytest.fixture
def wearer_link(entry: Any, tablet: TabletClient) -> str:
    """The secret of a wearer's screen of the entry."""
    from vestry.hospital.anteroom.models import Tablet
    from vestry.hospital.anteroom.wearer_link import make

    return make(entry, Tablet.objects.get(pk=tablet.id), timezone.now())[0]


@pytest.fixture
def kept(staff: dict[str, Any]) -> dict[str, int]:
    """Keys of a policy that waits, of a hold and of a proposal that nobody confirmed, by where their pages are."""
    from vestry.hospital.retention.models import LegalHold, Policy, Proposal

    by, now = staff["stranger"], timezone.now()
    policy = Policy.objects.create(sort="reads", days=4000, reason="for tests", source="Rule 7", by=by, at=now)
    hold = LegalHold.objects.create(sort="person", key="user:0", named="nobody", reason="for tests", by=by, at=now)
    proposal = Proposal.objects.create(reason="for tests", policies={}, listed={}, counts={}, by=by, at=now)
    return {
        "keeping/policies/": policy.pk,
        "keeping/holds/": hold.pk,
        "keeping/purges/": proposal.pk,
        "second-factor/": 1,
    }


@pytest.fixture
def wall(staff: dict[str, Any]) -> tuple[str, Any]:
    """The secret of a wall that shows the board, and the wall."""
    from vestry.hospital.board import walls
    from vestry.hospital.board.models import Wall

    secret = walls.opened_by(walls.new_code("Corridor", staff["ingrid"], timezone.now()), timezone.now())
    assert secret
    return secret, Wall.objects.get()


@pytest.fixture
def rota(staff: dict[str, Any]) -> Any:
    """A rota of one day that was brought in, with its roster taken: a is inside, nobody observes."""
    from vestry.hospital.coverage.asking_pages import store
    from vestry.hospital.coverage.models import RosterAct
    from vestry.roster import Act, Rota
    from vestry.roster.rota import Assigned, Member, Need, RotaShift, Rules

    day = "2027-03-01"
    asked = Rota(
        starts=day,
        days=1,
        shifts=(RotaShift(id="day", from_hour=7, hours=12),),
        people=(Member(id="a", may=("inside",)),),
        needs=(Need(duty="inside", people=1), Need(duty="observing", people=1)),
        rules=Rules(minutes_inside=720, rest=0),
    )
    version = store(asked, None, "for tests", staff["ingrid"])
    taken = Act(kind="taken", assigned=(Assigned(person="a", day=day, shift="day", duty="inside"),))
    said = taken.model_dump(mode="json", by_alias=True)
    RosterAct.objects.create(rota=version, act=said, by=staff["sander"], at=timezone.now())
    return version


@pytest.fixture
def roster_feed(staff: dict[str, Any]) -> tuple[str, Any]:
    """The secret of a feed of the team's shifts, and the feed."""
    from vestry.hospital.coverage.models import RosterFeed

    secret, made = RosterFeed.made_for(staff["ingrid"], None, timezone.now())
    made.save()
    return secret, made
