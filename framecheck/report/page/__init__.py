"""The page that people look at: one HTML file with pictures, overlays and figures in it."""
