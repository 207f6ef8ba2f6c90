"""The switched-circuit engine: linear stretches between events, each advanced by its exact exponentials."""
