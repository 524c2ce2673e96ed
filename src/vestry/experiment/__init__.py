"""Published experiments as set-ups, run through the contact model, compared with what was found."""

from vestry.experiment.reading import read_experiment
from vestry.experiment.running import Answer, Judged, Validated, validate
from vestry.experiment.setup import Arm, Basis, Check, Context, Experiment, Outcome, Setup, Tolerance
from vestry.experiment.shipped import packaged_experiments

__all__ = [
    "Answer",
    "Arm",
    "Basis",
    "Check",
    "Context",
    "Experiment",
    "Judged",
    "Outcome",
    "Setup",
    "Tolerance",
    "Validated",
    "packaged_experiments",
    "read_experiment",
    "validate",
]
