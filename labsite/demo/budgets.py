"""The laboratory's uncertainty budgets: of a dent, read under a microscope, and of times pressed by hand."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from labsite.ledger.models import User
from trials.actions.budgets import make_budget

DENT: tuple[dict[str, Any], ...] = (
    {"name": "readings of one dent", "distribution": "type A", "readings": ["1.42", "1.44", "1.41", "1.43", "1.45"]},
    {"name": "calibration of the microscope", "distribution": "normal", "half_width": "0.010", "coverage_factor": "2"},
    {"name": "resolution of the microscope", "distribution": "resolution", "half_width": "0.01"},
    {"name": "edge of the dent as seen", "distribution": "rectangular", "half_width": "0.03"},
)
TIME: tuple[dict[str, Any], ...] = (
    {"name": "reaction of the hand", "distribution": "rectangular", "half_width": "0.20"},
    {"name": "clock of the tablet", "distribution": "normal", "half_width": "0.02", "coverage_factor": "2"},
    {"name": "resolution of the clock", "distribution": "resolution", "half_width": "0.1"},
)
SEEN_LATE: dict[str, Any] = {
    "name": "when a flame is seen to be out",
    "distribution": "triangular",
    "half_width": "0.5",
}


def tell_budgets(people: Mapping[str, User], *, keeper: str, at: datetime) -> None:
    """Make the first versions at `at`, and two days later a second one, after flames were seen to be out too late."""
    by = people[keeper]
    told: dict[str, Any] = {"by": by, "level": "95.45 %", "shape": "t"}
    ball, end_product = "ball-pressure@2014", "glow-wire-end-product@2021"
    make_budget(
        **told, at=at, method_key=ball, quantity="dent", unit="mm", version_seen=0, rows=DENT,
        reason="Five readings of one dent by two people, and the certificate of the microscope.",
    )  # fmt: skip
    for quantity in ("ignites", "flames_end"):
        make_budget(
            **told, at=at, method_key=end_product, quantity=quantity, unit="s", version_seen=0, rows=TIME,
            reason="Twenty flames of a lighter timed by hand and on film.",
        )  # fmt: skip
    make_budget(
        **told, at=at + timedelta(days=2), method_key=end_product, quantity="flames_end", unit="s", version_seen=1,
        rows=(*TIME, SEEN_LATE), reason="The end of a flame is seen less sharply than its beginning.",
    )  # fmt: skip
