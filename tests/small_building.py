"""A building of plane walls, whose schedule is quickly computed."""

from tests.small_detail import PLANE_WALL

WALL = (
    PLANE_WALL.replace("{", "{{")
    .replace("}", "}}")
    .replace('"Plane wall"\n', '"{title}"\nproject = "House"\n')
    .replace('"brick"', '"{region}"')
    .replace("internal = 1900", "internal = {internal}")
)
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
