"""Do shots cut together: changes at cuts, matching angles, the line, the scene as a whole."""
