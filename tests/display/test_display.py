"""In a notebook, quantities, parts and results are shown as people read them."""

import dataclasses
import importlib
import inspect
import os
import pkgutil
import subprocess
import sys
import typing
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from IPython.core.formatters import DisplayFormatter
from IPython.core.interactiveshell import InteractiveShell

import labkit
from labkit import Q_, BenchTable, Motor, MotorFit, Quantity, Trace, display


@pytest.fixture(scope="module")
def shown() -> DisplayFormatter:
    """Return the formatter of a shell in which labkit is registered twice over."""
    shell = InteractiveShell.instance()
    display.register()
    display.register()
    yield shell.display_formatter
    InteractiveShell.clear_instance()


def _text(shown: DisplayFormatter, value: object) -> str:
    return shown.format(value)[0]["text/plain"]


class _Table(HTMLParser):
    """Collect what a screen reader makes of a table: its caption, and the cells under each row heading."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.caption, self.rows, self._open = "", [], []
        self.feed(source)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._open.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop()[0] == tag, "the table's tags do not nest"

    def handle_data(self, data: str) -> None:
        tag, attributes = self._open[-1]
        if tag == "caption":
            self.caption += data
        elif tag == "th":
            assert attributes["scope"] == "row"
            self.rows[-1].append(data)
        elif tag == "td":
            self.rows[-1].append(data)


@pytest.mark.parametrize(
    ("quantity", "text"),
    [
        (Q_(0.4712, "A"), "471 mA"),
        (Q_(5.4, "mV*s/rad"), "5.40 mV·s/rad"),
        (Q_(9000, "rpm"), "942 rad/s (9000 rpm)"),
        (Q_(0.81), "0.810"),
        (Q_(25, "degC"), "25.0 °C"),
        (Q_([1.0, 0.25, 2.14], "A"), "3 values from 250 mA to 2.14 A"),
        (Q_([], "A"), "no values"),
        (Q_(np.inf, "s"), "never"),
        (Q_(np.inf, "ohm"), "without limit"),
    ],
)
def test_a_quantity_is_written_as_people_read_it(shown: DisplayFormatter, quantity: Quantity, text: str) -> None:
    """Three figures, a suitable prefix, a speed in both units; plain text is all there is, so nothing else wins."""
    assert shown.format(quantity)[0] == {"text/plain": text}


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class StallPoint:
    """A stand-in with one field of each sort that a result may hold."""

    stall_current: Quantity
    shaft_speed: Quantity
    motor: Motor
    converged: bool
    switch_on: np.ndarray
    samples: np.ndarray
    share: float
    note: str | None
    pwm_mode: str | None
    limits: tuple[tuple[Quantity, Quantity], ...]
    sources: tuple[Quantity, ...]
    uncertainty: dict[str, Quantity]
    _working: int = 0


StallPoint.__module__ = "labkit.display"  # where it would be taken for one of labkit's
vars(display)["StallPoint"] = StallPoint

STALL = StallPoint(
    stall_current=Q_(2.143, "A"), shaft_speed=Q_(np.array([0.0, 100.0]), "rad/s"), converged=True, share=0.5, note=None,
    motor=Motor(resistance="2.8 ohm", emf_constant="5.4 mV*s/rad"), sources=(Q_(6, "V"), Q_(4.5, "V")),
    uncertainty={"emf_constant": Q_(0.02, "mV*s/rad")}, pwm_mode="slow", limits=((Q_(2.5, "V"), Q_(0.12, "ohm")), ),
    switch_on=np.array([True, False, True]), samples=np.array([1.0, 3.0]),
)  # fmt: skip


def test_a_result_is_a_table_with_a_caption_and_row_headings(shown: DisplayFormatter) -> None:
    """Each field is one row under its own name in words, with its unit; what belongs to a part inside says so."""
    table = _Table(shown.format(STALL)[0]["text/html"])

    assert table.caption == "Stall point"
    rows = dict(table.rows)
    assert rows["stall current"] == "2.14 A"
    assert rows["shaft speed"] == "2 values from 0 rad/s (0 rpm) to 100 rad/s (955 rpm)"
    assert rows["motor: resistance"] == "2.80 Ω"
    assert rows["converged"] == "yes"
    assert rows["switch on"] == "yes in 2 of 3"
    assert rows["samples"] == "2 values from 1.00 to 3.00"
    assert rows["PWM mode"] == "slow"
    assert rows["limits"] == "2.50 V, 120 mΩ"
    assert rows["share"] == "0.500"
    assert rows["note"] == "none"
    assert rows["motor: inductance"] == "not given"
    assert rows["sources"] == "6.00 V, 4.50 V"
    assert rows["uncertainty: EMF constant"] == "20.0 µV·s/rad"
    assert not any("working" in name for name in rows)


def test_plain_text_says_the_same_as_the_table(shown: DisplayFormatter) -> None:
    """A terminal or a screen reader gets every row of the table, in the same order."""
    title, *lines = _text(shown, STALL).splitlines()
    table = _Table(shown.format(STALL)[0]["text/html"])

    assert title == table.caption
    assert [line.strip().rsplit(": ", 1) for line in lines] == table.rows


def test_results_of_the_physics_are_readable(shown: DisplayFormatter) -> None:
    """A prediction comes out with EMF and RMS as people write them, and no raw representation in it."""
    drive = labkit.desk_wind_tunnel()
    results = [
        labkit.operating_point(drive.motor, Q_(6, "V"), drive.load),
        labkit.pwm_operating_point(drive, duty=0.5, frequency=Q_(2, "kHz")),
        labkit.turn_off_transient(drive, current=Q_(1, "A"), speed=Q_(3000, "rpm")),
        labkit.simulate(drive, labkit.pwm(0.5, Q_(2, "kHz")), Q_(1, "ms")),
        drive,
    ]

    for result in results:
        text = _text(shown, result)
        assert "<Quantity" not in text
        assert "[" not in text
    assert "RMS current: " in _text(shown, results[1])
    assert "  EMF: 1.70 V" in _text(shown, results[2]).splitlines()


def test_rounding_is_not_shown_as_a_torque(shown: DisplayFormatter) -> None:
    """A free shaft has no torque: what two equal torques leave over in floating point is written as zero."""
    free = labkit.operating_point(labkit.desk_wind_tunnel().motor, Q_(6, "V"))

    assert abs(free.shaft_torque) < 1e-12 * free.electromagnetic_torque
    assert "  shaft torque: 0 N·m" in _text(shown, free).splitlines()
    assert "  electromagnetic torque: 594 µN·m" in _text(shown, free).splitlines()


def test_a_fit_is_shown_as_its_report(shown: DisplayFormatter) -> None:
    """A fit is more than a list of fields: the notebook shows the report, in HTML and as text."""
    tables = (
        BenchTable(kind="locked rotor", voltage=Q_([0.42, 0.66, 0.95], "V"), current=Q_([150, 235, 340], "mA")),
        BenchTable(kind="free running", voltage=Q_([3.0, 4.5, 6.0], "V"), current=Q_([96, 103, 110], "mA"),
                   speed=Q_([4830, 7420, 10010], "rpm")),
    )  # fmt: skip
    fit = labkit.fit_motor(labkit.bench_record(*tables))

    assert _text(shown, fit) == labkit.report(fit)
    assert shown.format(fit)[0]["text/html"] == labkit.report_html(fit)


def test_words_in_a_result_cannot_become_html(shown: DisplayFormatter) -> None:
    """A file's own words inside a result are shown, never run."""
    bad = dataclasses.replace(STALL, note="<img src=x onerror=alert(1)>")

    assert "<img" not in shown.format(bad)[0]["text/html"]


def test_a_list_of_quantities_is_readable_too(shown: DisplayFormatter) -> None:
    """Inside a list, a tuple or a dict a quantity keeps its readable form."""
    assert _text(shown, [Q_(0.4712, "A"), {"speed": Q_(9000, "rpm")}]) == "[471 mA, {'speed': 942 rad/s (9000 rpm)}]"


def test_other_objects_are_shown_as_before(shown: DisplayFormatter) -> None:
    """Registering changes nothing for what is not labkit's."""

    class Elsewhere:
        def _repr_html_(self) -> str:
            return "<b>mine</b>"

    assert shown.format(Elsewhere())[0]["text/html"] == "<b>mine</b>"
    assert _text(shown, [1, 2]) == "[1, 2]"


def _public_results() -> set[type]:
    """Return every dataclass with a quantity in it that a public name of labkit is, or gives back."""
    found = set()
    for name in labkit.__all__:
        thing = getattr(labkit, name)
        if not isinstance(thing, type) and inspect.isfunction(thing):
            thing = typing.get_type_hints(thing).get("return")
        for given in (thing, *typing.get_args(thing)):
            if dataclasses.is_dataclass(given) and "Quantity" in str(typing.get_type_hints(given)):
                found.add(given)
    return found


def test_no_result_is_forgotten(shown: DisplayFormatter) -> None:
    """For whatever holds quantities and can be had from a public name, each form is labkit's or the result's own."""
    found = _public_results()

    assert {Motor, MotorFit, Trace} <= found
    html, text = shown.formatters["text/html"], shown.formatters["text/plain"]
    for result in found:
        own = hasattr(result, "_repr_html_")
        for form in (html, text):
            printer = None if own else form.lookup_by_type(result)
            assert own or getattr(printer, "func", printer).__module__ == "labkit.display", result


def test_every_class_of_labkit_can_be_asked() -> None:
    """Whether a class is a result can be told for each dataclass of labkit, private ones included."""
    for module in pkgutil.walk_packages(labkit.__path__, "labkit."):
        if not module.name.startswith("labkit.__main__"):
            names = list(vars(importlib.import_module(module.name)))
            told = {name: display._is_result(module.name, name) for name in names}
            assert set(told.values()) <= {True, False}
    assert display._is_result("labkit.parts.motor", "Motor")
    assert not display._is_result("labkit.errors", "PartError")
    assert not display._is_result("datetime", "date")


def test_every_registered_name_exists() -> None:
    """A class that was moved or renamed is noticed: its old name would silently match nothing."""
    for module, name in (display._FIT, display._QUANTITY, *display._REPORTS):
        assert isinstance(getattr(importlib.import_module(module), name), type)


@pytest.mark.parametrize(
    ("result", "said"),
    [
        (labkit.review(labkit.desk_wind_tunnel(), (0.3, 1.0)), "fuse on a stall"),
        (labkit.first_power(labkit.desk_wind_tunnel()), "Disconnect before rewiring"),
        (labkit.shopping_list(labkit.desk_wind_tunnel()), "logic-level N-channel MOSFET"),
        (labkit.diagnose(labkit.desk_wind_tunnel(), symptom="never stops"), "transistor failed short"),
    ],
    ids=lambda value: type(value).__name__,
)
def test_what_goes_to_the_bench_is_shown_whole(shown: DisplayFormatter, result: object, said: str) -> None:
    """A review and what belongs to it come out as sentences and tables, the same in both forms."""
    html = shown.formatters["text/html"](result)
    assert said.lower() in html.lower()
    assert said in _text(shown, result)
    assert "labkit.reviews" not in html + _text(shown, result)
    assert "pwm" not in html  # letters that stand for words stay large in a heading too


def _modules_after(script: str) -> set[str]:
    code = f"import sys\n{script}\nprint(*sys.modules)"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=300)
    return set(result.stdout.split())


def test_outside_a_notebook_nothing_happens() -> None:
    """Plain Python loads neither IPython nor matplotlib for it, and in a notebook matplotlib stays out too."""
    plain = _modules_after("from labkit import display\ndisplay.register()")
    assert "IPython" not in plain
    assert "matplotlib" not in plain

    notebook = _modules_after(
        "from IPython.core.interactiveshell import InteractiveShell\n"
        "shell = InteractiveShell.instance()\n"
        "import labkit\n"
        "assert shell.display_formatter.format(labkit.Q_('470 mA'))[0] == {'text/plain': '470 mA'}"
    )
    assert "labkit.display" in notebook
    assert not {"matplotlib", "sympy"} & notebook


def test_the_first_search_for_fonts_is_no_warning(tmp_path: Path) -> None:
    """Matplotlib tells after five seconds that it looks for fonts; here the five seconds are over at once."""
    code = (
        "import threading\n"
        "from IPython.core.interactiveshell import InteractiveShell\n"
        "shell = InteractiveShell.instance()\n"
        "{register}\n"
        "timer = threading.Timer\n"
        "threading.Timer = lambda _seconds, tell: (tell(), timer(0, len, [()]))[1]\n"
        "import matplotlib.font_manager"
    )
    environment = os.environ | {"MPLCONFIGDIR": str(tmp_path)}

    def said(register: str) -> str:
        command = [sys.executable, "-c", code.format(register=register)]
        for kept in tmp_path.glob("fontlist*"):
            kept.unlink()
        return subprocess.run(command, env=environment, capture_output=True, text=True, check=True, timeout=300).stderr

    assert "font cache" in said("")
    assert said("import labkit") == ""
