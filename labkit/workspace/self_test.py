"""Whether this installation is whole, in one look: each part is used once, and says what it is needed for."""

from __future__ import annotations

import importlib.util
import os
import shutil
import sys
from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from importlib.metadata import PackageNotFoundError, requires, version
from pathlib import Path

from packaging.requirements import Requirement

from labkit.errors import LabkitError
from labkit.reports.page import table

__all__ = ["SelfTest", "Tried", "self_test"]

#: From its folder: on the network that name might be anybody's.
_REPAIR = (
    "Install labkit again, in the folder that it came in and with the Python that runs this: "
    "python -m pip install --force-reinstall ."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Tried:
    """One thing that was tried."""

    what: str
    works: bool
    #: Whether lessons need it; what they do not need may be missing.
    needed: bool
    #: What came out, or what to do.
    said: str

    @property
    def verdict(self) -> str:
        """The result in a sign and a word."""
        return "✓ works" if self.works else "✗ broken" if self.needed else "– not there"


@dataclass(frozen=True, kw_only=True, slots=True, repr=False)
class SelfTest:
    """All that was tried, in order."""

    lines: tuple[Tried, ...]

    @property
    def whole(self) -> bool:
        """Whether everything that lessons need works."""
        return all(line.works for line in self.lines if line.needed)

    @property
    def verdict(self) -> str:
        """The result in one sentence."""
        broken = [line.what for line in self.lines if line.needed and not line.works]
        if not broken:
            return "✓ The installation is whole."
        return f"✗ Not whole: {', '.join(broken)}. The table says what to do."

    def _rows(self) -> list[tuple[str, str, str]]:
        return [(line.what, line.verdict, line.said) for line in self.lines]

    def __str__(self) -> str:
        """Return the sentence, and a line for each thing that was tried."""
        return "\n".join([self.verdict, *(f"  {verdict}  {what}: {said}" for what, verdict, said in self._rows())])

    def __repr__(self) -> str:
        return str(self)

    def _repr_html_(self) -> str:
        tried = table("What was tried", ("Part", "Result", "What came out, or what to do"), self._rows())
        return f"<p><strong>{escape(self.verdict)}</strong></p>{tried}"


def self_test(folder: Path | None = None) -> SelfTest:
    """Use each part of the kit once, and say whether the installation is whole.

    Parameters
    ----------
    folder : Path, optional
        Where work is to be kept; the current folder.

    Returns
    -------
    SelfTest

    Examples
    --------
    >>> self_test().whole
    True
    """
    lines = [_tried(what, use) for what, use in _NEEDED.items()]
    lines.append(_tried("your folder", lambda: _written(Path.cwd() if folder is None else folder)))
    for what, (there, purpose, remedy) in _OPTIONAL.items():
        found = there()
        lines.append(Tried(what=what, works=found, needed=False, said=purpose if found else f"{purpose}: {remedy}"))
    return SelfTest(lines=tuple(lines))


def _tried(what: str, use: Callable[[], str]) -> Tried:
    try:
        return Tried(what=what, works=True, needed=True, said=use())
    except Exception as error:  # noqa: BLE001 (whatever is broken has to be told, not raised)
        return Tried(what=what, works=False, needed=True, said=f"{type(error).__name__}: {error}"[:300])


def _python() -> str:
    return f"Python {sys.version.split()[0]}"


def _packages() -> str:
    needed = [Requirement(line) for line in requires("labkit") or () if "extra ==" not in line]
    for package in needed:
        try:
            found = version(package.name)
        except PackageNotFoundError:
            raise LabkitError(f"{package.name} is not installed. {_REPAIR}") from None
        if found not in package.specifier:
            raise LabkitError(f"{package.name} must be {package.specifier}; got {found}. {_REPAIR}")
    return f"{len(needed)} packages, none too old"


def _two_routes() -> str:
    from labkit.parts import Motor  # noqa: PLC0415 (each part is loaded where it is tried)
    from labkit.simulation import operating_point  # noqa: PLC0415 (as above)
    from labkit.symbolic import derivation  # noqa: PLC0415 (as above)
    from labkit.units import Q_  # noqa: PLC0415 (as above)
    from labkit.writing import rpm_beside  # noqa: PLC0415 (as above)

    given = {"resistance": Q_("2.8 ohm"), "emf_constant": Q_("5.4 mV*s/rad"), "friction_torque": Q_("0.6 mN*m")}
    derived = derivation("no-load speed").evaluate(voltage="6 V", **given)
    computed = operating_point(Motor(**given), "6 V").speed
    if abs(float((derived / computed).m_as("")) - 1.0) > 1e-9:
        raise LabkitError(f"Derivation and kernel differ: {derived} and {computed}. {_REPAIR}")
    return f"a free motor at 6 V turns at {rpm_beside(computed)}, derived and computed alike"


def _pictures() -> str:
    from labkit.figures import schematic  # noqa: PLC0415 (as above)
    from labkit.parts import desk_wind_tunnel  # noqa: PLC0415 (as above)

    picture = schematic(desk_wind_tunnel())
    return f"a circuit drawn, {picture.width} by {picture.height} pixels"


def _readings() -> str:
    from labkit.bench import demo_bench, read_bench  # noqa: PLC0415 (as above)
    from labkit.fitting import fit_motor  # noqa: PLC0415 (as above)
    from labkit.writing import show  # noqa: PLC0415 (as above)

    return f"R = {show(fit_motor(read_bench(demo_bench())).motor.resistance)} from the supplied readings"


def _sliders() -> str:
    from jupyter_core.paths import jupyter_path  # noqa: PLC0415 (as above)

    for name in ("anywidget", "@jupyter-widgets"):
        if not any((Path(place) / name).is_dir() for place in jupyter_path("labextensions")):
            raise LabkitError(f"JupyterLab's part for {name} is missing, so no slider would show. {_REPAIR}")
    return "JupyterLab has what sliders and pictures need"


def _questions() -> str:
    from labkit.problems import check  # noqa: PLC0415 (as above)

    wrong_unit = check("2.14 A", "Worst on-state loss")
    if wrong_unit.outcome != "refused":
        raise LabkitError(f"An answer of 2.14 A for a loss in watts was taken as {wrong_unit.heading}. {_REPAIR}")
    return "a loss given in amperes is noticed"


def _written(folder: Path) -> str:
    trial = folder / f".labkit-trial-{os.getpid()}"
    trial.touch()
    trial.unlink()
    return f"{folder.name or folder} takes files"


_NEEDED: dict[str, Callable[[], str]] = {
    "Python": _python,
    "packages": _packages,
    "derivations and sums": _two_routes,
    "pictures": _pictures,
    "bench readings and fit": _readings,
    "sliders": _sliders,
    "questions": _questions,
}


def _installed(name: str) -> Callable[[], bool]:
    return lambda: importlib.util.find_spec(name) is not None


#: What it is; whether it is there; what it is for; how to get it.
_OPTIONAL: dict[str, tuple[Callable[[], bool], str, str]] = {
    "spreadsheets": (_installed("openpyxl"), "to read and write .xlsx", 'pip install "labkit[spreadsheet]"'),
    "compiled stepping": (_installed("numba"), "for long simulations", 'pip install "labkit[fast]"'),
    "walls for sheets": (
        lambda: sys.platform == "linux" and shutil.which("bwrap") is not None,
        "for a teacher who marks strangers' sheets",
        "on Linux, install bubblewrap",
    ),
}
