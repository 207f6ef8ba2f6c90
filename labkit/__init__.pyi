from .bench import (
    BenchRecord as BenchRecord,
    BenchTable as BenchTable,
    Meter as Meter,
    bench_record as bench_record,
    demo_bench as demo_bench,
    read_bench as read_bench,
)
from .checks import Verdict as Verdict
from .errors import LabkitError as LabkitError
from .figures import Picture as Picture, bench_picture as bench_picture
from .fitting import (
    Agreement as Agreement,
    Band as Band,
    MotorFit as MotorFit,
    agreement as agreement,
    draw_motors as draw_motors,
    fit_motor as fit_motor,
    fit_trace as fit_trace,
    predict as predict,
)
from .panels import (
    dissipation_panel as dissipation_panel,
    duty_panel as duty_panel,
    generator_panel as generator_panel,
    prediction as prediction,
)
from .parts import (
    Bipolar as Bipolar,
    Diode as Diode,
    Drive as Drive,
    Led as Led,
    Load as Load,
    Mosfet as Mosfet,
    Motor as Motor,
    Pin as Pin,
    Supply as Supply,
    desk_wind_tunnel as desk_wind_tunnel,
)
from .problems import check as check
from .reports.fit import report as report, report_html as report_html
from .reviews import (
    Review as Review,
    diagnose as diagnose,
    first_power as first_power,
    generic_part as generic_part,
    read_design as read_design,
    review as review,
    shopping_list as shopping_list,
)
from .sheets import Sheet as Sheet, open_sheet as open_sheet
from .simulation import (
    Trace as Trace,
    always_off as always_off,
    always_on as always_on,
    awg_diameter as awg_diameter,
    battery as battery,
    catalogue_point as catalogue_point,
    chopper as chopper,
    coast_down as coast_down,
    coil_emf as coil_emf,
    continuous_frequency as continuous_frequency,
    current_after as current_after,
    duty_from_count as duty_from_count,
    duty_ramp as duty_ramp,
    duty_cycle_temperature as duty_cycle_temperature,
    frequency_choice as frequency_choice,
    gate_drive_voltage as gate_drive_voltage,
    gate_edges as gate_edges,
    generator_point as generator_point,
    heat_sink_resistance as heat_sink_resistance,
    intermittent_winding_temperature as intermittent_winding_temperature,
    internal_resistance as internal_resistance,
    junction_temperature as junction_temperature,
    junction_warming as junction_warming,
    kick_voltage as kick_voltage,
    lighting_speed as lighting_speed,
    loaded_supply as loaded_supply,
    max_dissipation as max_dissipation,
    on_resistance as on_resistance,
    operating_point as operating_point,
    pin_resistance as pin_resistance,
    preferred_value as preferred_value,
    pwm as pwm,
    pwm_operating_point as pwm_operating_point,
    pwm_period as pwm_period,
    reflected_load as reflected_load,
    reflected_mass as reflected_mass,
    resistance_at as resistance_at,
    ripple_harmonics as ripple_harmonics,
    sampled_gate as sampled_gate,
    saturation_current as saturation_current,
    simulate as simulate,
    speed_response as speed_response,
    starting_duty as starting_duty,
    steady_temperature as steady_temperature,
    switching_loss as switching_loss,
    switching_times as switching_times,
    time_to_current as time_to_current,
    time_to_winding_limit as time_to_winding_limit,
    turn_off_transient as turn_off_transient,
    winding_temperature as winding_temperature,
    wire_area as wire_area,
    wire_resistance as wire_resistance,
)
from .symbolic import Derivation as Derivation, derivation as derivation, derivations as derivations
from .units import Q_ as Q_, Quantity as Quantity, parse_quantity as parse_quantity, ureg as ureg
from .writing import show as show
