"""The local page: a thin door over the same core as the command line, for who does not write TOML.

    address → state (`states`) → text of the detail (`edits`) → a process that computes (`working`, `work`) → page

`safety` stands before all of it, `folder` between the page and the disk. Nothing but `work` loads the numerics.
"""
