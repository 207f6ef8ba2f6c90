"""From bench readings to the constants of a motor, with the uncertainty that the readings and meters leave.

Sign convention as in ``labkit.parts.Motor``: v = R·i + brush drop + k·ω, and k·i = load torque + friction.
"""

from __future__ import annotations

from labkit.fitting._apart import fit_table, fit_tables
from labkit.fitting._disc import inertia_from_disc
from labkit.fitting._heard import HeardSpeed, OtherSpeed
from labkit.fitting._motor import fit_motor
from labkit.fitting._pitch import speed_from_log, speed_from_ripple, speed_from_sound
from labkit.fitting._predict import Agreement, Band, agreement, draw_motors, predict
from labkit.fitting._result import MotorFit, NextReading, NotIdentified, Reading, ResidualSet
from labkit.fitting._room import RoomConstant, RoomFit, fit_room
from labkit.fitting._table_fit import Constant, TableFit
from labkit.fitting._traces import TraceFit, fit_trace
from labkit.fitting._warm import Warmth, warmth_of

__all__ = [
    "Agreement",
    "Band",
    "Constant",
    "HeardSpeed",
    "MotorFit",
    "NextReading",
    "NotIdentified",
    "OtherSpeed",
    "Reading",
    "ResidualSet",
    "RoomConstant",
    "RoomFit",
    "TableFit",
    "TraceFit",
    "Warmth",
    "agreement",
    "draw_motors",
    "fit_motor",
    "fit_room",
    "fit_table",
    "fit_tables",
    "fit_trace",
    "inertia_from_disc",
    "predict",
    "speed_from_log",
    "speed_from_ripple",
    "speed_from_sound",
    "warmth_of",
]
