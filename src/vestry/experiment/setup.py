"""A published experiment as a set-up: what was worn and loaded, what was done, what was looked at, what was found.

Read before it is run, and never changed to meet its checks. docs/reference/experiment-file.md says it for its writers.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from vestry.trade import Step
from vestry.trade.evidence_values import Layer, Material, Trust, Wetness
from vestry.trade.law import Law
from vestry.trade.order import Lane
from vestry.trade.values import Certainty, Id, LoadClass, Presentation, Role, Value, VirusClass, Zone

Marker = Literal["fluorescent", "phage", "culture", "pcr", "virus"]
Amount = Annotated[float, Field(ge=0)] | Law
Relation = Literal["check", "by-construction", "arithmetic"]
MAX_TOUCHES = 200


class Context(Value):
    """Under what circumstances the steps were done; by default by trained people, watched, read aloud.

    months    since last practice     minutes  worn before the first step     climate  None: not known
    """

    trained: bool = True
    observer: bool = True
    read_aloud: bool = True
    months: float = Field(default=0, ge=0, le=600)
    minutes: float = Field(default=0, ge=0, le=1440)
    climate: Literal["hot", "cool"] | None = None


class Edge(Value):
    """One contact alone: a donor touched by a recipient so many times. Amounts start on the donor.

    donor, recipient    materials
    shares              share of donor and of recipient in the contact patch; 1: the whole loaded part is touched
    """

    donor: Material
    recipient: Material
    wetness: Wetness = "wet"
    touches: int = Field(default=1, ge=1, le=MAX_TOUCHES)
    shares: tuple[Annotated[float, Field(gt=0, le=1)], Annotated[float, Field(gt=0, le=1)]] = (1.0, 1.0)


class Cleaning(Value):
    """One hygiene act alone."""

    agent: Id
    layer: Layer
    virus_class: VirusClass
    seconds: float | None = Field(default=None, ge=0)
    soil: Literal["none", "blood"] | None = None


class Decay(Value):
    """Time alone: what dies of itself while somebody undresses."""

    minutes: float = Field(gt=0, le=60)


class Implied(Value):
    """Arithmetic alone: the slip per step that a share of faultless runs implies, slips taken as independent."""

    faultless: float = Field(gt=0, lt=1)
    steps: int = Field(ge=1, le=200)


class Setup(Value):
    """What an arm is. Each field of an arm goes before that of the set-up that all arms share.

    worn, roles, zone, lane, steps    as in a sequence file; or protocol: the id of a shipped order
    loads         surface (or `item.*`, each face of it) to an amount, a law, or a load class; left out: by presentation
    amounts       load class to an amount or a law; left out: the evidence's
    marker, unit  what was put on, and in what it is counted
    wetness       of the contacts; left out: wet for a wet presentation, else dry
    agent         for hygiene steps that name none
    lapses        `drawn`: with their chances; `none`: no slip and nothing left out or too short
    forced        events that happen in every run, by pattern (`*:finger-outside@*`); an omission: left out
    too_short     hygiene events that happen in every run as too short, by pattern
    residue, latent    whether residues and unnoticed faults are drawn
    limit         the detection limit, in `unit`; left out: the evidence's for the marker
    recoverable   what sampling gets back; left out: the evidence's for marker and layer
    """

    protocol: str | None = Field(default=None, max_length=200)
    worn: tuple[Id, ...] | None = Field(default=None, max_length=40)
    roles: tuple[Role, ...] | None = None
    zone: Zone | None = None
    lane: Lane | None = None
    presentation: Presentation | None = None
    air_contaminated: bool | None = None
    virus_class: VirusClass | None = None
    steps: tuple[Step, ...] | None = None
    edge: Edge | None = None
    cleaning: Cleaning | None = None
    decay: Decay | None = None
    implied: Implied | None = None
    loads: dict[str, LoadClass | Amount] | None = None
    amounts: dict[LoadClass, Amount] | None = None
    marker: Marker | None = None
    unit: Literal["pfu", "cfu", "copies", "microlitre", "fraction-of-source"] | None = None
    wetness: Wetness | None = None
    agent: Id | None = None
    soil: Literal["none", "blood"] | None = None
    context: Context | None = None
    lapses: Literal["drawn", "none"] | None = None
    forced: tuple[str, ...] | None = None
    too_short: tuple[str, ...] | None = None
    residue: bool | None = None
    latent: bool | None = None
    limit: Amount | None = None
    recoverable: Amount | None = None

    def over(self, shared: Setup) -> Setup:
        """This set-up, with what it leaves out taken from `shared`."""
        mine = {name: value for name, value in self if value is not None and name in Setup.model_fields}
        return Setup.model_construct(**{**dict(shared), **mine})


class Arm(Setup):
    """One arm of an experiment; a set-up with an id."""

    id: Id


class Outcome(Value):
    """What was looked at, as one number for an arm.

    measure    any        chance that a sample of at least one of the sites is at or above the limit
               count      mean number of the sites whose sample is at or above the limit
               fraction   amount on the sites together, relative to what was loaded (`statistic` over runs)
               amount     the same, not relative
               log10-reduction    of an arm that is one cleaning alone, or of the amount on the sites
               slip-per-step      1 - (share of runs without slip or omission) ^ (1 / steps), or as implied
               importance         families of steps, ranked by how far the chance that any of the sites is at or above
                                  the limit falls when no slip and no omission of the family happens
    limit      a detection limit of its own; left out: the arm's
    sites      patterns of surfaces (`body.hand-*`); read on arrival, at the end, or at the highest ever
    """

    id: Id
    measure: Literal["any", "count", "fraction", "amount", "log10-reduction", "slip-per-step", "importance"]
    sites: tuple[str, ...] = ()
    when: Literal["arrival", "end", "ever"] = "end"
    statistic: Literal["median", "mean"] = "median"
    limit: Amount | None = None
    families: dict[Id, tuple[str, ...]] = Field(default_factory=dict)


class Check(Value):
    """What was found, and between what the model's answer must lie, set before the first run.

    compare    value         of `outcome` in `arm`
               ratio         of `outcome` in `arm` to that in `against`, or to `against-outcome` in the same arm
               difference    likewise
               order         the outcomes in `order` do not rise, within `arm`
               top           of the families in `order` at least `at-least` are among the first `of-first` by importance
    observed, interval    as published; None where only a direction was
    tolerance             lowest and highest answer that meets it; an end left out is open
    """

    id: Id
    compare: Literal["value", "ratio", "difference", "order", "top"]
    arm: Id
    outcome: Id | None = None
    against: Id | None = None
    against_outcome: Id | None = None
    order: tuple[Id, ...] = ()
    at_least: int | None = Field(default=None, ge=1)
    of_first: int | None = Field(default=None, ge=1)
    observed: float | None = None
    interval: tuple[float, float] | None = None
    found: str | None = None
    tolerance: Tolerance | None = None


class Tolerance(Value):
    """Lowest and highest answer that meets a check; `above`: it must lie above, not at, that figure."""

    low: float | None = None
    high: float | None = None
    above: float | None = None

    def holds(self, answer: float) -> bool:
        """Whether an answer meets it. What is not a number does not."""
        return (
            (self.low is None or answer >= self.low)
            and (self.high is None or answer <= self.high)
            and (self.above is None or answer > self.above)
        )

    @model_validator(mode="after")
    def _some_end(self) -> Tolerance:
        if self.low is None and self.high is None and self.above is None:
            raise ValueError("give low, high, or above")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError("low must not lie above high")
        return self


class Basis(Value):
    """Where an experiment was read, and how surely."""

    source: Id
    certainty: Certainty
    measurements: tuple[Id, ...] = ()


class Experiment(Value):
    """A whole file.

    relation    check: nothing was fitted to it; by-construction: the evidence took its figures from it, so that it
                guards the code and shows nothing of the model; arithmetic
    fitted      records of evidence whose numbers come from this experiment
    sample      runs or persons observed; a study of this size is what the model's interval is for
    reading     how what was published was read into this set-up, and what was assumed
    """

    format_version: Literal[1]
    id: Id
    title: str = Field(min_length=1, max_length=300)
    based_on: tuple[Basis, ...] = Field(min_length=1)
    relation: Relation = "check"
    fitted: tuple[Id, ...] = ()
    trust: Trust = "medium"
    sample: int | None = Field(default=None, ge=1, le=1_000_000)
    reading: str = ""
    setup: Setup = Setup()
    arm: tuple[Arm, ...] = Field(min_length=1, max_length=12)
    outcome: tuple[Outcome, ...] = Field(min_length=1)
    check: tuple[Check, ...] = Field(min_length=1)

    def whole(self, arm: str) -> Setup:
        """An arm with what it leaves out taken from the shared set-up."""
        return next(one for one in self.arm if one.id == arm).over(self.setup)
