"""A building of plane walls, whose schedule is quickly computed."""

WALL = """\
junction = "free_section"
title = "{title}"
project = "House"
[[region]]
name = "{region}"
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
[[flanking]]
name = "wall"
cut = [[1000, 0], [1000, 320]]
lengths = {{ external = 2000, internal = {internal} }}
"""
LONG = "Ściana zewnętrzna, Außenwand am Giebel, εξωτερικός τοίχος " * 3 + "Donaudampfschifffahrtsgesellschaft"
HEAD = """\
title = "House of walls"
project = "House"
revision = "B"
dimensions = "internal"
[[requirement]]
quantity = "psi"
dimensions = "internal"
maximum = 0.1
source = "invented"
"""


def building(folder, count, title="Wall", given=""):
    """A schedule of so many walls, with entries for each."""
    blocks = [HEAD]
    for k in range(count):
        text = WALL.format(title=f"{title} {k}"[:200], region="brick", internal=1990 - 10 * k)
        (folder / f"wall{k}.toml").write_text(text, encoding="utf-8")
        blocks.append(
            f'[[junction]]\nref = "J{k}"\ndetail = "wall{k}.toml"\nlength = {3 + k}\ngroup = "{title[:60]}"\n'
        )
    file = folder / "house.toml"
    file.write_text("\n".join([*blocks, given]), encoding="utf-8")
    return file
