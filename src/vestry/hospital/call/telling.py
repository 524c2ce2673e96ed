"""A call in words: what is missing, when donning must begin and how that is computed, what was said."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _later
from django.utils.translation import ngettext

from vestry.call import LatestStart, Shortfall, Stretch, TeamNow
from vestry.call.happened import Happened
from vestry.sequence.timing import total

KINDS = {
    "asked": _later("called"),
    "coming": _later("coming"),
    "cannot": _later("cannot come"),
    "no-answer": _later("no answer"),
    "arrived": _later("here"),
    "left": _later("gone home"),
    "made": _later("call made"),
    "expected": _later("arrival"),
    "transfer": _later("hold for transfer"),
    "stay": _later("stays here"),
    "stood-down": _later("stood down"),
    "closed": _later("closed"),
}
STAYS = {
    "undecided": _later("transfer or stay: not decided"),
    "transfer": _later("until transfer"),
    "stay": _later("to stay"),
}
PARTS = {
    "observer": _later("the observer dresses"),
    "assistant": _later("the doffing assistant dresses"),
    "before": _later("area, person and signals"),
    "wearer": _later("the wearer dons, up to the door"),
}


def clock(moment: datetime.datetime | None) -> str:
    """Time of day where the hospital is; with the day where it is not today."""
    if moment is None:
        return ""
    local, today = timezone.localtime(moment), timezone.localdate()
    return local.strftime("%H:%M" if local.date() == today else "%-d %b %H:%M")


def missing_told(missing: Iterable[Shortfall]) -> list[str]:
    """`1 trained observer`, a line for each part."""
    return [part_told(one.duty, one.missing) for one in missing]


def part_told(duty: str, count: int) -> str:
    """`2 wearers`."""
    if duty == "wearer":
        return ngettext("%(n)d wearer", "%(n)d wearers", count) % {"n": count}
    if duty == "observer":
        return ngettext("%(n)d trained observer", "%(n)d trained observers", count) % {"n": count}
    return ngettext("%(n)d doffing assistant", "%(n)d doffing assistants", count) % {"n": count}


def team_told(team: TeamNow) -> str:
    """Whether the minimum team is here, in one sentence."""
    if team.present:
        return _("The minimum team is here.")
    missing = _joined(missing_told(team.missing))
    if team.whole_at is not None:
        return _("Missing: %(missing)s. Complete at %(time)s, if those who are coming arrive as they said.") % {
            "missing": missing,
            "time": clock(team.whole_at),
        }
    still = _joined(missing_told(team.then_missing))
    if still == missing:
        return _("Missing: %(missing)s. Nobody who is coming fills it.") % {"missing": missing}
    return _("Missing: %(missing)s. Once all who are coming are here: %(still)s.") % {
        "missing": missing,
        "still": still,
    }


def _joined(parts: list[str]) -> str:
    return ", ".join(parts)


def start_told(start: LatestStart) -> str:
    """When donning must begin, in one sentence."""
    match start.state:
        case "begun":
            return _("Somebody is being dressed.")
        case "unknown" if not start.stretches:
            return _("No latest start: the table names no procedure to take.")
        case "unknown":
            return _("No latest start: nobody said when the patient is expected.")
        case "too-late":
            minutes = start.too_late_by
            late = ngettext("Too late by %(n)d minute.", "Too late by %(n)d minutes.", minutes) % {"n": minutes}
            return f"{late} " + _("Begin now, and tell whoever brings the patient.")
        case "tight":
            return _("Begin now: only at the usual pace or quicker is it in time. At the latest %(usual)s.") % {
                "usual": clock(start.usual)
            }
        case _:
            return _("Begin by %(slow)s, at the latest %(usual)s.") % {
                "slow": clock(start.slow),
                "usual": clock(start.usual),
            }


def stretch_told(one: Stretch) -> dict[str, object]:
    """A part of the way to the door as a row: who, steps, minutes from brisk to slow."""
    return {
        "name": PARTS[one.name],
        "steps": one.steps,
        "usual": minutes(one.span.seconds),
        "least": minutes(one.span.least),
        "most": minutes(one.span.most),
        "counts": one.counts,
    }


def whole_told(start: LatestStart) -> dict[str, object]:
    """The sum of the parts that count."""
    span = total(one.span for one in start.stretches if one.counts)
    return {"usual": minutes(span.seconds), "least": minutes(span.least), "most": minutes(span.most)}


def minutes(seconds: int) -> int:
    """Whole minutes, upwards."""
    return -(-seconds // 60)


def line_told(one: Happened, names: dict[str, str], calls: dict[str, str]) -> dict[str, object]:
    """One line of the log."""
    what = str(KINDS.get(one.kind, one.kind))
    if one.kind in ("coming", "expected") and one.due:
        what = f"{what} {clock(one.due)}"
    who = names.get(one.subject) or calls.get(one.subject, "")
    late = (one.written - one.when).total_seconds() > 120
    return {
        "key": one.id,
        "when": clock(one.when),
        "who": who,
        "what": what,
        "note": one.note,
        "by": one.by,
        "late": clock(one.written) if late else "",
    }
