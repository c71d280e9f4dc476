"""Tables of the trials app."""

from trials.models.budgets import UncertaintyBudget
from trials.models.jobs import Job
from trials.models.methods import Authorisation, EditionConfirmation, ParameterSheet
from trials.models.trials import (
    Check,
    Doubt,
    InstrumentUse,
    Observation,
    SetupValue,
    SignedVerdict,
    Trial,
    TrialPhoto,
)

__all__ = [
    "Authorisation",
    "Check",
    "Doubt",
    "EditionConfirmation",
    "InstrumentUse",
    "Job",
    "Observation",
    "ParameterSheet",
    "SetupValue",
    "SignedVerdict",
    "Trial",
    "TrialPhoto",
    "UncertaintyBudget",
]
