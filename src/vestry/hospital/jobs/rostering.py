"""Proposing a roster beside the page that asked. The same rota gives the same roster, so nothing of it is stored."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from vestry.hospital.jobs.beside import Beside
from vestry.roster import Roster, Rota, propose
from vestry.roster.closing import closing
from vestry.roster.found import Closing


@dataclass(frozen=True)
class State:
    """What is proposed, or why nothing is; neither while it is under way. `name`: of exactly this proposal."""

    found: Roster | None = None
    closing: Closing | None = None
    why: str = ""

    @property
    def waiting(self) -> bool:
        """Whether it is still under way."""
        return self.found is None and self.closing is None and not self.why

    @property
    def name(self) -> str:
        """What is taken has to be what was seen."""
        return hashlib.sha256(self.found.model_dump_json().encode()).hexdigest()[:32] if self.found else ""


_WORK: Beside[State] = Beside("rostering", lambda why: State(why=why), patience=1.0)


def proposed(rota: Rota) -> State:
    """The proposal for a rota that has been checked, or that it is under way; asking starts it, once."""
    return _WORK.answer(rota.model_dump_json(), lambda: State(propose(rota))) or State()


def closed(rota: Rota, uncovered: int) -> State:
    """The smallest change that would close so many empty places of a rota whose roster is settled (`fixed`)."""
    return _WORK.answer(f"closing {rota.model_dump_json()}", lambda: State(closing=closing(rota, uncovered))) or State()
