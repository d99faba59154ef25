"""Pure NumPy geometry: the body ruler, boxes and angles. No files, no models, no opinion."""
