"""A building's junctions with their lengths, and what they lose together.

building file -> **building** -> (every detail computed) -> sums -> documents. `reading` reads and checks the file,
`variants` makes the text of each detail as the building uses it, `sums` adds up; `records` holds what they hand on.
"""
