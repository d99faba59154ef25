"""Frozen value types: what the stages hand to each other. Units live in the names."""
