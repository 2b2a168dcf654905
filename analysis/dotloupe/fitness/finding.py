"""A finding on a capture: a number, its limit with the reason, and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["fine", "warning", "not fit"]


@dataclass(frozen=True)
class Limits:
    """From where a number does harm.

    Attributes
    ----------
    warning, not_fit : float
        From the first on the numbers of a capture carry a warning, from the second on none may
        be published. `not_fit` below `warning` means that small numbers are the bad ones.
    unit : str
    reason : str
        Why there.
    """

    warning: float
    not_fit: float
    unit: str
    reason: str


@dataclass(frozen=True)
class Finding:
    """One property of a capture, judged.

    Attributes
    ----------
    name : str
        What was looked at.
    value, limit : float
        The number found and the limit that it passed; where it is fine, the nearer limit.
    unit : str
        Of both.
    severity : {"fine", "warning", "not fit"}
    message : str
        What is wrong and what to do; empty where it is fine.
    reason : str
        Why the limit is where it is.
    """

    name: str
    value: float
    limit: float
    unit: str
    severity: Severity
    message: str
    reason: str


def judge(name: str, value: float, limits: Limits, message: str) -> Finding:
    """Hold a number against its limits; the message is kept where it passes one."""
    falling = limits.not_fit < limits.warning
    sign = -1.0 if falling else 1.0
    severity: Severity = "fine"
    if sign * value > sign * limits.not_fit:
        severity = "not fit"
    elif sign * value > sign * limits.warning:
        severity = "warning"
    return Finding(
        name=name,
        value=float(value),
        limit=limits.not_fit if severity == "not fit" else limits.warning,
        unit=limits.unit,
        severity=severity,
        message="" if severity == "fine" else message,
        reason=limits.reason,
    )
