"""What is said beside the steps, and what it does to the state. None of it moves the place."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from vestry.entry.events import Event
from vestry.entry.now import Now
from vestry.entry.state import Checked, Crossing, Injected, Noted

Handler = Callable[[Now, Event], None]


def _note(what: str = "", note: str = "note") -> Handler:
    """Kept with the field that says what about."""

    def handle(now: Now, event: Event) -> None:
        now.noted.append(Noted(event.clock, event.kind, event.text(what), event.step, event.text(note)))

    return handle


def _confirmed(name: str, what: str) -> Handler:
    """The area or the signals, with the version of the unit's list that was gone through, where there was one."""

    def handle(now: Now, event: Event) -> None:
        if event.texts("not-in-order"):
            now.flag(event, f"{what} with something not in order")
        now.times.setdefault(name, event.clock)
        now.noted.append(Noted(event.clock, event.kind, event.text("list"), note=event.text("note")))

    return handle


def _item_checked(now: Now, event: Event) -> None:
    """What was said last of an item counts; that it was once not in order stays."""
    check, item, says = event.text("check"), event.text("item"), event.text("says")
    before = now.checks.get((check, item))
    once_not = says != "in-order" or (before is not None and before.once_not)
    now.checks[check, item] = Checked(event.clock, check, item, says, once_not)


def _person_checked(now: Now, event: Event) -> None:
    """Not may counts until someone says may again; both stay in the record."""
    now.may_go_in = event.flag("may")
    now.noted.append(Noted(event.clock, event.kind, "may" if now.may_go_in else "may-not"))


def _overridden(now: Now, event: Event) -> None:
    """The rules stay broken, and flagged; here stands who went on all the same."""
    rules = ", ".join(event.texts("rules"))
    now.flag(event, f"a rule was overridden by name: {rules}")
    if event.text("signed") == "told":
        now.flag(event, "the override was told, not signed by who decided")
    now.noted.append(Noted(event.clock, event.kind, event.text("decided-by"), note=event.text("reason")))


def _entered(now: Now, event: Event) -> None:
    if "entered" in now.times:
        now.flag(event, "went in twice")
    if now.may_go_in is False:
        now.flag(event, "went in though may not was said")
    area = "the doffing area was confirmed"
    missing = now.unchecked()
    if "area-confirmed" not in now.times and area not in missing:
        missing.insert(0, area)  # nobody goes in before the way out is ready, whatever the plan asks for
    for said in missing:
        now.flag(event, f"went in before {said}")
    now.times.setdefault("entered", event.clock)


def _left(now: Now, event: Event) -> None:
    if "left" in now.times:
        now.flag(event, "came out twice")
    elif "entered" not in now.times:
        now.flag(event, "came out without having gone in")
    now.times.setdefault("left", event.clock)


def _coming_out(now: Now, event: Event) -> None:
    if "entered" not in now.times:
        now.flag(event, "on the way out without having gone in")
    now.times.setdefault("coming-out", event.clock)
    now.noted.append(Noted(event.clock, event.kind, note=event.text("note")))


def _item_crossed(now: Now, event: Event) -> None:
    said = {name: event.text(name) for name in ("item", "direction", "label", "receiver", "note")}
    wiped = event.flag("wiped") if "wiped" in event.payload else None
    now.crossings.append(Crossing(event.clock, wiped=wiped, **said))
    now.noted.append(Noted(event.clock, event.kind, said["item"], event.step, said["note"]))


def _unwell(now: Now, event: Event) -> None:
    """Trouble of the wearer's own, at a stop: what the prepared sequence is chosen by until the hold ends."""
    what = event.text("what") or "unwell"
    now.meet(event)
    if now.held is not None:
        now.held = replace(now.held, trouble=what)
    now.noted.append(Noted(event.clock, event.kind, event.text("what"), event.step, event.text("note")))


def _hygiene(now: Now, event: Event) -> None:
    short = "short" if event.flag("short") else ""
    now.noted.append(Noted(event.clock, event.kind, event.text("seconds"), event.step, short))


def _handed_over(now: Now, event: Event) -> None:
    to = event.text("to")
    if not to:
        now.flag(event, "handed over to nobody")
    elif to == now.people.get("observer"):
        now.flag(event, "handed over to the one who leads already")
    else:
        now.people["observer"] = to
        if event.payload.get("identified") is False:
            now.flag(event, "handed over without badge and PIN")
    now.noted.append(Noted(event.clock, event.kind, to, note=event.text("note")))


def _device_taken_over(now: Now, event: Event) -> None:
    """The latest to say so leads. Others may go on observing; what they say counts as before."""
    if now.leads == event.device:
        now.flag(event, "taken over by the device that leads already")
    now.leads = event.device
    now.noted.append(Noted(event.clock, event.kind, event.device, note=event.text("note")))


def _late_transcribed(now: Now, event: Event) -> None:
    """What this device says from here on was on paper first."""
    if event.device not in now.transcribing:
        now.transcribing.append(event.device)
    now.noted.append(Noted(event.clock, event.kind, event.text("by"), note=event.text("note")))


def _injected(now: Now, event: Event) -> None:
    """It changes nothing that was done or may be contaminated: what the team says of it does."""
    what = event.text("what")
    if not now.drill:
        now.flag(event, "put in for a drill, and this is none")
    else:
        now.injected.append(Injected(event.clock, what, event.step, event.text("surface") or None))
    now.noted.append(Noted(event.clock, event.kind, what, event.step, event.text("surface")))


def _reached(now: Now, event: Event) -> None:
    now.meet(event)
    now.noted.append(Noted(event.clock, event.kind, event.text("site"), event.step, event.text("sort")))


def _signed(now: Now, event: Event) -> None:
    if any(one.kind == "signed" and one.what == event.actor for one in now.noted):
        now.flag(event, "signed twice by the same person")
    now.noted.append(Noted(event.clock, event.kind, event.actor))


def _correction(now: Now, event: Event) -> None:
    now.corrections.append(event.id)


def _content_removed(now: Now, event: Event) -> None:
    """It tells of the record and changes nothing of the entry."""


NOTING: Mapping[str, Handler] = {
    "item-checked": _item_checked,
    "area-confirmed": _confirmed("area-confirmed", "the doffing area was confirmed"),
    "person-checked": _person_checked,
    "signal-checked": _confirmed("signal-checked", "signals were checked"),
    "overridden": _overridden,
    "unwell": _unwell,
    "glove-changed": _note(),
    "hygiene-timed": _hygiene,
    "entered": _entered,
    "item-crossed": _item_crossed,
    "relief-called": _note(),
    "coming-out": _coming_out,
    "left": _left,
    "breach": _reached,
    "exposure": _reached,
    "inspected": _note(),
    "observer-handed-over": _handed_over,
    "device-taken-over": _device_taken_over,
    "correction": _correction,
    "signed": _signed,
    "late-transcribed": _late_transcribed,
    "drill-injected": _injected,
    "content-removed": _content_removed,
}
