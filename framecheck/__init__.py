"""framecheck measures framing in stills."""
