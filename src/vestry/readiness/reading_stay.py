"""Text of a file in, a checked stay out; every problem at once, with its line."""

from __future__ import annotations

from collections.abc import Mapping

from vestry.readiness.stay import Stay
from vestry.readiness.stay_checks import checked
from vestry.sequence import Plan
from vestry.sequence.checking import check_plan
from vestry.trade import BadFacts, Catalogue, Problem, reading


def read_stay(
    text: str, file: str, catalogue: Catalogue, plans: Mapping[str, Plan] | None = None, **instead: object
) -> Stay:
    """A stay as TOML or JSON. BadFacts with every problem.

    plans      ensemble id to the plan that it is to wear, in place of what the file lists
    instead    fields of the stay to take in place of the file's (hours, draws, seed, target)
    """
    document, lines = reading.parse(text, file)
    document |= {name.replace("_", "-"): value for name, value in instead.items() if value is not None}
    stay = reading.validate(Stay, document, file, lines)
    stay = _with_plans(stay, plans or {}, file)
    for number, one in enumerate(stay.ensembles):
        if one.plan is not None:
            _check_plan(one.plan, f"ensembles.{number}.plan", file, catalogue)
    return checked(stay, catalogue, file, lines)


def _with_plans(stay: Stay, plans: Mapping[str, Plan], file: str) -> Stay:
    known = [one.id for one in stay.ensembles]
    strange = [name for name in plans if name not in known]
    if strange:
        there = ", ".join(known)
        raise BadFacts([Problem(file, 0, "ensembles", f"none is called {one}; there are {there}") for one in strange])
    bare = {"wearer": (), "observer": (), "assistant": ()}
    ensembles = tuple(
        one.model_copy(update={"plan": plans[one.id], **bare}) if one.id in plans else one for one in stay.ensembles
    )
    return stay.model_copy(update={"ensembles": ensembles})


def _check_plan(plan: Plan, at: str, file: str, catalogue: Catalogue) -> None:
    try:
        check_plan(plan, catalogue)
    except BadFacts as bad:
        problems = [Problem(file, 0, f"{at}.{one.field}".rstrip("."), one.what) for one in bad.problems]
        raise BadFacts(problems) from None
