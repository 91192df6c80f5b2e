"""Formulas and constants of the standards: a module per standard, a pure function per equation.

They stand beside the flow: the detail, the numerics and the documents take them from here and from nowhere else.
"""
