"""The one registry."""

from __future__ import annotations

from typing import Any, TypeAlias

import pint

__all__ = ["Quantity", "ureg"]

Quantity: TypeAlias = pint.Quantity[Any]

_TRADE_UNITS = (
    "newton_meter = newton * meter = Nm",  # pint before 0.26 reads "Nm" as a textile unit
    "ounce_inch = ounce_force * inch = ozin",
    "pound_inch = pound_force * inch = lbin",
    "gram_centimeter = gram_force * centimeter = gcm",
)


def _build_registry() -> pint.UnitRegistry[Any]:
    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(on_redefinition="ignore", cache_folder=":auto:")
    for definition in _TRADE_UNITS:
        registry.define(definition)
    return registry


ureg = _build_registry()
pint.set_application_registry(ureg)  # type: ignore[no-untyped-call]  # so that a pickled quantity comes back to this registry
