"""Schemas and examples of what readiness reads and says: a stay, its forecast."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tools.estimates_reference import _short

from vestry.readiness import Forecast, Stay, forecast, read_stay
from vestry.roster import Roster, Rota, propose, read_rota
from vestry.trade import load_catalogue

EXAMPLES = Path(__file__).parent.parent / "docs/reference/examples"
FORMATS = {"stay": Stay, "forecast": Forecast, "rota": Rota, "roster": Roster}


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


def _json(document: Any) -> str:
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"
