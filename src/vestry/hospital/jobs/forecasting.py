"""A forecast beside the page that asked. What was found is kept for a while and stored nowhere."""

from __future__ import annotations

from dataclasses import dataclass

from vestry.hospital.jobs.beside import Beside as Work
from vestry.readiness import Stay
from vestry.readiness.again_with import Beside, beside
from vestry.trade import Catalogue


@dataclass(frozen=True)
class State:
    """What was found, or why there is nothing; neither while it is under way."""

    found: Beside | None = None
    why: str = ""

    @property
    def waiting(self) -> bool:
        """Whether it is still under way."""
        return self.found is None and not self.why


_WORK: Work[State] = Work("forecasting", lambda why: State(why=why), patience=1.5)


def answered(stay: Stay, catalogue: Catalogue) -> State:
    """The forecast of a stay that has been checked, or that it is under way; asking starts it, once."""
    asked = f"{catalogue.digest} {stay.model_dump_json()}"
    return _WORK.answer(asked, lambda: State(beside(stay, catalogue))) or State()
