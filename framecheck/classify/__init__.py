"""Words for measurements: size names, shot types, flags and advice, by tables and thresholds."""
