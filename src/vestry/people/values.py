"""What the register holds of one person. Frozen; an id, never a name: names are the shell's.

Days are calendar days of the hospital. Lengths are millimetres.
"""

from __future__ import annotations

import datetime
from typing import Annotated, Literal

from pydantic import Field, model_validator

from vestry.trade.standards import Device
from vestry.trade.values import Id, Value

Duty = Literal["wearer", "observer", "assistant"]
Method = Literal["quantitative", "qualitative"]
Cleared = Literal["any", "powered-only", "none"]
Factor = Annotated[float, Field(gt=0, le=1_000_000)]
HandMm = Annotated[int, Field(ge=100, le=400)]


class Competency(Value):
    """Somebody was found able, in one part, for a procedure or an ensemble.

    subject    the procedure's name (slug) or the ensemble's (`ensemble_of`)
    months     how long it holds; None: by the standard interval
    """

    subject: str = Field(min_length=1, max_length=120)
    duty: Duty
    on: datetime.date
    months: int | None = Field(default=None, ge=1, le=120)


class Clearance(Value):
    """A clinician's answer on wearing a respirator. Why stands nowhere here.

    until    the clinician's own date, the last day on which it holds; None: by the standard interval
    """

    on: datetime.date
    cleared: Cleared
    until: datetime.date | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Clearance:
        if self.until is not None and self.until < self.on:
            raise ValueError(f"it ends ({self.until}) before it begins ({self.on})")
        return self


class Exercise(Value):
    """One exercise of a quantitative test (Standards.exercises) and its fit factor."""

    exercise: Id
    factor: Factor


class FitTest(Value):
    """A fit test of one person on one model and size of a fit-tested item.

    system       the country's system under which it was done; its level is the one that must be reached
    exercises    of a quantitative test; a grimace is kept and never scored
    overall      a quantitative test's factor as the instrument said it; counted only where no exercises are kept
    passed       of a qualitative test
    months       how long it holds; None: by the system's standard interval
    """

    item: Id
    model: str = Field(min_length=1, max_length=80)
    size: str = Field(min_length=1, max_length=20)
    device: Device = "half-mask"
    system: Id
    method: Method
    on: datetime.date
    exercises: tuple[Exercise, ...] = ()
    overall: Factor | None = None
    passed: bool | None = None
    months: int | None = Field(default=None, ge=1, le=120)

    @model_validator(mode="after")
    def _of_its_method(self) -> FitTest:
        if self.method == "qualitative":
            if self.passed is None:
                raise ValueError("a qualitative test says whether it was passed")
            if self.exercises or self.overall is not None:
                raise ValueError("a qualitative test has no fit factors")
        elif not self.exercises and self.overall is None:
            raise ValueError("a quantitative test has fit factors, by exercise or overall")
        elif self.passed is not None:
            raise ValueError("whether a quantitative test was passed follows from its factors")
        return self


class Hand(Value):
    """The larger hand: round the palm at the crotch of the thumb; from the tip of the middle finger to the wrist."""

    circumference_mm: HandMm
    length_mm: HandMm | None = None


class Tried(Value):
    """A size found by trying on, of an item or of a kind of item. It stands before any table."""

    what: Id
    size: str = Field(min_length=1, max_length=20)


class Absence(Value):
    """Days on which somebody is not available, both counted; `until` None: not known. The reason is not kept here."""

    from_: datetime.date = Field(alias="from")
    until: datetime.date | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Absence:
        if self.until is not None and self.until < self.from_:
            raise ValueError(f"it ends ({self.until}) before it begins ({self.from_})")
        return self

    def covers(self, day: datetime.date) -> bool:
        """Whether this day is one of them."""
        return self.from_ <= day and (self.until is None or day <= self.until)


class Person(Value):
    """One person on the register, as of now."""

    id: str = Field(min_length=1, max_length=60)
    duties: tuple[Duty, ...] = ("wearer",)
    active: bool = True
    competencies: tuple[Competency, ...] = ()
    clearances: tuple[Clearance, ...] = ()
    fit_tests: tuple[FitTest, ...] = ()
    hand: Hand | None = None
    height_mm: int | None = Field(default=None, ge=1000, le=2500)
    tried: tuple[Tried, ...] = ()
    absences: tuple[Absence, ...] = ()

    def absent(self, day: datetime.date) -> bool:
        """Whether they are away on this day."""
        return any(one.covers(day) for one in self.absences)
