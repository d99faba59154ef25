"""Corrections by people: the page for them, and how far measured and confirmed agree."""
