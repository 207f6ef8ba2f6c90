"""First power, diagnosis and shopping say what this circuit will show."""

from __future__ import annotations

import dataclasses
import importlib.util
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from labkit.bench import BenchTable, bench_record
from labkit.errors import DesignError, PartError
from labkit.fitting import fit_motor
from labkit.parts import Bipolar, Load
from labkit.reviews import (
    READINGS,
    SYMPTOMS,
    diagnose,
    first_power,
    generic_part,
    read_design,
    review,
    review_spread,
    shopping_list,
)
from labkit.reviews._diagnose import _FAULTS
from labkit.reviews._static import circuit_of, readings
from labkit.simulation import operating_point
from labkit.units import Q_, from_si, magnitude

pytestmark = pytest.mark.core

_SPEC = importlib.util.spec_from_file_location("review_design", Path(__file__).with_name("conftest.py"))
_DESIGN = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(_DESIGN)
SOUND = _DESIGN.sound_design()

METER = ("supply_on", "gate_off", "gate_on", "drain_off", "drain_on", "motor_on", "current_on", "temperature_on")


def noisy(told, names, rng, noise=0.03):
    """Return readings of a faulty circuit with that share of noise."""
    return {n: from_si(told[n] * (1 + noise * rng.standard_normal()), READINGS[n][0]) for n in names}


@pytest.mark.parametrize("fault", _FAULTS, ids=lambda fault: fault.name)
def test_each_fault_is_named_from_its_own_readings(fault):
    """With readings computed from the faulty circuit and 3 % noise it is first or second in at least 90 of 100 draws."""
    told = readings(fault.change(circuit_of(SOUND)))
    rng = np.random.default_rng(20)
    draws = [diagnose(SOUND, noisy(told, METER, rng), symptom=fault.symptoms[0]) for _ in range(100)]
    named = sum(fault.name in [cause.name for cause in found.causes[:2]] for found in draws)

    assert named >= 90


def test_the_symptom_alone_ranks_what_fits_it_first():
    """A motor that never stops is not one that is jammed."""
    first = [cause.name for cause in diagnose(SOUND, symptom="never stops").causes[:3]]

    assert set(first) == {"transistor failed short", "drain and source swapped", "gate not held down"}


def test_the_next_reading_separates_the_likeliest():
    """Not turning with the supply in order: what is asked next is not what was read, and tells the causes apart."""
    found = diagnose(SOUND, {"supply_on": "6 V"}, symptom="does not turn")
    likely = [cause for cause in found.causes if cause.likelihood > 0.05]
    predicted = [magnitude(cause.predicted[found.next_reading], READINGS[found.next_reading][0]) for cause in likely]

    assert found.next_reading != "supply_on"
    assert found.probe
    assert max(predicted) - min(predicted) > 0.5


def test_everything_read_leaves_nothing_to_ask():
    """With all readings taken there is no next one."""
    told = readings(circuit_of(SOUND))
    found = diagnose(SOUND, {name: from_si(told[name], READINGS[name][0]) for name in READINGS})

    assert found.next_reading is None
    assert found.causes[0].name == "nothing is wrong"


def test_the_sound_circuit_reads_as_the_motor_settles():
    """The static model agrees with ``operating_point`` behind all the resistance in the loop."""
    told = readings(circuit_of(SOUND))
    ohms = 2.8 + 0.3 + magnitude(told["drain_on"] / told["current_on"] * Q_(1, "ohm"), "ohm")
    alone = operating_point(dataclasses.replace(SOUND.motor, resistance=Q_(ohms, "ohm")), "6 V", SOUND.load)

    assert told["current_on"] == pytest.approx(magnitude(alone.current, "A"), rel=1e-9)
    assert told["supply_on"] == pytest.approx(6 - 0.3 * told["current_on"])
    assert told["motor_on"] + told["drain_on"] == pytest.approx(told["supply_on"])


@pytest.mark.parametrize(
    ("read", "symptom", "word"),
    [
        ({"gate": "3 V"}, None, "Did you mean"),
        ({"gate_on": "3 A"}, None, "Check the unit"),
        ({"gate_on": "three"}, None, "reading gate_on"),
        ({}, "sad", "one of does not turn"),
    ],
)
def test_unknown_readings_are_named(read, symptom, word):
    """A reading or a symptom that is not known is answered with those that are."""
    with pytest.raises(PartError, match=word):
        diagnose(SOUND, read, symptom=symptom)


def test_every_symptom_has_a_cause():
    """No symptom leads nowhere."""
    assert all(any(symptom in fault.symptoms for fault in _FAULTS) for symptom in SYMPTOMS)


def test_first_power_expects_what_the_circuit_shows():
    """Stages in order, each reading with what to expect and where to stop, in this circuit's numbers."""
    stages = first_power(SOUND)
    told = readings(circuit_of(SOUND))

    assert [stage.name for stage in stages] == [
        "supply off", "motor out", "resistor in the motor's place", "motor free", "motor loaded",
    ]  # fmt: skip
    assert all(reading.expect and reading.stop for stage in stages for reading in stage.readings)
    assert all(stage.caution for stage in stages)
    assert f"{told['gate_on']:.2f} V" in str(stages[1])
    assert f"{told['current_on'] * 1000:.0f} mA" in str(stages[4])


def test_first_power_of_a_bipolar_drive():
    """A bipolar drive has no gate to hold down, and its base reads its own drop."""
    stages = first_power(dataclasses.replace(SOUND, switch=Bipolar(base_resistor="150 ohm")))

    assert "gate to source" not in str(stages[0])
    assert "700 mV" in str(stages[1])
    assert "gate" not in str(stages)
    assert "drain" not in str(stages)


def test_first_power_lets_a_darlington_keep_its_volt():
    """Fully on it keeps 1.2 V, so that less than that is as it should be, and 1.4 V are too much."""
    kept = first_power(dataclasses.replace(SOUND, switch=generic_part("Darlington")))[1].readings[-1]

    assert kept.what == "collector to emitter, pin high"
    assert "1.20 V" in kept.expect
    assert "1.40 V" in kept.stop


def test_first_power_expects_no_more_than_the_supply_gives():
    """Of 6 V/3.15 ohm = 1.9 A a supply of 1 A gives 1 A; halfway from the running 0.1 A to it the motor is held."""
    weak = dataclasses.replace(SOUND, supply=dataclasses.replace(SOUND.supply, current_limit="1 A"))
    current = first_power(weak)[3].readings[0]

    assert "a moment near 1.00 A" in current.expect
    assert "555 mA" in current.stop  # (0.594/5.4 A + 1 A)/2


def test_shopping_for_a_room():
    """What breaks comes with spares; ratings carry their margins."""
    one, room = ({item.part: item for item in shopping_list(SOUND, people=n)} for n in (1, 30))

    assert one["Schottky diode"].count == 2
    assert room["Schottky diode"].count == 36
    assert room["supply"].count == 30
    assert "12.5 V or more" in room["logic-level N-channel MOSFET"].rating


def test_shopping_for_a_motor_whose_friction_nobody_measured():
    """Two constants are enough for a list: what rests on the running current is rated for the start, or says so."""
    bare = dataclasses.replace(
        SOUND, motor=dataclasses.replace(SOUND.motor, friction_torque=Q_("0 N*m")), load=Load()
    )  # fmt: skip
    items = {item.part: item for item in shopping_list(bare)}

    assert "2.00 A or more" in items["Schottky diode"].rating or "2.50 A or more" in items["Schottky diode"].rating
    assert "not known" in items["cartridge fuse and holder"].why
    assert "704 mA" in items["cartridge fuse and holder"].rating  # 6 V/3.1 ohm over 2.75, by hand


def test_shopping_is_for_the_transistor_to_buy_not_for_the_one_that_stays_off():
    """A standard-level part lets nothing through at 3.3 V; the fuse and the supply are chosen for the motor's 1.9 A."""
    items = {
        item.part: item for item in shopping_list(dataclasses.replace(SOUND, switch=generic_part("standard-level MOSFET")))
    }  # fmt: skip

    assert "2.50 A for an instant" in items["supply"].rating
    assert "nA" not in " ".join(item.rating + item.why for item in items.values())


def test_shopping_lists_the_resistors_of_this_drive():
    """Gate resistor and pull-down of a MOSFET, base resistor of a bipolar transistor, and none that is not there."""
    own = dataclasses.replace(SOUND, gate_resistor=Q_("220 ohm"), pull_down=Q_("47 kohm"))
    mosfet = {item.part: item.rating for item in shopping_list(own)}
    bipolar = {
        item.part: item.rating for item in shopping_list(dataclasses.replace(own, switch=Bipolar(base_resistor="330 ohm")))
    }  # fmt: skip

    assert mosfet["gate resistor"].startswith("220 Ω")
    assert mosfet["pull-down resistor"].startswith("47.0 kΩ")
    assert bipolar["base resistor"].startswith("330 Ω")
    assert {"gate resistor", "pull-down resistor"}.isdisjoint(bipolar)


def test_shopping_for_a_gate_that_is_driven_high():
    """14 V are four fifths of 17.5 V, and parts are sold for 20 V; at 3.3 V nothing is asked of the gate."""
    high = dataclasses.replace(SOUND, pin=dataclasses.replace(SOUND.pin, high_level="14 V"))
    name = "logic-level N-channel MOSFET"

    assert "bears 20.0 V or more" in {item.part: item.rating for item in shopping_list(high)}[name]
    assert "bears" not in {item.part: item.rating for item in shopping_list(SOUND)}[name]


def test_a_fit_says_how_sure_the_review_is():
    """With R = 2.8 ± 0.3 Ω and a supply of 2 A, the start is too much for the motors below 2.7 Ω: about a third.

    The share is the normal distribution's at (2.7 - 2.8)/0.3: scipy.stats.norm, an independent route.
    """
    held = BenchTable(kind="locked rotor", voltage=Q_([0.28, 0.56, 0.84], "V"), current=Q_([0.1, 0.2, 0.3], "A"))
    fit = dataclasses.replace(
        fit_motor(bench_record(held)),
        value={"resistance": Q_("2.8 ohm"), "emf_constant": Q_("5.4 mV*s/rad")},
        standard_uncertainty={"resistance": Q_("0.3 ohm"), "emf_constant": Q_("0.01 mV*s/rad")},
        correlation=np.eye(2),
    )
    loop = 0.3 + 1 / 22
    limit = 6 / (2.7 + loop)
    weak = dataclasses.replace(
        SOUND,
        supply=dataclasses.replace(SOUND.supply, current_limit=Q_(limit, "A")),
        build=dataclasses.replace(SOUND.build, start_ramp="0 s"),
    )
    share = review_spread(weak, fit, draws=200)["starting current from the supply"]

    assert share == pytest.approx(norm.cdf((2.7 - 2.8) / 0.3), abs=0.1)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"duty": None}, "duty must be a bare number; got None"),
        ({"duty": "a lot"}, "duty must be a bare number; got 'a lot'"),
        ({"frequency": None}, "frequency must be a quantity in Hz; got None"),
        ({"frequency": Q_([1, 2], "kHz")}, "frequency must be one finite number"),
        ({"duty_count": "x"}, "duty_count must be a bare number; got 'x'"),
        ({"tolerances": 3}, "review.tolerances must be a Tolerances; got 3"),
    ],
)
def test_what_is_no_argument_of_a_review_is_named(arguments, words):
    """A slip in the call is answered with the argument's name, and never with the library's own error."""
    with pytest.raises(PartError, match=words):
        review(SOUND, **arguments)


def test_both_ends_of_the_duty_may_be_a_list():
    """A pair is a pair, however it is written."""
    assert review(SOUND, [0.4, 1.0]).findings == review(SOUND, (0.4, 1.0)).findings


def test_a_motor_in_the_place_of_its_fit_is_told_so():
    """The spread needs uncertainties, which a motor has not."""
    with pytest.raises(PartError, match=r"review_spread\.fit must be a MotorFit; got a Motor\. Give what fit_motor"):
        review_spread(SOUND, SOUND.motor)


def test_names_that_are_no_names_are_refused():
    """Nothing in the place of a part's name, or of a file's."""
    with pytest.raises(DesignError, match="There is no generic part None"):
        generic_part(None)
    with pytest.raises(DesignError, match="takes the name of a file; got None"):
        read_design(None)


def test_a_bipolar_transistor_above_the_motor_lifts_its_base_with_it():
    """From 3.3 V at the pin 0.7 V are lost at the base: 2.6 V less the source's and leads' part reach the motor."""
    drive = dataclasses.replace(SOUND, switch=Bipolar(base_resistor="330 ohm"))
    told = readings(dataclasses.replace(circuit_of(drive), high_side=True))

    assert told["gate_on"] == pytest.approx(3.3)
    assert told["motor_on"] == pytest.approx(2.6, abs=0.1)
    assert told["motor_off"] == 0


@pytest.mark.parametrize("load", [Load(weight="1 mN*m"), Load(friction="1 mN*m")], ids=["weight", "friction"])
def test_a_base_that_holds_the_current_back_and_a_load_that_holds_the_shaft(load):
    """Ten times 2.6 V over 330 and 40 ohm are 70 mA, of which the shaft needs (0.594 + 1)/5.4 A = 295 mA: it stands.

    So the motor has 70 mA times its 2.8 ohm, even where the starting torque was typed smaller than the running friction.
    """
    motor = dataclasses.replace(SOUND.motor, starting_torque="0.1 mN*m")
    told = readings(
        circuit_of(dataclasses.replace(SOUND, motor=motor, load=load, switch=Bipolar(base_resistor="330 ohm")))
    )

    assert told["motor_on"] == pytest.approx(10 * 2.6 / 370 * 2.8)
