"""A small virtual stage: posed bodies, sets and cameras with exact ground truth.

Needs the optional rendering packages (torch, anny, pyvista); nothing in `framecheck` imports it.
"""
