from .bench import (
    BenchRecord as BenchRecord,
)
from .bench import (
    BenchTable as BenchTable,
)
from .bench import (
    Meter as Meter,
)
from .bench import (
    bench_record as bench_record,
)
from .bench import (
    demo_bench as demo_bench,
)
from .bench import (
    procedure as procedure,
)
from .bench import (
    procedures as procedures,
)
from .bench import (
    read_bench as read_bench,
)
from .checks import Verdict as Verdict
from .errors import LabkitError as LabkitError
from .figures import Picture as Picture
from .figures import bench_card as bench_card
from .figures import bench_cards as bench_cards
from .figures import bench_picture as bench_picture
from .figures import generator_schematic as generator_schematic
from .figures import motor_schematic as motor_schematic
from .figures import residual_picture as residual_picture
from .figures import schematic as schematic
from .figures import spectrum_picture as spectrum_picture
from .fitting import (
    Agreement as Agreement,
)
from .fitting import (
    Band as Band,
)
from .fitting import (
    MotorFit as MotorFit,
)
from .fitting import (
    agreement as agreement,
)
from .fitting import (
    draw_motors as draw_motors,
)
from .fitting import (
    fit_motor as fit_motor,
)
from .fitting import (
    fit_room as fit_room,
)
from .fitting import (
    fit_table as fit_table,
)
from .fitting import (
    fit_tables as fit_tables,
)
from .fitting import (
    fit_trace as fit_trace,
)
from .fitting import (
    predict as predict,
)
from .fitting import (
    speed_from_ripple as speed_from_ripple,
)
from .fitting import (
    speed_from_sound as speed_from_sound,
)
from .panels import (
    dissipation_panel as dissipation_panel,
)
from .panels import (
    duty_panel as duty_panel,
)
from .panels import (
    generator_panel as generator_panel,
)
from .panels import (
    measure_panel as measure_panel,
)
from .panels import (
    pin_panel as pin_panel,
)
from .panels import (
    prediction as prediction,
)
from .panels import (
    review_panel as review_panel,
)
from .panels import (
    running_panel as running_panel,
)
from .panels import (
    stall_panel as stall_panel,
)
from .panels import (
    supply_panel as supply_panel,
)
from .panels import (
    switch_off_panel as switch_off_panel,
)
from .panels import (
    switch_panel as switch_panel,
)
from .parts import (
    Bipolar as Bipolar,
)
from .parts import (
    Diode as Diode,
)
from .parts import (
    Drive as Drive,
)
from .parts import (
    Led as Led,
)
from .parts import (
    Load as Load,
)
from .parts import (
    Mosfet as Mosfet,
)
from .parts import (
    Motor as Motor,
)
from .parts import (
    Pin as Pin,
)
from .parts import (
    Supply as Supply,
)
from .parts import (
    desk_wind_tunnel as desk_wind_tunnel,
)
from .problems import check as check
from .reports.fit import report as report
from .reports.fit import report_html as report_html
from .reviews import (
    Review as Review,
)
from .reviews import (
    demo_design as demo_design,
)
from .reviews import (
    diagnose as diagnose,
)
from .reviews import (
    first_power as first_power,
)
from .reviews import (
    generic_part as generic_part,
)
from .reviews import (
    read_design as read_design,
)
from .reviews import (
    review as review,
)
from .reviews import (
    shopping_list as shopping_list,
)
from .sheets import Sheet as Sheet
from .sheets import open_sheet as open_sheet
from .simulation import (
    Trace as Trace,
)
from .simulation import (
    always_off as always_off,
)
from .simulation import (
    always_on as always_on,
)
from .simulation import (
    awg_diameter as awg_diameter,
)
from .simulation import (
    battery as battery,
)
from .simulation import (
    board_supply as board_supply,
)
from .simulation import (
    catalogue_point as catalogue_point,
)
from .simulation import (
    chopper as chopper,
)
from .simulation import (
    coast_down as coast_down,
)
from .simulation import (
    coil_emf as coil_emf,
)
from .simulation import (
    continuous_frequency as continuous_frequency,
)
from .simulation import (
    current_after as current_after,
)
from .simulation import (
    duty_cycle_temperature as duty_cycle_temperature,
)
from .simulation import (
    duty_from_count as duty_from_count,
)
from .simulation import (
    duty_ramp as duty_ramp,
)
from .simulation import (
    floating_load as floating_load,
)
from .simulation import (
    frequency_choice as frequency_choice,
)
from .simulation import (
    gate_drive_voltage as gate_drive_voltage,
)
from .simulation import (
    gate_edges as gate_edges,
)
from .simulation import (
    generator_point as generator_point,
)
from .simulation import (
    heat_sink_resistance as heat_sink_resistance,
)
from .simulation import (
    intermittent_winding_temperature as intermittent_winding_temperature,
)
from .simulation import (
    internal_resistance as internal_resistance,
)
from .simulation import (
    junction_temperature as junction_temperature,
)
from .simulation import (
    junction_warming as junction_warming,
)
from .simulation import (
    kick_voltage as kick_voltage,
)
from .simulation import (
    lighting_speed as lighting_speed,
)
from .simulation import (
    load_current as load_current,
)
from .simulation import (
    loaded_supply as loaded_supply,
)
from .simulation import (
    max_dissipation as max_dissipation,
)
from .simulation import (
    motor_on_supply as motor_on_supply,
)
from .simulation import (
    motor_start as motor_start,
)
from .simulation import (
    on_resistance as on_resistance,
)
from .simulation import (
    operating_point as operating_point,
)
from .simulation import (
    pin_point as pin_point,
)
from .simulation import (
    pin_resistance as pin_resistance,
)
from .simulation import (
    preferred_value as preferred_value,
)
from .simulation import (
    pwm as pwm,
)
from .simulation import (
    pwm_operating_point as pwm_operating_point,
)
from .simulation import (
    pwm_period as pwm_period,
)
from .simulation import (
    reflected_load as reflected_load,
)
from .simulation import (
    reflected_mass as reflected_mass,
)
from .simulation import (
    resistance_at as resistance_at,
)
from .simulation import (
    ripple_harmonics as ripple_harmonics,
)
from .simulation import (
    sampled_gate as sampled_gate,
)
from .simulation import (
    saturation_current as saturation_current,
)
from .simulation import (
    simulate as simulate,
)
from .simulation import (
    speed_response as speed_response,
)
from .simulation import (
    starting_duty as starting_duty,
)
from .simulation import (
    steady_temperature as steady_temperature,
)
from .simulation import (
    switch_off_course as switch_off_course,
)
from .simulation import (
    switched_load as switched_load,
)
from .simulation import (
    switching_loss as switching_loss,
)
from .simulation import (
    switching_times as switching_times,
)
from .simulation import (
    time_to_current as time_to_current,
)
from .simulation import (
    time_to_winding_limit as time_to_winding_limit,
)
from .simulation import (
    turn_off_transient as turn_off_transient,
)
from .simulation import (
    winding_temperature as winding_temperature,
)
from .simulation import (
    winding_warming as winding_warming,
)
from .simulation import (
    wire_area as wire_area,
)
from .simulation import (
    wire_resistance as wire_resistance,
)
from .symbolic import Derivation as Derivation
from .symbolic import derivation as derivation
from .symbolic import derivations as derivations
from .symbolic import side_by_side as side_by_side
from .units import Q_ as Q_
from .units import Quantity as Quantity
from .units import parse_quantity as parse_quantity
from .units import ureg as ureg
from .workspace import self_test as self_test
from .writing import show as show
