"""From bench readings to the constants of a motor, with the uncertainty that the readings and meters leave.

Sign convention as in ``labkit.parts.Motor``: v = R·i + brush drop + k·ω, and k·i = load torque + friction.
"""

from __future__ import annotations

from labkit.fitting._motor import fit_motor
from labkit.fitting._result import MotorFit, NextReading, NotIdentified, Reading, ResidualSet

__all__ = ["MotorFit", "NextReading", "NotIdentified", "Reading", "ResidualSet", "fit_motor"]
