"""A set-up file in, an experiment out; every name that means nothing is told with its line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from difflib import get_close_matches
from fnmatch import fnmatchcase

from vestry.experiment.setup import Arm, Check, Experiment, Outcome, Setup
from vestry.trade import BadFacts, Catalogue, Evidence, Problem, reading
from vestry.trade.crosscheck import NO_SOURCE_NEEDED
from vestry.trade.orders import packaged_orders
from vestry.trade.words import UnknownWord, load_words

FEW = 14
UNION = ("constrained-", "function-", "literal[", "float", "int")
AN_AMOUNT = "an amount of 0 or more, a distribution as { kind = ... }, or where loads are given none, low or high"
NEEDS_SITES = ("any", "count", "fraction", "amount", "importance")


def read_experiment(text: str, file: str, catalogue: Catalogue, evidence: Evidence) -> Experiment:
    """The experiment in this text (TOML, or JSON when the name ends in .json); BadFacts with every problem."""
    document, lines = reading.parse(text, file)
    try:
        experiment = reading.validate(Experiment, document, file, lines)
    except BadFacts as bad:
        raise BadFacts(_told_once(bad.problems)) from None
    problems = [
        Problem(file, reading.line_of(lines, path), ".".join(map(str, path)), what)
        for path, what in _Names(experiment, catalogue, evidence).problems()
    ]
    if problems:
        raise BadFacts(problems)
    return experiment


def _told_once(problems: Iterable[Problem]) -> list[Problem]:
    """What is no amount, no distribution and no load class is told once, not once for each that it is not.

    A table was meant as a distribution: what is wrong with it as one is told. That there is no arm is not told where
    the arms that there are cannot be read.
    """
    problems = list(problems)
    within = {one.field.partition(".")[0] for one in problems if "." in one.field}
    problems = [one for one in problems if one.field not in within or "at least 1 item" not in one.what]
    told: dict[tuple[int, str], Problem] = {}
    for one in problems:
        parts = one.field.split(".")
        at = next((n for n, part in enumerate(parts) if part.startswith(UNION)), None)
        if at is None:
            told[one.line, one.field] = one
            continue
        field, sort = ".".join(parts[:at]), ".".join(parts[at:])
        key = (one.line, field)
        if sort.startswith("function-") and "valid dictionary" not in one.what:
            told[key] = replace(one, field=field)
        elif key not in told and sort.startswith(("constrained-", "float", "int")):
            told[key] = replace(one, field=field, what=f"{one.what}; wanted is {AN_AMOUNT}")
    return list(told.values())


Found = Iterator[tuple[reading.Path, str]]


class _Names:
    def __init__(self, experiment: Experiment, catalogue: Catalogue, evidence: Evidence) -> None:
        self.experiment, self.catalogue, self.evidence = experiment, catalogue, evidence

    def problems(self) -> Found:
        """Every name that means nothing, and every arm that is nothing or two things."""
        experiment = self.experiment
        for index, basis in enumerate(experiment.based_on):
            at: reading.Path = ("based-on", index)
            if not (basis.source in NO_SOURCE_NEEDED and basis.certainty in NO_SOURCE_NEEDED):
                yield from self._known((*at, "source"), [basis.source], self.evidence.sources, "source")
            yield from self._known((*at, "measurements"), basis.measurements, self.evidence.measurements, "measurement")
        yield from self._known(("fitted",), experiment.fitted, self.evidence.records, "record of evidence")
        yield from self._setup(("setup",), experiment.setup)
        for index, arm in enumerate(experiment.arm):
            yield from self._arm(("arm", index), arm)
        for index, outcome in enumerate(experiment.outcome):
            yield from self._outcome(("outcome", index), outcome)
        for index, check in enumerate(experiment.check):
            yield from self._check(("check", index), check)
        for table in ("arm", "outcome", "check"):
            ids = [one.id for one in getattr(experiment, table)]
            for index, one in enumerate(ids):
                if one in ids[:index]:
                    yield (table, index, "id"), f"{one} stands twice"

    def _arm(self, at: reading.Path, arm: Arm) -> Found:
        yield from self._setup(at, arm)
        whole = arm.over(self.experiment.setup)
        given = [
            name
            for name in ("protocol", "steps", "edge", "cleaning", "decay", "implied")
            if getattr(whole, name) is not None
        ]
        if len(given) != 1:
            here = ", ".join(given) or "none"
            yield at, f"an arm has exactly one of protocol, steps, edge, cleaning, decay, implied (here {here})"
        if given == ["steps"] and whole.worn is None:
            yield at, "an arm with steps says what is worn"

    def _setup(self, at: reading.Path, setup: Setup) -> Found:
        catalogue = self.catalogue
        yield from self._known(
            (*at, "protocol"), [setup.protocol] if setup.protocol else [], packaged_orders(), "shipped order"
        )
        yield from self._known((*at, "worn"), setup.worn or (), catalogue.items, "item")
        yield from self._known((*at, "agent"), [setup.agent] if setup.agent else [], catalogue.agents, "agent")
        if setup.cleaning is not None:
            yield from self._known((*at, "cleaning", "agent"), [setup.cleaning.agent], catalogue.agents, "agent")
        for name in setup.loads or {}:
            if not any(fnmatchcase(known, name) for known in self.evidence.natures):
                yield from self._known((*at, "loads", name), [name], self.evidence.natures, "surface")
        for index, step in enumerate(setup.steps or ()):
            where = (*at, "steps", index)
            yield from self._known(where, step.handled, catalogue.items, "item")
            yield from self._known(where, [step.agent] if step.agent else [], catalogue.agents, "agent")
            known = {technique.id for technique in catalogue.techniques}
            yield from self._known(where, [step.technique] if step.technique else [], known, "technique")

    def _outcome(self, at: reading.Path, outcome: Outcome) -> Found:
        if outcome.measure in NEEDS_SITES and not outcome.sites:
            yield (*at, "sites"), f"{outcome.measure} is looked at on sites; name them"
        for site in outcome.sites:
            names = [*self.evidence.natures, "donor", "recipient"]
            if not any(fnmatchcase(known, site) for known in names):
                yield from self._known((*at, "sites"), [site], names, "surface")
        if (outcome.measure == "importance") != bool(outcome.families):
            yield (*at, "families"), "families of steps belong to importance, and only to it"

    def _check(self, at: reading.Path, check: Check) -> Found:
        arms = [arm.id for arm in self.experiment.arm]
        outcomes = {outcome.id: outcome for outcome in self.experiment.outcome}
        yield from self._known((*at, "arm"), [check.arm], arms, "arm")
        yield from self._known((*at, "against"), [check.against] if check.against else [], arms, "arm")
        named = [one for one in (check.outcome, check.against_outcome) if one]
        yield from self._known((*at, "outcome"), named, outcomes, "outcome")
        if check.compare in ("value", "ratio", "difference") and (check.outcome is None or check.tolerance is None):
            yield at, f"a {check.compare} has outcome and tolerance"
        if check.compare in ("ratio", "difference") and bool(check.against) == bool(check.against_outcome):
            yield at, f"a {check.compare} is against another arm or against another outcome"
        if check.compare == "order":
            yield from self._known((*at, "order"), check.order, outcomes, "outcome")
            if len(check.order) < 2:
                yield (*at, "order"), "an order has at least two outcomes"
        if check.compare == "top":
            one = outcomes.get(check.outcome or "")
            if one is None or one.measure != "importance" or check.at_least is None or check.of_first is None:
                yield at, "top has an outcome that measures importance, at-least and of-first"
            else:
                yield from self._known((*at, "order"), check.order, one.families, "family of steps")

    def _known(self, at: reading.Path, words: Iterable[str], known: Iterable[str], sort: str) -> Found:
        names = sorted(known)
        for word in words:
            if word not in names:
                yield at, f"no {sort} is called {word}{self._hint(word, names, sort)}"

    def _hint(self, word: str, names: list[str], sort: str) -> str:
        """What may have been meant: the items of a kind or of a trade word, the nearest name, or all of a few."""
        if sort == "item":
            meant = [
                item.id for item in self.catalogue.items.values() if item.kind == word or self._also(item.id, word)
            ]
            if meant:
                return f"; in the catalogue that is {' or '.join(meant)}"
        near = get_close_matches(word, names, 1)
        if near:
            return f"; did you mean {near[0]}?"
        return f"; there are {', '.join(names)}" if len(names) <= FEW else f"; `vestry catalog` lists every {sort}"

    def _also(self, item: str, word: str) -> bool:
        said = word.replace("-", " ").lower()
        try:
            names = load_words("en").aliases(item)
        except UnknownWord:  # an item of the hospital's own
            return False
        return any(one.replace("-", " ").lower().rstrip("s") == said.rstrip("s") for one in names)
