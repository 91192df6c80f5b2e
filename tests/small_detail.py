"""A detail that is computed in a moment, for what is varied."""

CORNER = """\
junction = "wall_corner"
title = "Corner"
[parameters]
masonry_thickness = 300
insulation_thickness = 60
"""
BARE_WALL = """\
junction = "free_section"
title = "Plane wall"
[[region]]
name = "brick"
conductivity = 0.8
polygon = [[0, 0], [2000, 0], [2000, 320], [0, 320]]
[[environment]]
name = "outside"
temperature = -5
surface_resistance = 0.04
edge = [[0, 0], [2000, 0]]
[[environment]]
name = "room"
temperature = 20
surface_resistance = 0.16
edge = [[2000, 320], [0, 320]]
"""
PLANE_WALL = f"""\
{BARE_WALL}[[flanking]]
name = "wall"
cut = [[1000, 0], [1000, 320]]
lengths = {{ external = 2000, internal = 1900 }}
"""
ONE_FILM = PLANE_WALL.replace("resistance = 0.16\n", "resistance = 0.16\nsurface_resistance_f_rsi = 0.16\n")
"""The same with one resistance inside for heat flow and temperature factor, so that both are exact."""
