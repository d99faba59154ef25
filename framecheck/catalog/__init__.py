"""The results database: what was measured, where it lies, and how to find it again."""
