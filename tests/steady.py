"""Settings of the property tests: the same examples on every run and machine, and no clock."""

from hypothesis import settings

STEADY = settings(derandomize=True, deadline=None, max_examples=60, database=None)
FEW = settings(STEADY, max_examples=25)
"""Where one example takes long."""
