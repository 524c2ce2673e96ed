"""What every page needs around it: who is signed in, what they may do, the caution, the mark of the demonstration."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from vestry.hospital.bar import bar
from vestry.hospital.language import offered, words_now

CAUTION = _("Supports trained people; replaces neither local procedure nor judgement. Local procedure governs.")


class May:
    """`may.plan_case` in a template: whether the visitor may."""

    def __init__(self, user: Any) -> None:
        self._user = user

    def __getitem__(self, name: str) -> bool:
        user = self._user
        return bool(user and user.is_authenticated and user.may(name.replace("_", "-")))


def frame(request: HttpRequest) -> dict[str, Any]:
    from vestry.hospital.desk.models import Unit  # models need the apps

    unit, words = Unit.current(), words_now()
    may = May(getattr(request, "user", None))
    here = {"cases": "case", "case-table": "procedures"}.get(first := request.path.split("/")[1], first)
    return {
        "may": may,
        "bar": bar(may.__getitem__, here),
        "caution": CAUTION,
        "cautions": words.cautions,
        "language": words.language,
        "languages": offered(),
        "unit": unit,
        "here": here,
    }
