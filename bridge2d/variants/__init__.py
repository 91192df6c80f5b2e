"""Many variants of one detail: its parameters varied, every variant computed with its bounds.

detail file -> parameters varied -> **variants computed** -> rows, a chart, or the value at which a limit is just met.
"""
