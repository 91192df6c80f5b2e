"""Meshes from gmsh; nothing else in the package imports it.

gmsh keeps one model per process, so one lock is held around each use. Regions and surfaces keep their numbers: every
face and every line of the overlay becomes one gmsh entity, and triangles and sides are read back entity by entity.
"""

from __future__ import annotations

import signal
import threading
from types import ModuleType

import numpy as np

from bridge2d.errors import MissingLibraryError, SectionError
from bridge2d.mesh import SectionMesh, labelled
from bridge2d.partition import ADIABATIC, MICROMETRES, Overlay, Whole

_LOCK = threading.Lock()
DEBIAN_PACKAGES = "libglu1-mesa libxrender1 libxcursor1 libxft2 libxinerama1 libgomp1"
COARSEST_SHARE = 0.12
"""Edge length of the first mesh as a share of the section's size."""
OTHER_SHARE = 0.07
"""The same of a mesh that begins otherwise."""


def load_gmsh() -> ModuleType:
    """Gmsh's module.

    Raises:
        MissingLibraryError: gmsh or one of the system libraries that it needs is not installed.
    """
    try:
        import gmsh
    except (ImportError, OSError) as error:
        raise MissingLibraryError(
            f"sections with oblique edges are meshed by gmsh, which cannot start here ({error}); "
            f"on Debian or Ubuntu install its libraries with: apt-get install {DEBIAN_PACKAGES}"
        ) from error
    return gmsh  # type: ignore[no-any-return]


def gmsh_mesh(overlay: Overlay, share: float = COARSEST_SHARE) -> SectionMesh:
    """Triangles of an overlay.

    Args:
        overlay: the section's faces and outline.
        share: see COARSEST_SHARE.

    Raises:
        MissingLibraryError: gmsh's system libraries are missing.
        SectionError: gmsh cannot mesh the faces.
    """
    gmsh = load_gmsh()
    with _LOCK:
        _start(gmsh)
        try:
            gmsh.option.setNumber("General.Terminal", 0)
            gmsh.option.setNumber("General.NumThreads", 1)
            # Short sides of a polygon must not fill the inside with small triangles; the local gap refines.
            gmsh.option.setNumber("Mesh.MeshSizeExtendFromBoundary", 0)
            return _meshed(gmsh, overlay, share)
        except Exception as error:
            if isinstance(error, SectionError):
                raise
            raise SectionError(f"gmsh could not mesh the section: {error}", ("section",)) from error
        finally:
            gmsh.finalize()


def _start(gmsh: ModuleType) -> None:
    """Start gmsh, which makes a broken pipe deadly for the whole process, and undo that."""
    broken_pipe = getattr(signal, "SIGPIPE", None)
    known = signal.getsignal(broken_pipe) if broken_pipe else None
    gmsh.initialize(interruptible=False)
    if broken_pipe and known is not None and threading.current_thread() is threading.main_thread():
        signal.signal(broken_pipe, known)  # only the main thread may say what a signal does


def _meshed(gmsh: ModuleType, overlay: Overlay, share: float) -> SectionMesh:
    lines = _build(gmsh, overlay, share)
    gmsh.model.mesh.generate(2)
    tags, coordinates, _ = gmsh.model.mesh.getNodes()
    number = np.full(int(tags.max()) + 1, -1, dtype=np.int64)
    number[tags] = np.arange(tags.size)
    points = coordinates.reshape(-1, 3)[:, :2] / MICROMETRES
    triangles, region = [], []
    for face, owner in enumerate(overlay.region.tolist()):
        _, _, nodes = gmsh.model.mesh.getElements(2, face + 1)
        own = number[np.concatenate(nodes)].reshape(-1, 3)
        triangles.append(own)
        region.append(np.full(len(own), owner, dtype=np.int64))
    rim: list[Whole] = [np.zeros((0, 2), dtype=np.int64)]
    surface: list[Whole] = [np.zeros(0, dtype=np.int64)]
    for (a, b), label in zip(overlay.outline.tolist(), overlay.surface.tolist(), strict=True):
        if label != ADIABATIC:
            _, _, nodes = gmsh.model.mesh.getElements(1, lines[(min(a, b), max(a, b))])
            sides = number[np.concatenate(nodes)].reshape(-1, 2)
            rim.append(sides)
            surface.append(np.full(len(sides), label, dtype=np.int64))
    all_triangles = np.concatenate(triangles)
    used = np.unique(all_triangles)
    compact = np.full(len(points), -1, dtype=np.int64)
    compact[used] = np.arange(used.size)
    return labelled(
        points[used],
        compact[all_triangles],
        np.concatenate(region),
        compact[np.concatenate(rim)],
        np.concatenate(surface),
        "gmsh",
    )


def _build(gmsh: ModuleType, overlay: Overlay, share: float) -> dict[tuple[int, int], int]:
    """The overlay as gmsh's points, lines and faces; returns the line number of each pair of points."""
    geo = gmsh.model.geo
    extent = float((overlay.points.max(axis=0) - overlay.points.min(axis=0)).max())
    # One coarse size: thin layers get thin triangles, and the local gap says where more are needed.
    size = max(share * extent, 1.0)
    for k, (x, y) in enumerate(overlay.points.tolist()):
        geo.addPoint(x, y, 0, size, k + 1)
    lines: dict[tuple[int, int], int] = {}
    for number, face in enumerate(overlay.faces):
        loops = []
        for ring in face:
            signed = []
            for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
                pair = (min(a, b), max(a, b))
                if pair not in lines:
                    lines[pair] = geo.addLine(pair[0] + 1, pair[1] + 1)
                signed.append(lines[pair] if a < b else -lines[pair])
            loops.append(geo.addCurveLoop(signed))
        geo.addPlaneSurface(loops, number + 1)
    geo.synchronize()
    return lines
