"""Tables of the reports app."""

from reports.models.certificates import Certificate
from reports.models.traces import TraceCase, TraceDecision, TraceLine

__all__ = ["Certificate", "TraceCase", "TraceDecision", "TraceLine"]
