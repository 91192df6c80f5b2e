"""A detail that is computed in a moment, for what is varied."""

CORNER = """\
junction = "wall_corner"
title = "Corner"
[parameters]
masonry_thickness = 300
insulation_thickness = 60
"""
