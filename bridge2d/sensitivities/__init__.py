"""What a change of an input does to Ψ and f_Rsi, from the solution that is there already.

results -> **sensitivities** -> screen, JSON, report, page. `forms` integrates over the fields, `motion` moves the mesh
with the section's corners, `sections` puts both together for one section, `factor` looks at one temperature, `targets`
says how the sections' numbers make the result, `rows` makes the records.
"""
