"""Thermal bridges of old masonry buildings in two dimensions, with guaranteed bounds.

detail file -> parameters -> detail -> mesh -> temperature and stream function -> results -> documents. Each step is a
module of its own; nothing is imported here, so that a cold start stays quick.
"""

__version__ = "0.1.0"
