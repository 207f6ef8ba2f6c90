"""To come."""

DERIVATIONS = ()
