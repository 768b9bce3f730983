"""Faults of what surrounds the service, on real processes: what is promised, what is seen."""
