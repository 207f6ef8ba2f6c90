"""The one registry."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path
from typing import Any, TypeAlias

import pint
import platformdirs

__all__ = ["Quantity", "ureg"]

Quantity: TypeAlias = pint.Quantity[Any]

_TRADE_UNITS = (
    "newton_meter = newton * meter = Nm",  # pint before 0.26 reads "Nm" as a textile unit
    "ounce_inch = ounce_force * inch = ozin",
    "pound_inch = pound_force * inch = lbin",
    "gram_centimeter = gram_force * centimeter = gcm",
)


def _cache_folder() -> Path:
    """Return a folder of this installation's own for pint's parsed definitions.

    What pint keeps there names the files that it came from: shared by all environments of a user, as pint does by
    itself, it stops every one of them once the environment that wrote it is deleted.
    """
    installation = hashlib.sha256(str(Path(pint.__file__).resolve()).encode()).hexdigest()[:12]
    return Path(platformdirs.user_cache_dir("labkit", appauthor=False)) / f"units-{installation}"


def _build_registry() -> pint.UnitRegistry[Any]:
    """Return pint's registry with ours added, from the cache where that can be used.

    Pint writes its files in place: one that another process is writing just now, or that was left half written, is
    met with whatever error unpickling it brings. Then the units are parsed anew, and the next start fills the cache.
    """
    registry: pint.UnitRegistry[Any]
    try:
        registry = pint.UnitRegistry(on_redefinition="ignore", cache_folder=_cache_folder())
    except Exception:  # noqa: BLE001 (as said above; a home folder that cannot be written is one more)
        shutil.rmtree(_cache_folder(), ignore_errors=True)
        registry = pint.UnitRegistry(on_redefinition="ignore")
    for definition in _TRADE_UNITS:
        registry.define(definition)
    return registry


ureg = _build_registry()
pint.set_application_registry(ureg)  # type: ignore[no-untyped-call]  # so that a pickled quantity comes back to this registry
