"""All derivations by name, grouped by topic; a topic's module is read when it is first asked for."""

from __future__ import annotations

import dataclasses
import importlib
from functools import cache

from labkit.errors import DerivationError
from labkit.symbolic.derivation import Derivation
from labkit.symbolic.symbols import nearest

__all__ = ["TOPICS", "Catalogue", "derivation", "derivations"]

#: Topic and a module of this room that holds some of it, in the order in which one would learn them.
TOPICS = (
    ("circuit", "circuit"),
    ("motor", "motor"),
    ("motor", "motor_in_use"),
    ("motor", "motor_power"),
    ("motor", "motor_in_time"),
    ("generator", "generator"),
    ("pin and gate", "pin_and_gate"),
    ("driver", "driver"),
    ("switch-off", "two_voltages"),
    ("switch-off", "switch_off"),
    ("duty", "duty"),
    ("duty", "ripple"),
    ("supply", "supply"),
    ("heat", "heat"),
)


#: What people leave out or write otherwise in a name.
_LOOSE = str.maketrans({"_": " ", "-": " ", "'": None, "’": None})


class Catalogue(tuple[str, ...]):
    """The names of all derivations, in order; ``topics`` groups them."""

    __slots__ = ()

    @property
    def topics(self) -> dict[str, tuple[str, ...]]:
        """The names of each topic."""
        grouped: dict[str, tuple[str, ...]] = {}
        for name in self:
            topic = _all()[name].topic
            grouped[topic] = (*grouped.get(topic, ()), name)
        return grouped

    def __str__(self) -> str:
        lines = []
        for topic, names in self.topics.items():
            lines += [topic.capitalize(), *(f"  {name}: {_all()[name].title}" for name in names)]
        return "\n".join(lines)

    __repr__ = __str__


@cache
def _all() -> dict[str, Derivation]:
    found: dict[str, Derivation] = {}
    for topic, module in TOPICS:
        for one in importlib.import_module(f"labkit.symbolic.{module}").DERIVATIONS:
            if one.name in found:
                msg = f"two derivations are called {one.name!r}. Rename the one in labkit/symbolic/{module}.py."
                raise DerivationError(msg)
            found[one.name] = dataclasses.replace(one, topic=topic)
    return found


def derivations() -> Catalogue:
    """Return the names of all derivations; ``.topics`` groups them, ``str`` gives a list to read.

    Examples
    --------
    >>> "stall current" in derivations()
    True
    >>> derivations().topics["motor"][:2]
    ('back-EMF', 'torque')
    """
    return Catalogue(_all())


def derivation(name: str) -> Derivation:
    """Return the derivation of that name; ``"stall_current"`` does as well as ``"stall current"``.

    Raises
    ------
    DerivationError
        When there is none; offers the nearest names.
    """
    plain = {_plain(known): known for known in _all()}
    if _plain(name) not in plain:
        hint = nearest(_plain(name), plain) or "derivations() lists them all."
        msg = f"no derivation is called {name!r}. {hint}"
        raise DerivationError(msg)
    return _all()[plain[_plain(name)]]


def _plain(name: str) -> str:
    return " ".join(str(name).lower().translate(_LOOSE).split())
