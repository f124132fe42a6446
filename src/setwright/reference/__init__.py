"""Published tables, each row with its source and how far it was checked."""

from setwright.reference._safety import SafetyLimit, safety_limit

__all__ = ["SafetyLimit", "safety_limit"]
