"""The one table of roles by action. docs/reference/pages-and-roles.md shows it; a test holds the two together."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Literal, get_args

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

Role = Literal[
    "programme-lead",
    "trained-observer",
    "staff-member",
    "shift-lead",
    "occupational-health",
    "auditor",
    "administrator",
]
ROLES: tuple[Role, ...] = get_args(Role)

ROLE_NAMES: Mapping[Role, str | Promise] = {
    "programme-lead": _("programme lead"),
    "trained-observer": _("trained observer"),
    "staff-member": _("staff member"),
    "shift-lead": _("shift lead"),
    "occupational-health": _("occupational health"),
    "auditor": _("auditor"),
    "administrator": _("administrator"),
}

SECOND_FACTOR: frozenset[str] = frozenset({"programme-lead", "occupational-health", "administrator"})
"""Roles that sign in with a second factor: they approve, read what is about health, or give access."""

ANYONE = "anyone"
SIGNED_IN = "signed-in"
ENROLLED = "enrolled-tablet"

_EVERY: frozenset[str] = frozenset(ROLES)

TABLE: Mapping[str, str | frozenset[str]] = {
    "sign-in": ANYONE,
    "sign-out": SIGNED_IN,
    "choose-language": ANYONE,
    "set-own-second-factor": SIGNED_IN,
    "see-home": SIGNED_IN,
    "plan-case": frozenset({"programme-lead", "shift-lead"}),
    "see-plans": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "approve-plan": frozenset({"programme-lead"}),
    "override-refusal": frozenset({"programme-lead"}),
    "retire-procedure": frozenset({"programme-lead"}),
    "assure-again": frozenset({"programme-lead"}),
    "see-facts": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "adopt-facts": frozenset({"programme-lead"}),
    "see-case-table": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "edit-case-table": frozenset({"programme-lead"}),
    "record-practice": frozenset({"programme-lead"}),
    "see-procedures": _EVERY - {"administrator", "occupational-health"},
    "see-orders": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "compare-sequences": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "explain-verdict": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "substitute-item": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "see-case-change": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "weigh-rules": frozenset({"programme-lead", "auditor"}),
    "see-amounts": frozenset({"programme-lead", "auditor"}),
    "see-ready": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "see-forecast": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "see-coverage": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "edit-rota": frozenset({"programme-lead", "shift-lead"}),
    "take-roster": frozenset({"programme-lead", "shift-lead"}),
    "see-own-shifts": _EVERY - {"administrator"},
    "set-team-need": frozenset({"programme-lead"}),
    "read-feed": ANYONE,
    "print-sheet": frozenset({"programme-lead", "shift-lead", "trained-observer", "staff-member"}),
    "start-entry": frozenset({"trained-observer", "shift-lead"}),
    "lead-entry": frozenset({"trained-observer", "shift-lead"}),
    "see-wearer-screen": frozenset({"trained-observer", "staff-member", "shift-lead"}),
    "see-records": _EVERY - {"administrator"},
    "correct-record": frozenset({"programme-lead", "trained-observer"}),
    "sign-record": frozenset({"trained-observer", "staff-member", "shift-lead"}),
    "transcribe-entry": frozenset({"programme-lead", "trained-observer", "shift-lead"}),
    "take-records-away": frozenset({"programme-lead", "occupational-health", "auditor"}),
    "see-contradictions": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "see-entry-log": frozenset({"programme-lead", "shift-lead", "occupational-health", "auditor"}),
    "see-exposures": frozenset({"programme-lead", "shift-lead", "trained-observer", "occupational-health"}),
    "take-exposure": frozenset({"occupational-health"}),
    "see-first-aid": _EVERY - {"administrator"},
    "edit-first-aid": frozenset({"programme-lead"}),
    "see-rooms": _EVERY - {"administrator", "occupational-health"},
    "edit-rooms": frozenset({"programme-lead"}),
    "see-heat": frozenset({"programme-lead", "shift-lead", "trained-observer"}),
    "set-heat-gear": frozenset({"programme-lead"}),
    "write-room-check": frozenset({"programme-lead", "shift-lead", "trained-observer", "staff-member"}),
    "make-up-disinfectant": frozenset({"programme-lead", "shift-lead", "trained-observer", "staff-member"}),
    "close-bag": frozenset({"programme-lead", "shift-lead", "trained-observer", "staff-member"}),
    "tell-result": frozenset({"programme-lead", "shift-lead"}),
    "release-bag": frozenset({"programme-lead"}),
    "collect-bag": frozenset({"programme-lead", "shift-lead"}),
    "see-people": frozenset({"administrator", "programme-lead"}),
    "give-access": frozenset({"administrator"}),
    "see-register": frozenset({"programme-lead", "shift-lead", "occupational-health", "auditor"}),
    "see-registered": _EVERY - {"administrator"},
    "edit-register": frozenset({"programme-lead"}),
    "note-on-register": frozenset({"programme-lead", "occupational-health"}),
    "export-register": frozenset({"programme-lead", "occupational-health"}),
    "see-who-can-go-in": frozenset({"programme-lead", "shift-lead", "trained-observer", "occupational-health"}),
    "see-stock": frozenset({"programme-lead", "shift-lead", "trained-observer", "staff-member", "auditor"}),
    "move-stock": frozenset({"programme-lead", "shift-lead", "trained-observer"}),
    "hold-lot": frozenset({"programme-lead", "shift-lead"}),
    "edit-stock": frozenset({"programme-lead"}),
    "export-stock": frozenset({"programme-lead", "shift-lead", "auditor"}),
    "manage-tablets": frozenset({"programme-lead", "shift-lead"}),
    "set-own-badge": SIGNED_IN,
    "open-tablet": ANYONE,
    "enrol-tablet": ANYONE,
    "identify-on-tablet": ENROLLED,
    "carry-entry": ENROLLED,
    "send-events": ENROLLED,
}
"""What each action needs: a role of these, or only to be signed in, or the token of an enrolled tablet, or nothing."""

ACTION_NAMES: Mapping[str, str] = {
    "sign-in": "sign in",
    "sign-out": "sign out",
    "choose-language": "choose the language of the pages",
    "set-own-second-factor": "set up, renew or end one's own second factor",
    "see-home": "see the first page",
    "plan-case": "plan for a case",
    "see-plans": "see a plan with routes and further errors",
    "approve-plan": "approve a plan as a procedure",
    "override-refusal": "record a named override where the gear cannot protect",
    "retire-procedure": "retire a procedure",
    "assure-again": "assure a procedure again on today's facts",
    "see-facts": "see the facts in force and what is laid over ours",
    "adopt-facts": "adopt an overlay of the hospital's own facts",
    "see-case-table": "see the table from case to procedure",
    "edit-case-table": "change the table from case to procedure",
    "record-practice": "write down who practised a procedure",
    "see-procedures": "see the list of procedures",
    "see-orders": "see published orders with what the model finds",
    "compare-sequences": "compare two sequences",
    "explain-verdict": "ask why a verdict is what it is",
    "substitute-item": "work out a plan without an item (nothing is stored)",
    "see-case-change": "work out what a change of case means for those inside (nothing is stored)",
    "weigh-rules": "see what each published rule costs or buys (nothing is stored)",
    "see-amounts": "see estimates of how much reaches where (nothing is stored)",
    "see-ready": "see what is ready tonight and ahead, and keep a calendar feed of it",
    "see-forecast": "see how long a stay lasts (nothing is stored)",
    "see-coverage": "see who covers what (an auditor: by staff code)",
    "edit-rota": "ask for a rota",
    "take-roster": "take or leave a proposed roster, and change a cell of the one taken",
    "see-own-shifts": "see one's own shifts, and keep a calendar feed of them",
    "set-team-need": "set the team that a shift needs at least",
    "read-feed": "read a calendar feed by its secret address (no names of people)",
    "print-sheet": "print a procedure's sheet",
    "start-entry": "start an entry",
    "lead-entry": "lead an entry (its own observer, or a shift lead)",
    "see-wearer-screen": "see the wearer's screen (those in the entry, or a shift lead)",
    "see-records": "see records (observers and staff: their own)",
    "correct-record": "correct a record with a reason (observers: their own)",
    "sign-record": "sign the record of an entry that one was part of",
    "transcribe-entry": "write down late what was led by the printed sheet",
    "take-records-away": "take a record away as JSON, CSV or on paper",
    "see-contradictions": "see where devices contradict each other",
    "see-entry-log": "see and print the log of entries by room and day",
    "see-exposures": "see exposures (site and sort: occupational health alone)",
    "take-exposure": "take an exposure up for follow-up",
    "see-first-aid": "see the unit's first-aid texts",
    "edit-first-aid": "write a version of a first-aid text",
    "see-rooms": "see rooms, their checks, what was made up and waste on hold",
    "see-heat": "see heat: the entry's clock, screening, prediction, what was measured",
    "set-heat-gear": "write how warm a procedure's work and clothing are",
    "edit-rooms": "write a room in the register",
    "write-room-check": "write a reading of a room",
    "make-up-disinfectant": "work out disinfectant and write that it was made up",
    "close-bag": "write that a numbered bag of waste was closed",
    "tell-result": "write the result of a case, on which bags wait",
    "release-bag": "let a bag go, in its stream or into another",
    "collect-bag": "write that a released bag was handed over",
    "see-people": "see who has which role, and every change of it",
    "give-access": "add somebody, give and take roles, end a sign-in, give a new code, take a lost second factor away",
    "see-register": "see the register of people (body measures: the lead and health alone)",
    "see-registered": "see one person's page (observers and staff: their own)",
    "edit-register": "add to the register and import to it",
    "note-on-register": "write a note on somebody (medical clearance: occupational health alone)",
    "export-register": "export the register (medical findings: occupational health alone)",
    "see-who-can-go-in": "see who can go in now (observers: may or may not)",
    "see-stock": "see what is on the shelf",
    "move-stock": "receive, move, use, count and scan stock, and note what happens to a powered unit",
    "hold-lot": "put a lot on hold, or let it go",
    "edit-stock": "import stock, set reserves, add powered units",
    "export-stock": "export stock and its ledger",
    "manage-tablets": "enrol a tablet, and take its enrolment back",
    "set-own-badge": "set one's own badge and PIN",
    "open-tablet": "open the tablet's own page (it holds nothing until the tablet is enrolled)",
    "enrol-tablet": "enrol a tablet with a code that a lead has given",
    "identify-on-tablet": "say with badge and PIN who is at an enrolled tablet",
    "carry-entry": "take an entry onto an enrolled tablet (someone who may lead it, identified there)",
    "send-events": "send and fetch events of an entry that the tablet carries",
}


def allowed(action: str, roles: Collection[str], *, signed_in: bool) -> bool:
    """Whether someone with these roles may do this. An action that the table does not hold: no."""
    need = TABLE.get(action)
    if need is None:
        return False
    if need == ANYONE:
        return True
    if not signed_in:
        return False
    if need == ENROLLED:
        return False  # no role and no sign-in does; the door looks at the tablet's token
    return need == SIGNED_IN or bool(frozenset(need) & frozenset(roles))
