"""Writes the fields of a section as VTU, for whoever looks at them in another program.

results -> **field file**. The only module but the meshers' that imports meshio.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from bridge2d.results import FloatArray, IntArray, SectionResult


def section_vtu(result: SectionResult) -> bytes:
    """Mesh, temperatures and stream function of a section as VTU, the same bytes for the same results.

    Points in metres, quadratic triangles; at the points `temperature`, `temperature_f_rsi` [°C] and `stream_function`
    [W/m, of a solid of revolution W]; per triangle `region`, its number in the section from 0, and `conductivity`
    [W/(m·K)], nine numbers in rows.
    Where the stream function jumps (a cut of a section with a hole) points stand twice. Of a mirrored section
    the computed half is written.

    Args:
        result: the section's numbers.
    """
    import meshio

    fields = result.fields
    node, triangles, stream = _single_valued(fields.triangles, fields.stream)
    tensor = np.zeros((len(fields.region), 3, 3))
    tensor[:, :2, :2] = fields.conductivity[fields.region]
    mesh = meshio.Mesh(
        np.column_stack([fields.points[node], np.zeros(len(node))]),
        [("triangle6", triangles)],
        point_data={
            "temperature": fields.temperature[node],
            "temperature_f_rsi": fields.temperature_f_rsi[node],
            "stream_function": stream,
        },
        cell_data={"region": [fields.region], "conductivity": [tensor.reshape(-1, 9)]},
    )
    with tempfile.TemporaryDirectory(prefix="bridge2d-") as folder:
        file = Path(folder) / "field.vtu"
        mesh.write(file)
        return file.read_bytes()


def _single_valued(triangles: IntArray, stream: FloatArray) -> tuple[IntArray, IntArray, FloatArray]:
    """Points that have one value each: for each its node, the triangles by those points, and its value.

    Args:
        triangles: nodes of each; shape (M, 6).
        stream: stream function at each triangle's nodes; shape (M, 6) [W/m].
    """
    nodes, values = triangles.ravel(), stream.ravel()
    reach = float(np.ptp(values)) or 1.0
    order = np.lexsort((values, nodes))
    new = np.ones(len(order), dtype=bool)
    new[1:] = (np.diff(nodes[order]) != 0) | (np.diff(values[order]) > 1e-7 * reach)
    number = np.empty(len(order), dtype=np.int64)
    number[order] = np.cumsum(new) - 1
    first = order[new]
    return nodes[first], number.reshape(triangles.shape), values[first]
