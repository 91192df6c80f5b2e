"""Drawings (DXF) that a free section's regions come from.

Part of reading a detail file: drawing -> **closed rings by layer** -> regions. `reading` opens the file and flattens
its entities, `rings` closes them, `findings` says what of it deserves a second look. Coordinates are the drawing's own,
in millimetres, so that every message leads to a place in the drawing.
"""
