"""Write the demo bench files of the desk wind tunnel's fan motor: invented, but scattered as such readings are.

Run it from the repository with ``python tests/bench/make_demo_bench.py``; a test checks that the files are its output.
The motor is that of ``labkit.desk_wind_tunnel`` with a little brush drop and a part of its friction growing with speed.
"""

from pathlib import Path

import numpy as np

FOLDER = Path(__file__).resolve().parents[2] / "labkit" / "data" / "bench"
SEED = 20260

#: The truth behind the readings, in SI.
RESISTANCE, BRUSH_DROP, EMF_CONSTANT, FRICTION, VISCOUS = 2.8, 0.06, 5.4e-3, 0.52e-3, 0.9e-7
#: From one rotor position to the next the resistance scatters by so much.
POSITION_SCATTER = 0.05
METERS = """voltmeter: 0.5 % + 2 counts
ammeter: 1 % + 3 counts
tachometer: 0.05 % + 1 count"""


def _meter_errors(rng):
    """Return the scale errors of voltmeter, ammeter and tachometer, within what their manuals allow."""
    return 1 + rng.uniform(-1, 1, 3) * [0.005, 0.01, 0.0005]


def locked_rotor(rng, positions, scale):
    """Return rows of position, voltage [V], current [mA]: two currents at each position, through about 10 ohm."""
    rows = []
    for position in range(1, positions + 1):
        resistance = RESISTANCE * (1 + POSITION_SCATTER * rng.standard_normal())
        for nominal in (0.15, 0.40):
            current = nominal * (1 + 0.04 * rng.standard_normal())
            voltage = resistance * current + BRUSH_DROP + 0.004 * rng.standard_normal()
            rows.append(f"{position}, {voltage * scale[0]:.3f}, {current * scale[1] * 1e3:.0f}")
    return rows


def free_running(rng, voltages, scale):
    """Return rows of voltage [V], current [mA], speed [rpm]; no friction but the motor's own."""
    rows = []
    for nominal in voltages:
        voltage = nominal * (1 + 0.01 * rng.standard_normal())
        flat = voltage - BRUSH_DROP - RESISTANCE * FRICTION / EMF_CONSTANT
        speed = flat / (EMF_CONSTANT + RESISTANCE * VISCOUS / EMF_CONSTANT)
        current = (FRICTION + VISCOUS * speed) / EMF_CONSTANT + 0.002 * rng.standard_normal()
        speed *= 1 + 0.004 * rng.standard_normal()
        rpm = speed * 30 / np.pi
        rows.append(f"{voltage * scale[0]:.2f}, {current * scale[1] * 1e3:.0f}, {rpm * scale[2]:.0f}")
    return rows


def generator(rng, speeds, scale):
    """Return rows of speed [rpm], voltage [V]: turned by a drill, only a voltmeter connected."""
    rows = []
    for nominal in speeds:
        rpm = nominal * (1 + 0.02 * rng.standard_normal())
        voltage = EMF_CONSTANT * rpm * np.pi / 30 * (1 + 0.004 * rng.standard_normal())
        rows.append(f"{rpm * scale[2]:.0f}, {voltage * scale[0]:.3f}")
    return rows


def fan_motor():
    """Return the file that the lessons use."""
    rng = np.random.default_rng(SEED)
    scale = _meter_errors(rng)
    return "\n".join(
        [
            "# Fan motor of the desk wind tunnel, fan taken off. Invented readings with realistic scatter.",
            "# Keep a held motor under 3 s, then let it cool for 30 s. Clamp it; eye protection beside the drill.",
            "motor: fan motor of the desk wind tunnel (invented)",
            METERS,
            "",
            "table: locked rotor",
            "position, voltage [V], current [mA]",
            *locked_rotor(rng, 8, scale),
            "",
            "table: free running",
            "voltage [V], current [mA], speed [rpm]",
            *free_running(rng, (2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0), scale),
            "",
            "table: generator",
            "speed [rpm], voltage [V]",
            *generator(rng, (500, 800, 1100, 1400, 1800, 2200), scale),
            "",
        ]
    )


def fan_motor_slips():
    """Return a file with the slips that bench files have: a contact film, a missing unit, words, a stalled free run."""
    rng = np.random.default_rng(SEED + 1)
    scale = _meter_errors(rng)
    locked = [row.replace(", ", ";").replace(".", ",") for row in locked_rotor(rng, 6, scale)]
    locked[4] = "3;1,870;151"  # a contact film
    locked[7] = "4;1,1x;398"
    free = [row.replace(", ", ";").replace(".", ",") for row in free_running(rng, (2.0, 3.0, 4.0, 5.0, 6.0), scale)]
    free.insert(0, "0,70;236;0")  # it did not start
    driven = [row.replace(", ", ";").replace(".", ",") for row in generator(rng, (800, 1400, 2000), scale)]
    return "\n".join(
        [
            "# The same motor on another day, typed in a hurry. Invented; the slips are meant.",
            METERS,
            "",
            "table: locked rotor",
            "position;voltage [V];current [mA]",
            *locked,
            "",
            "table: free running",
            "voltage [V];current [mA];speed [rpm]",
            *free,
            "",
            "table: generator",
            "speed [rpm];voltage",
            *driven,
            "",
        ]
    )


#: The truth behind the parts of the drive, in SI; the disc is ½·m·r² of 5.20 g and 12.0 mm.
PARTS = {
    "open_voltage": 6.10, "internal_resistance": 0.60, "high_level": 3.30, "output_resistance": 25.0,
    "on_resistance": 0.040, "forward_voltage": 0.36, "slope_resistance": 0.15, "starting_voltage": 0.75,
    "inductance": 0.9e-3, "temperature_rise": 27.0, "thermal_time_constant": 90.0, "thermal_resistance": 60.0,
    "inertia": 1.2e-6, "friction_torque": FRICTION,
}  # fmt: skip
DISC = 0.5 * 5.20e-3 * 12.0e-3**2


def _line(rng, line, currents, *, form, noise):
    """Return rows of voltage and current in mA along a *line* of level and slope."""
    rows, (level, slope) = [], line
    for nominal in currents:
        current = nominal * (1 + 0.02 * rng.standard_normal())
        rows.append(form.format(level + slope * current + noise * rng.standard_normal(), 1e3 * current))
    return rows


def _coast_down(rng, inertia):
    """Return rows of time [s] and speed [rpm] of a shaft that runs out."""
    rows = []
    for time in np.arange(0, 1.0, 0.05):
        rest = FRICTION / VISCOUS
        speed = (830 + rest) * np.exp(-VISCOUS * time / inertia) - rest + 1.5 * rng.standard_normal()
        rows.append(f"{time:.2f}, {speed * 30 / np.pi:.0f}")
    return rows


def drive_parts():
    """Return a file with all that is read beside the motor: cells, pin, transistor, diode, case, start and disc."""
    rng = np.random.default_rng(SEED + 2)
    p = PARTS
    starts = [f"{n}, {p['starting_voltage'] + 0.06 * rng.standard_normal():.2f}" for n in range(1, 9)]
    coils = [f"{n}, {1e3 * p['inductance'] * (1 + 0.04 * rng.standard_normal()):.3f}" for n in range(1, 7)]
    climb = [
        f"{t}, {22 + 27 * (1 - np.exp(-t / 90)) + 0.15 * rng.standard_normal():.1f}"
        for t in (0, 20, 40, 60, 90, 120, 150, 180, 210, 240)
    ]
    fine, cells = "{:.3f}, {:.0f}", (p["open_voltage"], -p["internal_resistance"])
    source = _line(rng, cells, (0, 0.06, 0.27, 0.52), form=fine, noise=0.004)
    loads = (0, 0.33e-3, 3.2e-3, 6.6e-3)
    pin = _line(rng, (p["high_level"], -p["output_resistance"]), loads, form="{:.3f}, {:.2f}", noise=0.002)
    gate = _line(rng, (0.0, 1e3 * p["on_resistance"]), (0.3, 0.6, 0.9), form="{:.1f}, {:.0f}", noise=0.15)
    bend = (p["forward_voltage"], p["slope_resistance"])
    diode = _line(rng, bend, (0.1, 0.2, 0.3, 0.45), form=fine, noise=0.003)
    return "\n".join(
        [
            "# What the drive of the desk wind tunnel is made of. Invented readings with realistic scatter.",
            "# Resistors, diode and transistor get hot: let them cool first. Eye protection beside the disc.",
            "motor: fan motor of the desk wind tunnel (invented)",
            "voltmeter: 0.5 % + 2 counts, resolution 1 mV",
            "ammeter: 1 % + 3 counts",
            "gate voltage: 3.3 V",
            "test frequency: 1 kHz",
            "heat: 0.45 W",
            "disc mass: 5.20 g",
            "disc radius: 12.0 mm",
            "",
            "table: source resistance",
            "voltage [V], current [mA]",
            *source,
            "",
            "table: pin resistance",
            "voltage [V], current [mA]",
            *pin,
            "",
            "table: transistor on",
            "voltage [mV], current [mA]",
            *gate,
            "",
            "table: diode drop",
            "voltage [V], current [mA]",
            *diode,
            "",
            "table: starting voltage",
            "position, voltage [V]",
            *starts,
            "",
            "table: inductance meter",
            "position, inductance [mH]",
            *coils,
            "",
            "table: case temperature",
            "time [s], temperature [°C]",
            *climb,
            "",
            "table: coast down",
            "time [s], speed [rpm]",
            *_coast_down(rng, p["inertia"]),
            "",
            "table: coast down with disc",
            "time [s], speed [rpm]",
            *_coast_down(rng, p["inertia"] + DISC),
            "",
        ]
    )


FILES = {"fan_motor.csv": fan_motor, "fan_motor_slips.csv": fan_motor_slips, "drive_parts.csv": drive_parts}

if __name__ == "__main__":
    for name, make in FILES.items():
        (FOLDER / name).write_text(make(), encoding="utf-8", newline="\n")
