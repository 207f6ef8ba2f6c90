"""The numbers of one learner: drawn values by name, and what earlier steps came to."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

from pint.util import UnitsContainer

from labkit.checks.kinds import unit_name
from labkit.errors import SheetError
from labkit.units import Q_, Quantity, coherent_size, converted, unit_parts, ureg
from labkit.writing import show

__all__ = ["Numbers", "Value", "coherent_size", "from_coherent"]


def from_coherent(size: float, unit: str) -> Quantity:
    """Return the quantity in *unit* whose float in coherent SI is *size*: the way back from ``coherent_size``.

    >>> from_coherent(6.2831853, "rpm").round(3)
    <Quantity(60.0, 'revolutions_per_minute')>
    """
    asked, coherent = _units(unit)
    quantity: Quantity = ureg.Quantity(converted(size, coherent, asked), asked)
    return quantity


@lru_cache(maxsize=256)
def _units(unit: str) -> tuple[UnitsContainer, UnitsContainer]:
    """Return the unit that a text names, and the coherent one of its kind; learners share units."""
    asked = Q_(f"1 {unit}")
    return unit_parts(asked), unit_parts(asked.to_base_units())


@dataclass(frozen=True, slots=True)
class Value:
    """A number that each learner gets an own one of: evenly stepped, as a person would write it.

    Parameters
    ----------
    name : str
        The word that wordings and formulas use.
    meaning : str
    unit : str
        As written beside the number, such as ``"mV·s/rad"``; empty for a bare number.
    texts : tuple of str
        Every number that can be drawn, without the unit.
    reference : str
        The desk wind tunnel's own, used by the check cells of a lesson.
    """

    name: str
    meaning: str
    unit: str
    texts: tuple[str, ...]
    reference: str

    @classmethod
    def stepped(
        cls, name: str, meaning: str, unit: str, *, least: str, most: str, step: str, reference: str, without: str = ""
    ) -> Value:
        """Return a value drawn evenly from *least* to *most*, those listed in *without* left out.

        >>> Value.stepped("voltage", "supply", "V", least="4.5", most="6", step="0.5", reference="6").texts
        ('4.5', '5.0', '5.5', '6.0')
        """
        low, width = Decimal(least), Decimal(step)
        count = int((Decimal(most) - low) / width) + 1
        places = max(-int(Decimal(text).as_tuple().exponent) for text in (least, step))
        texts = (f"{low + width * index:.{max(places, 0)}f}" for index in range(count))
        left_out = set(without.split())
        return cls(
            name=name,
            meaning=meaning,
            unit=unit,
            texts=tuple(text for text in texts if text not in left_out),
            reference=reference,
        )

    def written(self, text: str) -> str:
        """Return one of the numbers with its unit."""
        return f"{text} {self.unit}".rstrip()


@lru_cache(maxsize=8192)
def _read(text: str) -> tuple[Quantity, float]:
    """Return a value as a quantity and as a float in coherent SI; learners share values, so each is read once."""
    quantity = Q_(text)
    return quantity, coherent_size(quantity)


class Numbers:
    """Values by name, for the formulas of questions: ``n.speed`` is a float in coherent SI.

    Parameters
    ----------
    texts : mapping of str to str
        Drawn values as a person reads them: ``{"speed": "3100 rpm"}``.
    steps : mapping of str to function of Numbers, optional
        What earlier questions give under a name, worked out when first asked for.
    given : mapping of str to float, optional
        Floats in coherent SI that stand in place of a step: a learner's own earlier answers.

    Examples
    --------
    >>> n = Numbers({"k": "5.4 mV·s/rad", "speed": "3000 rpm"}, steps={"emf": lambda n: n.k * n.speed})
    >>> round(n.emf, 3), n.quantity("speed")
    (1.696, <Quantity(3000.0, 'revolutions_per_minute')>)
    """

    def __init__(
        self,
        texts: Mapping[str, str],
        *,
        steps: Mapping[str, Callable[[Numbers], float]] | None = None,
        given: Mapping[str, float] | None = None,
    ) -> None:
        self.texts = dict(texts)
        self._steps = dict(steps or {})
        vars(self).update(given or {})

    def __getattr__(self, name: str) -> float:
        """Work a size out when it is first asked for; it is an attribute from then on."""
        texts, steps = vars(self).get("texts", {}), vars(self).get("_steps", {})
        if name not in texts and name not in steps:
            msg = f"There is no value named {name!r} among {', '.join(texts) or 'none'}."
            raise AttributeError(msg)
        size: float = _read(texts[name])[1] if name in texts else steps[name](self)
        setattr(self, name, size)
        return size

    def __iter__(self) -> Iterator[str]:
        return iter(self.texts)

    def quantity(self, name: str) -> Quantity:
        """Return a drawn value as a quantity, in the unit that it is written in."""
        try:
            return _read(self.texts[name])[0]
        except KeyError:
            msg = f"There is no value named {name!r}."
            raise SheetError(msg) from None

    def instead(self, given: Mapping[str, float]) -> Numbers:
        """Return the same numbers with a learner's own earlier answers in place of the steps they answer."""
        return Numbers(self.texts, steps=self._steps, given=given)

    def fill(self, template: str, **more: Any) -> str:
        """Return *template* with each ``{name}`` as a person reads it, and ``{name:unit}`` in that unit.

        >>> Numbers({"speed": "3000 rpm"}).fill("{speed}, which is {speed:rad/s}")
        '3000 rpm, which is 314 rad/s'
        """
        return template.format_map(_Reader(self, more))


class _Reader(dict[str, Any]):
    """The names that a template can use."""

    def __init__(self, numbers: Numbers, more: Mapping[str, Any]) -> None:
        super().__init__(more)
        self._numbers = numbers

    def __missing__(self, name: str) -> _Written:
        text = self._numbers.texts.get(name)
        quantity = ureg.Quantity(getattr(self._numbers, name), "") if text is None else self._numbers.quantity(name)
        return _Written(text, quantity)


class _Written:
    """A value in a template."""

    def __init__(self, text: str | None, quantity: Quantity) -> None:
        self._text = text
        self._quantity = quantity

    def __format__(self, unit: str) -> str:
        if not unit:
            return self._text if self._text is not None else show(self._quantity)
        if self._text is None:  # a step: its float is in coherent SI
            return show(from_coherent(float(self._quantity.magnitude), unit))
        return show(self._quantity, unit_name(unit))
