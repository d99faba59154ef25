"""Pictures for people: the annotated stills."""
