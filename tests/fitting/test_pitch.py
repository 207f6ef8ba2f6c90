"""Speed from sound and from ripple, on signals made here from sums of sines, against the speed put in."""

import wave

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.io import wavfile

from labkit.cli import main
from labkit.errors import BenchError, LabkitError
from labkit.figures import spectrum_picture
from labkit.fitting import speed_from_ripple, speed_from_sound
from labkit.units import Q_

pytestmark = pytest.mark.core

RPM = 60.0
RATE = 16_000


def _sound(turn, heights, *, seconds=4.0, noise=0.1, wow=0.0, rate=RATE, seed=1):
    """Return samples: multiples of *turn* [Hz] with these heights, a speed that sways by *wow*, and white noise."""
    rng = np.random.default_rng(seed)
    t = np.arange(int(seconds * rate)) / rate
    phase = 2 * np.pi * turn * t + wow * turn / 0.7 * np.sin(2 * np.pi * 0.7 * t)
    sum_of_sines = noise * rng.standard_normal(len(t))
    for multiple, height in heights.items():
        sum_of_sines += height * np.sin(multiple * phase + rng.uniform(0, 6))
    return sum_of_sines


@pytest.fixture
def wav(tmp_path):
    """Return a function that writes samples as 16 bit, or as they are."""

    def write(samples, *, rate=RATE, kind="int16"):
        path = tmp_path / "motor.wav"
        size = samples / np.max(np.abs(samples))
        scaled = {
            "uint8": lambda: (127 + 120 * size).astype(np.uint8),
            "int16": lambda: (30_000 * size).astype(np.int16),
            "int32": lambda: (2e9 * size).astype(np.int32),
            "float32": lambda: size.astype(np.float32),
            "float64": lambda: size,
        }
        wavfile.write(path, rate, scaled[kind]())
        return path

    return write


def _rpm(heard):
    return float(heard.speed.to("rpm").magnitude)


SHAFT = {1: 0.3, 2: 0.5, 3: 0.15, 4: 0.1, 6: 0.05, 8: 0.04}
FAN = {1: 0.05, 2: 0.04, 3: 0.03, 4: 0.05, 5: 0.6, 6: 0.02, 7: 0.03, 8: 0.04, 9: 0.05, 10: 0.3, 15: 0.1}


@pytest.mark.parametrize("kind", ["uint8", "int16", "int32", "float32", "float64"])
def test_every_kind_of_wav_gives_the_speed(wav, kind):
    """A shaft of 6120 rpm, second multiple loudest, in all forms of uncompressed WAV, within the stated uncertainty."""
    heard = speed_from_sound(wav(_sound(102.0, SHAFT), kind=kind))

    assert abs(_rpm(heard) - 102.0 * RPM) <= heard.expanded_uncertainty.to("rpm").magnitude
    assert heard.expanded_uncertainty.to("rpm").magnitude < 5
    assert heard.certainty in ("sure", "likely")
    assert heard.multiple == 2


def test_blades_louder_than_the_turn(wav):
    """A fan of 5 blades: the loudest line is the fifth multiple; the speed is still that of a turn."""
    heard = speed_from_sound(wav(_sound(83.3, FAN)), blades=5)

    assert _rpm(heard) == pytest.approx(83.3 * RPM, rel=1e-3)
    assert heard.multiple == 5
    assert heard.line.magnitude == pytest.approx(5 * 83.3, rel=1e-3)


def test_only_the_blades_are_heard(wav):
    """Where no line of a single turn stands out, the lowest is the blades' own: speed = line / blades."""
    heights = {5: 0.6, 10: 0.3, 15: 0.15, 20: 0.1}
    heard = speed_from_sound(wav(_sound(60.0, heights)), blades=5)

    assert _rpm(heard) == pytest.approx(3600, rel=1e-3)


def test_fundamental_is_missing(wav):
    """Multiples 2, 3, 4 and 5 without the first still give the turn."""
    heard = speed_from_sound(wav(_sound(75.0, {2: 0.3, 3: 0.3, 4: 0.2, 5: 0.2, 6: 0.1})))

    assert _rpm(heard) == pytest.approx(4500, rel=1e-3)


def test_sway_widens_the_uncertainty_and_is_told(wav):
    """A speed that sways by 1 % is found, with a wider band than a steady one, and the swaying is told."""
    steady = speed_from_sound(wav(_sound(102.0, SHAFT)))
    swaying = speed_from_sound(wav(_sound(102.0, SHAFT, wow=0.01)))

    assert _rpm(swaying) == pytest.approx(102.0 * RPM, rel=5e-3)
    assert swaying.expanded_uncertainty.magnitude > 5 * steady.expanded_uncertainty.magnitude
    assert any("wandered" in note for note in swaying.notes)


def test_a_single_tone_is_doubtful_and_says_what_else(wav):
    """One line without multiples can be any of them: doubtful, with half and double as other speeds."""
    heard = speed_from_sound(wav(_sound(100.0, {1: 0.5})))

    assert heard.certainty == "doubtful"
    others = {round(float(one.speed.to("rpm").magnitude), -1) for one in heard.others}
    assert {3000, 12000} <= others
    assert "Doubtful" in " ".join(heard.sentences)


def test_what_it_calls_sure_is_right(wav):
    """Of 60 drawn fans in noise, steady or swaying, every speed called sure is the true one; most are right at all."""
    rng = np.random.default_rng(8)
    sure = right = 0
    for seed in range(60):
        blades, turn = int(rng.integers(1, 8)), float(rng.uniform(25, 220))
        heights = {
            multiple: rng.uniform(0.4, 1) / (multiple / blades) ** 0.7
            if multiple % blades == 0
            else rng.uniform(0.02, 0.15) / np.sqrt(multiple)
            for multiple in range(1, min(30, int(0.45 * RATE / turn)))
        }
        samples = _sound(turn, heights, noise=rng.choice([0.05, 0.4]), wow=rng.choice([0, 0.004]), seed=seed)
        heard = speed_from_sound(wav(samples), blades=blades)
        good = abs(_rpm(heard) / (turn * RPM) - 1) < 0.01
        right += good
        if heard.certainty == "sure":
            sure += 1
            assert good, (blades, turn, _rpm(heard))

    assert sure >= 20
    assert right >= 54


def test_stated_uncertainty_holds_the_truth(wav):
    """Over 40 noisy shafts that wander, the 95 % band of the mean holds the true mean 36 times or more."""
    hits = 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        turn = rng.uniform(50, 150)
        drift = np.cumsum(rng.standard_normal(5 * RATE)) * 2e-6
        drift -= drift.mean()
        phase = 2 * np.pi * turn * np.cumsum(1 + drift) / RATE
        heard_wave = 0.2 * rng.standard_normal(len(phase)) + sum(h * np.sin(m * phase) for m, h in SHAFT.items())
        heard = speed_from_sound(wav(heard_wave))
        hits += abs(_rpm(heard) - turn * RPM) <= heard.expanded_uncertainty.to("rpm").magnitude

    assert hits >= 36


def test_stereo_and_opposite_channels(wav):
    """Two channels in opposite phase, which would cancel if they were added, give the speed."""
    one = _sound(102.0, SHAFT, noise=0.0)
    rng = np.random.default_rng(3)
    both = np.column_stack((one, -one)) + 0.1 * rng.standard_normal((len(one), 2))

    assert _rpm(speed_from_sound(wav(both))) == pytest.approx(6120, rel=1e-3)


def test_a_slow_sound_recorder_is_trusted(wav):
    """At 8000 samples a second 7 blades of 40000 rpm would be folded; a sound recorder filters those out."""
    heights = {multiple: 0.8 if multiple % 7 == 0 else 0.1 for multiple in range(1, 30)}
    heard = speed_from_sound(wav(_sound(90.0, heights, rate=8000), rate=8000), blades=7)

    assert _rpm(heard) == pytest.approx(5400, rel=1e-3)
    assert heard.certainty == "sure"
    assert not heard.notes


def test_24_bits_and_one_dead_channel(tmp_path):
    """A recorder's 24 bit WAV whose second channel is silent gives the speed."""
    size = _sound(102.0, SHAFT)
    samples = np.column_stack((8e6 * size / np.max(np.abs(size)), np.zeros(len(size)))).astype("<i4")
    path = tmp_path / "recorder.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((2, 3, RATE, 0, "NONE", ""))
        file.writeframes(samples.reshape(-1, 1).view(np.uint8)[:, :3].tobytes())

    assert _rpm(speed_from_sound(path)) == pytest.approx(6120, rel=1e-3)


def test_clipped_is_told(wav):
    """A recording cut off at full scale still gives the speed, and says that it is clipped."""
    path = wav(np.clip(3 * _sound(102.0, SHAFT), -0.5, 0.5))
    rate, samples = wavfile.read(path)
    wavfile.write(path, rate, np.where(np.abs(samples) >= 29_990, np.sign(samples) * 32_767, samples).astype(np.int16))
    heard = speed_from_sound(path)

    assert _rpm(heard) == pytest.approx(6120, rel=2e-3)
    assert any("clipped" in note for note in heard.notes)


def test_silence_shortness_noise_and_other_files_are_refused(wav, tmp_path):
    """Each recording that tells nothing is refused with what to do."""
    path = wav(_sound(100.0, SHAFT))
    wavfile.write(path, RATE, np.zeros(RATE, dtype=np.int16))
    with pytest.raises(BenchError, match="silent"):
        speed_from_sound(path)
    with pytest.raises(BenchError, match="Record longer"):
        speed_from_sound(wav(_sound(100.0, SHAFT, seconds=0.1)))
    with pytest.raises(BenchError, match="No line stands out"):
        speed_from_sound(wav(np.random.default_rng(1).standard_normal(5 * RATE)))
    text = tmp_path / "speed.wav"
    text.write_text("speed: 6000 rpm", encoding="utf-8")
    with pytest.raises(BenchError, match="uncompressed WAV"):
        speed_from_sound(text)
    wavfile.write(path, RATE, np.full(RATE, np.nan, dtype=np.float32))
    with pytest.raises(BenchError, match="no numbers"):
        speed_from_sound(path)


def test_wrong_arguments_are_refused(wav):
    """Blades, limits and units that cannot be are named with their value."""
    path = wav(_sound(100.0, SHAFT))
    with pytest.raises(BenchError, match="blades must be a whole number"):
        speed_from_sound(path, blades=0)
    with pytest.raises(BenchError, match="slowest must be"):
        speed_from_sound(path, slowest="9000 rpm", fastest="300 rpm")
    with pytest.raises(LabkitError, match="rad/s or rpm"):
        speed_from_sound(path, fastest="300 Hz")


@settings(max_examples=60, deadline=None)
@given(content=st.binary(max_size=300), cut=st.integers(0, 120))
def test_damaged_files_are_refused_in_words(tmp_path_factory, content, cut):
    """A WAV header followed by any bytes, or cut off anywhere, is refused in words or read: never a traceback."""
    path = tmp_path_factory.mktemp("wav") / "x.wav"
    wavfile.write(path, RATE, np.zeros(64, dtype=np.int16))
    path.write_bytes(path.read_bytes()[:cut] + content)
    with pytest.raises(BenchError, match=r"\w+ \w+ \w+ \w+"):  # 64 samples of silence are refused as well
        speed_from_sound(path)


# --- ripple ---------------------------------------------------------------------------------------


def _log(turn, *, rate=4000.0, seconds=1.5, noise=2e-3, per_turn=6):
    rng = np.random.default_rng(4)
    t = np.arange(int(rate * seconds)) / rate
    phase = 2 * np.pi * turn * t
    ripple = 0.02 * np.sin(per_turn * phase) + 0.004 * np.sin(phase) + 0.003 * np.sin(2 * phase + 1)
    return t, 0.11 + ripple + noise * rng.standard_normal(len(t))


def test_ripple_of_three_bars_comes_six_times_a_turn():
    """3 bars between 2 brushes: 6 ripples a turn; 3000 rpm are found within the stated uncertainty."""
    t, i = _log(50.0)
    heard = speed_from_ripple(Q_(t, "s"), Q_(1e3 * i, "mA"), bars=3, fastest="12000 rpm")

    assert heard.multiple == 6
    assert abs(_rpm(heard) - 3000) <= heard.expanded_uncertainty.to("rpm").magnitude
    assert heard.expanded_uncertainty.to("rpm").magnitude < 10


def test_folded_ripple_is_doubtful_and_the_true_speed_is_named():
    """Logged too slowly, 600 Hz look like 400: doubtful, told so, and the true speed is among the others."""
    t = np.arange(2000) / 1000.0
    i = 0.1 + 0.02 * np.sin(2 * np.pi * 600 * t) + 1e-3 * np.random.default_rng(2).standard_normal(len(t))
    heard = speed_from_ripple(Q_(t, "s"), Q_(i, "A"), bars=3)

    assert heard.certainty == "doubtful"
    assert any("folded" in note for note in heard.notes)
    assert any(float(one.speed.to("rpm").magnitude) == pytest.approx(6000, rel=5e-3) for one in heard.others)


def test_logs_that_tell_nothing_are_refused():
    """Uneven times, a constant current, too few samples in all or a second, NaN and wrong bars are refused in words."""
    t, i = _log(50.0)
    uneven = np.sort(np.random.default_rng(1).uniform(0, 1, len(t)))
    cases = [
        (uneven, i, 3, "evenly spaced"), (t, np.full(len(t), 0.1), 3, "does not change"),
        (t[:20], i[:20], 3, "64 samples or more"), (2e4 * t, i, 3, "samples a second"),
        (t, np.where(t > 1, np.nan, i), 3, "no numbers"), (t, i, 0, "bars must be"),
    ]  # fmt: skip
    for time, current, bars, words in cases:
        with pytest.raises(BenchError, match=words):
            speed_from_ripple(Q_(time, "s"), Q_(current, "A"), bars=bars)


def test_logged_file_gives_the_speed(tmp_path, capsys):
    """A CSV of the sheet 'speed, ripple', its current read across a shunt, gives 3000 rpm on the command line."""
    t, i = _log(50.0)
    path = tmp_path / "log.csv"
    rows = "\n".join(f"{1e3 * time:.4f}, {1e3 * current:.3f}" for time, current in zip(t, i, strict=True))
    path.write_text(f"shunt: 1.00 ohm\ntable: running current\ntime [ms], shunt voltage [mV]\n{rows}\n", "utf-8")

    assert main(["speed", str(path), "--bars", "3", "--fastest", "12000 rpm"]) == 0
    assert "(3000 rpm)" in capsys.readouterr().out
    path.write_text("table: generator\nspeed [rpm], voltage [V]\n515, 0.291\n", "utf-8")
    assert main(["speed", str(path)]) == 1
    assert "no table of running current" in capsys.readouterr().err


# --- what people see ------------------------------------------------------------------------------


def test_picture_names_line_and_certainty(wav):
    """The picture's words hold the speed, the line taken and how sure it is; its table lists the multiples."""
    heard = speed_from_sound(wav(_sound(83.3, FAN)), blades=5)
    picture = spectrum_picture(heard)

    assert "4998 rpm" in picture.alt
    assert "5 times a turn" in picture.alt
    assert any(word in picture.alt for word in ("Sure", "Likely", "Doubtful"))
    assert 5 in picture.tables[0].columns[0][1].magnitude


def test_command_prints_speed_and_writes_the_page(wav, tmp_path, capsys):
    """``labkit speed`` prints the speed and writes a page with the spectrum."""
    page = tmp_path / "speed.html"
    assert main(["speed", str(wav(_sound(83.3, FAN))), "--blades", "5", "--page", str(page)]) == 0

    assert "4998 rpm" in capsys.readouterr().out
    assert "data:image/svg+xml" in page.read_text(encoding="utf-8")
