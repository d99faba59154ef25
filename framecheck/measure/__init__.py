"""Landmarks and picture in, measurements out. No opinion, no files, no models."""
