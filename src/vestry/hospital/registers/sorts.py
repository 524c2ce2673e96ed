"""What can be imported: for each sort of list its columns, and from a row to what would be stored.

docs/reference/register-files.md says what each column means; a test holds the two together.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError as FormError
from pydantic import ValidationError

from vestry.hospital.language import SOURCE, words_of
from vestry.hospital.registers.able import subjects
from vestry.hospital.registers.cells import Cells, plain
from vestry.hospital.registers.columns import SORTS, Sort
from vestry.hospital.registers.files import MOST_PROBLEMS, BadFile, Row
from vestry.hospital.registers.forms import exercises, items
from vestry.hospital.registers.models import PersonNote, RegisteredPerson, StockLot
from vestry.hospital.registers.stock_forms import size_fits, sizes_of, stocked
from vestry.people import read_note, standing
from vestry.stock import Lot
from vestry.trade.tables import DateOrder, RowProblem
from vestry.trade.told import told

TRIED = ("gloves", "gown", "coverall", "boots")


@dataclass(frozen=True)
class NewNote:
    """A note that would be written on somebody, by their code."""

    code: str
    kind: str
    said: dict[str, Any]


@dataclass(frozen=True)
class NewPerson:
    """Somebody who would be added."""

    code: str
    name: str
    sign_in: str
    duties: tuple[str, ...]


@dataclass(frozen=True)
class NewStock:
    """A lot (perhaps known), and how much of it would be received where."""

    lot: dict[str, Any]
    quantity: int
    place: str
    known: bool


@dataclass(frozen=True)
class Read:
    """What a list would change: new people, notes, stock; and how many rows say what is known already."""

    people: tuple[NewPerson, ...] = ()
    notes: tuple[NewNote, ...] = ()
    stock: tuple[NewStock, ...] = ()
    known: int = 0


def names_of(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Id and name of each thing to its id."""
    found: dict[str, str] = {}
    for key, name in pairs:
        found |= {plain(key): key, plain(name): key}
    return found


def read_rows(sort: str, rows: list[Row], order: DateOrder) -> Read:
    """What these rows would change. BadFile with every problem of every row; then nothing of it may be taken."""
    problems = column_problems(SORTS[sort], rows)
    if problems:
        raise BadFile(problems)
    read, problems = READERS[sort]([Cells(row, order) for row in rows])
    if problems:
        raise BadFile(problems)
    return read


def column_problems(sort: Sort, rows: list[Row]) -> list[RowProblem]:
    """Columns that are strange, and cells that have to be filled in and are not."""
    known = {one.name for one in sort.columns}
    problems: list[RowProblem] = []
    strange = {name for row in rows for name in row.cells} - known
    there = ", ".join(one.name for one in sort.columns)
    problems += [
        RowProblem(0, name, told("no such column; %(list)s have %(there)s", list=sort.title.lower(), there=there))
        for name in sorted(strange)
    ]
    for row in rows:
        for one in sort.columns:
            if one.needed and one.name not in row.cells and len(problems) < MOST_PROBLEMS:
                problems.append(RowProblem(row.line, one.name, told("is missing")))
    return problems


Reader = Callable[[list[Cells]], tuple[Read, list[RowProblem]]]


def _people(rows: list[Cells]) -> tuple[Read, list[RowProblem]]:
    from vestry.hospital.access.models import User

    there = {plain(one.code): one for one in RegisteredPerson.objects.all()}
    by_name = {plain(one.name): one.code for one in there.values()}
    users = {one.sign_in: one for one in User.objects.all()}
    taken = {one.user_id for one in there.values() if one.user_id}
    standing_now = _standing()
    people: list[NewPerson] = []
    notes: list[NewNote] = []
    lines: dict[str, int] = {}
    names: dict[str, int] = {}
    known = 0
    for one in rows:
        code, name = one.text("code"), " ".join(one.text("name").split())
        _once(one, "code", plain(code), lines)
        _once(one, "name", plain(name), names)
        person = there.get(plain(code))
        if person is not None and plain(person.name) != plain(name):
            one.wrong("name", told("%(code)s is %(name)s on the register", code=code, name=person.name))
        if person is None and plain(name) in by_name:
            one.wrong(
                "name",
                told(
                    "%(name)s is on the register as %(other)s; if these are two, add one by hand",
                    name=name,
                    other=by_name[plain(name)],
                ),
            )
        duties = _duties(one)
        _sign_in(one, users, taken, person)
        if len(code) > 40 or len(name) > 120:
            one.wrong("code" if len(code) > 40 else "name", told("is too long"))
        fresh = [said for said in _measured(one) if said not in standing_now.get(plain(code), [])]
        if person is None:
            people.append(NewPerson(code, name, one.text("sign-in").lower(), duties))
        elif not fresh:
            known += 1
        notes += [NewNote(code, kind, said) for kind, said in fresh]
    return Read(tuple(people), tuple(notes), known=known), _all(rows)


def _once(one: Cells, column: str, key: str, lines: dict[str, int]) -> None:
    if key in lines:
        one.wrong(column, told("%(text)s stands on line %(line)s already", text=one.text(column), line=lines[key]))
    lines.setdefault(key, one.row.line)


def _duties(one: Cells) -> tuple[str, ...]:
    known = {"wearer": "wearer", "observer": "observer", "assistant": "assistant"}
    known |= {"trained observer": "observer", "doffing assistant": "assistant"}
    text = one.text("parts") or "wearer"
    found = [known.get(plain(part)) for part in text.replace(",", ";").split(";") if part.strip()]
    if None in found or not found:
        one.wrong("parts", told("%(text)r: wearer, observer, assistant, with semicolons between", text=text))
    return tuple(dict.fromkeys(part for part in found if part is not None))


def _sign_in(one: Cells, users: Mapping[str, Any], taken: set[Any], person: RegisteredPerson | None) -> None:
    text = one.text("sign-in").lower()
    if not text:
        return
    user = users.get(text)
    if user is None:
        one.wrong("sign-in", told("nobody signs in as %(text)r", text=text))
    elif user.pk in taken and (person is None or person.user_id != user.pk):
        one.wrong("sign-in", told("%(text)r belongs to somebody on the register already", text=text))
    elif person is None:
        taken.add(user.pk)
    elif person.user_id != user.pk:
        one.wrong("sign-in", told("this person is on the register already; a sign-in is not changed by a list"))


def _measured(one: Cells) -> list[tuple[str, dict[str, Any]]]:
    """The notes in a row of people: measures, and sizes tried on."""
    found: list[tuple[str, dict[str, Any]]] = []
    height, hand = one.whole("height-mm", 1000, 2500), one.whole("hand-mm", 100, 400)
    length = one.whole("hand-length-mm", 100, 400)
    if length is not None and hand is None and one.text("hand-length-mm"):
        one.wrong("hand-length-mm", told("give hand-mm too"))
    if height is not None or hand is not None:
        said = {"height-mm": height, "hand": {"circumference-mm": hand, "length-mm": length} if hand else None}
        value = one.value("measures", said)
        found += [("measures", value)] if value else []
    for kind in TRIED:
        if one.text(kind):
            value = one.value("tried", {"what": kind, "size": one.text(kind).lower()})
            found += [("tried", value)] if value else []
    return found


def _standing() -> dict[str, list[tuple[str, dict[str, Any]]]]:
    """Code to what is noted and holds: two queries."""
    codes = {one.pk: plain(one.code) for one in RegisteredPerson.objects.only("pk", "code")}
    by_person: dict[str, list[Any]] = {}
    for row in PersonNote.objects.all():
        by_person.setdefault(codes[row.person_id], []).append(row)
    return {
        code: [
            (note.kind, note.said.model_dump(mode="json", by_alias=True))
            for note in standing(read_note(str(row.pk), row.kind, row.said, row.at.isoformat()) for row in rows)
        ]
        for code, rows in by_person.items()
    }


def _noting(kind: str, said_of: Callable[[Cells], Mapping[str, Any]]) -> Reader:
    """A reader of lists with one note a row."""

    def read(rows: list[Cells]) -> tuple[Read, list[RowProblem]]:
        there, codes = _standing(), {plain(one.code): one.code for one in RegisteredPerson.objects.only("code")}
        notes: list[NewNote] = []
        seen: dict[str, int] = {}
        known = 0
        for one in rows:
            code = codes.get(plain(one.text("code")))
            if code is None:
                one.wrong("code", told("nobody on the register has the code %(code)r", code=one.text("code")))
            said = one.value(kind, said_of(one))
            if said is None or code is None:
                continue
            if (kind, said) in there.get(plain(code), []):
                known += 1
                continue
            key = f"{code} {sorted(said.items())}"
            if key in seen:
                one.wrong("code", told("line %(line)s says the same", line=seen[key]))
            seen.setdefault(key, one.row.line)
            notes.append(NewNote(code, kind, said))
        return Read(notes=tuple(notes), known=known), _all(rows)

    return read


def _come(one: Cells, column: str) -> datetime.date | None:
    from django.utils import timezone

    day = one.date(column)
    if day is not None and day > timezone.localdate():
        one.wrong(column, told("%(day)s has not come yet", day=day))
    return day


def _competency(one: Cells) -> Mapping[str, Any]:
    parts = {"wearer": "wearer", "observer": "observer", "assistant": "assistant"}
    return {
        "subject": one.one_of("in", names_of(subjects())),
        "duty": one.one_of("as", parts | {"trained observer": "observer", "doffing assistant": "assistant"}),
        "on": _come(one, "on"),
        "months": one.whole("months", 1, 120),
    }


def _clearance(one: Cells) -> Mapping[str, Any]:
    known = names_of((key, words_of(SOURCE).term("cleared", key)) for key in ("any", "powered-only", "none"))
    return {"cleared": one.one_of("cleared", known), "on": _come(one, "on"), "until": one.date("until")}


def _fit_test(one: Cells) -> Mapping[str, Any]:
    devices = {"half-mask": "half-mask", "half mask": "half-mask"}
    devices |= {"full-facepiece": "full-facepiece", "full facepiece": "full-facepiece"}
    from vestry.hospital.registers.forms import systems

    return {
        "item": one.one_of("respirator", names_of(items(fit_tested=True))),
        "model": one.text("model"),
        "size": one.text("size").lower(),
        "device": one.one_of("class", devices) or "half-mask",
        "system": one.one_of("system", names_of(systems())),
        "method": one.one_of("method", {"quantitative": "quantitative", "qualitative": "qualitative"}),
        "on": _come(one, "on"),
        "exercises": _factors(one),
        "overall": _overall(one),
        "passed": {"yes": True, "no": False}.get(one.one_of("passed", {"yes": "yes", "no": "no"}) or ""),
        "months": one.whole("months", 1, 120),
    }


def _factors(one: Cells) -> list[dict[str, Any]]:
    try:
        return exercises(one.text("factors"))
    except FormError as bad:
        one.wrong("factors", "; ".join(bad.messages))
        return []


def _overall(one: Cells) -> float | None:
    text = one.text("overall")
    if not text:
        return None
    try:
        number = float(text)
    except ValueError:
        number = float("nan")
    if not 0 < number <= 1_000_000:
        one.wrong("overall", told("%(text)r is no factor; a number above 0, with a point for a fraction", text=text))
        return None
    return number


def _stock(rows: list[Cells]) -> tuple[Read, list[RowProblem]]:
    known_items = names_of(stocked())
    there = {(one.item, one.size, one.number, one.model): one for one in StockLot.objects.all()}
    found: list[NewStock] = []
    seen: dict[str, int] = {}
    dates: dict[tuple[str, ...], tuple[int, Any]] = {}
    for one in rows:
        item, size = one.one_of("item", known_items), one.text("size").lower()
        if item and size and not size_fits(item, size):
            one.wrong(
                "size",
                told(
                    "%(item)s comes as %(sizes)s",
                    item=dict(stocked())[item],
                    sizes=", ".join(sizes_of(item)),
                ),
            )
        lot = {
            "item": item or "",
            "size": size,
            "number": one.text("lot"),
            "expiry": one.date("expiry"),
            "gtin": one.text("gtin"),
            "model": one.text("model"),
            "length_mm": one.whole("back-length-mm", 300, 2000),
            "per_scan": one.whole("per-scan", 1, 10_000) or 1,
        }
        quantity, place = one.whole("quantity", 1, 1_000_000), one.text("place").lower()
        _lot_makes_sense(one, lot)
        key = (item or "", size, one.text("lot"), one.text("model"))
        _once(one, "lot", f"{key} {place}", seen)
        row = there.get(key)
        if row is not None and row.expiry != lot["expiry"]:
            one.wrong(
                "expiry", told("this lot is known, with the expiry %(expiry)s", expiry=row.expiry or told("none"))
            )
        line, day = dates.setdefault(key, (one.row.line, lot["expiry"]))
        if day != lot["expiry"]:
            one.wrong("expiry", told("another expiry than on line %(line)s, of the same lot", line=line))
        if quantity is not None:
            found.append(NewStock(lot, quantity, place, row is not None))
    return Read(stock=tuple(found)), _all(rows)


def _lot_makes_sense(one: Cells, lot: Mapping[str, Any]) -> None:
    try:
        Lot(
            id="new",
            item=lot["item"] or "unknown",
            size=lot["size"] or "unknown",
            number=lot["number"] or "unknown",
            gtin=lot["gtin"] or None,
            model=lot["model"] or None,
        )
    except ValidationError as bad:
        for problem in bad.errors():
            column = {"number": "lot"}.get(str(problem["loc"][0]), str(problem["loc"][0]))
            one.wrong(column, told("fourteen digits") if column == "gtin" else str(problem["msg"]))
    place = one.text("place")
    if place and (len(place) > 60 or not all(part.isalnum() for part in place.replace("-", " ").split())):
        one.wrong("place", told("letters, digits, spaces and hyphens"))


def _all(rows: list[Cells]) -> list[RowProblem]:
    return [problem for one in rows for problem in one.problems]


READERS: Mapping[str, Reader] = {
    "people": _people,
    "competencies": _noting("competency", _competency),
    "fit-tests": _noting("fit-test", _fit_test),
    "clearances": _noting("clearance", _clearance),
    "stock": _stock,
}
