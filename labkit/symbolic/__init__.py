"""Laws, derivations that are proved step by step, and solving: sympy on one side, quantities at the edge.

Kernels compute the same numbers by another route; this room never imports them, and tests compare the two.

To add a derivation: give new symbols a row in ``_rows.py``, state a new law in ``laws.py``,
write a ``Derivation`` in the module of its topic and name it in that module's ``DERIVATIONS``.
Tests then prove it, corrupt each of its steps, and turn it round for every symbol.
"""

from labkit.symbolic.catalogue import Catalogue, derivation, derivations
from labkit.symbolic.derivation import Derivation, Proof
from labkit.symbolic.html import side_by_side

__all__ = ["Catalogue", "Derivation", "Proof", "derivation", "derivations", "side_by_side"]
