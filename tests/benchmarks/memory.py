"""The peak memory of a process, for the benchmarks."""

from __future__ import annotations

import resource
from pathlib import Path


def peak_megabytes() -> float:
    """Peak of this process' resident memory [MB].

    Linux tells that of the program itself; what `getrusage` tells may be the parent's, before the program was loaded.
    """
    status = Path("/proc/self/status")
    if status.exists():
        for line in status.read_text(encoding="ascii").splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
