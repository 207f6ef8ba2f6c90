"""The rows of the table of symbols, as data: name, letter, unit, meaning, and the values it can have.

The last column is ``+`` more than zero, ``0`` zero or more, ``1`` a part of one, ``r`` any real number;
``(t)`` behind it makes the row a function of time.
"""

from __future__ import annotations

__all__ = ["ROWS"]

ROWS: tuple[tuple[str, str, str, str, str], ...] = (
    # --- circuit
    ("voltage", "V", "V", "voltage across the part, or at the motor's terminals", "+"),
    ("current", "I", "A", "steady current, into the + terminal", "+"),
    ("resistance", "R", "ohm", "resistance; of a motor: winding and brushes, terminal to terminal", "+"),
    ("power", "P", "W", "power", "+"),
    ("charge", "Q", "C", "charge that has passed", "+"),
    ("energy", "W", "J", "energy", "+"),
    ("duration", "Delta_t", "s", "length of a time", "+"),
    ("other_resistance", "R_2", "ohm", "a second resistance", "+"),
    ("total_resistance", "R_tot", "ohm", "resistance of the whole", "+"),
    ("other_current", "I_2", "A", "current in the second branch", "+"),
    ("total_current", "I_tot", "A", "current in both branches together", "+"),
    ("part_voltage", "V_1", "V", "voltage across the first part", "+"),
    ("other_voltage", "V_2", "V", "voltage across the second part", "+"),
    ("resistivity", "rho", "ohm*m", "resistivity of the metal", "+"),
    ("length", "l", "m", "length of the wire", "+"),
    ("area", "A", "m**2", "cross-section of the wire", "+"),
    # --- motor
    ("supply_voltage", "V_s", "V", "voltage of the source with nothing connected", "+"),
    ("emf_constant", "k", "V*s/rad", "motor constant: EMF over speed, and torque over current", "+"),
    ("emf", "E", "V", "generator EMF (back-EMF while the motor is driven)", "+"),
    ("speed", "omega", "rad/s", "speed of the shaft", "+"),
    ("electromagnetic_torque", "T_e", "N*m", "torque of the field on the rotor", "+"),
    ("shaft_torque", "T", "N*m", "torque that the shaft gives to its load", "0"),
    ("friction_torque", "T_f", "N*m", "the motor's own running friction", "0"),
    ("viscous_friction", "b", "N*m*s/rad", "the part of the friction that grows with speed, per speed", "0"),
    ("stall_current", "I_st", "A", "current while the shaft is held", "+"),
    ("stall_torque", "T_st", "N*m", "torque at the shaft while it is held", "+"),
    ("no_load_current", "I_0", "A", "current while the shaft turns free", "+"),
    ("no_load_speed", "omega_0", "rad/s", "speed while the shaft turns free", "+"),
    ("input_power", "P_in", "W", "power into the terminals", "+"),
    ("copper_loss", "P_Cu", "W", "heat in the winding", "+"),
    ("shaft_power", "P_out", "W", "power at the shaft", "+"),
    ("converted_power", "P_e", "W", "power that turns from electrical to mechanical", "+"),
    ("efficiency", "eta", "", "shaft power over input power", "1"),
    ("best_speed", "omega_b", "rad/s", "speed at which the shaft power is greatest", "+"),
    ("max_shaft_power", "P_max", "W", "greatest shaft power", "+"),
    ("best_current", "I_b", "A", "current at which the efficiency is greatest", "+"),
    ("max_efficiency", "eta_max", "", "greatest efficiency", "1"),
    ("fan", "c", "N*m*s**2/rad**2", "fan constant: load torque over speed squared", "+"),
    ("inertia", "J", "kg*m**2", "moment of inertia of all that turns", "+"),
    ("mechanical_time_constant", "tau_m", "s", "time in which 63 % of a change of speed is done", "+"),
    ("speed_gradient", "g", "rad/s/(N*m)", "speed lost for each unit of torque", "+"),
    ("speed_constant", "k_n", "rad/s/V", "speed gained for each volt", "+"),
    ("series_resistance", "R_s", "ohm", "resistance in series with the motor", "+"),
    ("start_speed", "omega_1", "rad/s", "speed at the beginning", "+"),
    ("final_speed", "omega_2", "rad/s", "speed at the end", "+"),
    ("run_up_time", "t_u", "s", "time from rest to the speed at the end", "+"),
    # --- functions of time
    ("time", "t", "s", "time from the start", "0"),
    ("period", "T_p", "s", "one switching period", "+"),
    ("momentary_current", "i", "A", "current at a moment", "r(t)"),
    ("momentary_voltage", "v", "V", "voltage at a moment", "r(t)"),
    ("momentary_speed", "w", "rad/s", "speed at a moment", "r(t)"),
    ("momentary_power", "p", "W", "power at a moment", "r(t)"),
    ("angle", "theta", "rad", "angle that the shaft has turned", "r(t)"),
    ("flux_linkage", "lambda", "V*s", "flux that passes through the winding, turn by turn", "r(t)"),
    ("momentary_charge", "s", "C", "charge that has passed up to a moment", "r(t)"),
    ("momentary_rise", "y", "kelvin", "temperature above ambient at a moment", "r(t)"),
    ("inductance", "L", "H", "inductance of the winding", "+"),
    ("time_constant", "tau", "s", "time in which 63 % of a change of current is done", "+"),
    ("stored_energy", "W_L", "J", "energy in the winding's field", "+"),
    # --- duty
    ("duty", "D", "", "part of the period for which the switch is on", "1"),
    ("frequency", "f", "Hz", "switching frequency", "+"),
    ("diode_drop", "V_F", "V", "forward voltage of the freewheel diode", "0"),
    ("mean_voltage", "V_m", "V", "mean voltage at the motor over a period", "+"),
    ("mean_current", "I_m", "A", "mean current in the motor over a period", "+"),
    ("ripple", "Delta_I", "A", "peak current less lowest current", "+"),
    ("peak_current", "I_pk", "A", "highest current in the period", "+"),
    ("minimum_current", "I_min", "A", "lowest current in the period", "0"),
)
