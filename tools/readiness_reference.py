"""Schemas and examples of what readiness reads and says: a stay, its forecast, and whether a hospital is ready."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tools.estimates_reference import _short

from vestry.people import Clearance, Competency, Person, Tried, need_of
from vestry.readiness import (
    Forecast,
    Here,
    ProcedureHere,
    Question,
    RoomHere,
    Stay,
    TeamNeed,
    Tonight,
    forecast,
    read_stay,
    tonight,
)
from vestry.roster import Roster, Rota, propose, read_rota
from vestry.sequence import Plan
from vestry.stock import Lot, Where
from vestry.trade import Catalogue, load_catalogue
from vestry.trade.standards import load_standards
from vestry.trade.values import Value

EXAMPLES = Path(__file__).parent.parent / "docs/reference/examples"


class Answers(Value):
    """What `ready --json` prints: one answer for each hazard asked about."""

    answers: tuple[Tonight, ...]


FORMATS = {"stay": Stay, "forecast": Forecast, "rota": Rota, "roster": Roster, "ready": Answers}


def schemas() -> Iterator[tuple[str, str]]:
    """Path below docs/reference to the text of a schema."""
    for name, model in FORMATS.items():
        yield f"schemas/{name}.json", _json(model.model_json_schema(by_alias=True))


def examples() -> Iterator[tuple[str, str]]:
    """The forecast of the example stay and the roster of the example rota, which are written by hand."""
    catalogue = load_catalogue()
    stay = read_stay((EXAMPLES / "stay.toml").read_text("utf-8"), "stay.toml", catalogue, draws=200)
    yield "examples/forecast.json", _json(_short(forecast(stay, catalogue).as_json()))
    rota = read_rota((EXAMPLES / "rota.toml").read_text("utf-8"), "rota.toml")
    yield "examples/roster.json", _json(propose(rota).as_json())
    yield "examples/ready.json", _json(_short(_ready(catalogue)))


def _ready(catalogue: Catalogue) -> dict[str, Any]:
    """Of an invented hospital: one who may go in until a competency lapses, nobody beside, and nothing counted yet."""
    plan, day = Plan.model_validate_json((EXAMPLES / "plan.json").read_text("utf-8")), datetime.date(2026, 6, 1)
    needed = need_of(plan, catalogue).items
    kinds = {catalogue.items[item].kind: catalogue.items[item].sizes for item in needed}
    wearer = Person(
        id="p-1",
        competencies=(Competency(subject="example", duty="wearer", on=datetime.date(2026, 3, 10), months=3),),
        clearances=(Clearance(on=datetime.date(2026, 1, 5), cleared="any"),),
        tried=tuple(Tried(what=kind, size=sizes[0]) for kind, sizes in sorted(kinds.items()) if sizes),
    )
    lots = tuple(
        Lot(id=item, item=item, size=(catalogue.items[item].sizes or ("one-size",))[0], number=f"L-{n}")
        for n, item in enumerate(needed)
    )
    here = Here(
        procedures=(ProcedureHere("dry", "example", 1, plan, review_on=datetime.date(2026, 6, 20)),),
        people=(wearer,),
        lots=lots,
        counts={Where(one.id, "store"): 40 for one in lots},
        rooms=(RoomHere("room-1", until=day),),
    )
    question = Question(hazard=plan.case.hazard, on=day, hours=12, presentations=("dry",))
    team = TeamNeed(wearer=1, observer=1, assistant=0)
    return {"answers": [tonight(question, here, catalogue, load_standards(), team=team).as_json()]}


def _json(document: Any) -> str:
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"
