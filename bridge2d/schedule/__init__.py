"""A building's schedule: every detail computed once, all numbers added up, one bound PDF.

building -> **details computed side by side, or taken from the cache** -> sums -> documents. `computing` runs the
details, `cache` keeps what they gave, `binding` makes the volume, `spreadsheets` and `tables` write the numbers.
"""
