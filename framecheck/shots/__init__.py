"""Where shots begin and end, and which of their frames are kept for measuring."""
