"""Wires the stages, owns the workers and resume; the Python door."""
