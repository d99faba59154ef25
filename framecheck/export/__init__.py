"""Tables: columns, rows, and writers that leave whole files or none."""
