"""Compiled or plain, a run is the same; and numba is loaded by a run only."""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys

import pytest

RUNS = """
import dataclasses, json
from labkit import Supply, always_on, desk_wind_tunnel, pwm, simulate
drive = desk_wind_tunnel()
supply = Supply(voltage="6 V", internal_resistance="0.6 ohm", capacitance="470 uF", capacitor_resistance="50 mOhm")
buffered = dataclasses.replace(drive, supply=supply)
bare = dataclasses.replace(drive, diode=None)
ends = []
for case, gate, speed in ((drive, pwm(0.4, "2 kHz"), "0 rpm"), (buffered, pwm(0.3, "1 kHz"), "0 rpm"),
                          (bare, pwm(0.5, "500 Hz"), "3000 rpm"), (drive, always_on(), "-2000 rpm")):
    trace = simulate(case, gate, "50 ms", speed=speed, samples=5)
    ends.append([*trace.current.magnitude, *trace.speed.magnitude, trace.energy.winding.magnitude])
print(json.dumps(ends))
"""


def _run(code, **environment):
    command = [sys.executable, "-c", code]
    return subprocess.run(command, env=os.environ | environment, capture_output=True, text=True, check=True).stdout


@pytest.mark.skipif(importlib.util.find_spec("numba") is None, reason="numba, the extra `fast`, is not installed")
def test_compiled_and_plain_give_the_same():
    """Four drives, with events of every kind, agree to 1e-11 of their largest value."""
    compiled, plain = (json.loads(_run(RUNS, NUMBA_DISABLE_JIT=off)) for off in ("0", "1"))

    for one, other in zip(compiled, plain, strict=True):
        assert one == pytest.approx(other, rel=1e-11, abs=1e-11)


def test_only_a_run_loads_numba():
    """A steady state does not pay for a compiler."""
    code = "import sys, labkit; labkit.pwm_operating_point; labkit.simulate; print('numba' in sys.modules)"

    assert _run(code).strip() == "False"
